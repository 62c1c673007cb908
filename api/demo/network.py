"""The invented network's register, whole and in order of dependence: what `PUT /v1/{collection}/{key}` is sent."""

from datetime import date

from api.demo.days import REGISTER_BEGINS, days_before
from api.demo.devices import devices, later_changes
from api.demo.entry import Entry, entry_of
from api.demo.models import MODELS
from api.demo.old_records import OLD_SPREADSHEET
from api.demo.people import technicians
from api.demo.places import BED_RULE, SITES, WARDS
from api.demo.weights import SETS, certificates_of, pieces_of, set_of
from api.records.register import Entity


def register_entries(today: date) -> list[Entry]:
    """Return every entry of the demonstration's register, each after the entries that it names.

    House rule, sites, wards, models, technicians, the import profile, weights, weight certificates, weight sets, devices, and
    the later changes of devices in order of time.
    """
    begins = days_before(today, REGISTER_BEGINS)
    lasting: list[Entity] = [BED_RULE, *SITES, *WARDS, *MODELS, *technicians(today), OLD_SPREADSHEET]
    entries = [entry_of(record, begins) for record in lasting]
    entries += _weights(today, begins)
    entries += [entry_of(device, begins) for device in devices(today)]
    return entries + [entry_of(device, day) for day, device in later_changes(today)]


def _weights(today: date, begins: date) -> list[Entry]:
    entries = [entry_of(piece, begins) for plan in SETS for piece in pieces_of(plan)]
    for plan in SETS:
        entries += [entry_of(certificate, certificate.valid_from) for certificate in certificates_of(plan, today)]
    return entries + [entry_of(set_of(plan, today), begins) for plan in SETS]
