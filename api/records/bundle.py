"""What goes offline with a technician: everything about the scales of a site that is needed to decide without a signal."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from api.metrology.mass import Mass
from api.metrology.plan_steps import Plan
from api.metrology.policy import Policy
from api.metrology.terms import Code, Line, Name, PieceState
from api.metrology.use import Use
from api.metrology.verdict import Verdict
from api.records.calibration import Standing
from api.records.device import Device, DeviceModel
from api.records.due import Due
from api.records.house_rule import HouseRule
from api.records.people import Technician
from api.records.place import Site, Ward
from api.records.plan import CautionText
from api.records.weighing import RestsOn
from api.records.weight import WeightSet


@dataclass(frozen=True, slots=True)
class BundleAsked:
    """A bundle as it is asked for: of which site, perhaps one ward of it, for which day, with which set, for whom."""

    site: str
    on: date
    ward: str | None = None
    weight_set: str | None = None
    technician: str | None = None


@dataclass(frozen=True, slots=True)
class PointInShort:
    """What a scale showed at a load and how that was judged: in kilograms, the error as indication minus load."""

    test: str
    load_kg: Decimal
    indication_kg: Decimal
    verdict: Verdict
    error_kg: Decimal | None = None
    tolerance_kg: Decimal | None = None
    expanded_kg: Decimal | None = None


@dataclass(frozen=True, slots=True)
class LastLeft:
    """How the newest visit that judged it left a scale; `rests_on` says which points these are."""

    calibration: str
    site: str
    performed_on: str
    standing: Standing
    verdict: Verdict
    adjusted: bool
    rests_on: RestsOn
    points: tuple[PointInShort, ...]


@dataclass(frozen=True, slots=True)
class OpenFlag:
    """A flag of a visit that nobody has reviewed yet."""

    calibration: str
    performed_on: str
    code: str
    sentence: str


@dataclass(frozen=True, slots=True)
class BundledDevice:
    """One scale: its record with the revision that a visit names, when it is due, whether it may be used, what to do on it.

    `plan_digest` is what a visit names the plan by; where there is none, `why_no_plan` says why. Where the set that was
    asked for does not do, the plan is without pieces and `why_no_pieces` says why.
    """

    device: Code
    revision: int
    valid_from: date
    record: Device
    due: Due
    use: Use
    plan: Plan | None = None
    plan_digest: str | None = None
    why_no_plan: str | None = None
    why_no_pieces: str | None = None
    last_left: LastLeft | None = None
    open_flags: tuple[OpenFlag, ...] = ()


@dataclass(frozen=True, slots=True)
class BundledWeight:
    """One piece: its nominal value, class and state, and the certificate in force that day, if there is one.

    `lapsed` names the last certificate of a piece that has none in force any more; `held` says why a piece may not be counted
    on whatever its certificate says: it was dropped, washed, or found changed.
    """

    code: Code
    nominal: Mass
    weight_class: Name
    state: PieceState
    certificate: Code | None = None
    conventional_kg: Decimal | None = None
    expanded_kg: Decimal | None = None
    k: Decimal | None = None
    valid_from: date | None = None
    valid_to: date | None = None
    lapsed: Line | None = None
    held: str | None = None


@dataclass(frozen=True, slots=True)
class Bundle:
    """Everything for going offline with the scales of a site, as it stands on a day; the devices by due date.

    `log_number` and `log_moment` are of the newest entry of the log that anything here was read from: what came since is
    read from the changes after it.
    """

    on: date
    log_number: int
    log_moment: datetime
    program: str
    site: Site
    wards: tuple[Ward, ...]
    devices: tuple[BundledDevice, ...]
    models: tuple[DeviceModel, ...]
    policy: Policy
    house_rules: tuple[HouseRule, ...]
    weight_sets: tuple[WeightSet, ...]
    weights: tuple[BundledWeight, ...]
    technicians: tuple[Technician, ...]
    cautions: tuple[CautionText, ...]
