"""Where do the feed's nitrogen and phosphorus go, and what must be dosed.

Feed = fish + solids + plants + gas + exchange + change of stock, closed in every month. The
water holds a stock that plants draw on in lean months; what passes its limit is exchanged.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.farm import nitrification
from sitefare.farm.fish import FishPath, SpeciesInputs

#: Nitrogen in protein. [kg/kg]
IN_PROTEIN = 0.16


@inputs("nutrients")
class NutrientInputs:
    """Fate of what fish do not keep, and what is added."""

    solids_nitrogen: Array = quantity("1", low=0, high=0.5, doc="Share of feed nitrogen in solids.")
    solids_phosphorus: Array = quantity(
        "1", low=0, high=0.8, doc="Share of feed phosphorus in solids."
    )
    gas: Array = quantity("1", low=0, high=0.8, doc="Share of dissolved nitrogen lost as gas.")
    nitrate_limit: Array = quantity(
        "mg/L", low=20, high=600, doc="Nitrate nitrogen above which water is exchanged."
    )
    phosphorus_limit: Array = quantity(
        "mg/L", low=2, high=200, doc="Dissolved phosphorus above which it leaves or settles."
    )
    feed_potassium: Array = quantity("kg/kg", low=0, high=0.03, doc="Potassium in feed.")
    body_potassium: Array = quantity("kg/kg", low=0.0005, high=0.01, doc="Potassium in live fish.")
    solids_potassium: Array = quantity(
        "1", low=0, high=0.8, doc="Share of feed potassium in solids."
    )
    potassium_level: Array = quantity(
        "mg/L", low=0, high=300, doc="Potassium kept in the water by dosing."
    )
    potassium_as_base: Array = quantity(
        "1", low=0, high=1, doc="Potassium dosed as a base: share that also replaces alkalinity."
    )
    calcium_dose: Array = quantity(
        "kg/kg", low=0, high=0.02, doc="Calcium dosed per fresh crop, beyond water and feed."
    )
    iron_dose: Array = quantity(
        "g/m3", low=0, high=10, doc="Iron dosed per volume of water each month, as chelate's iron."
    )


@dataclass(frozen=True)
class Balance:
    """One element by month, (draws, months + 1). [kg]"""

    feed: Array
    fish: Array
    solids: Array
    gas: Array
    plants: Array
    exchange: Array
    stored: Array
    demand: Array


def element_balance(
    feed: Array,
    fish: Array,
    solids_share: Array,
    gas_share: Array,
    demand: Array,
    held: Array,
) -> Balance:
    """Return where an element goes; plants take what they ask for, as far as there is.

    All arrays in kilograms a month, (draws, months + 1), but shares [1] and `held`, the most
    that the water holds (draws, 1) [kg]; `stored` is what the water gains in the month. [kg]
    """
    fish = np.minimum(fish, feed)
    solids = np.minimum(solids_share * feed, feed - fish)
    dissolved = feed - fish - solids
    gas = gas_share * dissolved
    plants, stored = _drawn(dissolved - gas, demand, held)
    exchange = dissolved - gas - plants - stored
    return Balance(feed, fish, solids, gas, plants, exchange, stored, demand)


def _drawn(given: Array, demand: Array, held: Array) -> tuple[Array, Array]:
    """Return what plants draw and what the water's stock gains, month by month. [kg]"""
    shape = np.broadcast_shapes(given.shape, demand.shape, held.shape)
    given, demand = np.broadcast_to(given, shape), np.broadcast_to(demand, shape)
    most = np.broadcast_to(held[:, 0], shape[:1])
    stock = np.zeros((shape[1] + 1, shape[0]))
    for month, (come, asked) in enumerate(zip(given.T, demand.T, strict=True)):
        pool = stock[month] + come
        stock[month + 1] = np.minimum(pool - np.minimum(asked, pool), most)
    plants = np.minimum(demand, stock[:-1].T + given)
    return plants, np.diff(stock.T, axis=1)


def nutrient_balances(
    rules: NutrientInputs,
    species: SpeciesInputs,
    fish: FishPath,
    demand: Mapping[str, Array],
    water_volume: float,
) -> dict[str, Balance]:
    """Return the balances of nitrogen and phosphorus for plants' demand by element. [kg]

    The stock is what a water volume [m3] holds at the limits of concentration.
    """
    nitrogen = fish.feed * species.feed_protein * IN_PROTEIN
    phosphorus = fish.feed * species.feed_phosphorus
    return {
        "nitrogen": element_balance(
            nitrogen,
            fish.gain * species.body_nitrogen,
            rules.solids_nitrogen,
            rules.gas,
            demand["nitrogen"],
            rules.nitrate_limit * water_volume / 1000.0,
        ),
        "phosphorus": element_balance(
            phosphorus,
            fish.gain * species.body_phosphorus,
            rules.solids_phosphorus,
            np.zeros((1, 1)),
            demand["phosphorus"],
            rules.phosphorus_limit * water_volume / 1000.0,
        ),
    }


def fed_share(balances: Mapping[str, Balance]) -> Array:
    """Return the share of plants' growth that the fish's nitrogen allows. [1]

    What is short of phosphorus, potassium, calcium and iron is dosed, as growers do.
    """
    nitrogen = balances["nitrogen"]
    wanted = nitrogen.demand > 0.0
    return np.where(wanted, nitrogen.plants / np.where(wanted, nitrogen.demand, 1.0), 1.0)


def doses(
    rules: NutrientInputs,
    species: SpeciesInputs,
    fish: FishPath,
    balances: Mapping[str, Balance],
    crop: Array,
    potassium: tuple[Array, Array],
    makeup_alkalinity: Array,
    water_volume: Array,
) -> dict[str, Array]:
    """Return what is dosed by month, (draws, months + 1). [kg]

    Alkali is counted as calcium carbonate: what nitrification takes, less what denitrification
    (3.57 kg for each kilogram of nitrogen that leaves as gas), make-up water and potassium's
    base bring; iron as iron; phosphorus, potassium and calcium as the element. `potassium` is
    what is dosed of it and the alkalinity that brings. [kg]
    """
    tan = nitrification.ammonia(fish.feed, species.feed_protein)
    taken = nitrification.ALKALINITY_PER_TAN * tan
    given = nitrification.ALKALINITY_PER_GAS * balances["nitrogen"].gas + makeup_alkalinity
    given = given + potassium[1]
    phosphorus = balances["phosphorus"]
    phosphorus_demand = phosphorus.demand * fed_share(balances)
    return {
        "alkalinity": np.maximum(taken - given, 0.0),
        "phosphorus": np.maximum(phosphorus_demand - phosphorus.plants, 0.0),
        "potassium": potassium[0],
        "calcium": rules.calcium_dose * crop,
        "iron": rules.iron_dose * water_volume / 1000.0,
    }
