"""How warm is it under the cover, and what do heating, airing and cooling take.

A steady heat balance for each typical hour, per square metre covered. Conductances in
W/m2/K and gains in W/m2 of covered ground; what plants turn into vapour is left out of the
gains. Heater and cooler are capped by what the design installed: beyond that the house
drifts and the crops feel it. Sensible balance as in ASABE EP406 (heating, ventilating and
cooling greenhouses).
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array, hourly
from sitefare.assumptions.declaration import choice, inputs, quantity
from sitefare.farm import air, climate
from sitefare.farm.climate import TypicalHours


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
    vent_set_point: Array = quantity("degC", low=5, high=40, doc="Vents open above this.")
    cooling_set_point: Array = quantity("degC", low=5, high=45, doc="Pads or chillers start above.")
    solar_gain: Array = quantity(
        "1", low=0, high=1, doc="Share of light let in that stays as heat."
    )
    latent_share: Array = quantity(
        "1", low=0, high=1, doc="Share of that heat which leaves plants as vapour."
    )
    pad_efficiency: Array = quantity("1", low=0, high=1, doc="Pad's approach to the wet bulb.")


@dataclass(frozen=True)
class HouseChoices:
    """What the house has: air heating, and one way of cooling."""

    heated: bool
    cooling: str


@dataclass(frozen=True)
class Coupling:
    """Heat between water and air: conductance [W/m2/K] and water [degC], each (draws, 1 or 12)."""

    conductance: Array
    temperature: Array


@dataclass(frozen=True)
class Capacity:
    """Installed heating and cooling, per square metre covered. [W/m2]"""

    heating: float = np.inf
    cooling: float = np.inf


@dataclass(frozen=True)
class IndoorClimate:
    """The house by typical hour and by month, per square metre covered.

    Temperature (draws, 12, 72) [degC]; the rest (draws, 12): heating and cooling heat
    [kWh/m2], air moved by fans [m3/m2], pad water [L/m2].
    """

    temperature: Array
    heating: Array
    cooling: Array
    fan_air: Array
    pad_water: Array


def air_conductance(flow: Array, atmosphere: Array) -> Array:
    """Return the conductance of an air flow [m3/m2/h], 0.335 Wh/m3/K at sea level. [W/m2/K]"""
    return air.AIR_HEAT * atmosphere / air.SEA_LEVEL * flow


def cover_conductance(house: EnclosureInputs, atmosphere: Array) -> Array:
    """Return the loss through cover and leaks with vents shut, no screen. [W/m2/K]"""
    leak = air_conductance(house.air_changes * house.height, atmosphere)
    return house.cover_u * house.cover_ratio + leak


def indoor_climate(
    house: EnclosureInputs,
    rules: HouseInputs,
    choices: HouseChoices,
    hours: TypicalHours,
    lamps: Array,
    water: Coupling | None = None,
    capacity: Capacity | None = None,
) -> IndoorClimate:
    """Return the house's hours for typical weather.

    Parameters
    ----------
    lamps : Array, shape (draws, 12, 72)
        Electricity of lamps, all of which ends as heat. [W/m2]
    water : Coupling, optional
        Warm water beside the air; none where the water only follows the air.
    """
    if house.air == "outdoors":
        return _outdoors(hours)
    capacity = capacity or Capacity()
    total_gain = hourly(rules.solar_gain * house.transmittance) * hours.sunshine + lamps
    gain = hourly(1.0 - rules.latent_share) * total_gain
    loss, free = _floating(house, hours, gain, water)
    warmed, heating = _heated(rules, choices, hours, loss, free, capacity)
    aired, flow = _aired(house, rules, hours, loss, warmed)
    return _cooled(house, rules, choices, hours, total_gain, loss, aired, flow, heating, capacity)


def _outdoors(hours: TypicalHours) -> IndoorClimate:
    """Return a place with no walls: outdoor air, nothing to run."""
    none = np.zeros(hours.temperature.shape[:2])
    return IndoorClimate(hours.temperature, none, none, none, none)


def _floating(
    house: EnclosureInputs, hours: TypicalHours, gain: Array, water: Coupling | None
) -> tuple[Array, Array]:
    """Return total conductance and the temperature with neither heat nor vents."""
    cover = hourly(cover_conductance(house, hours.atmosphere))
    screened = hourly(house.cover_u * house.cover_ratio * house.screen_saving)
    outside = cover - np.where(hours.sunshine > 0.0, 0.0, screened)
    ground = hourly(house.ground_u)
    loss = outside + ground
    source = outside * hours.temperature + ground * hourly(hours.ground) + gain
    if water is not None:
        loss = loss + hourly(water.conductance)
        source = source + hourly(water.conductance * water.temperature)
    return loss, source / loss


def _heated(
    rules: HouseInputs,
    choices: HouseChoices,
    hours: TypicalHours,
    loss: Array,
    free: Array,
    capacity: Capacity,
) -> tuple[Array, Array]:
    """Return temperature and heating [W/m2] after the heater."""
    if not choices.heated:
        return free, np.zeros((1, 1, 1))
    target = np.where(
        hours.sunshine > 0.0, hourly(rules.day_set_point), hourly(rules.night_set_point)
    )
    heating = np.clip(loss * (target - free), 0.0, capacity.heating)
    return free + heating / loss, heating


def _aired(
    house: EnclosureInputs, rules: HouseInputs, hours: TypicalHours, loss: Array, warm: Array
) -> tuple[Array, Array]:
    """Return temperature and air flow [m3/m2/h] after vents, opened no further than needed."""
    most = hourly(air_conductance(house.vent_rate, hours.atmosphere))
    target = hourly(rules.vent_set_point)
    drop = target - hours.temperature
    wanted = loss * (warm - target) / np.where(drop > 0.1, drop, 0.1)  # noqa: PLR2004
    useful = (warm > target) & (warm > hours.temperature)
    opened = np.where(useful, np.clip(wanted, 0.0, most), 0.0)
    mixed = (loss * warm + opened * hours.temperature) / (loss + opened)
    return mixed, opened / hourly(air_conductance(np.ones((1, 1)), hours.atmosphere))


def _cooled(
    house: EnclosureInputs,
    rules: HouseInputs,
    choices: HouseChoices,
    hours: TypicalHours,
    total_gain: Array,
    loss: Array,
    aired: Array,
    flow: Array,
    heating: Array,
    capacity: Capacity,
) -> IndoorClimate:
    """Return the finished hours after pads or chillers, summed by month."""
    zero = np.zeros((1, 1, 1))
    temperature, cooling, water = aired, zero, zero
    if choices.cooling == "pad_and_fan":
        temperature, water = _pads(rules, hours, loss, aired, flow)
    elif choices.cooling == "mechanical":
        open_loss = loss + air_conductance(flow, hourly(hours.atmosphere))
        excess = np.clip(aired - hourly(rules.cooling_set_point), 0.0, None)
        sensible = np.minimum(excess * open_loss, capacity.cooling)
        temperature = aired - sensible / open_loss
        moist = np.where(sensible > 0.0, hourly(rules.latent_share) * total_gain, 0.0)
        cooling = np.minimum(sensible + moist, capacity.cooling)
    driven = choices.cooling != "vents" or house.air == "closed"
    return IndoorClimate(
        temperature=temperature,
        heating=_by_month(heating, hours) / 1000.0,
        cooling=_by_month(cooling, hours) / 1000.0,
        fan_air=_by_month(flow if driven else zero, hours),
        pad_water=_by_month(water, hours),
    )


def _pads(
    rules: HouseInputs,
    hours: TypicalHours,
    loss: Array,
    aired: Array,
    flow: Array,
) -> tuple[Array, Array]:
    """Return temperature and pad water [L/m2/h]; pads wet only as far as the set point asks."""
    wet = air.wet_bulb(hours.temperature, hours.vapour, hourly(hours.atmosphere))
    depression = hourly(rules.pad_efficiency) * np.maximum(hours.temperature - wet, 0.0)
    moved = air_conductance(flow, hourly(hours.atmosphere))
    drop = moved * depression / (loss + moved)
    excess = np.maximum(aired - hourly(rules.cooling_set_point), 0.0)
    used = np.clip(excess / np.maximum(drop, 1e-6), 0.0, 1.0)
    # heat taken from the air ÷ latent heat: W h/m2 × 0.0036 MJ/Wh ÷ 2.45 MJ/kg
    return aired - used * drop, used * moved * depression * 0.0036 / air.LATENT_HEAT


def _by_month(hourly_flow: Array, hours: TypicalHours) -> Array:
    """Sum an hourly rate over each month, (draws, 12). [unit × h]"""
    return climate.month_sum(hourly_flow, hours.weights)
