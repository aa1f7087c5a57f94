"""What electricity and fuel do the farm's machines take for heat, cold and air.

Energy in kWh a month, power in kW. Heat pumps and chillers are a share of Carnot's limit between
the temperatures they work at, so that they answer season and climate.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, quantity
from sitefare.farm.pumping import WATER_WEIGHT, head_loss, pump_power

__all__ = ["WATER_HEAT", "WATER_WEIGHT", "head_loss", "pump_power"]

#: Heat to warm a cubic metre of water by a kelvin, 4,186 kJ ÷ 3,600. [kWh/m3/K]
WATER_HEAT = 4186.0 / 3600.0

#: Zero Celsius. [K]
KELVIN = 273.15

#: Least difference that a heat pump or chiller works over; below it the compressor throttles. [K]
LEAST_LIFT = 20.0

#: Chilled air or water leaves the evaporator of a house's cooling so cold. [degC]
EVAPORATOR = 8.0

#: A condenser is warmer than the outdoor air that cools it. [K]
CONDENSER_OVER_AIR = 12.0

#: Ends of the coefficients of performance that machines on sale reach over a month. [1]
COP_ENDS = (1.0, 8.0)


@inputs("energy")
class EnergyInputs:
    """Machines and their efficiencies."""

    heat_source: str = choice("electric", "heat_pump", "fuel", doc="What heats air and water.")
    heating_fuel: str = choice("gas", "lpg", "oil", "wood", doc="What a boiler burns.")
    heat_pump_source: str = choice("air", "ground", doc="Where a heat pump takes its heat.")
    heat_pump_share: Array = quantity(
        "1", low=0.1, high=0.7, doc="Heat pump's performance over Carnot's limit, defrost included."
    )
    heat_supply_temperature: Array = quantity(
        "degC", low=20, high=80, doc="Warm water that a heat pump makes."
    )
    boiler_efficiency: Array = quantity("1", low=0.3, high=1, doc="Heat over fuel burned.")
    fuel_days: Array = quantity(
        "day", low=0, high=180, varies="choice", doc="Days of the hardest month's heat in store."
    )
    burner: Array = quantity(
        "1", low=0, high=0.1, doc="Electricity of burner, its pump and fans, over heat from fuel."
    )
    cooling_share: Array = quantity(
        "1", low=0.1, high=0.7, doc="Chiller's performance over Carnot's limit, its fans included."
    )
    fan_pressure: Array = quantity(
        "Pa", low=5, high=600, doc="Static pressure of house fans: vents, pads, ducts."
    )
    fan_efficiency: Array = quantity(
        "1", low=0.03, high=0.7, doc="Fans' static power over electricity, motor included."
    )
    controls: Array = quantity(
        "W/m2",
        low=0,
        high=10,
        doc="Controls, alarm, ultraviolet, wash and office per bed area, all hours.",
    )


@inputs("fuel", keyed=True)
class FuelInputs:
    """One fuel of boilers."""

    emissions: Array = quantity(
        "kg/kWh", low=0, high=0.6, doc="Carbon dioxide equivalent of burning, net heat content."
    )
    room: Array = quantity(
        "L/kWh", low=0, high=3, varies="choice", doc="Room in store over heat content, 0 if piped."
    )


def carnot(warm: Array, cold: Array) -> Array:
    """Return Carnot's limit of heat over work between temperatures [degC], T ÷ ΔT. [1]"""
    return np.asarray((warm + KELVIN) / np.maximum(warm - cold, LEAST_LIFT))


def heat_pump_cop(energy: EnergyInputs, source: Array) -> Array:
    """Return heat over electricity of a heat pump with a source [degC]. [1]"""
    limit = carnot(energy.heat_supply_temperature, source)
    return np.clip(energy.heat_pump_share * limit, *COP_ENDS)


def chiller_cop(share: Array, cold: Array | float, outdoor: Array) -> Array:
    """Return cold over electricity, evaporating at `cold` [degC], cooled by outdoor air [degC]. [1]

    Carnot's limit of cooling, T_cold ÷ ΔT; EN 14511 rates such machines at 35 °C.
    """
    lift = np.maximum(outdoor + CONDENSER_OVER_AIR - cold, LEAST_LIFT)
    return np.clip(share * (cold + KELVIN) / lift, *COP_ENDS)


def cooling_cop(energy: EnergyInputs, outdoor: Array) -> Array:
    """Return cooling over electricity of the house's chiller at outdoor air [degC]. [1]"""
    return chiller_cop(energy.cooling_share, EVAPORATOR, outdoor)


def fan_energy(energy: EnergyInputs) -> Array:
    """Return electricity of fans per air moved, pressure ÷ efficiency. [Wh/m3]"""
    return energy.fan_pressure / energy.fan_efficiency / 3600.0


def heat_supply(energy: EnergyInputs, heat: Array, source: Array) -> tuple[Array, Array]:
    """Return electricity and fuel for heat; the source [degC] is a heat pump's. [kWh]"""
    if energy.heat_source == "fuel":
        return heat * energy.burner, heat / energy.boiler_efficiency
    if energy.heat_source == "heat_pump":
        return heat / heat_pump_cop(energy, source), np.zeros_like(heat)
    return heat, np.zeros_like(heat)


def total(purposes: Mapping[str, Array]) -> Array:
    """Add electricity over its purposes. [kWh]"""
    first, *others = purposes.values()
    added = first
    for other in others:
        added = added + other
    return added
