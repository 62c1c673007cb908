"""The life of a weight and the labels of a scale asked over the web in every way; in the end nothing is held."""

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.ledger.label_ids import label_id
from api.routes.labels import ENDED, STUCK
from tests.doors import JSON, an_id, example, later, send
from tests.weights_told import TAKEN, back, compared, laboratory, mishap, out, release, tell

Answers = dict[tuple[str, str], list[TestResponse]]


def weights_asked(client: FlaskClient) -> Answers:
    """Ask each route of the life of weights, what is there and what is not."""
    good = an_id()
    dropped = tell(client, mishap("24T13:00"))
    events = [
        tell(client, out()), dropped, tell(client, back("24T14:00", *TAKEN)), tell(client, compared("24T14:30"), good),
        tell(client, compared("24T14:40"), good), tell(client, laboratory("sent to the laboratory", "20T08:00", "FS1-1")),
        tell(client, mishap() | {"kind": "lost"}), tell(client, compared("24T14:50", piece="FS1-5")),
    ]  # fmt: skip
    life = [client.get(f"/v1/weights/{code}/life") for code in ("FS1-10", "FS1-1", "NOTHING")]
    of_set = [client.get(f"/v1/weight-sets/{code}/life") for code in ("FS-1", "NOTHING")]
    releases = [
        tell(client, release("24T15:00", comparison=good)), tell(client, release("24T15:01", comparison=good)),
        tell(client, release()),
    ]  # fmt: skip
    return {
        ("/v1/weight-events/{event_id}", "put"): events,
        ("/v1/weight-events/{event_id}", "get"): [
            client.get(dropped.headers["Location"]), client.get(f"/v1/weight-events/{good}"),
            client.get(f"/v1/weight-events/{an_id()}"),
        ],
        ("/v1/weight-releases/{event_id}", "put"): releases,
        ("/v1/weights/{code}/life", "get"): life,
        ("/v1/weight-sets/{code}/life", "get"): of_set,
    }  # fmt: skip


def labels_asked(client: FlaskClient) -> Answers:
    """Ask each route of labels, what is right and what is not."""
    calibration = an_id()
    send(client, later(example(), 5), calibration)  # a visit of its own, no double of another
    body = STUCK | {"calibration": calibration}
    named = label_id("QG", calibration)
    stuck = [
        client.put(f"/v1/labels/{named}", json=body), client.put(f"/v1/labels/{named}", json=body),
        client.put(f"/v1/labels/{named}", json=body | {"by": "T-02"}), client.put("/v1/labels/X", json=body),
        client.put(f"/v1/labels/{named}", json={}),
    ]  # fmt: skip
    drawn = [client.get(f"/v1/labels/{named}/drawing.svg")]
    event = f"/v1/labels/{named}/events/{an_id()}"
    events = [client.put(event, json=ENDED, headers=JSON) for _ in range(2)]
    events.append(client.put(f"/v1/labels/M2M0-1MJN-YYPC/events/{an_id()}", json=ENDED))
    return {
        ("/v1/labels/{label_id}", "put"): stuck,
        ("/v1/labels/{label_id}", "get"): [client.get(f"/v1/labels/{name}") for name in (named, "X")],
        ("/v1/labels/{label_id}/drawing.svg", "get"): [*drawn, client.get(f"/v1/labels/{named}/drawing.svg")],
        ("/v1/labels/{label_id}/events/{event_id}", "put"): events,
        ("/v1/devices/{tag}/labels", "get"): [client.get(f"/v1/devices/{tag}/labels") for tag in ("A-04", "Z-99")],
    }  # fmt: skip
