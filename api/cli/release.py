"""`steelyard release`: a person closes every flag of a record in words, and releases it."""

import click

from api.cli.acting import on_a_record, record_on


@click.command(short_help="Release a record, with words for each of its flags.")
@on_a_record
@click.option(
    "--answer", "answers", metavar="CODE=WORDS", multiple=True, help="The words that close a flag, by its code."
)
def release(calibration: str, site: str | None, to: str | None, by: str, answers: tuple[str, ...]) -> None:
    """Release CALIBRATION, by a person who did not make the visit, with the key that STEELYARD_PERSON_KEY holds.

    Every flag is closed by its code and a sentence; without any --answer nothing is released that is flagged, and the flags
    are shown. What is released is what the service shows now: the newest content by its newest judgement.
    """
    import json

    from api.cli.told import told_act, told_flag

    closed = [_answer(text) for text in answers]
    with record_on(to, calibration, site, by) as record:
        now = record.read()
        if now["flags"] and not closed:
            flags = [told_flag("flag", flag) for flag in now["flags"]]
            raise click.ClickException("\n  ".join(["Close each flag with --answer CODE=WORDS:", *flags]))
        asked = {"digest": now["digest"], "judgement": now["judgement"], "answers": closed}
        click.echo(told_act(record.act("/release", json.dumps(asked).encode())))


def _answer(text: str) -> dict[str, str]:
    code, equals, words = text.partition("=")
    if not equals:
        raise click.ClickException(f"{text!r} is not CODE=WORDS, for example --answer not-compared='compared today'.")
    return {"code": code.strip(), "words": words.strip()}
