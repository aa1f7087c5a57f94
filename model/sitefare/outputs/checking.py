"""Are all assumption files of a folder sound, and what is weak in them?"""

from collections.abc import Iterator
from dataclasses import dataclass

from sitefare.assumptions.case import base_values, make_case
from sitefare.assumptions.evidence import evidence
from sitefare.assumptions.library import Library
from sitefare.errors import SitefareError
from sitefare.outputs.register import warnings


@dataclass(frozen=True)
class Finding:
    """One line of a check: what was read, or what was refused."""

    text: str
    refused: bool = False


def check_all(library: Library) -> Iterator[Finding]:
    """Resolve every site with every scenario and say what is refused or weak."""
    rows = library.common.rows
    yield Finding(f"common {library.version}: {len(rows)} values, {len(library.sources)} sources")
    first, *others = library.scenarios or [""]
    for site in library.sites:
        try:
            case = make_case(library, site, first)
        except SitefareError as error:
            yield Finding(f"site {site}: {error}", refused=True)
            continue
        try:
            evidence(base_values(case))
        except SitefareError as error:
            yield Finding(f"site {site}: {error}", refused=True)
        supplied = sum(given for _, given in case.facts)
        words = f"site {site}: sound; {supplied} of {len(case.facts)} site facts supplied"
        yield Finding(words + ("; demonstration data" if case.demonstration else ""))
        for warning in warnings(case):
            yield Finding(f"  {warning}")
        for scenario in others:
            try:
                make_case(library, site, scenario)
            except SitefareError as error:
                yield Finding(f"site {site}, scenario {scenario}: {error}", refused=True)
    yield Finding(f"scenarios: {', '.join(library.scenarios)}")
