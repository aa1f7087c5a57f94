"""Whom does the harvest feed, by which ration, and how much of their need does it cover?

One call joins the parts: destinations of the harvest, edible grams, rations, coverage, and the
cost of the same food bought locally. Life arrays are (draws, months + 1), flows by month.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import Values, build, build_all, inputs, quantity, text
from sitefare.errors import AssumptionError
from sitefare.farm.result import FarmFlows
from sitefare.people.alternative import alternative_cost
from sitefare.people.coverage import Diet, covered, full_season, group_cover, per_person
from sitefare.people.distribution import DistributionInputs, destinations
from sitefare.people.food import (
    NUTRIENTS,
    Foods,
    edible_grams,
    fish_grams,
    foods_of,
    is_fish,
    nutrient_supply,
    vegetable_grams,
)
from sitefare.people.handover import model_in_force
from sitefare.people.need import Need, basis_notes, population_need
from sitefare.people.rations import (
    RationInputs,
    Supply,
    full_years,
    parts_of,
    ration_fed,
    used_share,
)
from sitefare.people.result import PeopleFed, Ration
from sitefare.people.words import Told, people_notes
from sitefare.timeline import Timeline

#: The farm's choice of species; its key is also a food key.
SPECIES = "farm_design.species"

#: Months from the end of building until production counts as full, for money and for people.
RAMP = "project.ramp_months"


@inputs("people")
class PeopleInputs:
    """Which ration stands first, and what a full ration is."""

    headline: str = text(doc="Key of the ration that 'people fed' counts by where none is named.")
    full_ration_energy: Array = quantity(
        "kcal/person/day",
        low=1000,
        high=4000,
        varies="choice",
        doc="Food energy of a full planning ration.",
    )


@dataclass(frozen=True)
class _Table:
    """Food as it reaches the table: the foods, edible g/day by food, days, full years."""

    foods: Foods
    grams: Mapping[str, Array]
    days: Array
    full: Array
    timeline: Timeline


def people_fed(
    values: Values, flows: FarmFlows, timeline: Timeline, *, bed_area: float | None = None
) -> PeopleFed:
    """Return where the harvest goes and whom it feeds.

    Parameters
    ----------
    values : mapping
        Resolved values of one case, by name.
    flows : FarmFlows
        The farm's flows, life arrays (draws, months + 1).
    timeline : Timeline
        The project's clock.
    bed_area : float, optional
        Bed area of the design; without it rations counted by bed area are left out. [m2]

    Returns
    -------
    PeopleFed
        Kilograms by destination, people by ration, coverage, cost of the same food. [mixed]

    Raises
    ------
    AssumptionError
        If the headline ration is not in the rations table, or a value is missing.
    """
    people = build(PeopleInputs, values)
    harvest = {**flows.crop_kg, _species(values): flows.fish_live_kg}
    foods = foods_of(values, list(harvest))
    ends = destinations(values, harvest, foods.items, timeline)
    days = DAYS[timeline.calendar][None, :]
    full = full_years(timeline, _ramp(values))
    table = _Table(foods, edible_grams(foods, ends.served, days), days, full, timeline)
    need = population_need(values)
    asked = _rations_asked(values, people.headline, bed_area)
    supply = _supply(table, asked, need, people, bed_area)
    rations = {k: ration_fed(k, r, supply, timeline, days) for k, r in asked.items()}
    diet, beyond = _diet(table, rations[people.headline], need)
    portions = _portions(asked[people.headline], diet)
    told = Told(
        foods, need, asked, rations, people.headline, supply, diet, portions,
        build(DistributionInputs, values), timeline, basis_notes(values),
    )  # fmt: skip
    return PeopleFed(
        served_kg=ends.served,
        elsewhere_kg=ends.elsewhere,
        lost_kg=ends.lost,
        served_sold_share=model_in_force(values).inputs.paid_share,
        headline=people.headline,
        rations=rations,
        coverage=diet.coverage,
        full_ration_equivalents=supply.nutrients["energy"] / people.full_ration_energy,
        alternative_cost_person_day=alternative_cost(values, foods.items, diet.grams, portions),
        notes=people_notes(told),
        staff_kg=ends.staff,
        held_kg=ends.held,
        eaten_g=diet.eaten,
        group_coverage=diet.groups,
        edible_g={"vegetables": supply.vegetables, "fish": supply.fish},
        beyond_g=beyond,
        fed_season=diet.persons,
        full=full,
    )


def ration_parts(
    values: Values,
    ration: str,
    served_kg: Mapping[str, Array],
    timeline: Timeline,
    bed_area: float | None = None,
) -> dict[str, Array]:
    """Return the people that each part of a ration feeds of food served.

    Parameters
    ----------
    ration : str
        Key of the ration. [choice]
    served_kg : mapping of array, shape (draws, months + 1)
        Fresh crops and live fish that reach the people, by food key. [kg/month]

    Returns
    -------
    dict of array, shape (draws, months + 1)
        People by part. [person]
    """
    foods = foods_of(values, list(served_kg))
    days = DAYS[timeline.calendar][None, :]
    full = full_years(timeline, _ramp(values))
    table = _Table(foods, edible_grams(foods, served_kg, days), days, full, timeline)
    asked = {ration: build(RationInputs, values, ration)}
    need = population_need(values)
    supply = _supply(table, asked, need, build(PeopleInputs, values), bed_area)
    life = (supply.vegetables + supply.fish).shape
    return {n: np.broadcast_to(x, life) for n, x in parts_of(ration, asked[ration], supply).items()}


def _ramp(values: Values) -> Array:
    """Return the months until production counts as full. [month]"""
    ramp = values.get(RAMP)
    if ramp is None or isinstance(ramp, str):
        msg = f"{RAMP} has no value: give the months until production counts as full"
        raise AssumptionError(msg)
    return ramp


def _species(values: Values) -> str:
    """Return the farm's fish species, which is its food key too."""
    species = values.get(SPECIES)
    if not isinstance(species, str):
        msg = f"{SPECIES} has no value: name the fish species"
        raise AssumptionError(msg)
    return species


def _rations_asked(
    values: Values, headline: str, bed_area: float | None
) -> dict[str, RationInputs]:
    """Return the rations table, less what cannot be counted."""
    table = build_all(RationInputs, values)
    asked = {k: r for k, r in table.items() if r.counted != "bed_area" or bed_area is not None}
    if headline not in asked:
        msg = f"people.headline: '{headline}' is not one of {', '.join(asked)}"
        raise AssumptionError(msg)
    if asked[headline].counted == "bed_area":
        msg = f"people.headline: '{headline}' counts bed area, which is reported, never a target"
        raise AssumptionError(msg)
    return asked


def _supply(
    table: _Table,
    asked: Mapping[str, RationInputs],
    need: Need,
    people: PeopleInputs,
    bed_area: float | None,
) -> Supply:
    """Put together what the rations count, with only the nutrients that they ask for."""
    wanted = {r.counted for r in asked.values()} | {"energy"}
    nutrients = {n: nutrient_supply(table.foods, table.grams, n) for n in NUTRIENTS if n in wanted}
    return Supply(
        vegetables=vegetable_grams(table.foods, table.grams),
        fish=fish_grams(table.foods, table.grams),
        nutrients=nutrients,
        need=need.mean,
        full_ration_energy=people.full_ration_energy,
        bed_area=bed_area,
        full=table.full,
    )


def _diet(table: _Table, headline: Ration, need: Need) -> tuple[Diet, dict[str, Array]]:
    """Work out the diet of those fed on the headline ration, by calendar month of full years.

    They eat the ration and no more. What else reaches people comes second: edible grams a day
    beyond the ration, by food, (draws, 12).
    """

    def season(flow: Array) -> Array:
        return full_season(flow, table.full, table.timeline)

    foods = table.foods
    used = {p: used_share(headline, p, table.full, table.days) for p in headline.parts}
    grams = {k: season(g) for k, g in table.grams.items()}
    ration = {
        k: season(g * used[part]) if (part := _part(foods, k, used)) else 0.0 * grams[k]
        for k, g in table.grams.items()
    }
    persons = season(headline.persons)
    eaten = {
        "vegetables": per_person(vegetable_grams(foods, ration), persons),
        "fish": per_person(fish_grams(foods, ration), persons),
    }
    each = {n: per_person(nutrient_supply(foods, ration, n), persons) for n in NUTRIENTS}
    cover, groups = covered(each, need.mean), group_cover(each, need.groups)
    beyond = {k: np.maximum(grams[k] - ration[k], 0.0) for k in grams}
    return Diet(persons, grams, eaten, each, cover, groups), beyond


def _part(foods: Foods, key: str, parts: Collection[str]) -> str:
    """Name the part of a ration that a food belongs to; none where the ration leaves it out."""
    kind = "fish" if is_fish(foods.items[key]) else "vegetables"
    counted = [part for part in parts if part not in ("vegetables", "fish")]
    return counted[0] if counted else kind if kind in parts else ""


def _portions(ration: RationInputs, diet: Diet) -> Mapping[str, Array]:
    """Return what a person fed eats by the ration: its grams, or what a nutrient ration gives."""
    if ration.counted == "grams":
        return {"vegetables": ration.vegetables * ration.share, "fish": ration.fish * ration.share}
    return diet.eaten
