"""The page behind each type of problem the service answers with: what happened, and what to do about it."""

from site_builder import addresses
from site_builder.fleet import Fleet
from site_builder.markup import Child, join, tag
from site_builder.page import Page
from site_builder.pages.tables import section, table, text_columns


def problem_page(problem: dict[str, str]) -> Page:
    """Return the page of one problem type: a dict of `code`, `title`, `what` happened and what to `do`."""
    here = addresses.problem(problem["code"])
    body = join(
        tag("p", tag("a", "Problems", href=addresses.link(here, addresses.PROBLEMS)), class_="where"),
        tag("h1", problem["title"]),
        tag("p", "The service answered with the problem type ", tag("code", problem["code"]), ".", class_="label"),
        section("What happened", tag("p", problem["what"])),
        section("What to do", tag("p", problem["do"])),
    )
    return Page(here, problem["title"], body, "problems")


def problems_page(fleet: Fleet) -> Page:
    """Return the list of all problem types."""
    here = addresses.PROBLEMS
    rows: list[list[Child]] = [
        [tag("a", p["code"], href=addresses.link(here, addresses.problem(p["code"]))), p["title"], p["do"]]
        for p in fleet.problems
    ]
    body = join(
        tag("h1", "Problems the service answers with"),
        tag(
            "p",
            "For those who write an app or an import: each answer other than success names one of these.",
            class_="label",
        ),
        table(text_columns("Type", "In words", "What to do"), rows, None, "scales"),
    )
    return Page(here, "Problems", body, "problems")
