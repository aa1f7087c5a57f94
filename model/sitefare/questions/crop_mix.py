"""Which crops, on what share of the beds, would feed most people or feed each at least cost?

Every crop that the plan's table knows is tried alone on the same beds: its food, its feed and
its costs come from that farm's own appraisal. Between those farms the programme of `bed_shares`
takes straight lines; fish follow the feed that a mix asks, in the months of the farm as planned.
The answer is rounded to whole percents and appraised whole, and that appraisal, not the straight
line, is what counts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from sitefare.appraisal import Appraisal, Plan, appraise, plan_at, settled
from sitefare.arrays import DAYS, Array, day_mean
from sitefare.assumptions.case import Case, base_values
from sitefare.assumptions.declaration import build, build_all, inputs, quantity
from sitefare.errors import DesignError
from sitefare.farm.crops import PlanInputs, share_by_month
from sitefare.farm.months import NAMES
from sitefare.money.discounting import present_value
from sitefare.money.indicators import project_costs
from sitefare.people.fed import ration_parts
from sitefare.people.food import FoodInputs
from sitefare.people.rations import RationInputs
from sitefare.questions.bed_shares import Beds, Group, Solution, least_cost, most_people
from sitefare.questions.figures import ratio_of
from sitefare.timeline import Timeline

Aim = Literal["most_people", "least_cost"]

#: What each aim maximises or minimises, in words.
AIMS = {"most_people": "most people fed", "least_cost": "least cost a person-day"}


@inputs("mix", keyed=True)
class MixInputs:
    """How far a crop's share of the beds may go when a mix is looked for."""

    least: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Least share of the beds, whatever it feeds."
    )
    most: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Greatest share of the beds: pests, markets and tastes ask for several crops.",
    )


@inputs("mix_group", keyed=True)
class MixGroupInputs:
    """How far crops of one kind (leafy, fruiting, herb: the food table's kinds) go together."""

    most: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Greatest share of the beds for a kind of crop."
    )


@dataclass(frozen=True)
class Judged:
    """A mix and what its own appraisal says.

    `shares` are of the beds; `cost` is money a person-day, `over_local` that over the price of
    the same food bought locally; `cover` is the share of each requirement that one who is fed
    has covered, mean of the year. Cost is +inf where nobody is fed.
    """

    shares: Mapping[str, float]
    people: float
    cost: float
    over_local: float
    cover: Mapping[str, float]


@dataclass(frozen=True)
class CropMix:
    """The mix found, beside the mix planned; `refused` says of crops why they cannot stand alone.

    `solution` is the programme's own answer and `promised` what its straight lines promise:
    people for most people, money a person-day for least cost. `worths` says of each limit that
    binds what one percent of the beds more would bring, in the same unit.
    """

    aim: Aim
    ration: str
    planned: Judged
    found: Judged
    promised: float
    solution: Solution
    worths: Mapping[str, float]
    refused: Mapping[str, str]

    @property
    def better(self) -> bool:
        """Whether the found mix, appraised whole, beats the plan's by the aim."""
        return self.found.shares != self.planned.shares


@dataclass(frozen=True)
class _Alone:
    """A farm of one crop: what each demand lets it feed, and the present value of its costs."""

    demands: list[str]
    feeds: Array
    cost: float
    in_ground: Array


def crop_mix(plan: Plan, aim: Aim = "most_people") -> CropMix:
    """Return the mix of crops that serves an aim best on a plan's beds.

    Of the programme's answers for both aims and the plan's own mix, the one whose whole
    appraisal serves the aim best is found.

    Parameters
    ----------
    plan : Plan
        The farm as planned; its bed area, house, fish and ration stay. [m2]
    aim : str
        `most_people` or `least_cost`, by the headline ration. [choice]

    Raises
    ------
    DesignError
        If no crop can stand alone on these beds, or the limits allow no mix.
    """
    made = appraise(plan)
    alone, refused = _farms(plan, made)
    beds = _beds(plan, alone)
    answers = {"most_people": most_people(beds)}
    nobody = answers["most_people"].people <= 0.0
    answers["least_cost"] = answers["most_people"] if nobody else least_cost(beds)
    planned = _judged(made, {k: float(s[0, 0]) for k, s in _shares(plan.case).items()})
    tried = [planned]
    for answer in [] if nobody else answers.values():
        shares = whole_percents(answer.shares, dict(zip(beds.crops, beds.most, strict=True)))
        tried.append(_judged(appraise(settled(_planted(plan, shares))), shares))
    best = min(tried, key=lambda one: -one.people if aim == "most_people" else one.cost)
    solution, days = answers[aim], _days_a_person(made)
    most = aim == "most_people"
    unit = 1.0 if most else 1.0 / days
    worths = {
        limit.title: 0.01 * limit.worth * unit
        for limit in solution.limits
        if limit.binds and limit.kind in ("most", "group", "beds")
    }
    promised = solution.people if most else solution.cost * unit
    return CropMix(aim, made.fed.headline, planned, best, promised, solution, worths, refused)


def whole_percents(shares: Mapping[str, float], most: Mapping[str, float]) -> dict[str, float]:
    """Round shares down to whole percents, then hand what is left out by largest remainder.

    No share goes above its `most`, and the sum stays within that of the shares.
    """
    points = {k: 100.0 * s + 1e-7 for k, s in shares.items()}
    found = {k: int(p) for k, p in points.items()}
    left = int(sum(points.values())) - sum(found.values())
    for key in sorted(points, key=lambda k: (found[k] - points[k], k)):
        if left > 0 and found[key] + 1 <= 100.0 * most[key] + 1e-7:
            found[key] += 1
            left -= 1
    return {k: n / 100.0 for k, n in found.items()}


def _shares(case: Case) -> dict[str, Array]:
    """Return the plan's share of each crop, (1, 1). [1]"""
    return {key: row.share for key, row in build_all(PlanInputs, base_values(case)).items()}


def _with_shares(case: Case, shares: Mapping[str, float]) -> Case:
    """Return the case with other shares of the beds; crops not named get none."""
    for key in _shares(case):
        case = case.with_fixed(f"plan.{key}.share", shares.get(key, 0.0), "crop mix tried")
    return case


def _planted(plan: Plan, shares: Mapping[str, float]) -> Plan:
    """Size the same beds for other shares; every row may be read anew."""
    case = replace(plan.case, read=None)
    return plan_at(_with_shares(case, shares), plan.design.bed_area)


def _farms(plan: Plan, made: Appraisal) -> tuple[dict[str, _Alone], dict[str, str]]:
    """Appraise a farm of each crop alone; what cannot be built is refused with its reason.

    Raises
    ------
    DesignError
        If no crop can stand alone.
    """
    limits = build_all(MixInputs, base_values(plan.case))
    alone: dict[str, _Alone] = {}
    refused: dict[str, str] = {}
    for key in _shares(plan.case):
        if key not in limits:
            refused[key] = f"mix.{key}.most has no row"
            continue
        if limits[key].most[0, 0] <= 0.0:
            refused[key] = "its greatest share is 0"
            continue
        try:
            alone[key] = _farm(plan, made, key)
        except DesignError as error:
            refused[key] = str(error)
    if not alone:
        msg = "no crop can stand alone on these beds: "
        raise DesignError(msg + "; ".join(f"{k}: {why}" for k, why in refused.items()))
    return alone, refused


def _farm(plan: Plan, made: Appraisal, key: str) -> _Alone:
    """Appraise a farm of one crop; its fish are those of the plan by the feed it asks."""
    single = appraise(_planted(plan, {key: 1.0}))
    asked = single.design.feed_per_day / made.design.feed_per_day
    species = made.design.species
    served = {
        key: single.fed.served_kg[key],
        species: made.fed.served_kg[species] * asked,
    }
    row = build(PlanInputs, base_values(single.case), key)
    view = single.finances.figures
    cost = present_value(project_costs(view), view.factors)
    demands, feeds = _demands(plan, made, served)
    return _Alone(demands, feeds, float(cost[0, 0]), share_by_month(row)[0])


def _demands(plan: Plan, made: Appraisal, served: Mapping[str, Array]) -> tuple[list[str], Array]:
    """Return what food served lets a farm feed by the headline ration, demand by demand.

    One demand for each part of the ration and, where the worst month counts, for each month.
    """
    values, line = base_values(plan.case), plan.case.timeline
    ration = build(RationInputs, values, made.fed.headline)
    people = ration_parts(values, made.fed.headline, served, line, plan.design.bed_area)
    days = DAYS / DAYS.sum()
    titles: list[str] = []
    feeds: list[float] = []
    for part, life in people.items():
        season = leanest(life, made.fed.full, line)[0]
        words = part.replace("_", " ")
        if ration.months == "worst_month":
            titles += [f"{words} in {month}" for month in NAMES]
            feeds += [float(x) for x in season]
        else:
            titles.append(f"{words}, mean of the year")
            feeds.append(float(np.sum(season * days)))
    return titles, np.asarray(feeds)


def leanest(life: Array, full: Array, line: Timeline) -> Array:
    """Return the least of each calendar month over full years, (draws, 12). [same unit]"""
    months = life[:, 1:].reshape(life.shape[0], -1, 12)
    least = np.where(full[:, :, None] > 0.0, months, np.inf).min(axis=1)
    return np.asarray(least[:, np.argsort(line.calendar[1:13])])


def _beds(plan: Plan, alone: Mapping[str, _Alone]) -> Beds:
    """Lay the farms of one crop beside each other."""
    values = base_values(plan.case)
    limits = {k: x for k, x in build_all(MixInputs, values).items() if k in alone}
    groups = [
        Group(
            f"{kind} crops together",
            np.array([1.0 if build(FoodInputs, values, k).kind == kind else 0.0 for k in alone]),
            float(group.most[0, 0]),
        )
        for kind, group in build_all(MixGroupInputs, values).items()
    ]
    return Beds(
        crops=list(alone),
        demands=next(iter(alone.values())).demands,
        feeds=np.column_stack([one.feeds for one in alone.values()]),
        in_ground=np.column_stack([one.in_ground for one in alone.values()]),
        least=np.array([float(limits[k].least[0, 0]) for k in alone]),
        most=np.array([float(limits[k].most[0, 0]) for k in alone]),
        groups=groups,
        cost=np.array([one.cost for one in alone.values()]),
    )


def _days_a_person(made: Appraisal) -> float:
    """Return discounted person-days for each person that a full year feeds. [day]"""
    cost = float(made.indicators["cost_per_person_day"][0, 0])
    people = float(made.indicators["people_fed"][0, 0])
    if people <= 0.0:
        return float("nan")
    view = made.finances.figures
    total = float(present_value(project_costs(view), view.factors)[0, 0])
    return total / cost / people


def _judged(made: Appraisal, shares: Mapping[str, float]) -> Judged:
    """Read people and cost off a whole appraisal."""
    found = made.indicators
    cost = float(found["cost_per_person_day"][0, 0])
    kept = {k: s for k, s in shares.items() if s > 0.0}
    ratio = float(ratio_of(found)[0, 0])
    cover = {name: float(day_mean(x)[0, 0]) for name, x in made.fed.coverage.items()}
    return Judged(kept, float(found["people_fed"][0, 0]), cost, ratio, cover)


def grown(mix: CropMix) -> Sequence[str]:
    """Return every crop that either mix grows, largest share found first."""
    keys = {*mix.planned.shares, *mix.found.shares}
    return sorted(keys, key=lambda k: (-mix.found.shares.get(k, 0.0), k))
