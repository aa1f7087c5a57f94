"""What stands beside what: which sites, under which designs and scenarios?

An alternative is one farm that could be built: a site, the farm laid over it, a scenario and any
settings. Two alternatives may share their site, their design or both.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from sitefare.assumptions.case import Case, make_case
from sitefare.assumptions.library import Library
from sitefare.errors import RunError


@dataclass(frozen=True)
class Alternative:
    """One farm that could be built. `design` is empty for the site's own farm.

    `title` is a short name to print; where it is empty, printers make one.
    """

    site: str
    scenario: str
    settings: tuple[str, ...] = ()
    design: str = ""
    title: str = ""

    @property
    def name(self) -> str:
        """Its key, told apart from every other: site/design/scenario, and settings if any."""
        parts = [self.site, *([self.design] if self.design else []), self.scenario]
        return "/".join([*parts, *(["; ".join(self.settings)] if self.settings else [])])

    def case(self, library: Library) -> Case:
        """Resolve it into a case.

        Raises
        ------
        AssumptionError
            If the site, the design, the scenario or a setting is refused.
        """
        return make_case(library, self.site, self.scenario, self.settings, self.design)


def check_sites(sites: Sequence[str]) -> None:
    """Refuse a comparison of fewer than two different sites.

    Raises
    ------
    RunError
        Naming the sites given.
    """
    if len(set(sites)) < max(len(sites), 2):
        msg = f"a comparison needs two or more different sites; found {', '.join(sites) or 'none'}"
        raise RunError(msg)


def check_alternatives(given: Sequence[Alternative]) -> None:
    """Refuse fewer than two alternatives, or one that stands twice.

    Raises
    ------
    RunError
        Naming those that stand twice, or the one given.
    """
    names = [one.name for one in given]
    if len(names) < 2:  # noqa: PLR2004
        check_sites([one.site for one in given])
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        msg = f"an alternative stands once in a comparison; twice or more: {', '.join(twice[:3])}"
        raise RunError(msg)


def alternatives(
    sites: Sequence[str],
    designs: Sequence[str] = (),
    scenarios: Sequence[str] = ("as_planned",),
    settings: Sequence[str] = (),
) -> tuple[Alternative, ...]:
    """Return every site with every design under every scenario, all with the same settings.

    No designs means each site's own farm; '' among them stands for it beside others.

    Raises
    ------
    RunError
        If that makes fewer than two different alternatives.
    """
    several = len(designs) > 1 or len(scenarios) > 1
    if not several:
        check_sites(sites)
    made = tuple(
        Alternative(site, scenario, tuple(settings), design)
        for site, design, scenario in product(sites, designs or ("",), scenarios)
    )
    check_alternatives(made)
    return made
