"""What does the harvest bring in cash, and what is the food given worth?

Food sold elsewhere earns the farm-gate price. The people served pay for a share of what they
get, at a share of the farm-gate price. Food given is valued at the price of the same food
bought locally; that value is never cash. Fish is in live weight, also in its prices.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity, text
from sitefare.farm.result import FarmFlows
from sitefare.money.prices import PricePaths
from sitefare.money.project import total
from sitefare.people.result import PeopleFed


@inputs("market", keyed=True, measure="price")
class MarketItem:
    """Farm-gate price of a crop, or of live fish."""

    title: Any = text(doc="What is sold, and in which form.")
    price: Array = quantity(
        "money/kg", low=0, drift="food", doc="Farm-gate price; fish by live weight."
    )


@inputs("sales")
class SalesInputs:
    """How the market treats the farm."""

    price_year: Array = quantity(
        "1", low=0, high=3, varies="year", doc="The year's food price over the usual one."
    )
    price_level: Array = quantity(
        "1",
        low=0,
        high=5,
        doc="Food prices at the site over those of the market table.",
        fact="optional",
    )
    sold_share: Array = quantity(
        "1", low=0, high=1, doc="Share of what is brought to market that finds a buyer."
    )
    served_price_share: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Price asked of people served who pay, over the farm-gate price.",
    )


@dataclass(frozen=True)
class Income:
    """Cash income by line; farm-gate value of the harvest; value of food given.

    Arrays (draws, months + 1), nominal. `elsewhere` is the part sold outside the people served.
    `vegetable_value` and `fish_value` price the whole harvest at the farm gate, to share costs.
    """

    lines: Mapping[str, Array]
    elsewhere: Array
    given: Array
    vegetable_value: Array
    fish_value: Array


def farm_gate(values: Values, key: str) -> Array:
    """Return the farm-gate price of a food at the site. [money/kg]"""
    terms = build(SalesInputs, values)
    return build(MarketItem, values, key).price * terms.price_level * terms.price_year


def income(
    values: Values,
    species: str,
    flows: FarmFlows,
    fed: PeopleFed,
    *,
    local: Mapping[str, Array],
    paths: PricePaths,
) -> Income:
    """Return what the harvest brings; `local` is the local price of each food. [money]"""
    terms = build(SalesInputs, values)
    price = {key: farm_gate(values, key) * paths["food"] for key in fed.served_kg}
    elsewhere = {
        f"sales_{key}": kg * terms.sold_share * price[key] for key, kg in fed.elsewhere_kg.items()
    }
    gate_value = total(kg * price[key] for key, kg in fed.served_kg.items())
    paid = gate_value * fed.served_sold_share * terms.served_price_share
    replacement = total(kg * local[key] for key, kg in fed.served_kg.items()) * paths["food"]
    return Income(
        {**elsewhere, "paid_by_people_served": paid},
        total(elsewhere.values()),
        replacement * (1.0 - fed.served_sold_share),
        total(kg * price[key] for key, kg in flows.crop_kg.items()),
        flows.fish_live_kg * price[species],
    )
