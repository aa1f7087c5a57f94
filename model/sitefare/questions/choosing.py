"""Which farms, at which sites and of which size, feed most people for a budget, or cost least?

A mixed-integer programme with SciPy's HiGHS over whole farms: each candidate is built or not, at
most one at a site. Money is in US dollars at the appraisal date. A limit's price is what easing
it brings, found by solving again, since whole farms have no smooth shadow prices; next-best sets
come from solving again with each set found ruled out.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, milp

from sitefare.errors import DesignError, RunError

Aim = Literal["most_people", "least_cost"]

#: What each aim seeks, in words.
AIMS = {"most_people": "most people fed", "least_cost": "least cost of feeding the people asked"}

#: How far a limit is eased to price it. [1]
EASED = 0.1

#: Part of the largest farm's people or cost below which two sets are the same by the aim; above
#: the solver's own tolerance. [1]
SAME = 1e-5

#: Gap between the best set found and the best that could be, relative: practically none. [1]
GAP = 1e-9


@dataclass(frozen=True)
class Candidate:
    """One farm that could be built: where, which, and what it is counted to give and cost.

    `people` are fed by `ration`, the headline one, in a full year, `capital` is what building
    takes and `cost` the level yearly sum worth as much as all project costs. [person, USD,
    USD/year]
    """

    site: str
    scenario: str
    bed_area: float
    people: float
    capital: float
    cost: float
    region: str = ""
    ration: str = ""

    @property
    def title(self) -> str:
        """Name the candidate by site, scenario and bed area."""
        return f"{self.site}, {self.scenario}, {self.bed_area:g} m²"


@dataclass(frozen=True)
class RegionLimit:
    """What a region may take at most and must have at least; inf and 0 ask nothing."""

    most_capital: float = np.inf
    least_people: float = 0.0
    most_farms: float = np.inf


@dataclass(frozen=True)
class Terms:
    """What is sought within which limits: budget [USD], people, and limits of regions."""

    aim: Aim = "most_people"
    budget: float = np.inf
    least_people: float = 0.0
    regions: Mapping[str, RegionLimit] = field(default_factory=dict)


@dataclass(frozen=True)
class Chosen:
    """A set of farms and its sums. [person, USD, USD/year]"""

    farms: tuple[Candidate, ...]

    @property
    def people(self) -> float:
        """People fed by all farms of the set. [person]"""
        return sum(farm.people for farm in self.farms)

    @property
    def capital(self) -> float:
        """What building them takes. [USD]"""
        return sum(farm.capital for farm in self.farms)

    @property
    def cost(self) -> float:
        """Their costs a year. [USD/year]"""
        return sum(farm.cost for farm in self.farms)


@dataclass(frozen=True)
class Price:
    """One limit: its bound, what the set uses of it, and what easing it brings.

    `gain` is people more (most people) or US dollars less (least cost) when the bound is eased by
    `EASED`; `turns` is the bound, nearest to the present one, at which the set gains anything,
    None where no easing does.
    """

    title: str
    bound: float
    used: float
    gain: float
    turns: float | None


@dataclass(frozen=True)
class Portfolio:
    """The best set, the price of each limit, and the next-best sets in order."""

    terms: Terms
    best: Chosen
    prices: tuple[Price, ...]
    others: tuple[Chosen, ...]


@dataclass(frozen=True)
class _Limit:
    """One row of the programme: weight of each candidate, bound, and which way it holds."""

    title: str
    weights: npt.NDArray[np.float64]
    bound: float
    most: bool
    key: tuple[str, str]


def portfolio(candidates: Sequence[Candidate], terms: Terms, others: int = 3) -> Portfolio:
    """Choose the set of farms that serves an aim best within the terms.

    Parameters
    ----------
    candidates : sequence of Candidate
        Farms that could be built. [person, USD]
    terms : Terms
        Aim and limits.
    others : int
        How many next-best sets are wanted. [1]

    Raises
    ------
    DesignError
        If no set satisfies the limits.
    RunError
        If there are no candidates, or a limit names a region that none of them is in.
    """
    _check(candidates, terms)
    found = list(best_first(candidates, terms, 1 + others))
    if not found:
        raise DesignError(_why_none(candidates, terms))
    best = Chosen(found[0])
    prices = [_priced(candidates, terms, best, limit) for limit in _limits(candidates, terms)]
    return Portfolio(terms, best, tuple(prices), tuple(Chosen(farms) for farms in found[1:]))


def _check(candidates: Sequence[Candidate], terms: Terms) -> None:
    """Refuse a question that has no candidates, or is asked of regions there are none in.

    Raises
    ------
    RunError
        Naming what is missing.
    """
    if not candidates:
        msg = "nothing to choose from: no farm of any site can be built as asked"
        raise RunError(msg)
    rations = sorted({one.ration for one in candidates})
    if len(rations) > 1:
        msg = (
            f"people of different rations do not add up: {'; '.join(rations)}; set people.headline"
        )
        raise RunError(msg)
    there = {one.region for one in candidates}
    for region in terms.regions:
        if region not in there:
            known = ", ".join(sorted(there - {""})) or "none has one"
            msg = f"region '{region}' has no site; regions of the sites: {known}"
            raise RunError(msg)
    if terms.aim == "least_cost" and not _must(terms):
        msg = "least cost needs people to be fed: give the least number of people"
        raise RunError(msg)


def _must(terms: Terms) -> bool:
    """Say whether anybody must be fed."""
    return terms.least_people > 0 or any(x.least_people > 0 for x in terms.regions.values())


def _column(candidates: Sequence[Candidate], name: str) -> npt.NDArray[np.float64]:
    return np.array([getattr(one, name) for one in candidates], dtype=np.float64)


def _limits(candidates: Sequence[Candidate], terms: Terms) -> list[_Limit]:
    """Return the limits that bind anything, each with its weights."""
    capital, people = (_column(candidates, name) for name in ("capital", "people"))
    rows = [
        _Limit("Budget", capital, terms.budget, most=True, key=("", "budget")),
        _Limit("People in all", people, terms.least_people, most=False, key=("", "least_people")),
    ]
    for region, asked in terms.regions.items():
        here = np.array([float(one.region == region) for one in candidates])
        rows += [
            _Limit(f"Capital in {region}", here * capital, asked.most_capital, most=True,
                   key=(region, "most_capital")),
            _Limit(f"People in {region}", here * people, asked.least_people, most=False,
                   key=(region, "least_people")),
            _Limit(f"Farms in {region}", here, asked.most_farms, most=True,
                   key=(region, "most_farms")),
        ]  # fmt: skip
    return [row for row in rows if (np.isfinite(row.bound) if row.most else row.bound > 0)]


def _constraints(candidates: Sequence[Candidate], terms: Terms) -> list[LinearConstraint]:
    """Return all limits as constraints, one farm a site among them."""
    made = []
    for row in _limits(candidates, terms):
        scale = max(float(np.max(np.abs(row.weights))), 1.0)
        low, high = (-np.inf, row.bound / scale) if row.most else (row.bound / scale, np.inf)
        made.append(LinearConstraint(row.weights[None, :] / scale, low, high))
    for site in dict.fromkeys(one.site for one in candidates):
        here = np.array([[float(one.site == site) for one in candidates]])
        made.append(LinearConstraint(here, -np.inf, 1.0))
    return made


def _aimed(candidates: Sequence[Candidate], terms: Terms) -> npt.NDArray[np.float64]:
    """Return what is made least: people without their sign, or cost. [scaled]"""
    if terms.aim == "most_people":
        worth = -_column(candidates, "people")
    else:
        worth = _column(candidates, "cost")
    scaled: npt.NDArray[np.float64] = worth / max(float(np.max(np.abs(worth))), 1.0)
    return scaled


def best_first(
    candidates: Sequence[Candidate], terms: Terms, most: int, site: str = ""
) -> Iterator[tuple[Candidate, ...]]:
    """Yield sets from the best on, each ruled out before the next is sought.

    Where a `site` is named, every set has a farm there.
    """
    limits = _constraints(candidates, terms)
    if site:
        there = np.array([[float(one.site == site) for one in candidates]])
        limits.append(LinearConstraint(there, 1.0, 1.0))
    for _ in range(most):
        picked = _solved(_aimed(candidates, terms), limits)
        if picked is None:
            return
        yield tuple(one for one, taken in zip(candidates, picked, strict=True) if taken)
        # At least one candidate must change: taken ones left, or left ones taken.
        change = np.where(picked, -1.0, 1.0)[None, :]
        limits.append(LinearConstraint(change, 1.0 - float(picked.sum()), np.inf))


def _solved(
    worth: npt.NDArray[np.float64], limits: Sequence[LinearConstraint]
) -> npt.NDArray[np.bool_] | None:
    """Solve one programme; None where nothing satisfies the limits."""
    found = milp(
        worth,
        integrality=np.ones(len(worth)),
        bounds=Bounds(0.0, 1.0),
        constraints=list(limits),
        options={"mip_rel_gap": GAP},
    )
    if found.x is None:
        return None
    picked: npt.NDArray[np.bool_] = found.x > 0.5  # noqa: PLR2004
    return picked


def worth_of(chosen: Chosen, terms: Terms) -> float:
    """Return what the aim makes of a set, more being better. [person, USD]"""
    return chosen.people if terms.aim == "most_people" else -chosen.cost


def least_step(candidates: Sequence[Candidate], terms: Terms) -> float:
    """Return the least difference by the aim that counts. [person, USD]"""
    name = "people" if terms.aim == "most_people" else "cost"
    return SAME * max(float(np.max(np.abs(_column(candidates, name)))), 1.0)


def with_bound(terms: Terms, key: tuple[str, str], bound: float) -> Terms:
    """Return the terms with one limit at another bound."""
    region, name = key
    change: dict[str, Any] = {name: bound}
    if not region:
        return replace(terms, **change)
    changed = replace(terms.regions[region], **change)
    return replace(terms, regions={**terms.regions, region: changed})


def _priced(candidates: Sequence[Candidate], terms: Terms, best: Chosen, limit: _Limit) -> Price:
    """Say what one limit costs."""
    taken = np.array([one in best.farms for one in candidates])
    used = float(np.sum(limit.weights * taken))
    eased = limit.bound * (1.0 + EASED if limit.most else 1.0 - EASED)
    found = next(best_first(candidates, with_bound(terms, limit.key, eased), 1))
    gain = worth_of(Chosen(found), terms) - worth_of(best, terms)
    gain = gain if gain > least_step(candidates, terms) else 0.0
    return Price(limit.title, limit.bound, used, gain, _turns(candidates, terms, best, limit))


def _turns(
    candidates: Sequence[Candidate], terms: Terms, best: Chosen, limit: _Limit
) -> float | None:
    """Return the bound nearest to the present one at which a better set becomes possible.

    The limit itself becomes what is made least (or most), and the aim a limit just beyond what
    is had.
    """
    free = with_bound(terms, limit.key, np.inf if limit.most else 0.0)
    aimed = _aimed(candidates, terms)
    least = float(np.sum(aimed * np.array([one in best.farms for one in candidates])))
    beyond = LinearConstraint(aimed[None, :], -np.inf, least - SAME)
    worth = limit.weights if limit.most else -limit.weights
    scale = max(float(np.max(np.abs(worth))), 1.0)
    picked = _solved(worth / scale, [*_constraints(candidates, free), beyond])
    return None if picked is None else float(np.sum(limit.weights * picked))


def _why_none(candidates: Sequence[Candidate], terms: Terms) -> str:
    """Say which limit alone no set satisfies, or that they clash."""
    whole = Terms(terms.aim)
    for limit in _limits(candidates, terms):
        alone = whole if not limit.key[0] else replace(whole, regions={limit.key[0]: RegionLimit()})
        if not any(best_first(candidates, with_bound(alone, limit.key, limit.bound), 1)):
            most = replace(alone, aim="most_people")
            could = max(_weighed(candidates, limit, s) for s in best_first(candidates, most, 1))
            return (
                f"no set of farms satisfies the limits: {limit.title.lower()} asks "
                f"{limit.bound:,.0f}, and all sites together give {could:,.0f}"
            )
    dearest = min(one.capital for one in candidates)
    return (
        "no set of farms satisfies all limits together; the cheapest farm takes "
        f"USD {dearest:,.0f} to build"
    )


def _weighed(candidates: Sequence[Candidate], limit: _Limit, farms: Sequence[Candidate]) -> float:
    """Sum what a set uses of a limit. [person, USD]"""
    taken = np.array([one in farms for one in candidates])
    return float(np.sum(limit.weights * taken))
