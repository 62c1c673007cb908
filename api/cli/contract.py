"""`python -m api.cli.contract`: write the contract into `openapi/steelyard.json`, or with --check say whether it is fresh.

For contributors: the file is committed, so that a change of the contract is seen in review.
"""

import json
from pathlib import Path

import click

from api.app import contract_of, create_app
from api.settings import Settings


def contract_text() -> str:
    """Return the contract as it is committed."""
    app = create_app(Settings("sqlite://", Path()))
    return (
        json.dumps(contract_of(app.extensions["steelyard.contract"]), indent=2, ensure_ascii=False, sort_keys=True)
        + "\n"
    )


@click.command()
@click.option("--check", is_flag=True, help="Write nothing; end with status 1 where the file is not fresh.")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path), default="openapi/steelyard.json")
def contract(check: bool, file: Path) -> None:
    """Write the contract to FILE."""
    text = contract_text()
    if not check:
        file.write_text(text)
    elif not file.exists() or file.read_text() != text:
        raise click.ClickException(f"{file} is not what the program says; run: python -m api.cli.contract")


if __name__ == "__main__":
    contract()
