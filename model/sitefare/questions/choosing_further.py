"""How does the best set of farms change with what may be spent, and what does it pass over?

Both are answered by solving the programme of `choosing` again: at other bounds of its main limit,
and with each site that has no farm in the set given one.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.questions.choosing import (
    Candidate,
    Chosen,
    Portfolio,
    best_first,
    least_step,
    with_bound,
    worth_of,
)

#: Bounds tried along a curve, and sites left out that are tried. [1]
POINTS, TRIED = 24, 40


@dataclass(frozen=True)
class Turn:
    """The best set at one bound: a budget [USD], or people to be fed at least [person]."""

    bound: float
    best: Chosen


@dataclass(frozen=True)
class LeftOut:
    """A site without a farm in the set, and the best set that has one there.

    `instead` is None where no set with a farm there satisfies the limits; `loss` is what the aim
    loses by it, people fewer or US dollars a year more. [person, USD/year]
    """

    site: str
    instead: Chosen | None
    loss: float


def along(candidates: Sequence[Candidate], found: Portfolio) -> tuple[Turn, ...]:
    """Return the best set at each of several bounds, least first; the bound asked is one of them.

    The bound is the budget where most people are sought, people at least where least cost is; all
    other limits stand. Bounds that no set satisfies are left out.
    """
    terms, best = found.terms, found.best
    spend = terms.aim == "most_people"
    dearest: dict[str, float] = {}
    for one in candidates:
        own = one.capital if spend else one.people
        dearest[one.site] = max(dearest.get(one.site, 0.0), own)
    top = sum(dearest.values())
    asked = terms.budget if spend else terms.least_people
    here = asked if 0.0 < asked < np.inf else (best.capital if spend else best.people)
    bounds = sorted({*np.linspace(0.0, top, POINTS + 1)[1:].tolist(), here})
    name = "budget" if spend else "least_people"
    turns = []
    for bound in bounds:
        sets = best_first(candidates, with_bound(terms, ("", name), bound), 1)
        turns += [Turn(bound, Chosen(farms)) for farms in sets]
    return tuple(turns)


def left_out(candidates: Sequence[Candidate], found: Portfolio) -> tuple[LeftOut, ...]:
    """Say of each site without a farm in the set what giving it one would cost the aim.

    At most `TRIED` sites, those that feed most people first.
    """
    taken = {farm.site for farm in found.best.farms}
    most: dict[str, float] = {}
    for one in candidates:
        if one.site not in taken:
            most[one.site] = max(most.get(one.site, 0.0), one.people)
    sites = sorted(most, key=lambda site: (-most[site], site))[:TRIED]
    return tuple(_instead(candidates, found, site) for site in sites)


def _instead(candidates: Sequence[Candidate], found: Portfolio, site: str) -> LeftOut:
    """Find the best set with a farm at a site."""
    farms = next(best_first(candidates, found.terms, 1, site), None)
    if farms is None:
        return LeftOut(site, None, 0.0)
    instead = Chosen(farms)
    loss = worth_of(found.best, found.terms) - worth_of(instead, found.terms)
    same = abs(loss) < least_step(candidates, found.terms)
    return LeftOut(site, instead, 0.0 if same else loss)
