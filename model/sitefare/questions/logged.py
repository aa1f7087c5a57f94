"""What else does an agency log of the project: posts, wages, women's part, water, land, emissions?

Figures are of a year of full production at base values. What the site does not say is told as
not supplied, never guessed.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal, compared_with_field
from sitefare.arrays import DAYS, Array
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.money.discounting import present_value
from sitefare.money.indicators import project_costs, ratio
from sitefare.money.overheads import OperationsInputs
from sitefare.money.project import ProjectInputs, full_year_mean, total
from sitefare.people.alternative import LocalPriceInputs, price_per_gram
from sitefare.people.food import content, edible_grams, foods_of, nutrient_supply
from sitefare.people.need import population_need
from sitefare.people.replaced import replaced_emissions_kg_per_kg
from sitefare.questions.reaching import Handed

#: Nutrients whose cost is told: the amount that the cost is of, 0 for a day's mean need.
PRICED = {"energy": 1000.0, "protein": 1.0, "vitamin_a": 0.0, "vitamin_c": 0.0, "iron": 1.0}

#: How those amounts are written.
AMOUNTS = {
    "energy": "1,000 kcal",
    "protein": "1 g of protein",
    "vitamin_a": "a day's need of vitamin A",
    "vitamin_c": "a day's need of vitamin C",
    "iron": "1 mg of iron",
}


@inputs("community")
class CommunityInputs:
    """Who works on the farm, and what its food takes the place of."""

    local_staff: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of wages paid to people who live in the community.",
        fact="optional",
    )
    women: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of paid hours worked by women.",
        fact="optional",
    )


@dataclass(frozen=True)
class Logged:
    """One figure that an agency logs, nan where it has no answer; `said` tells what it counts."""

    title: str
    unit: str
    figure: float
    said: str


@dataclass(frozen=True)
class NutrientCost:
    """Cost of one amount of a nutrient, first draw. [money]

    `farm` is the whole project's cost over the nutrient in the food handed over, `basket` the
    same food bought locally, `cheapest` the least dear of the foods with a local price, `source`.
    """

    nutrient: str
    amount: str
    farm: float
    basket: float
    cheapest: float
    source: str


def supplied(appraisal: Appraisal, name: str) -> bool:
    """Tell whether the site, a scenario or the command line gives a row."""
    return appraisal.case.rows[name].layer != "common"


def logged(appraisal: Appraisal, handed: Handed) -> tuple[Logged, ...]:
    """Return the other results of the first draw in a year of full production.

    Parameters
    ----------
    appraisal : Appraisal
        A base appraisal.
    handed : Handed
        The model in force, for the hours of handing over.
    """
    values = base_values(appraisal.case)
    people = build(CommunityInputs, values)
    project = build(ProjectInputs, values)
    wages = full_year_mean(project, appraisal.case.timeline, wages_paid(appraisal, values))
    unit = f"{appraisal.case.currency}/year"
    return (
        Logged(
            "Full-time posts on the farm",
            "posts",
            _first(appraisal, "jobs_fte"),
            "hours worked over 2,080 a year",
        ),
        Logged(
            "Full-time posts in handing over",
            "posts",
            float(handed.delivery_posts[0, 0]),
            handed.model.inputs.title,
        ),
        Logged(
            "Wages paid into the community",
            unit,
            float((wages * people.local_staff)[0, 0]),
            f"{float(people.local_staff[0, 0]):.0%} of all wages, employer's contributions in them"
            + ("" if supplied(appraisal, "community.local_staff") else "; share not supplied"),
        ),
        _women(appraisal, people),
        *_saved(appraisal, values),
        _emissions(appraisal, values),
    )


def wages_paid(appraisal: Appraisal, values: Values) -> Array:
    """Return wages by month at appraisal-date prices, unpaid hours left out. [money/month]"""
    money = appraisal.finances
    lines = (-money.at_date(n) for n, g in money.line_group.items() if _is_wage(n, g))
    unpaid = -money.at_date("wages_worker") * build(OperationsInputs, values).unpaid_share
    return total(lines) - unpaid


def _is_wage(name: str, group: str) -> bool:
    """Tell a line of wages."""
    return group == "operating" and name.startswith("wages_")


def _first(appraisal: Appraisal, name: str) -> float:
    """Return an indicator of the first draw."""
    return float(appraisal.indicators[name][0, 0])


def _women(appraisal: Appraisal, people: CommunityInputs) -> Logged:
    """Return women's share of paid hours where the site gives it."""
    title = "Share of hours worked by women"
    if not supplied(appraisal, "community.women"):
        return Logged(title, "%", float("nan"), "not supplied by the site")
    return Logged(
        title, "%", 100.0 * float(people.women[0, 0]), "a plan of the site, to be measured"
    )


def _saved(appraisal: Appraisal, values: Values) -> tuple[Logged, Logged]:
    """Return water and land saved against a field here, below zero where the farm takes more."""
    found = compared_with_field(values, appraisal.design, appraisal.flows, appraisal.case.timeline)
    makeup = appraisal.indicators["water_makeup_m3_year"]
    water = float((found.water - makeup * found.covered)[0, 0])
    covered = float(found.covered[0, 0])
    part = "" if covered > 0.995 else f", for the {covered:.0%} of crops a field can grow"  # noqa: PLR2004
    none = "no field here grows these crops"
    land = float(found.land_saved[0, 0])
    return (
        Logged(
            "Water saved against a field",
            "m3/year",
            water,
            f"irrigation less all the farm takes{part}" if np.isfinite(water) else none,
        ),
        Logged(
            "Land saved against a field",
            "m2",
            land,
            f"field less the farm's ground{part}" if np.isfinite(land) else none,
        ),
    )


def _emissions(appraisal: Appraisal, values: Values) -> Logged:
    """Return emissions of the supply replaced less the farm's own."""
    each = replaced_emissions_kg_per_kg(values)
    names = {"vegetables": "vegetables_marketable_kg_year", "fish": "fish_live_kg_year"}
    kilograms = {group: _first(appraisal, name) for group, name in names.items()}
    replaced = sum(float(each[group][0, 0]) * kg for group, kg in kilograms.items()) / 1000.0
    own = _first(appraisal, "emissions_tco2e_year")
    said = (
        f"{replaced:.3g} t of the supply replaced ({each['vegetables'][0, 0]:.2g} kg a kg of "
        f"vegetables, {each['fish'][0, 0]:.2g} of fish) less the farm's own {own:.3g} t"
    )
    return Logged(
        "Emissions avoided against the supply replaced", "t CO2e/year", replaced - own, said
    )


def nutrient_costs(appraisal: Appraisal) -> tuple[NutrientCost, ...]:
    """Return what a gram of protein and the like cost from this farm, and in the local market.

    The farm's cost is the present value of all project costs over that of the nutrient in the
    food handed over, after cooking; each nutrient carries the whole cost, as if nothing else were
    had for it.
    """
    values, timeline = base_values(appraisal.case), appraisal.case.timeline
    view = appraisal.finances.figures
    costs = present_value(project_costs(view), view.factors)
    foods = foods_of(values, list(appraisal.fed.served_kg))
    days = DAYS[timeline.calendar][None, :]
    grams = edible_grams(foods, appraisal.fed.served_kg, days)
    need = population_need(values).mean
    bought = {k: price_per_gram(foods.items[k], build(LocalPriceInputs, values, k)) for k in grams}
    basket = present_value(total(g * bought[k] for k, g in grams.items()) * days, view.factors)
    found = []
    for name, given in PRICED.items():
        amount = np.full((1, 1), given) if given else need[name]
        supply = present_value(nutrient_supply(foods, grams, name) * days, view.factors)
        cheapest, source = _cheapest(values, name, amount)
        found.append(
            NutrientCost(
                name,
                AMOUNTS[name],
                float((amount * ratio(costs, supply, np.inf))[0, 0]),
                float((amount * ratio(basket, supply, np.inf))[0, 0]),
                cheapest,
                source,
            )
        )
    return tuple(found)


def _cheapest(values: Values, nutrient: str, amount: Array) -> tuple[float, str]:
    """Return the least dear local source of an amount of a nutrient, among the foods listed."""
    keys = [k.split(".")[1] for k in values if k.startswith("local_price.") and k.endswith("price")]
    foods = foods_of(values, keys)
    best = (float("inf"), "")
    for key in keys:
        each = content(foods, key, nutrient)
        if foods.items[key].kind != "herb" and np.all(each > 0.0):
            gram = price_per_gram(foods.items[key], build(LocalPriceInputs, values, key))
            best = min(best, (float((amount * gram / each)[0, 0]), key))
    return best
