"""The one pipeline: a case becomes a plan, a plan an appraisal, for one case or many draws.

Assumptions → farm → people → money. The plan is made once, at base values; every draw, bar
and stress test runs the same plan. Nothing here reduces across draws.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from sitefare.arrays import Array, blocks, order_statistic, value
from sitefare.assumptions.case import (
    BESIDE,
    Case,
    Reading,
    base_values,
    block_of,
    draw_values,
)
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.farm import alternative
from sitefare.farm.adjust import adjusted
from sitefare.farm.design import size_farm
from sitefare.farm.flows import farm_flows
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.water import WaterInputs, allocated
from sitefare.money.capital import capital_cost
from sitefare.money.finances import finances
from sitefare.money.project import ProjectInputs, full_year_mean
from sitefare.money.result import Finances
from sitefare.people.fed import people_fed
from sitefare.people.result import PeopleFed
from sitefare.stages import Ended, unheard
from sitefare.timeline import Timeline

#: Draws and seed of the contingency; fixed, so that a case has one contingency.
CONTINGENCY_DRAWS = 1024
CONTINGENCY_SEED = 1

#: Hours of one full-time year, 52 weeks of 40 hours. [h/year]
FULL_TIME = 2080.0


@inputs("contingency")
class ContingencyInputs:
    """How sure the capital budget should be."""

    level: Array = quantity(
        "1", low=0.5, high=0.99, varies="choice", doc="Share of draws the budget covers"
    )


#: Rows that documents print whether or not the farm reads them.
ALWAYS_SHOWN = (
    "place.",
    "climate.",
    "source_water.",
    "source_supply.",
    "humanitarian_need.",
    "evidence.",
    "proposal.",
    "size.",
    "band.",
    "target.",
    "planning.",
    "promise.",
    "decision.",
    "check_cost.",
    "stress.",
    *BESIDE,
)


@dataclass(frozen=True)
class Plan:
    """A case with its farm sized and its contingency set."""

    case: Case
    design: Design


@dataclass(frozen=True)
class Appraisal:
    """Everything known of a plan for one case or many draws.

    `indicators` are (draws, 1): nan where undefined, inf where the answer is never;
    `reasons` say why, for the first draw.
    """

    plan: Plan
    flows: FarmFlows
    fed: PeopleFed
    finances: Finances
    indicators: Mapping[str, Array]
    reasons: Mapping[str, str]

    @property
    def case(self) -> Case:
        """The case appraised."""
        return self.plan.case

    @property
    def design(self) -> Design:
        """The farm's sizes."""
        return self.plan.design


def plan_at(case: Case, bed_area: float) -> Plan:
    """Size the farm for a bed area [m2] and set the contingency of its capital budget.

    Raises
    ------
    DesignError
        If the farm cannot be built or run safely.
    """
    design = size_farm(base_values(case), bed_area)
    amount, note = contingency(case, design)
    return Plan(case.with_fixed("capital.contingency", amount, note), design)


def contingency(case: Case, design: Design) -> tuple[float, str]:
    """Return the contingency of the capital budget, and how it was derived.

    It is a high percentile (a choice, P80 unless changed) of the sampled capital cost less the
    base, from 1,024 draws of one fixed seed. [money]
    """
    case = case.with_fixed("capital.contingency", 0.0, "")
    reading = Reading(base_values(case))
    base = float(capital_cost(reading, design)[0, 0])
    case = replace(case, read=frozenset(reading.names))
    level = float(build(ContingencyInputs, base_values(case)).level[0, 0])
    drawn = capital_cost(draw_values(case, CONTINGENCY_DRAWS, CONTINGENCY_SEED), design)
    amount = max(order_statistic(np.sort(drawn[:, 0]), level) - base, 0.0)
    note = (
        f"P{100 * level:.0f} of {CONTINGENCY_DRAWS:,} draws of the capital budget less its base "
        f"(seed {CONTINGENCY_SEED}); {amount / base:.0%} of the base"
    )
    return amount, note


def settled(plan: Plan) -> Plan:
    """Note which rows the plan's farm reads, so that draws and bars are of those alone."""
    reading = Reading(base_values(plan.case))
    made = appraise(plan, reading)
    names = reading.names | {n for n in plan.case.rows if n.startswith(ALWAYS_SHOWN)}
    case = replace(plan.case, read=frozenset(names))
    return replace(plan, case=planned_funding(case, made))


def planned_funding(case: Case, made: Appraisal) -> Case:
    """Fix what the funders are asked: the need at base values, until the first fish are sold.

    Draws that cost more or less meet sources that stay as planned.
    """
    sold = np.flatnonzero(made.flows.fish_live_kg[0] > 0)
    months = max(int(sold[0]) - case.timeline.construction, 0) if sold.size else 0
    case = case.with_fixed(
        "funding_plan.start_up", float(months), "months of operation until fish are first sold"
    )
    again = finances(base_values(case), made.design, made.flows, made.fed, case.timeline)
    need = float(np.sum(again.capital_need))
    return case.with_fixed("funding_plan.need", need, "capital need at base values")


def appraise(plan: Plan, values: Values | None = None, delay: int = 0) -> Appraisal:
    """Appraise a plan at its base values, or at any values of one or many draws.

    `delay` counts months by which the farm starts later than built; money keeps its calendar.
    """
    case, design = plan.case, plan.design
    if values is None:
        values = base_values(case)
    begun = replace(case.timeline, construction=case.timeline.construction + delay)
    flows = adjusted(farm_flows(values, design, begun), values, begun)
    fed = people_fed(values, flows, case.timeline, bed_area=design.bed_area)
    money = finances(values, design, flows, fed, case.timeline)
    water, unanswered = water_indicators(values, design, flows, case.timeline)
    physical = physical_indicators(values, flows, fed, case.timeline)
    indicators = {**physical, **water, **money.indicators}
    return Appraisal(plan, flows, fed, money, indicators, {**money.reasons, **unanswered})


def sampled_values(
    plan: Plan, draws: int, seed: int, keys: Iterable[str] | None = None, first: int = 0
) -> Values:
    """Return a plan's values as draws: the sampled capital cost stands in for the contingency.

    `first` is the number of the first draw returned.
    """
    union = None if keys is None else list(keys)
    values = draw_values(plan.case, draws, seed, union, first)
    values["capital.contingency"] = value(0.0)
    return values


def appraise_blocks(plan: Plan, values: Values) -> Iterator[Appraisal]:
    """Appraise many draws block by block; each block is an appraisal of its own.

    Memory does not grow with the draws; no result depends on the blocks.
    """
    for block in blocks(draws_in(values)):
        yield appraise(plan, block_of(values, block))


def draws_in(values: Values) -> int:
    """Count the draws among values; one case has one."""
    return max((x.shape[0] for x in values.values() if not isinstance(x, str)), default=1)


def stacked(parts: Sequence[Array], draws: int) -> Array:
    """Join one quantity's blocks along the draws: (draws, columns). [same unit]

    What is the same in every draw comes as one row in each block and is repeated.
    """
    sizes = [block.stop - block.start for block in blocks(draws)]
    return np.concatenate(
        [np.broadcast_to(x, (n, x.shape[1])) for x, n in zip(parts, sizes, strict=True)]
    )


def appraise_many(plan: Plan, values: Values, ended: Ended = unheard) -> dict[str, Array]:
    """Return every indicator for many draws, (draws, 1) each; `ended` hears of those done."""
    draws = draws_in(values)
    parts = []
    for block in blocks(draws):
        # No name holds an appraisal: its memory serves the next block.
        parts.append(appraise(plan, block_of(values, block)).indicators)
        ended(count=block.stop - block.start)
    return {name: stacked([p[name] for p in parts], draws) for name in parts[0]}


def drawn_indicators(
    plan: Plan, draws: int, seed: int, first: int = 0, keys: Iterable[str] | None = None
) -> dict[str, Array]:
    """Return every indicator of draws numbered from `first`, (draws, 1) each.

    Draws depend on their number and the seed alone: workers take shares of whole blocks, and
    their answers joined are those of one worker, to the byte.
    """
    return appraise_many(plan, sampled_values(plan, draws, seed, keys, first))


def physical_indicators(
    values: Values, flows: FarmFlows, fed: PeopleFed, timeline: Timeline
) -> dict[str, Array]:
    """Return the indicators that are not money: means over full-production years, (draws, 1)."""
    yearly = partial(full_year_mean, build(ProjectInputs, values), timeline)

    crops = sum(flows.crop_kg.values(), np.zeros((1, 1)))
    hours = sum(flows.role_hours.values(), np.zeros((1, 1)))
    people = {name: yearly(ration.persons) / 12.0 for name, ration in fed.rations.items()}
    return {
        "people_fed": people[fed.headline],
        **{f"people_fed.{name}": persons for name, persons in people.items()},
        "feed_share_borne": flows.season["feed_share_borne"].min(axis=1, keepdims=True),
        "water_lives_share": 1.0 - flows.season["water_beyond_lethal"].max(axis=1, keepdims=True),
        "minutes_without_air": flows.season["minutes_without_air"].min(axis=1, keepdims=True),
        "alternative_cost_person_day": fed.alternative_cost_person_day,
        "vegetables_marketable_kg_year": yearly(crops),
        "fish_live_kg_year": yearly(flows.fish_live_kg),
        "water_makeup_m3_year": yearly(flows.water_makeup_m3),
        "electricity_kwh_year": yearly(flows.electricity_total_kwh),
        "emissions_tco2e_year": yearly(flows.emissions_kg) / 1000.0,
        "jobs_fte": yearly(hours) / FULL_TIME,
    }


@dataclass(frozen=True)
class _FoodYear:
    """Crops by kind and live fish [kg/year], and make-up water [m3/year], of full production."""

    crops: Mapping[str, Array]
    fish: Array
    makeup: Array


def _food_year(values: Values, flows: FarmFlows, timeline: Timeline) -> _FoodYear:
    """Return what a full-production year grows, and the water it takes from the source."""
    yearly = partial(full_year_mean, build(ProjectInputs, values), timeline)
    crops = {key: yearly(x) for key, x in flows.crop_kg.items()}
    return _FoodYear(crops, yearly(flows.fish_live_kg), yearly(flows.water_makeup_m3))


def compared_with_field(
    values: Values, design: Design, flows: FarmFlows, timeline: Timeline
) -> alternative.Compared:
    """Return a full-production year's water and land beside a field's for the same harvest."""
    year = _food_year(values, flows, timeline)
    return alternative.compared(flows.field, year.crops, year.fish, year.makeup, design.footprint)


def water_indicators(
    values: Values, design: Design, flows: FarmFlows, timeline: Timeline
) -> tuple[dict[str, Array], dict[str, str]]:
    """Return water a kilogram, the field beside it, and why the first draw has no answer."""
    yearly = partial(full_year_mean, build(ProjectInputs, values), timeline)
    year = _food_year(values, flows, timeline)
    crops, fish, made_up = year.crops, year.fish, year.makeup
    uses = {key: yearly(x) for key, x in flows.water_uses_m3.items()}
    laid = allocated(build(WaterInputs, values), uses, sum(crops.values(), np.zeros((1, 1))), fish)
    found = alternative.compared(flows.field, crops, fish, made_up, design.footprint)
    return alternative.indicators(found, crops, fish, made_up, laid), alternative.reasons(found)
