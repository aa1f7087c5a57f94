"""Are all assumption files of a folder sound, and what is weak in them?"""

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass

from sitefare.assumptions.case import Case, base_values, make_case
from sitefare.assumptions.correlation import without_effect
from sitefare.assumptions.evidence import evidence
from sitefare.assumptions.library import Library
from sitefare.assumptions.mixing import mixing
from sitefare.assumptions.permits import permits
from sitefare.errors import SitefareError
from sitefare.outputs.register import warnings
from sitefare.people.handover import model_in_force, models
from sitefare.questions.check_first import idle_patterns
from sitefare.questions.criteria import check_criteria, criteria_of
from sitefare.questions.risk_register import check_risks


@dataclass(frozen=True)
class Finding:
    """One line of a check: what was read, or what was refused."""

    text: str
    refused: bool = False


def check_all(library: Library) -> Iterator[Finding]:
    """Resolve every site with every scenario and say what is refused or weak."""
    rows = library.common.rows
    yield Finding(f"common {library.version}: {len(rows)} values, {len(library.sources)} sources")
    try:
        weights = ", ".join(f"{one.key} {one.weight:g}" for one in criteria_of(library))
        yield Finding(f"weights of criteria: {weights}")
    except SitefareError as error:
        yield Finding(str(error), refused=True)
    sound = yield from _read("scenario", library.scenarios, library.scenario)
    drawn = yield from _read("design", library.designs, library.design)
    if sound:
        for site in library.sites:
            yield from _site(library, site, sound, drawn)
    yield Finding(f"designs: {', '.join(drawn) or 'none'}")
    yield Finding(f"scenarios: {', '.join(sound)}")


def _read(
    kind: str, names: list[str], read: Callable[[str], object]
) -> Generator[Finding, None, list[str]]:
    """Read layers that are meant for any site; return the names of those that are sound."""
    sound: list[str] = []
    for name in names:
        try:
            read(name)
        except SitefareError as error:
            yield Finding(f"{kind} {name}: {error}", refused=True)
        else:
            sound.append(name)
    return sound


def _site(
    library: Library, site: str, scenarios: list[str], designs: list[str]
) -> Iterator[Finding]:
    """Check one site with every scenario and every design whose own file is sound."""
    try:
        case = make_case(library, site, scenarios[0])
        values = base_values(case)
        check_criteria(case)
        evidence(values)
        permits(values)
        check_risks(values)
        models(values)
        model_in_force(values)
    except SitefareError as error:
        yield Finding(f"site {site}: {error}", refused=True)
        return
    supplied = sum(given for _, given in case.facts)
    words = f"site {site}: sound; {supplied} of {len(case.facts)} site facts supplied"
    yield Finding(words + ("; demonstration data" if case.demonstration else ""))
    if case.weather is not None:
        yield Finding(f"  weather file {case.weather.file}: {case.weather.title}")
    for warning in warnings(case):
        yield Finding(f"  {warning}")
    yield from _together(case)
    for words in idle_patterns(case):
        yield Finding(f"  {words}")
    for scenario in scenarios[1:]:
        try:
            make_case(library, site, scenario)
        except SitefareError as error:
            yield Finding(f"site {site}, scenario {scenario}: {error}", refused=True)
    for design in designs:
        try:
            make_case(library, site, scenarios[0], design=design)
        except SitefareError as error:
            yield Finding(f"site {site}, design {design}: {error}", refused=True)


def _together(case: Case) -> Iterator[Finding]:
    """Check that the correlations of a site can hold together, and name those without effect."""
    keys = sorted(case.key(n) for n in case.uncertain if case.rows[n].varies == "life")
    layers = tuple(case.moving_together(keys))
    try:
        mixing(tuple(keys), layers)
    except SitefareError as error:
        yield Finding(f"site {case.site}: {error}", refused=True)
        return
    idle = [f"{p.a} with {p.b} ({p.where})" for p in without_effect(keys, layers)]
    if idle:
        words = "; ".join(idle)
        yield Finding(f"  correlations without effect, a row is fixed or redrawn yearly: {words}")
