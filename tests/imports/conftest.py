"""Records for tests of imports: each with the network's register."""

import pytest


@pytest.fixture(scope="session")
def template(registered: str) -> str:
    """Give the address of the record that `settings` copies."""
    return registered
