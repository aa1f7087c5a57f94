"""What does the harvest bring, and what is the food given worth? Sheet Income.

Rows follow `money/income` and `money/market`: the market takes so much of each food at the usual
price, more at a lower one, and beyond a share of its volume nothing.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import build, build_all
from sitefare.money.income import ByproductItem
from sitefare.money.market import (
    MarketItem,
    PriceSeasonInputs,
    SalesInputs,
    gate_price,
    season,
)
from sitefare.outputs.lines import term_name
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar, Sheet
from sitefare.outputs.workbook.kilograms import KINDS, Table, added, food_name
from sitefare.outputs.workbook.made import Made
from sitefare.people.alternative import LocalPriceInputs
from sitefare.people.handover import model_in_force

#: Farm flows that a by-product may follow.
MADE = {
    "sludge_m3": "farm.sludge",
    "crop_kg": "farm.vegetables",
    "fish_kg": "farm.fish",
    "feed_kg": "farm.feed",
}


def sheet(made: Made) -> Sheet:
    """Return the sheet Income: prices, the market, income, the value of food given."""
    table = Table(made)
    items: list[Item] = [
        Heading("Prices", "Farm gate; fish by live weight; nominal."),
        *(season_line(made, kind) for kind in KINDS),
        *(price_line(table, food) for food in table.harvest),
        Heading("What the market takes", "Volume at the usual price; sold at most a share of it."),
        *(volume_item(made, food) for food in table.harvest),
        *(sold_line(made, food) for food in table.harvest),
        Heading("Income by the month", "Cash; nominal."),
        *income_lines(made, table),
        *value_items(made, table),
    ]
    return Sheet(
        "Income",
        "What the harvest brings",
        "Food for sale elsewhere meets the market; the people served pay for a share of theirs.",
        items,
        axis="months",
    )


def season_line(made: Made, kind: str) -> Item:
    """Return the month's price over the year's mean."""
    pattern = getattr(build(PriceSeasonInputs, made.values), kind)
    name = f"{{in:price_season.{kind}}}"
    return Line(
        f"income.season.{kind}", f"Price of {kind} in the month over the year's mean", "1",
        f"INDEX({name},{{calendar}})/(SUM({name})/12)", season(pattern, made.timeline), kind="path",
    )  # fmt: skip


def price_line(table: Table, food: str) -> Item:
    """Return the farm-gate price of a food."""
    made, kind = table.made, table.kind(food)
    terms = build(SalesInputs, made.values)
    pattern = getattr(build(PriceSeasonInputs, made.values), kind)
    level = gate_price(terms, build(MarketItem, made.values, food))
    values = level * season(pattern, made.timeline) * made.money.paths["food"]
    formula = (
        f"{{in:market.{food}.price}}*{{in:sales.price_level}}*{{in:sales.price_year}}"
        f"*{{income.season.{kind}}}*{{price.food}}"
    )
    unit = f"{made.currency}/kg"
    return Line(f"income.price.{food}", food_name(food), unit, formula, values, kind="price")


def volume_item(made: Made, food: str) -> Item:
    """Return the market's volume of a food."""
    terms, item = build(SalesInputs, made.values), build(MarketItem, made.values, food)
    return Scalar(
        f"income.volume.{food}", f"{food_name(food)}: the market's volume", "kg/month",
        f"{{in:market.{food}.takes}}*{{in:sales.market_size}}",
        float((item.takes * terms.market_size)[0, 0]), kind="number",
    )  # fmt: skip


def offered(food: str) -> str:
    """Return what of a food is brought to market and finds a buyer."""
    return f"{{people.{food}.elsewhere}}*{{in:sales.sold_share}}"


def sold_line(made: Made, food: str) -> Item:
    """Return what the market takes of a food."""
    formula = f"MIN({offered(food)},{{in:sales.most_share}}*{{income.volume.{food}}})"
    values = made.money.income.markets[food].sold
    label = f"{food_name(food)}: sold"
    return Line(f"income.sold.{food}", label, "kg", formula, values, kind="number", total=True)


def sales_formula(food: str) -> str:
    """Return the sales of a food: kilograms at the price that the added supply leaves."""
    volume, sold = f"{{income.volume.{food}}}", f"{{income.sold.{food}}}"
    beyond = f"MAX({sold}-{{in:sales.unnoticed_share}}*{volume},0)"
    response = f"(1+{beyond}/{volume})^(-1/{{in:sales.elasticity}})"
    return f"{sold}*{{income.price.{food}}}*{response}"


def income_lines(made: Made, table: Table) -> list[Item]:
    """Return every line of income, then what comes from elsewhere, and all of it."""
    earned, model = made.money.income, model_in_force(made.values).key
    paid = f"{{in:distribution_model.{model}.paid_share}}*{{in:sales.served_price_share}}"
    worth = added([f"{{people.{food}.served}}*{{income.price.{food}}}" for food in table.harvest])
    spare = "{farm.solar_spilled}*{in:tariff.feed_in}*IF({design.grid_connection}>0,1,0)"
    formulas = {f"sales_{food}": sales_formula(food) for food in table.harvest}
    formulas |= {
        "by_products": f"({by_products(made)})*{{price.supplies}}",
        "power_sold": f"{spare}*{{running}}*{{price.energy}}",
        "paid_by_people_served": f"({worth})*{paid}",
    }
    first, last = next(iter(formulas)), "power_sold"
    lines: list[Item] = [
        Line(
            f"income.{name}", term_name(name), made.currency, formula,
            _life(made, earned.lines[name]), total=True,
        )
        for name, formula in formulas.items()
    ]  # fmt: skip
    return [
        *lines,
        Line(
            "income.elsewhere", "Income from outside the people served", made.currency,
            f"SUM({{income.{first}}}:{{income.{last}}})", _life(made, earned.elsewhere), total=True,
        ),
        Line(
            "income.total", "All cash income", made.currency,
            "{income.elsewhere}+{income.paid_by_people_served}", _life(made, earned.total),
            total=True, strong=True,
        ),
        Line(
            "income.at_date", "All cash income at appraisal-date prices", made.currency,
            date_formula(earned.group), made.money.paths.at_date(earned.lines, earned.group),
            total=True,
        ),
    ]  # fmt: skip


def _life(made: Made, x: Array) -> Array:
    """Lay a line along the months. [same unit]"""
    return np.broadcast_to(x, (1, made.timeline.months + 1))


def date_formula(groups: Mapping[str, str]) -> str:
    """Return the sum of lines, each group over its own price path."""
    lines: dict[str, list[str]] = {}
    for name, group in groups.items():
        lines.setdefault(group, []).append(f"{{income.{name}}}")
    return added([f"({added(found)})/{{price.{group}}}" for group, found in lines.items()])


def by_products(made: Made) -> str:
    """Return what is sold beside food, before its price path."""
    terms = []
    for key, item in build_all(ByproductItem, made.values).items():
        driver = str(item.driver)
        amount = f"{{design.{driver}}}/12*{{running}}"
        amount = f"{{{MADE[driver]}}}" if driver in MADE else amount
        row = f"in:byproduct.{key}"
        terms.append(f"{{{row}.price}}*{{{row}.per_driver}}*{amount}")
    return added(terms)


def value_items(made: Made, table: Table) -> list[Item]:
    """Return the value of food that earns no cash, and of the whole harvest at the farm gate."""
    earned, food = made.money.income, made.money.paths["food"]
    model = model_in_force(made.values)
    share = f"{{in:distribution_model.{model.key}.paid_share}}"
    local = {key: f"{{in:local_price.{key}.price}}" for key in table.harvest}
    served = added([f"{{people.{key}.served}}*{price}" for key, price in local.items()])
    eaten = added(
        [
            f"{{{table.line(key)}}}*{{people.{table.kind(key)}.staff_share}}*{price}"
            for key, price in local.items()
        ]
    )
    price = {key: build(LocalPriceInputs, made.values, key).price for key in table.harvest}
    worth = sum((made.fed.served_kg[k] * price[k] for k in price), np.zeros((1, 1))) * food
    given = f"{{income.served_local}}*(1-{share})"
    if build(SalesInputs, made.values).unsold == "given":
        left = [f"({offered(key)}-{{income.sold.{key}}})*{local[key]}" for key in local]
        given += f"+({added(left)})*{{price.food}}"
    reached = earned.given + earned.staff + worth * model.inputs.paid_share
    rows = (
        ("served_local", "Food that reaches the people served, at local prices",
         f"({served})*{{price.food}}", worth),
        ("given", "Food given", given, earned.given),
        ("staff", "Food eaten by staff", f"({eaten})*{{price.food}}", earned.staff),
        ("food_reaching", "Food that reaches people, staff among them",
         f"{{income.given}}+{{income.staff}}+{{income.served_local}}*{share}", reached),
        ("vegetable_value", "Vegetables harvested, at the farm gate",
         added([f"{{{table.line(k)}}}*{{income.price.{k}}}" for k in table.of("vegetables")]),
         earned.vegetable_value),
        ("fish_value", "Fish harvested, at the farm gate",
         added([f"{{{table.line(k)}}}*{{income.price.{k}}}" for k in table.of("fish")]),
         earned.fish_value),
    )  # fmt: skip
    head = Heading("Values that are no cash", "Local prices for what people eat.")
    lines = [
        Line(f"income.{key}", label, made.currency, formula, _life(made, values), total=True)
        for key, label, formula, values in rows
    ]
    return [head, *lines]
