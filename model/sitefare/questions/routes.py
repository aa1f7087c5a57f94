"""What else would bring the same food, or be had for the same money, and at what cost?

Each route brings the headline ration that the farm gives one person fed: bought in local
markets, trucked or shipped in, bought with cash or vouchers, or grown in a soil garden on the
farm's own water with the fish bought. The ration's mix is the farm's, held at base; everything
else follows the values given, one case or many draws. Prices of the appraisal date. None of it
stands in the pipeline: a question asks for it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from sitefare.appraisal import Appraisal, Plan, compared_with_field, sampled_values
from sitefare.arrays import DAYS, Array, day_mean
from sitefare.assumptions.case import base_values, beside_values
from sitefare.assumptions.declaration import Values, build, build_all
from sitefare.money.delivery import FreightInputs
from sitefare.money.garden import FieldYear, Garden, garden
from sitefare.money.market import PriceSeasonInputs
from sitefare.money.supplies import PriceInputs
from sitefare.money.transfer import TransferInputs, cost_of_transfer, worth_of_cost
from sitefare.people.distribution import DistributionInputs
from sitefare.people.food import total
from sitefare.people.haulage import (
    HaulageInputs,
    MonthsOpenInputs,
    ShippingInputs,
    Way,
    landed,
    road,
    sea,
)
from sitefare.people.meal import GROUPS, Basket, Meal, basket, meal_of, priced, reaches_pot
from sitefare.people.replaced import replaced_emissions_kg_per_kg
from sitefare.questions.uncertainty import Uncertainty

#: Routes in the order they are told, in words.
TITLES = {
    "local": "Bought in local markets",
    "road": "Trucked in",
    "sea": "Shipped in",
    "garden": "Soil garden, fish bought",
}

#: Indicators of the farm that a garden is reckoned from.
FIELD = ("water_makeup_m3_year", "field_water_m3_year", "vegetables_marketable_kg_year")


@dataclass(frozen=True)
class Served:
    """What the farm serves one person fed, and what a field here makes of it, held at base.

    `covered` is the share of the vegetables' weight that a field can grow, `planting` the share
    of the year in which they can be planted, by weight [1]; `footprint` the farm's ground [m2].
    """

    meal: Meal
    covered: Array
    planting: Array
    footprint: float


@dataclass(frozen=True)
class Route:
    """One route's person-day, (draws, 1); by group where a mapping.

    `cost` [money/person/day]; `groups` the part of each group in it, fees of a transfer apart
    [money/person/day]; `per_kg` of a kilogram that reaches the kitchen, untrimmed and whole
    [money/kg]; `way` share lost on the way, `lost` share lost from purchase to kitchen [1];
    `pot` edible grams for a kilogram paid for [g/kg]; `months` share of the year in which the
    food is to be had [1]; `emissions` CO2-equivalent [kg/person/day].
    """

    key: str
    title: str
    cost: Array
    groups: Mapping[str, Array]
    per_kg: Mapping[str, Array]
    way: Mapping[str, Array]
    lost: Mapping[str, Array]
    pot: Mapping[str, Array]
    months: Mapping[str, Array]
    emissions: Array


def served(made: Appraisal) -> Served:
    """Return what other routes have to bring, from an appraisal at base."""
    case, values = made.case, base_values(made.case)
    field, found = (
        made.flows.field,
        compared_with_field(values, made.design, made.flows, case.timeline),
    )
    kilograms = {k: float(np.sum(x[:1])) for k, x in made.flows.crop_kg.items()}
    weight = sum(kilograms.values()) or 1.0
    months = sum(kilograms[k] * float(field.planting_months[k][0, 0]) for k in kilograms)
    return Served(
        meal=meal_of(values, made.fed, case.timeline),
        covered=found.covered[:1],
        planting=np.full((1, 1), months / weight / 12.0),
        footprint=made.design.footprint,
    )


def route_values(
    plan: Plan, draws: int, seed: int, keys: Sequence[str] | None = None
) -> dict[str, Array | str]:
    """Return a plan's values as the draws of `uncertainty`, with those of the routes beside.

    Draw i is that of the indicators with the same count, seed and keys.
    """
    return dict(sampled_values(plan, draws, seed, keys)) | beside_values(plan.case, draws, seed)


def route_draws(
    food: Served, plan: Plan, drawn: Uncertainty, keys: Sequence[str] | None = None
) -> dict[str, Route]:
    """Return every route on the draws of the farm's indicators, cheaply: no farm is run again.

    The local price of each draw's own mix is known from its indicator, so prices follow it;
    kilograms keep the mix of the base.

    Parameters
    ----------
    food : Served
        What the farm serves.
    plan : Plan
        The plan drawn.
    drawn : Uncertainty
        Its draws; none give no routes.
    keys : sequence of str, optional
        Those that the draws were made with.
    """
    if not drawn.count:
        return {}
    values = route_values(plan, drawn.count, drawn.seed, keys)
    return routes(food, values, drawn.draws, local=drawn.draws["alternative_cost_person_day"])


def routes(
    food: Served,
    values: Values,
    indicators: Mapping[str, Array],
    only: Sequence[str] = (),
    local: Array | None = None,
) -> dict[str, Route]:
    """Return each route that can be had here, by key, the local market first.

    Parameters
    ----------
    food : Served
        What the farm serves, from `served`.
    values : mapping
        Base values, or draws from `route_values`.
    indicators : mapping of array, shape (draws, 1)
        The farm's indicators for the same values. [mixed]
    only : sequence of str
        Keys of the routes asked for beside `local`; all where empty.
    local : array, shape (draws, 1), optional
        Local cost of the mix of each draw, where it is known. [money/person/day]

    Returns
    -------
    dict of Route
        `local`, the transfers by their key, then `road`, `sea` and `garden` where there is one.

    Raises
    ------
    AssumptionError
        If a food has no local price.
    """
    bought = basket(values, food.meal)
    if local is not None:
        bought = priced(bought, local)
    market = _local(food, values, bought)
    ways = {
        key: partial(_transfer, key, kind, market, bought)
        for key, kind in build_all(TransferInputs, values).items()
    }
    if build(HaulageInputs, values).road == "yes":
        ways["road"] = partial(_brought, "road", road(values), food, values, bought)
    if build(ShippingInputs, values).route == "sea":
        path = sea(values, build(FreightInputs, values).inland)
        ways["sea"] = partial(_brought, "sea", path, food, values, bought)
    if np.isfinite(indicators["field_water_m3_year"]).any():
        grown = garden_of(food, values, indicators)
        ways["garden"] = partial(_garden, grown, food, values, market, bought)
    made = {key: way() for key, way in ways.items() if not only or key in only}
    return {"local": market, **made}


def _open(values: Values, name: str) -> Array:
    """Return the share of the year's days in which markets or the road are open. [1]"""
    return day_mean(getattr(build(MonthsOpenInputs, values), name))


def _per(cost: Mapping[str, Array], kg: Mapping[str, Array]) -> dict[str, Array]:
    """Divide by kilograms, group by group; nan where the ration asks for none. [money/kg]"""
    return {k: np.where(kg[k] > 0.0, x / np.where(kg[k] > 0.0, kg[k], 1.0), np.nan)
            for k, x in cost.items()}  # fmt: skip


def _lost(fresh: Mapping[str, Array], paid: Mapping[str, Array]) -> dict[str, Array]:
    """Return the share of what is paid for that never reaches the kitchen, by group. [1]"""
    return {k: 1.0 - x for k, x in _per(fresh, paid).items()}


def _local(food: Served, values: Values, bought: Basket) -> Route:
    """Return the ration bought in local markets."""
    grown = replaced_emissions_kg_per_kg(values, "local")
    return Route(
        key="local",
        title=TITLES["local"],
        cost=bought.total,
        groups=bought.cost,
        per_kg=_per(bought.cost, bought.fresh),
        way={name: np.zeros((1, 1)) for name in GROUPS},
        lost=_lost(bought.fresh, bought.bought),
        pot=reaches_pot(food.meal, bought.bought),
        months={name: _open(values, name) for name in GROUPS},
        emissions=total([bought.bought[k] * grown[k] for k in GROUPS]),
    )


def _transfer(key: str, kind: TransferInputs, local: Route, bought: Basket) -> Route:
    """Return the ration bought in local markets with a transfer worth its price."""
    groups = {k: x * (1.0 + kind.administration) for k, x in local.groups.items()}
    return Route(
        key=key,
        title=kind.title,
        cost=cost_of_transfer(kind, local.cost),
        groups=groups,
        per_kg=_per(groups, bought.fresh),
        way=local.way,
        lost=local.lost,
        pot=local.pot,
        months=local.months,
        emissions=local.emissions,
    )


def _brought(key: str, way: Way, food: Served, values: Values, bought: Basket) -> Route:
    """Return the ration trucked or shipped in and handed out to the people served.

    What spoils between purchase and pot spoils here between hand-over and pot.
    """
    last = build(PriceInputs, values).distribution
    running = build(HaulageInputs, values).running
    groups, paid = {}, {}
    for name in GROUPS:
        arrives, loss = bought.bought[name], way.loss[name]
        source = landed(way.ratio[name] * bought.cost[name], way.carried * arrives, loss)
        groups[name] = (source + last * arrives) * (1.0 + running)
        paid[name] = arrives / (1.0 - loss)
    grown = replaced_emissions_kg_per_kg(values, key)
    opened = _open(values, "road") if key == "road" else np.ones((1, 1))
    return Route(
        key=key,
        title=TITLES[key],
        cost=total(list(groups.values())),
        groups=groups,
        per_kg=_per(groups, bought.fresh),
        way=way.loss,
        lost=_lost(bought.fresh, paid),
        pot=reaches_pot(food.meal, paid),
        months=dict.fromkeys(GROUPS, opened),
        emissions=total([bought.bought[k] * grown[k] for k in GROUPS]),
    )


def garden_of(food: Served, values: Values, indicators: Mapping[str, Array]) -> Garden:
    """Return the soil garden that the farm's water from the source would irrigate."""
    makeup, water, harvest = (indicators[name] for name in FIELD)
    land = indicators["land_saved_m2"] + food.footprint * food.covered
    return garden(values, FieldYear(harvest * food.covered, water, land, food.planting), makeup)


def garden_persons(grown: Garden, values: Values, food: Served) -> Array:
    """Return for how many people a garden grows the ration's vegetables, (draws, 1). [person]"""
    asked = _garden_kg(values, basket(values, food.meal))
    return np.where(asked > 0.0, grown.harvest / (365.0 * np.maximum(asked, 1e-12)), np.nan)


def _garden_kg(values: Values, bought: Basket) -> Array:
    """Return vegetables to harvest for one person, hand-over losses in it. [kg/person/day]"""
    return bought.fresh["vegetables"] / (1.0 - build(DistributionInputs, values).vegetables_loss)


def _garden(grown: Garden, food: Served, values: Values, local: Route, bought: Basket) -> Route:
    """Return the ration with its vegetables from a soil garden and its fish bought."""
    harvest = _garden_kg(values, bought)
    groups = {**local.groups, "vegetables": grown.cost_kg * harvest}
    paid = {**bought.bought, "vegetables": harvest}
    made = replaced_emissions_kg_per_kg(values, "local")
    return Route(
        key="garden",
        title=TITLES["garden"],
        cost=total(list(groups.values())),
        groups=groups,
        per_kg=_per(groups, bought.fresh),
        way=local.way,
        lost=_lost(bought.fresh, paid),
        pot=reaches_pot(food.meal, paid),
        months={**local.months, "vegetables": food.planting},
        emissions=total([paid[k] * made[k] for k in GROUPS]),
    )


def local_by_month(food: Served, values: Values) -> Array:
    """Return the local cost by calendar month, nan where markets have none, (draws, 12).

    The season of prices is the site's; its plain mean over the year is the year's price.

    Returns
    -------
    array, shape (draws, 12)
        [money/person/day]
    """
    bought, year = basket(values, food.meal), build(PriceSeasonInputs, values)
    opened = build(MonthsOpenInputs, values)
    cost = np.zeros((1, 12))
    for name in GROUPS:
        factors: Array = getattr(year, name)
        pattern = factors / np.mean(factors, axis=1, keepdims=True)
        missing = (getattr(opened, name) <= 0.0) & (bought.bought[name] > 0.0)
        cost = cost + np.where(missing, np.nan, bought.cost[name] * pattern)
    return cost


@dataclass(frozen=True)
class Bought:
    """What the farm's whole cost would do as a transfer, (draws, 1).

    `worth` reaches a person a day [money/person/day]; `rations` of the headline ration that it
    buys [1]; `persons` that the whole cost would feed by the route [person].
    """

    worth: Array
    rations: Array
    persons: Array


def money_instead(kind: TransferInputs, local: Route, indicators: Mapping[str, Array]) -> Bought:
    """Return what the farm's cost would buy in local markets, brought as a transfer.

    Present value over present value: the farm's cost a person-day is spent on each person-day.

    Parameters
    ----------
    kind : TransferInputs
        Cash or vouchers.
    local : Route
        The ration bought in local markets.
    indicators : mapping of array, shape (draws, 1)
        The farm's `cost_per_person_day` and `people_fed`. [mixed]
    """
    cost, people = indicators["cost_per_person_day"], indicators["people_fed"]
    worth = np.maximum(worth_of_cost(kind, cost), 0.0)
    return Bought(
        worth=worth,
        rations=worth / local.cost,
        persons=people * cost / cost_of_transfer(kind, local.cost),
    )


def months_named(season: Array) -> list[int]:
    """Return the calendar months, 1 to 12, in which the first draw has nothing."""
    return [m + 1 for m in range(len(DAYS)) if float(season[0, m]) <= 0.0]
