"""A life asked for the test of the contract: every act with answers of several statuses."""

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.doors import an_id, example
from tests.lives import a_visit, act, amended, failing, release, typed_from_paper

Answers = dict[tuple[str, str], list[TestResponse]]


def life_asked(client: FlaskClient) -> Answers:
    """Return what every act on a record answered."""
    one, other = a_visit(client), a_visit(client)
    unknown = a_visit(client, example() | {"ward": "QG-NEW"})
    double = a_visit(client)
    is_no_double = {"of": one, "same_visit": False, "because": "They were two passes."}
    is_double = {"of": unknown, "same_visit": True, "because": "The app was installed anew."}
    link = {"kind": "ward", "as_sent": "QG-NEW", "key": "QG-CDU", "because": "It was named anew."}
    answers = {
        "review": [act(client, one, "review", body) for body in ({"words": "Held back."}, {})],
        "release": [release(client, one, by) for by in ("T-01", "S-01", "S-01")],
        "amendments": [
            amended(client, one, failing()), amended(client, one, failing()), amended(client, one, {}),
            amended(client, an_id(), typed_from_paper()),
        ],
        "links": [act(client, unknown, "links", link), act(client, one, "links", link)],
        "duplicate": [
            act(client, double, "duplicate", said) for said in (is_no_double, is_double | {"of": double}, is_double)
        ],
        "void": [act(client, other, "void", {"because": "Sent twice."}) for _ in range(2)],
    }  # fmt: skip
    root, certified = "/v1/calibrations/{calibration_id}", answers["release"][1].json["certificate"]
    found = {(f"{root}/{what}", "post"): told for what, told in answers.items()}
    found[f"{root}/life", "get"] = [client.get(f"/v1/calibrations/{i}/life") for i in (one, other, unknown, an_id())]
    found["/v1/certificates/{certificate_number}/revisions", "get"] = [
        client.get(f"/v1/certificates/{number}/revisions") for number in (certified, "x")
    ]
    return found
