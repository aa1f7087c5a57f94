"""How much water does the farm take, where does it go, and how much must it let go.

Discharge is whatever keeps salts under the crops' limits and nitrate under the fish's, and
never less than the water that leaves with solids. Volumes in m3.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, quantity


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
    chloride: Array = quantity("mg/L", low=0, high=3000, fact="optional", doc="Chloride.")
    hardness: Array = quantity(
        "mg/L", low=0, high=2000, fact="optional", doc="Hardness as calcium carbonate."
    )
    iron: Array = quantity("mg/L", low=0, high=50, fact="optional", doc="Iron, dissolved.")
    nitrate: Array = quantity("mg/L", low=0, high=120, fact="optional", doc="Nitrate, as nitrogen.")
    chlorine: Array = quantity(
        "mg/L", low=0, high=10, fact="optional", doc="Total chlorine, chloramine included."
    )
    acidity: Array = quantity(
        "1", low=3, high=11, varies="choice", fact="optional", doc="Acidity: pH of the source."
    )


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
    sodium_limit: Array = quantity(
        "mg/L",
        low=20,
        high=1000,
        varies="choice",
        doc="Sodium held: highest that growers let come about.",
    )
    chloride_limit: Array = quantity(
        "mg/L",
        low=20,
        high=2000,
        varies="choice",
        doc="Chloride held: highest that growers let come about.",
    )
    most_exchange: Array = quantity(
        "1/day",
        low=0.005,
        high=1,
        varies="choice",
        doc="Most water exchanged: share of the volume let go.",
    )
    feed_sodium: Array = quantity(
        "kg/kg", low=0, high=0.02, doc="Sodium set free per feed, with chloride as salt."
    )
    crop_water: Array = quantity("1", low=0.5, high=0.99, doc="Water in fresh crop.")
    wash: Array = quantity("L/kg", low=0, high=20, doc="Clean water to wash and pack a kilogram.")
    pad_salt: Array = quantity(
        "dS/m", low=0.5, high=20, doc="Highest conductivity of the water that runs over pads."
    )
    bed_rain: Array = quantity(
        "1", low=0, high=1, doc="Rain into beds out of doors, share of what falls on them."
    )
    runoff: Array = quantity("1", low=0, high=1, doc="Share of rain on the cover that is caught.")
    tank_fills: Array = quantity(
        "1/month", low=0.5, high=30, doc="Times a month the rain tank can be filled and used."
    )
    allocation: str = choice(
        "by_use", "by_mass", "all_to_crops", doc="Water allocation: how crops and fish share it."
    )


@dataclass(frozen=True)
class WaterFlows:
    """Water by month, (draws, months + 1). [m3]

    `uses` say where every cubic metre goes; together they are make-up and rain.
    """

    makeup: Array
    rain: Array
    discharge: Array
    sludge: Array
    uses: Mapping[str, Array]

    @property
    def into_beds(self) -> Array:
        """Source water that beds and tanks get: all but pads' and washing's. [m3]"""
        aside = self.uses["pads"] + self.uses["pad_bleed"] + self.uses["wash"]
        return np.maximum(self.makeup - aside, 0.0)


@dataclass(frozen=True)
class Demand:
    """Water asked before salt is let go, (draws, months + 1). [m3]

    `transpired` and `evaporated` leave without salt; `leak` and `sludge` carry it, as does rain
    that `fell` into open beds beyond what they give to the air. `bleed` is let go from pads.
    """

    transpired: Array
    evaporated: Array
    pads: Array
    bleed: Array
    leak: Array
    sludge: Array
    filling: Array
    fell: Array

    @property
    def to_air(self) -> Array:
        """Water that leaves the beds and tanks without salt. [m3]"""
        return self.transpired + self.evaporated

    @property
    def drained(self) -> Array:
        """Water that leaks, and leaves with sludge. [m3]"""
        return self.leak + self.sludge

    @property
    def overflow(self) -> Array:
        """Rain into open beds beyond what air, leaks and sludge take. [m3]"""
        return np.maximum(self.fell - self.to_air - self.drained, 0.0)

    @property
    def salty(self) -> Array:
        """Water that leaves with salt whatever is let go besides. [m3]"""
        return np.maximum(self.drained, self.fell - self.to_air)


def salt_discharge(evaporated: Array, source: Array, limit: Array, added: Array) -> Array:
    """Return the discharge that holds a salt at its limit.

    Steady state: source × (evaporated + discharge) + added = limit × discharge, so that
    discharge = (evaporated × source + added) ÷ (limit − source), as leaching is reckoned in
    FAO-29 s.2.4.2. Where the source is within 5 % of the limit or above, the discharge is that
    of 5 %: the shortfall acts as salt.

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


def concentration_factor(evaporated: Array, discharge: Array) -> Array:
    """Return how many times salts concentrate: (evaporated + discharge) ÷ discharge. [1]

    Parameters
    ----------
    evaporated, discharge : Array
        Water that leaves without and with salt, any like unit; discharge above 0. [m3]
    """
    return (evaporated + discharge) / discharge


def sludge_volume(rules: WaterInputs, feed: Array, removed: Array) -> Array:
    """Return drained sludge. [m3]"""
    return rules.solids_per_feed * feed * removed / rules.sludge_solids


def pad_bleed(rules: WaterInputs, source: SourceWaterInputs, pads: Array) -> Array:
    """Return water let go from pads so that salt does not crust them. [m3]

    Cycles of concentration are the highest conductivity over the source's; what is let go is
    evaporation ÷ (cycles − 1), as for cooling towers; cycles are held between 1.2 and 10.
    """
    cycles = np.clip(rules.pad_salt / np.maximum(source.conductivity, 1e-6), 1.2, 10.0)
    return pads / (cycles - 1.0)


def rain_used(caught: Array, need: Array, tank: float, fills: Array) -> Array:
    """Return rain used by month, from a tank whose stock carries over. [m3]

    Within a month the tank can be filled `fills` times; what is left at its end, at most a
    tank full, serves the next month.

    Parameters
    ----------
    caught, need : Array, shape (draws, months + 1)
        Rain that runs off the cover, and water asked. [m3]
    tank : float
        Volume of the tank. [m3]
    fills : Array, shape (draws, 1)
        Showers a month that fill it. [1/month]
    """
    shape = np.broadcast_shapes(caught.shape, need.shape, fills.shape)
    used = np.zeros(shape)
    if tank <= 0.0:
        return used
    gained = np.broadcast_to(caught, shape).T
    passed = np.ascontiguousarray(np.minimum(gained, fills.T * tank))
    asked = np.ascontiguousarray(np.broadcast_to(need, shape).T)
    stock = np.zeros(shape[0])
    for month in range(shape[1]):
        taken = np.minimum(stock + passed[month], asked[month])
        stock = np.minimum(stock + gained[month] - taken, tank)
        used[:, month] = taken
    return used


def water_flows(
    rules: WaterInputs,
    asked: Demand,
    crop: Array,
    leaving: Array,
    rain: Array,
) -> WaterFlows:
    """Return the farm's water by month, every use named.

    Parameters
    ----------
    crop : Array
        Fresh crop harvested. [kg]
    leaving : Array
        Water that must leave with salt or nitrate, sludge and leaks within it. [m3]
    rain : Array
        Rain from the tank and into open beds. [m3]
    """
    discharge = np.maximum(leaving - asked.drained, 0.0)
    overflow = np.minimum(asked.overflow, discharge)
    uses = {
        "transpiration": asked.transpired,
        "evaporation": asked.evaporated,
        "pads": asked.pads,
        "pad_bleed": asked.bleed,
        "product": crop * rules.crop_water / 1000.0,
        "wash": crop * rules.wash / 1000.0,
        "leaks": asked.leak,
        "sludge": asked.sludge,
        "rain_overflow": overflow,
        "discharge": discharge - overflow,
        "filling": asked.filling,
    }
    need = sum(uses.values(), np.zeros((1, 1)))
    used = np.minimum(rain, need)
    return WaterFlows(need - used, used, discharge + asked.bleed, asked.sludge, uses)


def allocated(
    rules: WaterInputs, uses: Mapping[str, Array], crop: Array, fish: Array
) -> tuple[Array, Array]:
    """Return water laid to crops and to fish by the chosen rule, yearly sums. [m3/year]

    By use: what plants, pads, washing and the harvest take is the crops'; tanks' evaporation
    and sludge the fish's; leaks and discharge follow these. By mass: as fresh crop to live fish.

    Parameters
    ----------
    uses : Mapping
        Water by use in a year. [m3/year]
    crop, fish : Array
        Fresh crop and live fish in a year. [kg/year]
    """
    total = sum(uses.values(), np.zeros((1, 1)))
    if rules.allocation == "all_to_crops":
        return total, np.zeros_like(total)
    if rules.allocation == "by_mass":
        share = crop / np.maximum(crop + fish, 1e-9)
        return total * share, total * (1.0 - share)
    cooled = uses["pads"] + uses["pad_bleed"]
    plants = uses["transpiration"] + cooled + uses["product"] + uses["wash"]
    tanks = uses["evaporation"] + uses["sludge"]
    share = plants / np.maximum(plants + tanks, 1e-9)
    return total * share, total * (1.0 - share)
