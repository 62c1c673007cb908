"""Who asks: an installation by its key, perhaps with the person who acts; what it may do, and at which sites."""

from dataclasses import dataclass
from typing import Final, Literal, get_args

from api.records.problems import NotOnRecord, SiteNotInKey

# What a key may do. `public` needs no key: the contract, and what says that the service is there.
GrantedScope = Literal["read", "report", "submit", "import", "amend", "release", "administer"]
Scope = Literal["public"] | GrantedScope
UNNAMED: Final = "unnamed"  # who does not say who they are, where no key is asked for
SCOPES: Final[tuple[GrantedScope, ...]] = get_args(GrantedScope)


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks: `installation` by its code, `person` by theirs where they are enrolled; `sites` None means every site."""

    installation: str
    scopes: frozenset[Scope]
    sites: frozenset[str] | None = None
    person: str | None = None

    @property
    def code(self) -> str:
        """Return who acts, as the log names them: the person where one is known, else the installation."""
        return self.person or self.installation

    def may_see(self, site: str | None) -> bool:
        """Return whether what belongs to a site is the caller's to see; what belongs to no site is everybody's."""
        return self.sites is None or site is None or site in self.sites

    def check_site(self, site: str | None, **facts: str) -> None:
        """Refuse what belongs to another site exactly as what is not on record (`NotOnRecord`)."""
        if not self.may_see(site):
            raise NotOnRecord("It is not on record.", **facts)

    def check_own(self, site: str) -> None:
        """Refuse to act at a site that the key is not for (`SiteNotInKey`); it is the same whether there is such a site."""
        check_own_site(site, self.sites)


def check_own_site(site: str, sites: frozenset[str] | None) -> None:
    """Refuse to act at a site beyond some sites (`SiteNotInKey`), and say which they are."""
    if sites is not None and site not in sites:
        named = ", ".join(sorted(sites))
        raise SiteNotInKey(f"This key does nothing at site {site!r}. It is for: {named}.", site=site, sites=named)
