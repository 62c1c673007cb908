"""The register's kinds, and a revision of one of its entities: what holds from a day on, and when that was recorded."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final, Generic, TypeVar

from api.metrology.policy import Policy
from api.records.device import Device, DeviceModel
from api.records.house_rule import HouseRule
from api.records.import_profile import ImportProfile
from api.records.people import Technician
from api.records.place import Site, Ward
from api.records.weight import Weight, WeightCertificate, WeightSet

T = TypeVar("T")

_OfScales = Site | Ward | DeviceModel | Device | Technician | Policy | HouseRule
_OfWeights = Weight | WeightSet | WeightCertificate
Entity = _OfScales | _OfWeights | ImportProfile


@dataclass(frozen=True, slots=True)
class EntityKind:
    """One kind of entity: its name, its name in addresses, its record, which field is its key, and its letter on labels.

    `site_field` names the site it belongs to; a kind without one belongs to the network. What `travels` is kept at a site,
    which alone may change it, and goes to all of them: every key sees it, because every site is tested with it.
    """

    name: str
    collection: str
    record: type[Entity]
    key_field: str
    letter: str | None = None
    site_field: str | None = None
    travels: bool = False

    def site_of(self, record: Entity) -> str | None:
        """Return the site that an entity belongs to, None where it belongs to the network."""
        found: str | None = getattr(record, self.site_field) if self.site_field else None
        return found

    def seen_at(self, record: Entity) -> str | None:
        """Return the one site that sees an entity, None where every site does."""
        return None if self.travels else self.site_of(record)


KINDS: Final = (
    EntityKind("site", "sites", Site, "code", "s", "code"),
    EntityKind("ward", "wards", Ward, "code", "w", "site"),
    EntityKind("model", "models", DeviceModel, "code"),
    EntityKind("device", "devices", Device, "tag", "d", "site"),
    EntityKind("weight", "weights", Weight, "code", site_field="site", travels=True),
    EntityKind("weight set", "weight-sets", WeightSet, "code", site_field="site", travels=True),
    EntityKind("weight certificate", "weight-certificates", WeightCertificate, "number"),
    EntityKind("technician", "technicians", Technician, "code"),
    EntityKind("policy", "policies", Policy, "code"),
    EntityKind("house rule", "house-rules", HouseRule, "code"),
    EntityKind("import profile", "import-profiles", ImportProfile, "code"),
)
KIND_NAMED: Final = {kind.name: kind for kind in KINDS}


@dataclass(frozen=True, slots=True)
class RegisterNote:
    """What does not agree with the trade's rules in a record that is kept all the same: code, sentence, facts with the
    limit among them, where the rule is from, and the way out."""

    code: str
    sentence: str
    facts: dict[str, str]
    source: str = ""
    way_out: str = ""


@dataclass(frozen=True, slots=True)
class Revision(Generic[T]):
    """One revision of an entity: number, the day from which it holds, when and in which log entry it was recorded.

    Notes are no part of what was recorded: they are worked out when it is asked for.
    """

    kind: str
    key: str
    number: int
    valid_from: date
    recorded_at: datetime
    recorded_by: str
    log_number: int
    record: T
    notes: tuple[RegisterNote, ...] = ()
