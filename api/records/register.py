"""The register's kinds, and a revision of one of its entities: what holds from a day on, and when that was recorded."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final, Generic, TypeVar

from api.metrology.policy import Policy
from api.records.device import Device, DeviceModel
from api.records.house_rule import HouseRule
from api.records.people import Technician
from api.records.place import Site, Ward
from api.records.weight import Weight, WeightCertificate, WeightSet

T = TypeVar("T")

Entity = Site | Ward | DeviceModel | Device | Weight | WeightSet | WeightCertificate | Technician | Policy | HouseRule


@dataclass(frozen=True, slots=True)
class EntityKind:
    """One kind of entity: its name, its name in addresses, its record, which field is its key, and its letter on labels."""

    name: str
    collection: str
    record: type[Entity]
    key_field: str
    letter: str | None = None


KINDS: Final = (
    EntityKind("site", "sites", Site, "code", "s"),
    EntityKind("ward", "wards", Ward, "code", "w"),
    EntityKind("model", "models", DeviceModel, "code"),
    EntityKind("device", "devices", Device, "tag", "d"),
    EntityKind("weight", "weights", Weight, "code"),
    EntityKind("weight set", "weight-sets", WeightSet, "code"),
    EntityKind("weight certificate", "weight-certificates", WeightCertificate, "number"),
    EntityKind("technician", "technicians", Technician, "code"),
    EntityKind("policy", "policies", Policy, "code"),
    EntityKind("house rule", "house-rules", HouseRule, "code"),
)
KIND_NAMED: Final = {kind.name: kind for kind in KINDS}


@dataclass(frozen=True, slots=True)
class Revision(Generic[T]):
    """One revision of an entity: number, the day from which it holds, when and in which log entry it was recorded."""

    kind: str
    key: str
    number: int
    valid_from: date
    recorded_at: datetime
    recorded_by: str
    log_number: int
    record: T
