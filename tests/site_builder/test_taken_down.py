"""Who read, typed and compared stands with the method of a visit, in one line."""

from site_builder.pages.certificate_facts import taken_down


def test_each_of_the_three_is_named_and_a_missing_one_too() -> None:
    said = taken_down({"taken_down": {"read_by": "T-01", "typed_by": "T-02", "from_sheet": "sha256:00"}})

    assert said == "read by T-01, typed by T-02, compared by nobody named; from sheet sha256:00"


def test_a_visit_that_was_never_on_paper_says_nothing() -> None:
    assert taken_down({}) is None
