"""An invented fleet for the builder's tests: visits are judged by the program's own metrology, nothing is typed in.

Everything is made up. Errors of a scale are given as a share of the load, so that a test can say what it expects.
"""

from dataclasses import fields, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from api.answers.corners import corners_from
from api.answers.weighing import weighing_from
from api.metrology.judgement import ProvenRange
from api.metrology.judging import Case, judge
from api.metrology.mass import mass
from api.metrology.policy import STARTING
from api.metrology.submission import Submission
from api.metrology.use import LastResult, PersonsLimit, UseFacts, use_of
from api.metrology.weights import CertifiedMass, Piece
from api.records.calibration import Calibration
from api.records.device import DeviceModel
from api.records.documents import document_of, record_from
from api.records.every_problem import PROBLEMS
from api.records.working import read_working, working_of
from site_builder.fleet import Fleet, Scale
from site_builder.gather import answered
from site_builder.page import Touch

AS_OF = date(2026, 11, 25)
LOG = Touch(4812, "2026-11-25T10:00:00+00:00")
Document = dict[str, Any]

CERTIFICATE = CertifiedMass("LB-2026-31", Decimal(0), Decimal(0), Decimal(2), date(2023, 1, 1), date(2027, 3, 31))


def kg(value: str) -> Document:
    """Return a mass in kilograms as it travels."""
    return {"value": value, "unit": "kg"}


def pieces(count: int = 10, nominal: str = "20", unit: str = "kg", letter: str = "W") -> dict[str, Piece]:
    """Return so many equal weights with a certificate: each some millionths heavier than marked."""
    marked = mass(nominal, unit)
    certified = replace(
        CERTIFICATE, conventional_kg=marked.kg * Decimal("1.00002"), expanded_kg=marked.kg * Decimal("0.00003")
    )
    return {f"{letter}-{n:02}": Piece(f"{letter}-{n:02}", marked, "F", certified) for n in range(1, count + 1)}


MODELS: dict[str, Document] = {
    "M-COL": {
        "code": "M-COL", "kind": "stand-on", "description": "Stand-on scale, column", "accuracy_class": "III",
        "arrangement": "single", "ranges": [{"max": kg("200"), "d": kg("0.1"), "e": kg("0.1"), "min": kg("2.0")}],
        "unit_lock_possible": True,
    },
    "M-CHR": {
        "code": "M-CHR", "kind": "chair", "description": "Chair scale", "accuracy_class": "III",
        "arrangement": "multi-interval", "ranges": [
            {"max": kg("150"), "d": kg("0.05"), "e": kg("0.05")}, {"max": kg("250"), "d": kg("0.1"), "e": kg("0.1")},
        ],
    },
    "M-BED": {
        "code": "M-BED", "kind": "bed", "description": "Bed with built-in scale", "accuracy_class": "III",
        "arrangement": "single", "ranges": [{"max": kg("250"), "d": kg("0.1"), "e": kg("0.1")}],
        "safe_working_load": kg("300"),
    },
    "M-BAL": {
        "code": "M-BAL", "kind": "pharmacy balance", "description": "Pharmacy balance", "accuracy_class": "II",
        "arrangement": "single", "ranges": [
            {"max": {"value": "2200", "unit": "g"}, "d": {"value": "0.01", "unit": "g"}, "e": {"value": "0.1", "unit": "g"}},
        ],
    },
}  # fmt: skip

SITES: tuple[Document, ...] = (
    {
        "code": "QG", "name": "Quillhaven General", "latitude_deg": "40.0", "height_m": "120",
        "time_zone": "America/New_York",
        "gravity": {"g_m_s2": "9.801327", "standard_uncertainty_m_s2": "0.0005",
                    "source": "normal gravity from latitude and height"},
        "legal_verification_required": False,
    },
    {
        "code": "HM", "name": "Highmoor", "latitude_deg": "39.7", "height_m": "1650", "time_zone": "America/Denver",
        "gravity": {"g_m_s2": "9.796340", "standard_uncertainty_m_s2": "0.0008",
                    "source": "normal gravity from latitude and height"},
        "legal_verification_required": True,
    },
)  # fmt: skip

WARDS: tuple[Document, ...] = (
    {"code": "QG-ED", "site": "QG", "name": "Emergency department", "use_tier": "dose-critical",
     "call_role": "Medical physics desk", "call_number": "extension 4410", "weighings_per_day": 60,
     "clinical_limit": {"mass": kg("0.5"), "source": "ward agreement 12"}},
    {"code": "QG-DIA", "site": "QG", "name": "Dialysis", "use_tier": "dose-critical", "call_role": "Medical physics desk",
     "call_number": "extension 4410", "infection_flag": True},
    {"code": "QG-MRI", "site": "QG", "name": "Imaging", "use_tier": "record", "call_role": "Imaging safety officer",
     "call_number": "extension 4422", "magnet_zone": True},
    {"code": "HM-PH", "site": "HM", "name": "Pharmacy", "use_tier": "dose-critical", "call_role": "Site engineer",
     "call_number": "extension 12"},
)  # fmt: skip


def a_device(tag: str, model: str = "M-COL", ward: str = "QG-ED", **others: Any) -> Document:
    """Return a device's register record that shows only what matters."""
    site = next(w["site"] for w in WARDS if w["code"] == ward)
    return {
        "tag": tag, "serial": f"SN-{tag}-2004", "model": model, "site": site, "ward": ward, "place": "bay 3",
        "in_place_since": "2023-09-01", "state": "in service", "tolerance": {"scheme": "hb44"}, "interval_months": 12,
        "on_register_since": "2023-09-01", "electrical_safety_due": "2027-03-02", "unit_lock_required": True, **others,
    }  # fmt: skip


def shown(load: Decimal, ppm: int, model: Document, offset: Decimal = Decimal(0)) -> Document:
    """Return what a scale with a span error in millionths shows for a load, rounded to its division."""
    ranges = model["ranges"]
    in_use = next((r for r in ranges if load <= Decimal(r["max"]["value"])), ranges[-1])
    d = Decimal(in_use["d"]["value"])
    true = load * (1 + Decimal(ppm) / 1_000_000) + offset
    return {"value": f"{(true / d).quantize(Decimal(1), ROUND_HALF_UP) * d:f}", "unit": in_use["d"]["unit"]}


LYING = ("head left", "head right", "foot left", "foot right", "centre")
STANDING = ("centre", "front left", "front right", "back left", "back right")


def readings(
    model: Document, ppm: int, codes: list[str], size: Decimal, corner: tuple[str, Decimal] | None = None,
    loads: tuple[int, ...] = (1, 3, 5, 8, 10),
) -> list[Document]:  # fmt: skip
    """Return a full set of readings: zero, up, down, corners, three repeats; one corner may be off by a mass."""
    sent: list[Document] = []

    def read(test: str, count: int, offset: Decimal = Decimal(0), **others: Any) -> None:
        load = size * count
        placed = {"placed": "spread"} if count else {}
        sent.append(
            {"seq": len(sent) + 1, "test": test, "indication": shown(load, ppm, model, offset), "pieces": codes[:count],
             "stable": True, "at": f"2026-10-14T09:{len(sent) + 10:02}:00-04:00", **placed, **others}
        )  # fmt: skip

    read("zero found", 0)
    read("zero set", 0, remark="mattress, one sheet, two pillows" if model["kind"] == "bed" else "nothing on it")
    for count in loads:
        read("increasing", count)
    for count in reversed(loads[:-1]):
        read("decreasing", count)
    for position in LYING if model["kind"] == "bed" else STANDING:
        read("eccentricity", 3, corner[1] if corner and corner[0] == position else Decimal(0), position=position)
    for _ in range(3):
        read("repeatability", loads[-2])
    return sent


def a_submission(
    device: Document, on: str, found: list[Document] | None, left: list[Document] | None = None, **others: Any
) -> Document:
    """Return a submission as a field app sends it."""
    sent: Document = {
        "schema": "calibration/1", "site": device["site"], "device": device["tag"],
        "performed": {"start": f"{on}T09:05:00-04:00", "end": f"{on}T10:02:00-04:00"},
        "technicians": ["T-02"], "purpose": "scheduled", "outcome": "completed",
        "procedure": {"code": "WI-07", "revision": "4"}, "weight_set": "FS-1",
        "environment": {"start": {"temperature_c": "21.4", "humidity_pct": "45"}, "end": {"temperature_c": "21.6"}},
        "setup": {"surface": "hard floor", "level": True, "warm_up_min": 15},
        "identity": [{"item": "asset tag", "matches": True}, {"item": "serial", "matches": True, "seen": device["serial"]}],
        "checks": [{"item": "feet and castors", "result": "in order"}],
        "seals": {"before": "S-118", "after": "S-119"},
        "counters": {"before": {"adjustment": 4}, "after": {"adjustment": 5 if left else 4}},
        "configuration": {"before": {"unit": "kg", "unit_locked": True}, "after": {"unit": "kg", "unit_locked": True}},
        "pieces_counted": {"out": 10, "back": 10}, "decision": "return to service",
    }  # fmt: skip
    if found is not None:
        sent["as_found"] = {"readings": found, "switched_off_and_on": True}
    if left is not None:
        sent["as_left"] = {"readings": left}
        sent["adjustments"] = [{"type": "span", "at_load": kg("200"), "pieces": [f"W-{n:02}" for n in range(1, 11)],
                                "reason": "above 70 % of the tolerance", "authorised_by": "SR-1"}]  # fmt: skip
    return sent | others


def judged(sent: Document, model: Document, weights: dict[str, Piece]) -> Document:
    """Return the working of a submission, judged by the program."""
    record = record_from(DeviceModel, model)
    case = Case(record_from(Submission, sent), record.as_scale(), "hb44", None, None, weights, STARTING)
    device = {"tag": sent["device"], "revision": 1, "model": model["code"], "model_revision": 1, "kind": model["kind"],
              "accuracy_class": model["accuracy_class"]}  # fmt: skip
    with_whom = {"program": "0.1.0", "device": device, "policy": {"code": "network", "revision": 1}}
    return read_working(working_of(judge(case), with_whom))


def a_visit(
    sent: Document, model: Document, log_number: int, standing: str = "released", certificate: str | None = None,
    weights: dict[str, Piece] | None = None,
) -> Document:  # fmt: skip
    """Return a history item as it is read back."""
    working = judged(sent, model, weights or pieces())
    item = {
        "calibration": f"0190f3c2-0000-7000-8000-{log_number:012}", "site": sent["site"], "revision": 1,
        "device": sent["device"], "performed_from": sent["performed"]["start"], "performed_to": sent["performed"]["end"],
        "purpose": sent["purpose"], "outcome": sent["outcome"], "reasons": sent.get("reasons", []),
        "technicians": sent["technicians"], "standing": standing, "adjusted": working["adjusted"],
        "flags": working["flags"], "notes": working["notes"],
        "received_at": f"{sent['performed']['end'][:10]}T15:00:00+00:00",
        "log_number": log_number, "content": sent, "working": working, "judgement": 1, "remarks": [],
        "stands": {"because": f"{standing}, for a reason", "by_whom": "S-01", "moment": "2026-10-15T12:00:00+00:00"},
        "recorded_by": "APP-1", "recorded_at": f"{sent['performed']['end'][:10]}T15:00:00+00:00",
    }  # fmt: skip
    for key in ("as_found", "as_left"):
        if key in working:
            item[key] = working[key]["verdict"]
    return item | ({"certificate": certificate, "certificate_revision": 1} if certificate else {})


def a_certificate(
    item: Document, device: Document, revision: int = 1, state: str = "in force", **others: Any
) -> Document:
    """Return a certificate as it is stored, with what stands beside its bytes."""
    site = next(s for s in SITES if s["code"] == device["site"])
    document = {
        "version": "certificate/1", "number": item["certificate"], "revision": revision,
        "issued_at": "2026-10-15T12:00:00+00:00",
        "site": site, "ward": next(w for w in WARDS if w["code"] == device["ward"]), "device": device,
        "model": MODELS[device["model"]], "calibration": item["calibration"], "performed_from": item["performed_from"],
        "performed_to": item["performed_to"], "received_at": item["received_at"], "technicians": item["technicians"],
        "procedure": item["content"].get("procedure"), "purpose": item["purpose"], "content": item["content"],
        "judgement": item["working"],
        "weight_certificates": [{"number": "LB-2026-31", "laboratory": "Quillhaven weights laboratory",
                                 "valid_from": "2023-01-01", "valid_to": "2027-03-31"}],
        "policy": document_of(STARTING),
        "rule": "simple acceptance: |error| at most the tolerance; U and the probability of conformity stand beside.",
        "statements": ["the statement covers every required test named below."],
        "cautions": [], "content_digest": "sha256:" + "a" * 64,
        "released": {"by_rule": {"policy": "network", "revision": 1, "responsible": "S-01", "source": "house choice"}},
        **others,
    }  # fmt: skip
    return {"document": document, "digest": "sha256:" + "b" * 64, "log_number": item["log_number"] + 1,
            "moment": "2026-10-15T12:00:00+00:00", "state": state, "because": "superseded by revision 2: a slip",
            "touch": Touch(item["log_number"] + 1, "2026-10-15T12:00:00+00:00")}  # fmt: skip


def a_scale(device: Document, history: tuple[Document, ...], **facts: Any) -> Scale:
    """Return a scale with the program's own answer on use from its newest visit that stands."""
    model = MODELS[device["model"]]
    released, unreviewed = (_last(history, standing) for standing in ("released", "provisional"))
    due = facts.pop("due", "2027-10-14" if released else device["on_register_since"])
    state = facts.pop("due_state", "not yet due" if released else "never calibrated")
    limit = device.get("limit")
    said = UseFacts(
        on=AS_OF, state=device["state"], capacity_kg=_capacity(model), released=released, unreviewed=unreviewed,
        due=date.fromisoformat(due), electrical_safety_due=date.fromisoformat(device["electrical_safety_due"]),
        legal_verification_required=False, legal_verification_until=None, unit_left="kg", unit_locked=True,
        unit_lock_required=True, decision=None,
        limit=PersonsLimit(Decimal(limit["up_to"]["value"]), None, limit["decided_by"]) if limit else None,
    )  # fmt: skip
    last = {"last_calibrated": released.on.isoformat()} if released else {}
    visits = [as_stored(item) for item in history]
    return Scale(
        device=device, model=model, ward=next(w for w in WARDS if w["code"] == device["ward"]),
        site=next(s for s in SITES if s["code"] == device["site"]), use=document_of(use_of(replace(said, **facts))),
        due={"due": due, "state": state, "basis": "12 months after the last good day.", **last},
        history=history, touch=Touch(history[0]["log_number"] if history else 17, "2026-10-15T12:00:00+00:00"),
        weighing=answered(lambda: weighing_from(device["tag"], visits, AS_OF)),
        corners=answered(lambda: corners_from(device["tag"], visits, AS_OF, lambda visit: 4)),
    )  # fmt: skip


def as_stored(item: Document) -> Calibration:
    """Return a history item as the record that the answers read."""
    own = {f.name for f in fields(Calibration)}
    rest = {"device_on_register": True, "performed_on": item["performed_from"][:10], "digest": "sha256:" + "a" * 64}
    return record_from(Calibration, {name: value for name, value in (rest | item).items() if name in own} | {
        name: None for name in ("as_found", "as_left", "certificate") if name not in item})  # fmt: skip


def _capacity(model: Document) -> Decimal:
    top = model["ranges"][-1]["max"]
    return mass(top["value"], top["unit"]).kg


def _last(history: tuple[Document, ...], standing: str) -> LastResult | None:
    item = next((h for h in history if h["standing"] == standing and h.get("as_left")), None)
    if item is None:
        return None
    proven = item["working"]["as_left"].get("proven")
    span = ProvenRange(Decimal(proven["from_kg"]), Decimal(proven["to_kg"])) if proven else None
    return LastResult(date.fromisoformat(item["performed_from"][:10]), item["as_left"], span)


CODES = [f"W-{n:02}" for n in range(1, 11)]
TWENTY = Decimal(20)


def a_04() -> Scale:
    """Four years of a column scale: adjusted in the first year and in the last."""
    device, model = a_device("A-04"), MODELS["M-COL"]
    good = readings(model, 0, CODES, TWENTY)
    years = (
        ("2026-10-14", readings(model, -900, CODES, TWENTY), good, 410),
        ("2025-10-11", readings(model, -600, CODES, TWENTY), None, 310),
        ("2024-10-10", readings(model, -300, CODES, TWENTY), None, 210),
        ("2023-10-10", readings(model, -1500, CODES, TWENTY), good, 110),
    )  # fmt: skip
    visits = [
        a_visit(a_submission(device, on, found, left), model, n, certificate=f"QG-{on[:4]}-0012")
        for on, found, left, n in years
    ]
    attempt = a_visit(
        a_submission(device, "2024-10-09", None, outcome="not tested", reasons=["not found"], weight_set=None) , model, 205
    )  # fmt: skip
    return a_scale(device, (visits[0], visits[1], visits[2], attempt, visits[3]))


def b_02() -> Scale:
    """A column scale that failed by one corner, left as it was."""
    device, model = a_device("B-02", place="corridor"), MODELS["M-COL"]
    found = readings(model, 100, CODES, TWENTY, ("back right", Decimal("-0.6")))
    sent = a_submission(
        device, "2026-11-02", found, decision="hold back", configuration={"after": {"unit": "kg", "unit_locked": False}}
    )
    return a_scale(device, (a_visit(sent, model, 500, "provisional"),))


def e_06() -> Scale:
    """A bed tested to 200 of 250 kg, not reviewed yet, on top of an earlier release."""
    device, model = a_device("E-06", "M-BED", "QG-DIA", place="bed 6"), MODELS["M-BED"]
    informed = {"role": "Nurse in charge", "at": "2026-11-20T10:00:00-05:00"}
    sent = a_submission(
        device, "2026-11-20", readings(model, 200, CODES, TWENTY), informed=informed, remarks="Side rail rubs."
    )
    before = a_submission(device, "2025-11-18", readings(model, 400, CODES, TWENTY, ("head left", Decimal("-0.1"))))
    history = (a_visit(sent, model, 620, "provisional"), a_visit(before, model, 330, certificate="QG-2025-0031"))
    return a_scale(device, history)


def c_05() -> Scale:
    """A chair limited by a person's word."""
    limit = {"up_to": kg("120"), "reason": "front left castor worn", "decided_by": "SR-1"}
    device, model = a_device("C-05", "M-CHR", "QG-DIA", state="limited", limit=limit), MODELS["M-CHR"]
    sent = a_submission(device, "2026-10-20", readings(model, 150, CODES, TWENTY))
    return a_scale(device, (a_visit(sent, model, 440, certificate="QG-2026-0040"),))


def h_01() -> Scale:
    """A pharmacy balance in grams, overdue, moved to another gravity."""
    adjusted = {"site": "QG", "on": "2025-08-01", "g_m_s2": "9.801327"}
    device, model = a_device("H-01", "M-BAL", "HM-PH", adjusted_at=adjusted, interval_months=6), MODELS["M-BAL"]
    codes = [f"P-{n:02}" for n in range(1, 11)]
    weights = pieces(10, "200", "g", "P")
    sent = a_submission(device, "2026-02-10", readings(model, -60, codes, Decimal(200)), weight_set="PH-1")
    sent["configuration"] = {"after": {"unit": "g", "unit_locked": True}}
    visit = a_visit(sent, model, 350, certificate="HM-2026-0003", weights=weights)
    return replace(a_scale(device, (visit,), due="2026-08-10", due_state="overdue"), adjusted_site=SITES[0])


def a_fleet() -> Fleet:
    """Return the whole invented fleet."""
    retired = a_scale(a_device("A-13", state="retired", state_reason="cell cracked"), (), due_state="retired")
    new = a_scale(a_device("A-11", ward="QG-MRI", previous_tags=["A-1"]), ())
    scales = (a_04(), new, retired, b_02(), c_05(), e_06(), h_01())
    amended = a_04()
    again = amended.history[0]["certificate"]
    certificates = [
        a_certificate(item, scale.device, state="superseded" if item["certificate"] == again else "in force")
        for scale in scales
        for item in scale.history
        if item.get("certificate")
    ]
    replaces = {
        "number": again,
        "revision": 1,
        "digest": "sha256:" + "b" * 64,
        "because": ["a slip"],
        "amended_by": ["T-02"],
    }
    released = {
        "by": "S-01",
        "at": "2026-10-16T12:00:00+00:00",
        "answers": [{"code": "off-grid", "words": "Read again."}],
    }
    second = a_certificate(amended.history[0], amended.device, revision=2, replaces=replaces, released=released)
    places = {("site", s["code"]): Touch(3, "2023-08-01T08:00:00+00:00") for s in SITES}
    places |= {("ward", w["code"]): Touch(9, "2023-08-01T08:10:00+00:00") for w in WARDS}
    return Fleet(
        as_of=AS_OF.isoformat(), log=LOG, sites=SITES, wards=WARDS, scales=scales,
        certificates=(*certificates, second | {"log_number": 415}), problems=tuple(document_of(list(PROBLEMS))),
        place_touches=places,
    )  # fmt: skip
