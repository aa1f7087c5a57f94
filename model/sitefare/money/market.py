"""How much of the harvest does the local market take, at what price?

A market trades a volume of each food a month at the usual price. What the farm sells within a
small share of it moves no price; what it sells beyond adds to supply, and the price falls by a
constant elasticity of demand. Beyond a larger share nothing more is sold. Kilograms a month.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, monthly, quantity, text
from sitefare.timeline import Timeline


@inputs("market", keyed=True, measure="price")
class MarketItem:
    """One food in the market: its farm-gate price, and how much of it the market trades."""

    title: Any = text(doc="What is sold, and in which form.")
    takes: Array = quantity(
        "kg/month",
        low=1e-3,
        varies="choice",
        doc="Market's volume at the usual price, for a market of ordinary size.",
    )
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
    market_size: Array = quantity(
        "1",
        low=1e-3,
        doc="Market's volume at the site over that of the market table.",
        fact="optional",
    )
    unnoticed_share: Array = quantity(
        "1",
        low=0,
        high=1,
        doc="Share of the market's volume that the farm sells at no lower price.",
    )
    most_share: Array = quantity(
        "1", low=0.01, high=1, doc="Share of the market's volume beyond which nothing more is sold."
    )
    elasticity: Array = quantity(
        "1",
        low=0.1,
        high=20,
        doc="Elasticity of demand: rise of what is bought over fall of price, without its sign.",
    )
    unsold: Any = choice("lost", "given", doc="What becomes of food that the market cannot take.")


@inputs("price_season")
class PriceSeasonInputs:
    """The year's pattern of farm-gate prices; only the pattern counts, its mean is brought to 1."""

    vegetables: Array = monthly(
        "1",
        low=0.01,
        high=10,
        doc="Vegetable prices by month over the year's mean.",
        fact="optional",
    )
    fish: Array = monthly(
        "1", low=0.01, high=10, doc="Fish prices by month over the year's mean.", fact="optional"
    )


@dataclass(frozen=True)
class Sale:
    """What one food's market does by month: kilograms sold and unsold; price over the usual one."""

    sold: Array
    unsold: Array
    price_factor: Array


def price_response(added: Array, volume: Array, elasticity: Array) -> Array:
    """Return price over the usual one when supply is added to a market's volume. [1]

    Constant elasticity of demand, Q ∝ P^(−ε), so P ÷ P₀ = (1 + added ÷ volume)^(−1/ε)
    (Marshall, Principles of Economics, III.4; any text on price theory).
    """
    supply = 1.0 + added / volume
    # A power is dear, and most months of most draws add nothing.
    price = np.ones(np.broadcast_shapes(supply.shape, elasticity.shape))
    np.power(supply, -1.0 / elasticity, out=price, where=supply != 1.0)
    return price


def sale(terms: SalesInputs, takes: Array, offered: Array) -> Sale:
    """Return what becomes of food offered to a market that takes a volume. [kg/month]"""
    volume = takes * terms.market_size
    sold = np.minimum(offered, terms.most_share * volume)
    added = np.maximum(sold - terms.unnoticed_share * volume, 0.0)
    return Sale(sold, offered - sold, price_response(added, volume, terms.elasticity))


def season(factors: Array, timeline: Timeline) -> Array:
    """Lay twelve factors, (draws, 12), along the life with a mean of 1 over the year. [1]"""
    return timeline.life(factors / np.mean(factors, axis=1, keepdims=True))


def gate_price(terms: SalesInputs, item: MarketItem) -> Array:
    """Return the farm-gate price of a food at the site in the year's mean. [money/kg]"""
    return item.price * terms.price_level * terms.price_year
