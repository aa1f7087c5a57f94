"""How much water does the farm take, and how much must it let go.

Discharge is whatever keeps salt and sodium under the crops' limits and nitrate under the
fish's, and never less than the water that leaves with solids. Volumes in m3.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity


@inputs("source_water")
class SourceWaterInputs:
    """A test of the water that fills the farm."""

    conductivity: Array = quantity(
        "dS/m", low=0, high=10, fact="required", doc="Electrical conductivity at 25 degrees."
    )
    alkalinity: Array = quantity(
        "mg/L", low=0, high=1000, fact="required", doc="Alkalinity as calcium carbonate."
    )
    sodium: Array = quantity("mg/L", low=0, high=2000, fact="optional", doc="Sodium.")
    potassium: Array = quantity("mg/L", low=0, high=500, fact="optional", doc="Potassium.")


@inputs("water")
class WaterInputs:
    """Use of water beyond what plants give to the air."""

    indoor_wind: Array = quantity("m/s", low=0.05, high=2, doc="Air speed over crops under cover.")
    tank_open: Array = quantity("1", low=0, high=1, doc="Share of tank surface open to the air.")
    leak: Array = quantity("1/day", low=0, high=0.05, doc="Leaks and splash, share of the volume.")
    solids_per_feed: Array = quantity("kg/kg", low=0.05, high=0.6, doc="Dry solids made per feed.")
    removed_full: Array = quantity("1", low=0, high=1, doc="Solids taken out where filtered.")
    removed_media: Array = quantity(
        "1", low=0, high=1, doc="Solids taken out of media beds; the rest mineralises."
    )
    sludge_solids: Array = quantity("kg/m3", low=2, high=100, doc="Dry solids in drained sludge.")
    sodium_limit: Array = quantity("mg/L", low=20, high=1000, doc="Highest sodium in the farm.")
    feed_sodium: Array = quantity("kg/kg", low=0, high=0.02, doc="Sodium set free per feed.")
    crop_water: Array = quantity("1", low=0.5, high=0.99, doc="Water in fresh crop.")
    wash: Array = quantity("L/kg", low=0, high=20, doc="Clean water to wash and pack a kilogram.")
    runoff: Array = quantity("1", low=0, high=1, doc="Share of rain on the cover that is caught.")
    tank_fills: Array = quantity(
        "1/month", low=0.5, high=30, doc="Times a month the rain tank can be filled and used."
    )


@dataclass(frozen=True)
class WaterFlows:
    """Water by month, (draws, months + 1). [m3]"""

    makeup: Array
    rain: Array
    discharge: Array
    sludge: Array
    evaporated: Array


def salt_discharge(evaporated: Array, source: Array, limit: Array, added: Array) -> Array:
    """Return the discharge that holds a salt at its limit.

    Steady state: source × (evaporated + discharge) + added = limit × discharge, so that
    discharge = (evaporated × source + added) ÷ (limit − source). Where the source is within
    5 % of the limit or above, the discharge is that of 5 %: the shortfall acts as salt.

    Parameters
    ----------
    evaporated : Array
        Water that leaves without salt. [m3]
    source, limit : Array
        Concentration in the source, and the highest allowed. [g/m3 or dS/m]
    added : Array
        Salt added by feed. [g, or m3 dS/m]
    """
    return (evaporated * source + added) / np.maximum(limit - source, 0.05 * limit)


def salt_asked(
    rules: WaterInputs,
    source: SourceWaterInputs,
    evaporated: Array,
    feed: Array,
    limit: Array,
    share: float,
) -> Array:
    """Return the discharge that salts or sodium ask, whichever is more. [m3]

    Parameters
    ----------
    evaporated, feed : Array
        Water that leaves without salt [m3], and feed [kg].
    limit : Array
        Highest conductivity. [dS/m]
    share : float
        Share of the source in all water taken; the rest is rain. [1]
    """
    salt = salt_discharge(evaporated, source.conductivity * share, limit, np.zeros((1, 1)))
    added = rules.feed_sodium * feed * 1000.0
    sodium = salt_discharge(evaporated, source.sodium * share, rules.sodium_limit, added)
    return np.maximum(salt, sodium)


def sludge_volume(rules: WaterInputs, feed: Array, removed: Array) -> Array:
    """Return drained sludge. [m3]"""
    return rules.solids_per_feed * feed * removed / rules.sludge_solids


def water_flows(
    rules: WaterInputs,
    source: SourceWaterInputs,
    evaporated: Array,
    pads: Array,
    crop: Array,
    feed: Array,
    spare_nitrogen: Array,
    limits: tuple[Array, Array],
    removed: Array,
    volume_days: Array,
    catch: tuple[Array, Array],
) -> WaterFlows:
    """Return the farm's water by month.

    Parameters
    ----------
    evaporated, pads : Array
        Water to the air from beds and tanks; from pads. [m3]
    crop, feed, spare_nitrogen : Array
        Fresh crop, feed, and dissolved nitrogen that plants leave. [kg]
    limits : tuple of Array
        Highest conductivity [dS/m] and nitrate nitrogen [g/m3].
    removed : Array
        Share of solids drained as sludge. [1]
    volume_days : Array
        Volume of water times days in use. [m3 day]
    catch : tuple of Array
        Rain that could be caught, and the most a tank can pass on. [m3]
    """
    sludge = sludge_volume(rules, feed, removed)
    product = crop * rules.crop_water / 1000.0
    leak = rules.leak * volume_days
    base = evaporated + product
    need = base + pads + leak + sludge + crop * rules.wash / 1000.0
    rain = np.minimum(np.minimum(catch[0], catch[1]), need)
    dilution = 1.0 - rain / np.where(need > 0.0, need, 1.0)
    zero = np.zeros((1, 1))
    salt = salt_discharge(base, source.conductivity * dilution, limits[0], zero)
    added = rules.feed_sodium * feed * 1000.0
    sodium = salt_discharge(base, source.sodium * dilution, rules.sodium_limit, added)
    nitrate = spare_nitrogen * 1000.0 / limits[1]
    leaving = np.maximum(np.maximum(salt, sodium), nitrate)
    discharge = np.maximum(leaving - sludge - leak, 0.0)
    makeup = need + discharge - rain
    return WaterFlows(makeup, rain, discharge, sludge, base + pads)
