"""What does the harvest bring in cash, and what is the food given worth?

Food sold elsewhere earns the farm-gate price as the market takes it. The people served pay for a
share of what they get, at a share of the farm-gate price. Food given, and food that staff eat,
is valued at the price of the same food bought locally; that value is never cash. Fish is in live
weight, also in its prices.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, build_all, inputs, quantity, text
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.bill import driver_of
from sitefare.money.market import (
    MarketItem,
    PriceSeasonInputs,
    Sale,
    SalesInputs,
    gate_price,
    sale,
    season,
)
from sitefare.money.prices import PricePaths
from sitefare.money.project import total
from sitefare.money.tariff import power_sold
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline


@inputs("byproduct", keyed=True, measure="price")
class ByproductItem:
    """Something sold beside food; a price of nothing says that no buyer is assumed."""

    title: Any = text(doc="What is sold.")
    driver: Any = text(
        doc="What its quantity follows: a flow, or a size of the design for each year."
    )
    per: Any = text(doc="Unit in words of one unit of quantity.")
    per_driver: Array = quantity(
        "1", low=0, varies="choice", doc="Quantity for one unit of driver."
    )
    price: Array = quantity("money", low=0, drift="supplies", doc="Price of one unit at the farm.")


@dataclass(frozen=True)
class Income:
    """Cash income by line; farm-gate value of the harvest; value of food that earns no cash.

    Arrays (draws, months + 1), nominal. `elsewhere` is the part sold outside the people served,
    by-products and power included. `given` and `staff` are food given and food eaten by staff, at
    local replacement prices. `vegetable_value` and `fish_value` price the whole harvest at the
    usual farm-gate price, to share costs. `markets` says what the market did to each food;
    `group` names the price group that each line moves by, `taxable` whether VAT may fall on it.
    """

    lines: Mapping[str, Array]
    elsewhere: Array
    given: Array
    staff: Array
    vegetable_value: Array
    fish_value: Array
    markets: Mapping[str, Sale]
    group: Mapping[str, str]
    taxable: Mapping[str, bool]

    @cached_property
    def total(self) -> Array:
        """All cash income. [money]"""
        return total(self.lines.values())


def income(
    values: Values,
    design: Design,
    flows: FarmFlows,
    fed: PeopleFed,
    *,
    local: Mapping[str, Array],
    paths: PricePaths,
    timeline: Timeline,
) -> Income:
    """Return what the harvest brings; `local` is the local price of each food. [money]"""
    terms = build(SalesInputs, values)
    items = {key: build(MarketItem, values, key) for key in fed.served_kg}
    pattern = build(PriceSeasonInputs, values)
    month = {
        "vegetables": season(pattern.vegetables, timeline) * paths["food"],
        "fish": season(pattern.fish, timeline) * paths["food"],
    }
    price = {
        key: gate_price(terms, item) * month["vegetables" if key in flows.crop_kg else "fish"]
        for key, item in items.items()
    }
    markets = {
        key: sale(terms, items[key].takes, kg * terms.sold_share)
        for key, kg in fed.elsewhere_kg.items()
    }
    elsewhere = {
        f"sales_{key}": one.sold * price[key] * one.price_factor for key, one in markets.items()
    }
    gate_value = total(kg * price[key] for key, kg in fed.served_kg.items())
    paid = gate_value * fed.served_sold_share * terms.served_price_share
    beside = {
        "by_products": by_products(values, design, flows, timeline) * paths["supplies"],
        "power_sold": power_sold(values, design, flows, paths, timeline),
    }
    given_away = total(one.unsold * local[key] for key, one in markets.items())
    served = total(kg * local[key] for key, kg in fed.served_kg.items())
    given = served * (1.0 - fed.served_sold_share) + given_away * float(terms.unsold == "given")
    lines = {**elsewhere, "paid_by_people_served": paid, **beside}
    return Income(
        lines,
        total(elsewhere.values()) + total(beside.values()),
        given * paths["food"],
        total(kg * local[key] for key, kg in fed.staff_kg.items()) * paths["food"],
        total(kg * price[key] for key, kg in flows.crop_kg.items()),
        flows.fish_live_kg * price[design.species],
        markets,
        dict.fromkeys(lines, "food") | {"by_products": "supplies", "power_sold": "energy"},
        dict.fromkeys(lines, True),
    )


def farm_gate(values: Values, key: str) -> Array:
    """Return the farm-gate price of a food at the site in the year's mean. [money/kg]"""
    return gate_price(build(SalesInputs, values), build(MarketItem, values, key))


def by_products(values: Values, design: Design, flows: FarmFlows, timeline: Timeline) -> Array:
    """Return what is sold beside food, by month at appraisal-date prices. [money]"""
    made = {
        "sludge_m3": flows.sludge_m3,
        "crop_kg": total(flows.crop_kg.values()),
        "fish_kg": flows.fish_live_kg,
        "feed_kg": flows.feed_kg,
    }
    worth = timeline.running * 0.0
    for key, item in build_all(ByproductItem, values).items():
        driver = str(item.driver)
        if driver in made:
            amount = made[driver]
        else:
            size = driver_of(design, driver, f"byproduct.{key}.driver")
            amount = size / 12.0 * timeline.running
        worth = worth + item.price * item.per_driver * amount
    return worth


def harvest_shares(fed: PeopleFed) -> dict[str, dict[str, Array]]:
    """Return by food the month's shares served, sold elsewhere, eaten by staff and lost. [1]

    They add up to 1 in a month in which food leaves the farm, and are 0 in others.
    """
    ends = {
        "served": fed.served_kg,
        "sold_elsewhere": fed.elsewhere_kg,
        "staff": fed.staff_kg,
        "lost": fed.lost_kg,
    }
    shares = {}
    for food in fed.served_kg:
        left = {name: kg[food] for name, kg in ends.items() if food in kg}
        out = total(left.values())
        shares[food] = {name: kg / (out + (out <= 0)) for name, kg in left.items()}
    return shares
