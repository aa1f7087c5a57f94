"""What electricity and fuel does the farm use, by purpose, and who supplies it.

Energy in kWh a month, power in kW.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, quantity

#: Density of water times gravity. [kN/m3]
WATER_WEIGHT = 9.81

#: Heat to warm a cubic metre of water by a kelvin, 4,186 kJ ÷ 3,600. [kWh/m3/K]
WATER_HEAT = 4186.0 / 3600.0


@inputs("energy")
class EnergyInputs:
    """Machines and their efficiencies."""

    heat_source: str = choice("electric", "heat_pump", "fuel", doc="What heats air and water.")
    heat_pump_cop: Array = quantity("1", low=1, high=7, doc="Heat over electricity, season mean.")
    boiler_efficiency: Array = quantity("1", low=0.3, high=1, doc="Heat over fuel burned.")
    cooling_cop: Array = quantity("1", low=1, high=8, doc="Cooling over electricity, season mean.")
    fan_energy: Array = quantity(
        "W*h/m3", low=0.005, high=1, doc="Electricity of fans per air moved."
    )
    cold_store: Array = quantity(
        "kWh/m3/day", low=0.1, high=6, doc="Electricity of the cold store."
    )
    controls: Array = quantity(
        "W/m2", low=0, high=10, doc="Controls, alarm, wash and office per bed area, all hours."
    )


@inputs("supply")
class SupplyInputs:
    """Where electricity comes from."""

    main: str = choice("grid", "generator", doc="What carries the load that the sun does not.")
    solar_share: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Share of the year's electricity the design asks."
    )
    battery_hours: Array = quantity(
        "h", low=0, high=96, varies="choice", doc="Hours of mean load the battery holds."
    )
    solar_performance: Array = quantity(
        "1", low=0.3, high=0.95, doc="Solar array's yield over its rating, IEC 61724."
    )
    solar_tilt_gain: Array = quantity(
        "1", low=0.8, high=1.6, doc="Sun on the tilted array over level ground, year mean."
    )
    direct_share: Array = quantity(
        "1", low=0, high=1, doc="Share of the load that falls while the sun shines."
    )
    battery_efficiency: Array = quantity("1", low=0.4, high=1, doc="Out of the battery over in.")
    outage_share: Array = quantity(
        "1", low=0, high=1, fact="optional", doc="Grid down, of all hours."
    )
    critical_share: Array = quantity(
        "1",
        low=0,
        high=1,
        doc="Share of lamps, heat and cooling that back-up carries in an outage.",
    )
    fuel_use: Array = quantity("L/kWh", low=0.15, high=1, doc="Generator's fuel per electricity.")
    grid_emissions: Array = quantity(
        "kg/kWh", low=0, high=1.5, fact="optional", doc="Carbon dioxide equivalent of the grid."
    )
    fuel_emissions: Array = quantity("kg/L", low=1, high=4, doc="Carbon dioxide of generator fuel.")
    heating_emissions: Array = quantity("kg/kWh", low=0, high=0.5, doc="Carbon dioxide of heating.")


@dataclass(frozen=True)
class Supplied:
    """Electricity by source and unserved [kWh], fuel [L], emissions [kg]; (draws, months + 1)."""

    solar: Array
    grid: Array
    generator: Array
    fuel: Array
    emissions: Array
    unserved: Array


def pump_power(flow: Array, head: Array, efficiency: Array) -> Array:
    """Return power to lift a flow [m3/h] by a head [m], P = ρ g Q H ÷ η. [kW]"""
    return WATER_WEIGHT * flow / 3600.0 * head / efficiency


def head_loss(length: float, diameter: float, flow: float, smoothness: float = 150.0) -> float:
    """Return head lost in a pipe, Hazen–Williams in SI, flow in m3/s. [m]"""
    return float(10.67 * length * flow**1.852 / (smoothness**1.852 * diameter**4.87))


def heat_supply(energy: EnergyInputs, heat: Array) -> tuple[Array, Array]:
    """Return electricity and fuel for heat, by the heat source. [kWh]"""
    if energy.heat_source == "fuel":
        return np.zeros_like(heat), heat / energy.boiler_efficiency
    if energy.heat_source == "heat_pump":
        return heat / energy.heat_pump_cop, np.zeros_like(heat)
    return heat, np.zeros_like(heat)


def solar_yield(supply: SupplyInputs, sunshine: Array, days: Array) -> Array:
    """Return electricity per rated kW from global radiation [MJ/m2/day]. [kWh/kW/month]"""
    return sunshine / 3.6 * supply.solar_tilt_gain * supply.solar_performance * days


def supplied(
    supply: SupplyInputs,
    load: Array,
    solar_made: Array,
    battery: Array,
    days: Array,
    heating_fuel: Array,
    vital: Array,
) -> Supplied:
    """Return who carries the load: sun first, then grid but for outages, then generator.

    Parameters
    ----------
    load, solar_made : Array, shape (draws, months + 1)
        Electricity used, and what the array could make. [kWh]
    battery : Array
        What the battery holds. [kWh]
    vital : Array, shape (draws, months + 1)
        Part of the load that back-up carries in full: pumps, air, controls, cold store. [kWh]
    """
    direct = np.minimum(solar_made, load * supply.direct_share)
    stored = np.minimum((solar_made - direct) * supply.battery_efficiency, battery * days)
    solar = np.minimum(direct + stored, load)
    rest = load - solar
    none = np.zeros_like(rest)
    down = supply.outage_share
    grid = none if supply.main == "generator" else rest * (1.0 - down)
    held = np.minimum(vital + supply.critical_share * np.maximum(load - vital, 0.0), rest)
    generator = rest if supply.main == "generator" else held * down
    fuel = generator * supply.fuel_use
    emissions = grid * supply.grid_emissions + fuel * supply.fuel_emissions
    return Supplied(
        solar,
        grid,
        generator,
        fuel,
        emissions + heating_fuel * supply.heating_emissions,
        rest - grid - generator,
    )


def total(purposes: Mapping[str, Array]) -> Array:
    """Add electricity over its purposes. [kWh]"""
    first, *others = purposes.values()
    added = first
    for other in others:
        added = added + other
    return added
