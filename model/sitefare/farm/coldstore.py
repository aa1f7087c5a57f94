"""What does the cold store take to keep the harvest cold.

Heat through walls, of produce, of its breath and of the air that comes in at the door, with the
machine's own fans, lights and defrost, over the cooling machine's performance.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.farm import air
from sitefare.farm.energy import chiller_cop

#: Volume at which the air changes of the row hold; a smaller room changes its air more. [m3]
REFERENCE_VOLUME = 10.0

#: Inner height of a walk-in room. [m]
HEIGHT = 2.3

#: Heat to cool a kilogram of vegetables or fish by a kelvin; ASHRAE Refrigeration. [kJ/kg/K]
PRODUCE_HEAT = 3.8

#: The evaporator is colder than the room. [K]
EVAPORATOR_UNDER_ROOM = 7.0

#: Heat of a kilogram of dry air per kelvin, and of a kilogram of vapour. [kJ/kg/K], [kJ/kg]
DRY_AIR, VAPOUR = 1.006, 2501.0

#: Relative humidity that a store is kept at. [1]
STORE_HUMIDITY = 0.9


@inputs("cold_store")
class ColdStoreInputs:
    """The cold room and what comes into it."""

    temperature: Array = quantity(
        "degC", low=-2, high=15, varies="choice", doc="Temperature of the store."
    )
    room_least: Array = quantity(
        "degC", low=-10, high=30, doc="Coldest that the room round the store becomes."
    )
    wall_u: Array = quantity("W/m2/K", low=0.05, high=2, doc="Heat through the store's walls.")
    air_changes: Array = quantity(
        "1/day", low=0.5, high=200, doc="Air changes through the door of a store of 10 m3."
    )
    breath: Array = quantity("W/t", low=0, high=300, doc="Heat that stored produce gives off.")
    auxiliary: Array = quantity(
        "1", low=0, high=1.5, doc="Fans, lights, people and defrost over the other heat."
    )


def surface(volume: Array) -> Array:
    """Return walls, floor and ceiling of a square room of standing height. [m2]"""
    side = np.sqrt(volume / HEIGHT)
    return np.asarray(2.0 * side**2 + 4.0 * side * HEIGHT)


def enthalpy(temperature: Array, vapour: Array, atmosphere: Array) -> Array:
    """Return the heat of moist air per kilogram of dry air; ASHRAE Fundamentals. [kJ/kg]"""
    moisture = air.humidity_ratio(vapour, atmosphere)
    return DRY_AIR * temperature + moisture * (VAPOUR + 1.86 * temperature)


def door_heat(
    rules: ColdStoreInputs, volume: Array, room: Array, vapour: Array, atmosphere: Array
) -> Array:
    """Return the heat of air that comes in at the door. [kW]

    Air changes fall with the root of volume, as in tables of infiltration of ASHRAE
    Refrigeration for rooms above freezing; each takes the store's own air with it.
    """
    changes = rules.air_changes * np.sqrt(REFERENCE_VOLUME / np.maximum(volume, 1e-6))
    cold = STORE_HUMIDITY * air.saturation_pressure(rules.temperature)
    gained = enthalpy(room, vapour, atmosphere) - enthalpy(rules.temperature, cold, atmosphere)
    weight = atmosphere / (0.287 * (rules.temperature + 273.15))
    return np.asarray(changes * volume * weight * np.maximum(gained, 0.0) / 86400.0)


def heat_gain(
    rules: ColdStoreInputs,
    volume: Array,
    produce: Array,
    stored: Array,
    weather: tuple[Array, Array, Array],
) -> Array:
    """Return the heat to take from the store, (draws, 12). [kW]

    Parameters
    ----------
    volume : Array
        Room. [m3]
    produce, stored : Array
        Harvest that comes in [kg/day], and what stands in the store [kg].
    weather : tuple of Array
        Outdoor air [degC], its relative humidity [1] and pressure [kPa].
    """
    outdoor, humidity, atmosphere = weather
    room = np.maximum(outdoor, rules.room_least)
    vapour = humidity * air.saturation_pressure(outdoor)
    above = np.maximum(room - rules.temperature, 0.0)
    walls = rules.wall_u * surface(volume) * above / 1000.0
    warm = produce * PRODUCE_HEAT * above / 86400.0
    breath = rules.breath * stored / 1e6
    inside = walls + warm + breath + door_heat(rules, volume, room, vapour, atmosphere)
    return inside * (1.0 + rules.auxiliary)


def electric_power(rules: ColdStoreInputs, share: Array, heat: Array, outdoor: Array) -> Array:
    """Return electricity for heat taken from the store; `share` is of Carnot's limit. [kW]"""
    room = np.maximum(outdoor, rules.room_least)
    return heat / chiller_cop(share, rules.temperature - EVAPORATOR_UNDER_ROOM, room)
