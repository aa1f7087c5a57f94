"""What could each site's farm of each size give and cost, as one among many that could be built?

Every site, scenario and bed area asked is a candidate. Its figures are those of the base case, or
of draws: the mean, or a careful count (few people, dear building and running). A careful count of
each farm is more careful still of a sum of farms, which vary apart.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from sitefare.appraisal import Plan, appraise, plan_at, settled
from sitefare.arrays import Array
from sitefare.assumptions.case import Case
from sitefare.questions.choosing import Candidate
from sitefare.questions.grouping import ends
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for
from sitefare.stages import Stage, untold
from sitefare.workers import Here, Workers

Basis = Literal["base", "mean", "careful"]

#: What each basis counts, in words.
BASES = {
    "base": "the base case, contingency included in capital",
    "mean": "the mean of draws",
    "careful": "the 1-in-10 low of people and the 1-in-10 high of capital and cost",
}

#: What of an appraisal a candidate counts: people, capital, cost a year.
COUNTED = ("people_fed", "capex", "equivalent_annual_cost")


@dataclass(frozen=True)
class Farm:
    """One farm to be counted, with all that a worker needs; no area takes the case's size. [m2]"""

    case: Case
    region: str
    area: float | None
    basis: Basis
    draws: int
    seed: int

    @property
    def title(self) -> str:
        """Name the farm by site, design, scenario and size."""
        size = "its own size" if self.area is None else f"{self.area:g} m²"
        return f"{self.case.site}, {self.case.names}, {size}"


@dataclass(frozen=True)
class Offer:
    """Candidates, and the farms that cannot be built or run safely, each with why."""

    candidates: tuple[Candidate, ...]
    refused: tuple[tuple[str, str], ...]


def offer(
    cases: Iterable[tuple[Case, str]],
    areas: Sequence[float],
    basis: Basis,
    draws: int,
    seed: int,
    workers: Workers | None = None,
    stage: Stage = untold,
) -> Offer:
    """Appraise every farm that could be built, each as a task of its own.

    Parameters
    ----------
    cases : iterable of (Case, str)
        Each site under each scenario, and its region.
    areas : sequence of float
        Bed areas to try; none takes the size that each case asks for. [m2]
    basis : str
        What is counted: base, mean or careful. [choice]
    draws, seed : int
        Draws, a power of two, for mean and careful, and their seed. [1]
    workers : Workers, optional
        Who appraises: this process unless given. No answer depends on it.
    stage : function
        Begins a stage that is told of farms done.
    """
    sizes: Sequence[float | None] = areas or [None]
    farms = [
        Farm(case, region, area, basis, draws, seed) for case, region in cases for area in sizes
    ]
    ended = stage("farms appraised", len(farms))
    found: dict[int, Candidate] = {}
    refused: dict[int, str] = {}
    for outcome in (workers or Here()).each(candidate, farms):
        if outcome.answer is None:
            refused[outcome.number] = outcome.failure
        else:
            found[outcome.number] = outcome.answer
        ended(not outcome.done)
    return Offer(
        tuple(found[n] for n in sorted(found)),
        tuple((farms[n].title, refused[n]) for n in sorted(refused)),
    )


def candidate(farm: Farm) -> Candidate:
    """Count one farm.

    Raises
    ------
    DesignError
        If it cannot be built or run safely.
    """
    case, area = farm.case, farm.area
    plan = plan_for(case) if area is None else settled(plan_at(case, area))
    return _counted_farm(plan, farm.region, farm.basis, farm.draws, farm.seed)


def _counted_farm(plan: Plan, region: str, basis: Basis, draws: int, seed: int) -> Candidate:
    """Count a farm whose design stands."""
    case, made = plan.case, appraise(plan)
    if basis == "base":
        people, capital, cost = (float(made.indicators[name][0, 0]) for name in COUNTED)
    else:
        spreads = uncertainty(plan, draws, seed)
        people, capital, cost = (
            _counted(spreads.draws[name], basis, most)
            for name, most in zip(COUNTED, (False, True, True), strict=True)
        )
    return Candidate(
        case.site,
        case.names,
        plan.design.bed_area,
        people,
        capital / case.exchange_rate,
        cost / case.exchange_rate,
        region,
        made.fed.rations[made.fed.headline].title,
    )


def _counted(drawn: Array, basis: Basis, most: bool) -> float:  # noqa: FBT001
    """Return the mean of draws, (draws, 1), or the end that is careful. [same unit]"""
    return float(drawn.mean()) if basis == "mean" else ends(drawn)[int(most)]
