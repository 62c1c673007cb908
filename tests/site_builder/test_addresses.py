"""Addresses of the site: fixed for good, folded, relative. The pattern is the design's: `[a-z0-9-]{1,40}`."""

import doctest
import re

import pytest

import api.records.addresses
from api.records.addresses import NoAddress, folded
from site_builder import addresses


@pytest.mark.parametrize(
    ("code", "address"),
    [("A-04", "a-04"), ("QG-2026-0012", "qg-2026-0012"), ("Ward 3 / East", "ward-3-east"),
     ("Ångström_7", "angstrom-7"), ("--x--", "x")],
)  # fmt: skip
def test_a_code_folds_to_lower_case_letters_digits_and_hyphens(code: str, address: str) -> None:
    assert folded(code) == address


@pytest.mark.parametrize("code", ["A-04", "x" * 40, "a" * 38 + " b", "ﬁne", "Z./_ 9"])
def test_every_address_has_the_form_that_labels_carry(code: str) -> None:
    assert re.fullmatch(r"[a-z0-9-]{1,40}", folded(code))
    assert folded(folded(code)) == folded(code)


def test_a_code_too_long_for_an_address_is_refused_and_never_shortened() -> None:
    with pytest.raises(NoAddress):
        folded("x" * 41)


@pytest.mark.parametrize("code", ["", "   ", "---", "体重", "…"])
def test_a_code_that_leaves_nothing_is_refused(code: str) -> None:
    with pytest.raises(NoAddress):
        folded(code)


def test_the_four_addresses_of_labels_are_fixed() -> None:
    assert addresses.device("A-04") == "d/a-04/"
    assert addresses.certificate("QG-2026-0012") == "c/qg-2026-0012/"
    assert addresses.ward("QG-ED") == "w/qg-ed/"
    assert addresses.site("QG") == "s/qg/"


def test_links_are_relative_from_any_depth() -> None:
    assert addresses.link("d/a-04/", "w/qg-ed/") == "../../w/qg-ed/"
    assert addresses.link("", "due/") == "./due/"
    assert addresses.link("c/qg-2026-0012/1/", "") == "../../../"


def test_the_examples_in_the_docstring_hold() -> None:
    assert doctest.testmod(api.records.addresses) == (0, 2)
