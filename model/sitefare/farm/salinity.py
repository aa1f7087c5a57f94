"""How salty does the farm's water become, and what does salt take from each crop.

Conductivity, sodium and chloride are balanced month by month in the farm's volume of water:
what the source and the feed bring stays, less what leaves with discharge, sludge and leaks.
Growers let go of water so that the plan's tenderest crop stays under the table's threshold; a
site gives no more than a share of the volume a day, and beyond that salt stays and crops lose.

The thresholds are of soil paste (Maas 1990): used for a solution they are cautious, because
paste holds about half the salt of the soil's own water; and they leave the salts of nutrients
out. One error row moves them all together.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.farm.water import Demand, SourceWaterInputs, WaterInputs

#: Chloride with a mass of sodium in salt, 35.45 / 22.99. [g/g]
CHLORIDE_PER_SODIUM = 35.45 / 22.99

#: Ten moles of charge in a cubic metre conduct about 1 dS/m (FAO-29, Table 2 and its notes;
#: Maas's chloride thresholds are ten times those of conductivity). [mol/m3 per dS/m]
CHARGE_PER_CONDUCTIVITY = 10.0

#: Chloride and sodium that conduct as 1 dS/m by that rule. [g/m3 per dS/m]
CHLORIDE_PER_CONDUCTIVITY = CHARGE_PER_CONDUCTIVITY * 35.45
SODIUM_PER_CONDUCTIVITY = CHARGE_PER_CONDUCTIVITY * 22.99


@inputs("salinity")
class SalinityInputs:
    """How well the published thresholds hold for beds watered by fish."""

    threshold_error: Array = quantity(
        "1", low=0.2, high=5, doc="Salt thresholds: true over the table's, all crops together."
    )


@inputs("salt_tolerance", keyed=True, table=True)
class SaltToleranceInputs:
    """What salt one crop bears, by Maas and Hoffman's two lines."""

    threshold: Array = quantity(
        "dS/m", low=0.1, high=20, doc="Conductivity beyond which the crop yields less."
    )
    slope: Array = quantity(
        "m/dS", low=0.001, high=1, doc="Share of yield lost for each dS/m beyond."
    )


@dataclass(frozen=True)
class Salts:
    """Salt in the water at month's end, (draws, months + 1).

    `conductivity` [dS/m], `sodium` and `chloride` [g/m3]; `leaving` is the water that salt
    makes leave, sludge and leaks within it [m3]; `felt` is the conductivity that crops feel,
    the worst of the three [dS/m]. Water let go against nitrate comes on top and thins salt
    further, so that these are upper ends.
    """

    conductivity: Array
    sodium: Array
    chloride: Array
    leaving: Array
    felt: Array


def relative_yield(felt: Array, threshold: Array, slope: Array) -> Array:
    """Return yield over yield without salt, Maas & Hoffman (1977); FAO-29 eq. 11. [1]

    Parameters
    ----------
    felt, threshold : Array
        Conductivity, and the highest that takes nothing. [dS/m]
    slope : Array
        Share lost for each dS/m beyond. [m/dS]
    """
    return np.clip(1.0 - slope * (felt - threshold), 0.0, 1.0)


def kept(
    rules: SalinityInputs, tolerance: Mapping[str, SaltToleranceInputs], felt: Array
) -> dict[str, Array]:
    """Return the share of growth that each crop keeps in salt of a conductivity [dS/m]. [1]"""
    error = rules.threshold_error
    return {k: relative_yield(felt, t.threshold * error, t.slope) for k, t in tolerance.items()}


def operated_limit(tolerance: Mapping[str, SaltToleranceInputs]) -> Array:
    """Return the conductivity growers hold: the tenderest crop's threshold. [dS/m]"""
    return np.asarray(
        np.min(np.stack(np.broadcast_arrays(*[t.threshold for t in tolerance.values()])), axis=0)
    )


def felt_conductivity(conductivity: Array, sodium: Array, chloride: Array) -> Array:
    """Return the conductivity that crops feel: the worst of all salts, sodium, chloride. [dS/m]

    Parameters
    ----------
    conductivity : Array
        Of salts other than nutrients. [dS/m]
    sodium, chloride : Array
        Concentrations. [g/m3]
    """
    ions = np.maximum(sodium / SODIUM_PER_CONDUCTIVITY, chloride / CHLORIDE_PER_CONDUCTIVITY)
    return np.asarray(np.maximum(conductivity, ions))


def salts(
    rules: WaterInputs,
    source: SourceWaterInputs,
    limit: Array,
    volume: float,
    asked: Demand,
    rain: Array,
    feed: Array,
    days: Array,
) -> Salts:
    """Return the farm's salts by month, and the water they make leave.

    In a month, volume × (after − before) = source × (to air + leaving − rain) + feed's salt −
    after × leaving; `leaving` is the least that keeps every salt under its limit, never less
    than sludge and leaks, never more than the site can give.

    Parameters
    ----------
    limit : Array, shape (draws, 1)
        Highest conductivity. [dS/m]
    volume : float
        Water of the farm. [m3]
    rain : Array
        Rain that tops up beds and tanks. [m3]
    feed : Array
        Feed given. [kg]
    days : Array
        Days in use. [day]
    """
    given, most = _brought(source), _limits(rules, limit)
    least = asked.salty
    high = np.maximum(rules.most_exchange * volume * days, least)
    pure = np.minimum(rain, asked.to_air + least)
    added = _fed(rules, feed)
    shape = np.broadcast_shapes(pure.shape, feed.shape, least.shape, high.shape, limit.shape)
    draws = max(shape[0], given[0].shape[0], most[0].shape[0], added[0].shape[0])
    shape = (draws, shape[1])
    source_by, most_by = (
        np.stack([np.broadcast_to(x, (draws, 1))[:, 0] for x in xs]) for xs in (given, most)
    )
    brought = np.stack(
        [
            np.broadcast_to((asked.to_air - pure) * g + a, shape).T
            for g, a in zip(given, added, strict=True)
        ],
        axis=1,
    )
    lows, highs = (np.ascontiguousarray(np.broadcast_to(x, shape).T) for x in (least, high))
    above, leaving = _stepped(volume, source_by, most_by, brought, (lows, highs))
    found = (above + most_by).transpose(1, 2, 0)
    felt = felt_conductivity(found[0], found[1], found[2])
    return Salts(found[0], found[1], found[2], leaving.T, felt)


def _stepped(
    volume: float, source: Array, limit: Array, brought: Array, bounds: tuple[Array, Array]
) -> tuple[Array, Array]:
    """Return salt above its limit and the water let go, month by month.

    `source` and `limit` are (salts, draws), `brought` (months, salts, draws) and bounds
    (months, draws) [m3]; the stock starts as the source. The month's end sets what leaves with
    the water, which is stable at any step.
    """
    least, most = bounds
    gap, fresh = np.maximum(limit - source, 0.05 * limit), source - limit
    above = np.empty(brought.shape)
    leaving = np.empty(least.shape)
    excess = fresh
    for month in range(brought.shape[0]):
        held = volume * excess + brought[month]
        asked = (held / gap).max(axis=0)
        let = np.minimum(np.maximum(asked, least[month]), most[month])
        excess = (held + let * fresh) / (volume + let)
        above[month] = excess
        leaving[month] = let
    return above, leaving


def _brought(source: SourceWaterInputs) -> tuple[Array, Array, Array]:
    """Return the source's conductivity [dS/m], sodium and chloride [g/m3]."""
    return source.conductivity, source.sodium, source.chloride


def _limits(rules: WaterInputs, conductivity: Array) -> tuple[Array, Array, Array]:
    """Return the highest conductivity [dS/m], sodium and chloride [g/m3]."""
    return conductivity, rules.sodium_limit, rules.chloride_limit


def _fed(rules: WaterInputs, feed: Array) -> tuple[Array, Array, Array]:
    """Return what feed [kg] adds: conductivity times volume [dS/m m3], sodium, chloride [g].

    Sodium and chloride leave fish as salt, in equal moles.
    """
    sodium = rules.feed_sodium * feed * 1000.0
    return sodium / SODIUM_PER_CONDUCTIVITY, sodium, sodium * CHLORIDE_PER_SODIUM
