"""What covers the farm, how is the house run, and what is asked and told of its climate.

Everything is per square metre of covered ground: conductances in W/m2/K, gains in W/m2. The
cover's U holds its radiation to the sky. `indoors` finds the hours.
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from sitefare.arrays import Array, hourly
from sitefare.assumptions.declaration import choice, inputs, quantity
from sitefare.farm import air
from sitefare.farm.climate import TypicalHours
from sitefare.farm.moisture import Canopy
from sitefare.farm.water_heat import Pool, WaterMonths

#: Heat that evaporates a litre: 2.45 MJ ÷ 3.6. [kWh/L]
LITRE_HEAT = air.LATENT_HEAT / 3.6


@inputs("enclosure", keyed=True)
class EnclosureInputs:
    """One kind of house, per square metre of covered ground."""

    air: str = choice(
        "outdoors", "vented", "closed", doc="Open to the air, a house with vents, or a closed room."
    )
    cover_u: Array = quantity(
        "W/m2/K", low=0, high=15, doc="Heat loss of the cover per area of cover."
    )
    cover_ratio: Array = quantity("1", low=0.5, high=4, doc="Area of cover over ground covered.")
    transmittance: Array = quantity("1", low=0, high=1, doc="Share of sunlight that comes through.")
    air_changes: Array = quantity("1/h", low=0, high=60, doc="Air changes with vents shut.")
    height: Array = quantity("m", low=1, high=15, doc="Mean height of the air space.")
    ground_u: Array = quantity("W/m2/K", low=0, high=3, doc="Heat flow to the ground, floor area.")
    screen_saving: Array = quantity(
        "1", low=0, high=0.9, doc="Share of cover loss a screen saves at night."
    )
    vent_rate: Array = quantity(
        "m3/m2/h", low=0, high=600, doc="Largest air flow with vents or fans open."
    )
    rain_catch: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Share of the cover whose rain can be caught."
    )
    storm_share: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Storm loss over that of a film house."
    )
    bed_share: Array = quantity(
        "1",
        low=0.1,
        high=0.95,
        varies="choice",
        doc="Beds over ground under beds and the aisles between them.",
    )


@inputs("house")
class HouseInputs:
    """How a house is run."""

    day_set_point: Array = quantity("degC", low=0, high=35, doc="Heated to at least this by day.")
    night_set_point: Array = quantity(
        "degC", low=0, high=35, doc="Heated to at least this at night."
    )
    vent_set_point: Array = quantity(
        "degC", low=5, high=40, doc="Vents open above this; chillers of a sealed room start."
    )
    cooling_set_point: Array = quantity("degC", low=5, high=45, doc="Pads or chillers start above.")
    solar_gain: Array = quantity(
        "1", low=0, high=1, doc="Share of light let in that warms the air at once."
    )
    stored_sun: Array = quantity(
        "1",
        low=0,
        high=0.5,
        doc="Sun stored by day, share of light let in: floor and beds give it back all day long.",
    )
    pad_efficiency: Array = quantity("1", low=0, high=1, doc="Pad's approach to the wet bulb.")
    humidity_limit: Array = quantity(
        "1",
        low=0.4,
        high=1,
        doc="Highest relative humidity, held by airing heated houses and by drying closed rooms.",
    )
    drying: Array = quantity(
        "L/kWh", low=0.5, high=8, doc="Water that dehumidifiers take out, per electricity."
    )
    coil_latent: Array = quantity(
        "1", low=0, high=2, doc="Moisture heat a cooling coil takes, over the dry heat it takes."
    )
    circulation: Array = quantity(
        "m3/m2/h", low=0, high=200, doc="Air that fans keep moving in closed rooms, all hours."
    )


@dataclass(frozen=True)
class HouseChoices:
    """What the house has: air heating, and one way of cooling."""

    heated: bool
    cooling: str


@dataclass(frozen=True)
class Capacity:
    """Installed heating, cooling, and electricity of dehumidifiers, per covered area. [W/m2]"""

    heating: float = np.inf
    cooling: float = np.inf
    drying: float = np.inf


@dataclass(frozen=True)
class Indoors:
    """Everything the house's hours follow from; `lamps` is electricity [W/m2 covered]."""

    house: EnclosureInputs
    rules: HouseInputs
    choices: HouseChoices
    hours: TypicalHours
    lamps: Array
    canopy: Canopy
    pool: Pool
    capacity: Capacity = field(default_factory=Capacity)

    @cached_property
    def set_point(self) -> Array:
        """Temperature that heaters hold: by day where sun or lamps shine. [degC]"""
        rules = self.rules
        lit = (self.hours.sunshine * hourly(self.house.transmittance) > 0.0) | (self.lamps > 0.0)
        return np.where(lit, hourly(rules.day_set_point), hourly(rules.night_set_point))


@dataclass(frozen=True)
class IndoorClimate:
    """The house by typical hour and by month, per square metre covered.

    Hours, (draws, 12, hours): air [degC, kPa]; heat of heaters, of coolers with the moisture
    they take (`chilled`, `coiled` of it moisture), moisture that dehumidifiers take (`dried`) and
    their electricity (`drying_power`), vapour from plants, from water, onto the cover and
    settling as mist, dry heat from water (`warmed`) and heat that pads turn to vapour [W/m2];
    outdoor air [W/m2/K]; air that fans move [m3/m2/h].
    Months, (draws, 12): heating, cooling and drying electricity [kWh/m2], air moved by fans
    [m3/m2], pad water and transpiration [L/m2], and the water.
    """

    temperature: Array
    vapour: Array
    heated: Array
    chilled: Array
    coiled: Array
    dried: Array
    drying_power: Array
    transpired: Array
    evaporated: Array
    warmed: Array
    condensed: Array
    misted: Array
    padded: Array
    vent: Array
    fan_hours: Array
    heating: Array
    cooling: Array
    drying: Array
    fan_air: Array
    pad_water: Array
    transpiration: Array
    water: WaterMonths


def air_conductance(flow: Array, atmosphere: Array) -> Array:
    """Return the conductance of an air flow [m3/m2/h], 0.335 Wh/m3/K at sea level. [W/m2/K]"""
    return air.AIR_HEAT * atmosphere / air.SEA_LEVEL * flow


def cover_conductance(house: EnclosureInputs, atmosphere: Array) -> Array:
    """Return the loss through cover and leaks with vents shut, no screen. [W/m2/K]"""
    leak = air_conductance(house.air_changes * house.height, atmosphere)
    return house.cover_u * house.cover_ratio + leak


def chilled_to(house: EnclosureInputs, rules: HouseInputs) -> Array:
    """Return what chillers hold: in a sealed room they stand in for vents. [degC]"""
    return rules.vent_set_point if house.air == "closed" else rules.cooling_set_point


def drying_power(rules: HouseInputs) -> Array:
    """Return electricity of dehumidifiers over the latent heat they take. [1]"""
    return 1.0 / (rules.drying * LITRE_HEAT)
