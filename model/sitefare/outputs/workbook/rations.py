"""How many people does each ration feed, month by month? The second half of sheet People.

Rows follow `people/rations`: each part of a ration feeds so many people in a month; in a year of
full production the worst month or the mean day counts; before that each month stands by itself,
but counts nobody beyond those whom the full years hold. Composition of foods and needs of the
population come from the model as single cells.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, reduce

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import build, build_all
from sitefare.outputs.workbook.frame import GivenScalar, Heading, Item, Line, Scalar
from sitefare.outputs.workbook.kilograms import KINDS, Table, added, food_name
from sitefare.people.alternative import LocalPriceInputs, price_per_gram
from sitefare.people.fed import PeopleInputs
from sitefare.people.food import NUTRIENTS, content, edible_grams, nutrient_supply
from sitefare.people.need import population_need
from sitefare.people.rations import (
    RationInputs,
    Supply,
    full_years,
    held,
    parts_of,
    year_basis,
)

#: Rows that these formulas read and that the farm, or the length of the sheet, rests on.
LOCKED = frozenset({"project.ramp_months", "project.construction", "project.years"})

#: People that a part feeds where the ration asks for none of it: it holds nobody back. [person]
NO_BOUND = "10^12"

#: Nutrients whose name holds a letter.
VITAMINS = ("vitamin_a", "vitamin_c", "vitamin_b12")

#: Grams of a kilogram, as formulas write them. [g/kg]
GRAMS = "1000"


@dataclass(frozen=True)
class Fed:
    """The food as it reaches the table, and what rations set it against."""

    table: Table

    @cached_property
    def days(self) -> Array:
        """Days of each month, (1, months + 1). [day/month]"""
        return DAYS[self.table.made.timeline.calendar][None, :]

    @cached_property
    def full(self) -> Array:
        """1 in project years of full production, (1, years). [1]"""
        made = self.table.made
        return full_years(made.timeline, made.project.ramp_months)

    @cached_property
    def full_months(self) -> Array:
        """1 in months of full production years, (1, months + 1). [1]"""
        return np.concatenate([np.zeros((1, 1)), np.repeat(self.full, 12, axis=1)], axis=1)

    @cached_property
    def grams(self) -> dict[str, Array]:
        """Edible grams a day by food, herbs left out. [g/day]"""
        return edible_grams(self.table.foods, self.table.made.fed.served_kg, self.days)

    @cached_property
    def asked(self) -> dict[str, RationInputs]:
        """The rations counted."""
        rations = build_all(RationInputs, self.table.made.values)
        return {key: rations[key] for key in self.table.made.fed.rations}

    @cached_property
    def nutrients(self) -> list[str]:
        """Nutrients that a ration counts, energy among them for a full ration."""
        counted = {r.counted for r in self.asked.values()}
        wanted = counted | ({"energy"} if "full_ration" in counted else set())
        return [name for name in NUTRIENTS if name in wanted]

    @cached_property
    def supply(self) -> Supply:
        """What can be counted, a day."""
        table, fed = self.table, self.table.made.fed
        return Supply(
            fed.edible_g["vegetables"], fed.edible_g["fish"],
            {n: nutrient_supply(table.foods, self.grams, n) for n in self.nutrients},
            population_need(table.made.values).mean,
            build(PeopleInputs, table.made.values).full_ration_energy,
            table.made.design.bed_area, self.full,
        )  # fmt: skip


def ration_items(fed: Fed) -> list[Item]:
    """Return the rows of people by ration."""
    items: list[Item] = [*full_items(fed), *gram_items(fed)]
    for nutrient in fed.nutrients:
        items += nutrient_items(fed, nutrient)
    for key in fed.asked:
        items += people_items(fed, key)
    return items + alternative_items(fed)


def full_items(fed: Fed) -> list[Item]:
    """Return which project years count as full production."""
    years = fed.full[0]
    first = int(np.argmax(years)) + 1
    formula = (
        "MIN(ROUNDUP(({in:project.construction}+ROUND({in:project.ramp_months},0))/12,0)+1,"
        "{in:project.years})"
    )
    return [
        Heading("Years of full production", "Building and ramp-up are over before they begin."),
        Scalar(
            "people.first_full", "First project year of full production", "year", formula,
            float(first), kind="count",
        ),
        Line(
            "people.full", "1 in full production years", "1", "IF({year}>={people.first_full},1,0)",
            fed.full_months, kind="count",
        ),
    ]  # fmt: skip


def gram_items(fed: Fed) -> list[Item]:
    """Return edible grams a day of vegetables, herbs left out, and of fish."""
    table = fed.table
    items: list[Item] = [
        Heading("Food on the table", "Raw edible weight a day, all people together; no herbs.")
    ]
    for kind in KINDS:
        foods = [food for food in table.of(kind) if food in fed.grams]
        kept = added(
            [f"{{people.{food}.served}}*{{in:food.{food}.edible_share}}" for food in foods]
        )
        values = table.made.fed.edible_g[kind]
        items.append(
            Line(
                f"people.{kind}_g", f"{kind.capitalize()}, edible", "g/day",
                f"({kept})*{GRAMS}/{{days}}", values, kind="number",
            )
        )  # fmt: skip
    return items


def nutrient_items(fed: Fed, nutrient: str) -> list[Item]:
    """Return what a gram of each food gives of a nutrient, and what all give a day."""
    words, unit = _words(nutrient), _unit(nutrient)
    items: list[Item] = [
        Heading(f"{words} in the food", "In an edible gram as eaten, cooking counted; then in all.")
    ]
    foods = fed.table.foods
    for food in fed.grams:
        gives = float(content(foods, food, nutrient)[0, 0])
        label = f"{words}: {food_name(food).lower()}"
        items.append(
            GivenScalar(f"people.{food}.{nutrient}", label, f"{unit}/g", gives, kind="price")
        )
    terms = [
        f"{{people.{food}.served}}*{{in:food.{food}.edible_share}}*{{people.{food}.{nutrient}}}"
        for food in fed.grams
    ]
    items.append(
        Line(
            f"people.{nutrient}_supply", f"{words}, all food served", f"{unit}/day",
            f"({added(terms)})*{GRAMS}/{{days}}", fed.supply.nutrients[nutrient], kind="number",
        )
    )  # fmt: skip
    return items


def _words(nutrient: str) -> str:
    """Return a nutrient as printed, first letter raised."""
    name, _, which = nutrient.partition("_")
    return f"{name.capitalize()} {which.upper()}".strip()


def _unit(nutrient: str) -> str:
    """Return the unit in which a nutrient is counted."""
    units = {"energy": "kcal", "vitamin_a": "ug", "folate": "ug", "vitamin_b12": "ug"}
    grams = {"protein": "g", "fat": "g"}
    return units.get(nutrient) or grams.get(nutrient) or "mg"


def _part(part: str) -> str:
    """Return a part of a ration as printed within a sentence."""
    return f"vitamin {part[8:].upper()}" if part in VITAMINS else part.replace("_", " ")


def part_formula(fed: Fed, key: str, part: str) -> str:
    """Return the people that one part of a ration feeds in a month."""
    ration, share = fed.asked[key], f"{{in:ration.{key}.share}}"
    if ration.counted == "grams":
        asked = f"{{in:ration.{key}.{part}}}"
        return f"IF({asked}>0,{{people.{part}_g}}/({asked}*{share}),{NO_BOUND})"
    if ration.counted == "full_ration":
        return f"{{people.energy_supply}}/({{in:people.full_ration_energy}}*{share})"
    if ration.counted == "bed_area":
        begun = "IF(SUM({people.vegetables_g..})+SUM({people.fish_g..})>0,1,0)"
        return f"{begun}*{{people.{key}.bed_area}}/({{in:ration.{key}.area}}*{share})"
    return f"{{people.{part}_supply}}/({{people.{key}.need}}*{share})"


def against_items(fed: Fed, key: str) -> list[Item]:
    """Return the single cell that a ration sets food against, where it is no input row."""
    counted = fed.asked[key].counted
    if counted == "bed_area":
        return [
            GivenScalar(f"people.{key}.bed_area", "Bed area of the farm", "m2",
                        fed.table.made.design.bed_area)
        ]  # fmt: skip
    if counted in ("grams", "full_ration"):
        return []
    need = float(fed.supply.need[counted][0, 0])
    unit = f"{_unit(counted)}/person/day"
    label = f"Mean need of the population: {_words(counted)}"
    return [GivenScalar(f"people.{key}.need", label, unit, need)]


def people_items(fed: Fed, key: str) -> list[Item]:
    """Return the people one ration feeds: by part, by month, by year, and counted."""
    found = fed.table.made.fed.rations[key]
    parts = {
        part.replace(" ", "_"): np.broadcast_to(x, fed.days.shape)
        for part, x in parts_of(key, fed.asked[key], fed.supply).items()
    }
    at, items = f"people.{key}", [Heading(f"Fed by {found.title}"), *against_items(fed, key)]
    for part, values in parts.items():
        label = f"People by {_part(part)} alone"
        items.append(
            Line(f"{at}.part.{part}", label, "person", part_formula(fed, key, part), values,
                 kind="number")
        )  # fmt: skip
    month = reduce(np.minimum, parts.values())
    least = f"{at}.part.{next(iter(parts))}"
    if len(parts) > 1:
        least, each = f"{at}.month", ",".join(f"{{{at}.part.{part}}}" for part in parts)
        label = "People that the month feeds"
        items.append(Line(least, label, "person", f"MIN({each})", month, kind="number"))
    yearly = {part: year_basis(x, found.basis, fed.days) for part, x in parts.items()}
    year = reduce(np.minimum, yearly.values())
    if found.basis == "worst_month":
        items += worst_items(at, least, month, year)
    else:
        items += mean_items(at, yearly, year)
    items += [
        Scalar(
            f"{at}.held", "People whom the full years hold, on their mean", "person",
            f"SUMPRODUCT({{people.full:}},{{{at}.year:}})/MAX(SUM({{people.full:}}),12)",
            float(held(year, fed.full)[0, 0]), kind="number",
        ),
        Line(
            f"{at}.persons", "People fed by this ration", "person",
            f"{{running}}*IF({{people.full}}=1,{{{at}.year}},MIN({{{least}}},{{{at}.held}}))",
            found.persons, kind="number", strong=True,
        ),
    ]  # fmt: skip
    return items


def worst_items(at: str, least: str, month: Array, year: Array) -> list[Item]:
    """Return the worst month so far in each project year, and of the whole year."""
    so_far = np.minimum.accumulate(month[:, 1:].reshape(-1, 12), axis=1).reshape(1, -1)
    return [
        Line(
            f"{at}.worst", "The worst month so far in the project year", "person",
            f"IF({{month}}=12*{{year}}-11,{{{least}}},MIN({{{at}.worst<}},{{{least}}}))",
            np.concatenate([month[:, :1], so_far], axis=1), kind="number",
        ),
        Line(
            f"{at}.year", "The worst month of the project year", "person",
            f"INDEX({{{at}.worst:}},12*{{year}}+1)",
            np.concatenate([month[:, :1], np.repeat(year, 12, axis=1)], axis=1), kind="number",
        ),
    ]  # fmt: skip


def mean_items(at: str, yearly: Mapping[str, Array], year: Array) -> list[Item]:
    """Return the mean day of each project year, by part and for the part that feeds fewest."""

    def life(x: Array) -> Array:
        return np.concatenate([np.zeros((1, 1)), np.repeat(x, 12, axis=1)], axis=1)

    alone = len(yearly) == 1
    items: list[Item] = [
        Line(
            f"{at}.year" if alone else f"{at}.mean.{part}",
            f"Mean day of the year: people by {_part(part)} alone",
            "person",
            f"IF({{year}}=0,0,SUMPRODUCT(({{year:}}={{year}})*{{days:}}*{{{at}.part.{part}:}})/365)",
            life(x), kind="number",
        )
        for part, x in yearly.items()
    ]  # fmt: skip
    if alone:
        return items
    least = ",".join(f"{{{at}.mean.{part}}}" for part in yearly)
    label = "Mean day of the year: the part that feeds fewest"
    items.append(Line(f"{at}.year", label, "person", f"MIN({least})", life(year), kind="number"))
    return items


def alternative_items(fed: Fed) -> list[Item]:
    """Return what the headline ration's food costs bought locally, a person and day."""
    made = fed.table.made
    unit, cost = f"{made.currency}/person/day", made.fed.alternative_cost_person_day
    label, ration = "The same food bought locally", fed.asked[made.fed.headline]
    items: list[Item] = [
        Heading(label, "At local prices of the appraisal date, for the headline ration.")
    ]
    if ration.counted != "grams":
        note = "From the model: this ration is not counted by grams."
        key, whole = "people.alternative_cost", float(cost[0, 0])
        return [*items, GivenScalar(key, label, unit, whole, note=note, kind="price")]
    for food in fed.grams:
        kg = float(np.sum(made.fed.served_kg[food] * fed.full_months))
        items.append(
            Scalar(
                f"people.{food}.full_kg", f"{food_name(food)} served in full production years",
                "kg", f"SUMPRODUCT({{people.{food}.served:}},{{people.full:}})", kg, kind="number",
            )
        )  # fmt: skip
    items += [_mean_price(fed, kind) for kind in KINDS]
    key = f"ration.{made.fed.headline}"
    terms = [
        f"{{people.{kind}.gram_price}}*{{in:{key}.{kind}}}*{{in:{key}.share}}" for kind in KINDS
    ]
    whole = float(cost[0, 0])
    items.append(Scalar("people.alternative_cost", label, unit, added(terms), whole, kind="price"))
    return items


def _mean_price(fed: Fed, kind: str) -> Item:
    """Return the mean cost of an edible gram of a kind, bought locally, in the mix served."""
    table, made = fed.table, fed.table.made
    foods = [food for food in table.of(kind) if food in fed.grams]
    bought = added(
        [
            f"{{people.{food}.full_kg}}*{{in:local_price.{food}.price}}"
            f"/(1-{{in:local_price.{food}.loss}})"
            for food in foods
        ]
    )
    eaten = added([f"{{people.{food}.full_kg}}*{{in:food.{food}.edible_share}}" for food in foods])
    grams = {food: float(np.sum(fed.grams[food] * fed.days * fed.full_months)) for food in foods}
    paid = {
        food: float(
            price_per_gram(table.foods.items[food], build(LocalPriceInputs, made.values, food))[
                0, 0
            ]
        )
        for food in foods
    }
    every = sum(grams.values())
    value = sum(grams[f] * paid[f] for f in foods) / every if every > 0 else 0.0
    return Scalar(
        f"people.{kind}.gram_price", f"An edible gram of {kind} bought locally",
        f"{made.currency}/g", f"IF({eaten}>0,({bought})/(({eaten})*{GRAMS}),0)", value,
        kind="price",
    )  # fmt: skip
