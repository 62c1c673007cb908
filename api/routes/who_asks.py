"""Who asks, by the keys that came with a request: the installation's in Authorization, a person's beside it."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Engine

from api.ledger.key_text import OF_INSTALLATION, OF_PERSON, is_kept_as, key_text
from api.queries.access_keys import key_on_record
from api.records.access_key import AccessKey
from api.records.caller import Caller
from api.records.problems import KeyNotAccepted, NoKey

FIELD_OF = {OF_INSTALLATION: "Authorization", OF_PERSON: "Steelyard-Person"}
_WHOSE = {OF_INSTALLATION: "an installation's", OF_PERSON: "a person's"}


@dataclass(frozen=True, slots=True)
class WhoAsks:
    """The keys that were accepted, and the caller that they make."""

    installation: AccessKey
    person: AccessKey | None

    @property
    def keys(self) -> list[AccessKey]:
        """The keys that came."""
        return [key for key in (self.installation, self.person) if key is not None]

    def caller(self) -> Caller:
        """Return who asks: with a person, only at the sites that both keys are for."""
        sites = _sites_of(self.installation)
        if self.person is not None:
            others = _sites_of(self.person)
            sites = others if sites is None else sites if others is None else sites & others
        person = self.person.holder if self.person else None
        return Caller(self.installation.holder, frozenset(self.installation.scopes), sites, person)


def who_asks(engine: Engine, authorization: str | None, persons: str | None, moment: datetime) -> WhoAsks:
    """Return who asks, by what stood in the two fields.

    Refuses a request without an installation's key (`NoKey`), and any key that is not in order (`KeyNotAccepted`).
    """
    if authorization is None:
        raise NoKey("This needs the key of an installation: Authorization: Bearer sty_i_...")
    scheme, _, text = authorization.partition(" ")
    if scheme.lower() != "bearer":
        raise KeyNotAccepted("The field Authorization holds no Bearer key: Authorization: Bearer sty_i_...")
    installation = _accepted(engine, text.strip(), OF_INSTALLATION, moment)
    return WhoAsks(installation, None if persons is None else _accepted(engine, persons.strip(), OF_PERSON, moment))


def _accepted(engine: Engine, text: str, prefix: str, moment: datetime) -> AccessKey:
    """The key of a text; what is said of one that is on record is said only to who holds its secret."""
    field = FIELD_OF[prefix]
    read = key_text(text)
    if read is None:
        raise KeyNotAccepted(f"The key in {field} has another form, or a typing slip: its check sum does not fit.")
    if read.prefix != prefix:
        raise KeyNotAccepted(f"The key in {field} is {_WHOSE[read.prefix]}; it belongs into {FIELD_OF[read.prefix]}.")
    known = key_on_record(engine, read.name)
    if known is None or not is_kept_as(text, known.digest):
        raise KeyNotAccepted(f"The key in {field} is not known here.")
    state = known.key.state(moment)
    if state != "active":
        when = known.key.revoked_at or known.key.expires_at
        said = "was revoked" if state == "revoked" else "expired"
        raise KeyNotAccepted(f"Key {read.name} {said} on {when.date().isoformat()}.", key=read.name, state=state)
    return known.key


def _sites_of(key: AccessKey) -> frozenset[str] | None:
    return None if key.sites is None else frozenset(key.sites)
