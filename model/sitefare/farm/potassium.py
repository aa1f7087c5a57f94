"""Where does potassium come from and go, and how much of the alkali is potassium's?

Feed + source + dosing = fish + solids + plants + discharge + change of stock, closed in every
month. Feed is poor in potassium, so that it is dosed to a level kept in the water, part of it
as hydroxide or bicarbonate that also replaces alkalinity, as on the Virgin Islands farm.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.farm.fish import FishPath
from sitefare.farm.nutrients import NutrientInputs

#: Alkalinity, as calcium carbonate, that potassium brings as a base: 50.04 ÷ 39.10. [kg/kg]
ALKALINITY_PER_POTASSIUM = 50.04 / 39.10


@dataclass(frozen=True)
class Potassium:
    """Potassium by month, (draws, months + 1). [kg]"""

    feed: Array
    source: Array
    dosed: Array
    fish: Array
    solids: Array
    plants: Array
    discharge: Array
    stored: Array


def potassium_balance(
    rules: NutrientInputs,
    fish: FishPath,
    demand: Array,
    source: Array,
    leaving: Array,
    volume: Array,
) -> Potassium:
    """Return where potassium goes, dosing what keeps the plants fed and the water at its level.

    Parameters
    ----------
    demand, source : Array, shape (draws, months + 1)
        Potassium that plants take up, and that make-up water brings. [kg]
    leaving, volume : Array, shape (draws or 1, months + 1)
        Water that leaves in the month, and that the farm holds, 0 before it runs. [m3]
    """
    feed = rules.feed_potassium * fish.feed
    kept = np.minimum(rules.body_potassium * fish.gain, feed)
    solids = np.minimum(rules.solids_potassium * feed, feed - kept)
    level = rules.potassium_level * volume / 1000.0
    share = leaving / np.maximum(leaving + volume, 1e-9)
    given = feed - kept - solids + source
    dosed, gone, stored = _held(given, demand, level, share)
    plants = np.broadcast_to(demand, dosed.shape)
    return Potassium(feed, source, dosed, kept, solids, plants, gone, stored)


def _held(given: Array, demand: Array, level: Array, share: Array) -> tuple[Array, Array, Array]:
    """Return what is dosed, leaves with water, and is gained by the stock, by month. [kg]"""
    shape = np.broadcast_shapes(given.shape, demand.shape, level.shape, share.shape)
    net = np.broadcast_to(given - demand, shape)
    level, left = np.broadcast_to(level, shape), np.broadcast_to(1.0 - share, shape)
    stock = np.zeros((shape[1] + 1, shape[0]))
    for month, (come, kept, stays) in enumerate(zip(net.T, level.T, left.T, strict=True)):
        stock[month + 1] = np.maximum(stock[month] + come, kept) * stays
    before = stock[:-1].T + net
    dosed = np.maximum(level - before, 0.0)
    return dosed, (before + dosed) * share, np.diff(stock.T, axis=1)
