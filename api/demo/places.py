"""Where the invented network's scales stand: two sites, ten wards, and the owner's one house rule.

Gravity is the normal-gravity series with height, as everywhere where it was not measured; extensions are invented.
"""

from decimal import Decimal
from typing import Final

from api.demo.days import ZONE_NAME
from api.metrology.mass import mass
from api.records.house_rule import HouseRule, HouseRuleTerm
from api.records.place import ClinicalLimit, Gravity, Site, Ward

# Half-width of 1e-4 relative, divided by the root of three.
_U_OF_G: Final = Decimal("0.00057")
_LOCAL_CODE: Final = "NIST Handbook 44, section 2.20, as far as the local code takes it up"


def _gravity(g_m_s2: str) -> Gravity:
    return Gravity(Decimal(g_m_s2), _U_OF_G, "normal gravity by series with height, not measured")


SITES: Final = (
    Site(
        code="QG",
        name="Quillhaven General",
        latitude_deg=Decimal("40.0"),
        height_m=Decimal("120"),
        time_zone=ZONE_NAME,
        address="1 Weir Lane, Quillhaven (invented)",
        contact="medical physics desk, extension 4 410",
        gravity=_gravity("9.801327"),
        local_code=_LOCAL_CODE,
    ),
    Site(
        code="HM",
        name="Highmoor",
        latitude_deg=Decimal("39.7"),
        height_m=Decimal("1650"),
        time_zone=ZONE_NAME,
        address="12 Plateau Road, Highmoor (invented)",
        contact="medical physics desk of Quillhaven General, extension 4 410",
        gravity=_gravity("9.796340"),
        local_code=_LOCAL_CODE,
    ),
)

G_AT: Final = {site.code: site.gravity.g_m_s2 for site in SITES if site.gravity is not None}


def _limit(value: str, unit: str) -> ClinicalLimit:
    return ClinicalLimit(mass=mass(value, unit), source="the ward's own limit, invented for the demonstration")


WARDS: Final = (
    Ward("QG-ED", "QG", "Emergency department", "dose-critical", "shift lead", "extension 4 410", None, 60),
    Ward(
        "QG-CDU", "QG", "Chemotherapy day unit", "dose-critical", "nurse in charge", "extension 4 418",
        _limit("0.5", "kg"), 30,
    ),
    Ward(
        "QG-PAE", "QG", "Paediatric clinic", "dose-critical", "clinic lead", "extension 4 431", _limit("0.2", "kg"), 35
    ),
    Ward("QG-NEO", "QG", "Neonatal ward", "dose-critical", "nurse in charge", "extension 4 437", _limit("10", "g"), 18),
    Ward("QG-ICU", "QG", "Intensive care", "monitoring", "nurse in charge", "extension 4 452", None, 2),
    Ward(
        "QG-IMG", "QG", "Imaging", "record", "imaging safety officer", "extension 4 466", None, 14, magnet_zone=True
    ),
    Ward(
        "QG-DIA", "QG", "Dialysis unit", "dose-critical", "nurse in charge", "extension 4 474", _limit("0.1", "kg"), 44
    ),
    Ward("QG-PHA", "QG", "Pharmacy", "dose-critical", "pharmacist in charge", "extension 4 480", None, 25),
    Ward("HM-MED", "HM", "Medical ward", "monitoring", "nurse in charge", "extension 7 210", _limit("0.5", "kg"), 14),
    Ward("HM-NUR", "HM", "Nursery", "dose-critical", "nurse in charge", "extension 7 224", _limit("10", "g"), 18),
)  # fmt: skip

BED_RULE: Final = HouseRule(
    code="BED-1PCT",
    terms=(HouseRuleTerm(percent=Decimal(1)), HouseRuleTerm(mass=mass("0.5", "kg"))),
    source="owner's rule, common practice, no source",
    combine="larger",
)
