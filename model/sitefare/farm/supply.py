"""Who supplies the electricity, what fuel that burns, and what carries the farm in an outage.

The sun comes first, by the hour where there is an array; then the grid but for outages, or the
main generator. In an outage a standby generator, or what the battery holds, carries pumps, air,
controls and cold store, and a share of the rest. Energy in kWh a month.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, quantity
from sitefare.farm.dispatch import Dispatch


@inputs("supply")
class SupplyInputs:
    """Where electricity comes from."""

    main: str = choice("grid", "generator", doc="What carries the load that the sun does not.")
    standby: str = choice("generator", "none", doc="What starts when the grid is down.")
    solar_share: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Share of the year's electricity the design asks."
    )
    battery_hours: Array = quantity(
        "h", low=0, high=96, varies="choice", doc="Hours of mean load the battery holds."
    )
    battery_rate: Array = quantity(
        "1/h", low=0.05, high=4, varies="choice", doc="Battery's power over what it stores."
    )
    battery_efficiency: Array = quantity("1", low=0.4, high=1, doc="Out of the battery over in.")
    outage_share: Array = quantity(
        "1", low=0, high=1, fact="optional", doc="Grid down, of all hours."
    )
    outage_hours: Array = quantity(
        "h", low=0.01, high=720, varies="choice", fact="optional", doc="Length of a usual outage."
    )
    outage_longest: Array = quantity(
        "h",
        low=0.01,
        high=2160,
        varies="choice",
        fact="optional",
        doc="Longest outage in some years; the standby's fuel lasts it.",
    )
    fuel_days: Array = quantity(
        "day", low=0, high=180, varies="choice", doc="Days of fuel that a main generator keeps."
    )
    critical_share: Array = quantity(
        "1",
        low=0,
        high=1,
        doc="Share of lamps, heat and cooling that back-up carries in an outage.",
    )
    fuel_use: Array = quantity(
        "L/kWh", low=0.15, high=1, doc="Generator's fuel per electricity, beside its idling."
    )
    fuel_idle: Array = quantity(
        "L/h/kW", low=0, high=0.3, doc="Generator's fuel while it runs, per rated power."
    )
    grid_emissions: Array = quantity(
        "kg/kWh", low=0, high=1.5, fact="optional", doc="Carbon dioxide equivalent of the grid."
    )
    fuel_emissions: Array = quantity("kg/L", low=1, high=4, doc="Carbon dioxide of generator fuel.")


@dataclass(frozen=True)
class Supplied:
    """Electricity by source and unserved [kWh], fuel [L], emissions [kg]; (draws, months + 1)."""

    solar: Array
    grid: Array
    generator: Array
    fuel: Array
    emissions: Array
    unserved: Array


@dataclass(frozen=True)
class Asked:
    """What is asked of the supply by month, (draws, months + 1).

    Load and its vital part (pumps, air, controls, cold store) [kWh]; the share that the sun
    carries, at once or through the battery, and the share of hours that need more [1]; what
    the array makes [kWh]; hours in which the farm runs [h].
    """

    load: Array
    vital: Array
    solar_share: Array
    rest_hours: Array
    made: Array
    hours: Array


def solar_months(found: Dispatch) -> tuple[Array, Array]:
    """Return the share of each month's load that the sun carries, and that of hours left. [1]"""
    load = np.maximum(found.load, 1e-9)
    return (found.direct + found.battery) / load, found.rest_hours


def generator_fuel(rules: SupplyInputs, energy: Array, rated: float, hours: Array) -> Array:
    """Return fuel of a generator, a straight line in its load. [L]

    Skarstein & Uhlen (1989), Wind Engineering 13:72: about 0.246 L/kWh and 0.0815 L/h for each
    rated kilowatt.
    """
    return rules.fuel_use * energy + rules.fuel_idle * rated * hours


def in_outage(rules: SupplyInputs, asked: Asked) -> Array:
    """Return the load that back-up would carry if the grid were always down. [kWh]"""
    return asked.vital + rules.critical_share * np.maximum(asked.load - asked.vital, 0.0)


def carried_by_battery(rules: SupplyInputs, battery: float, asked: Asked) -> Array:
    """Return the share of the outage load that a full battery carries over a usual outage. [1]"""
    power = in_outage(rules, asked) / np.maximum(asked.hours, 1.0)
    needed = power * rules.outage_hours
    held = battery * np.sqrt(rules.battery_efficiency)
    within = np.minimum(held / np.maximum(needed, 1e-9), 1.0)
    strong = battery * rules.battery_rate / np.maximum(power, 1e-9)
    return np.minimum(within, np.minimum(strong, 1.0))


def supplied(rules: SupplyInputs, asked: Asked, rated: float, battery: float) -> Supplied:
    """Return who carries the load: sun first, then grid but for outages, then generator.

    An array with no battery beside the grid stops with the grid, as inverters must.

    Parameters
    ----------
    rated : float
        Generator. [kW]
    battery : float
        What the battery holds. [kWh]
    """
    alone = rules.main == "generator"
    down = np.zeros((1, 1)) if alone else rules.outage_share
    kept = 1.0 if alone or battery > 0.0 else 1.0 - down
    solar = np.minimum(asked.load * asked.solar_share, asked.made) * kept
    sun_in_outage = solar * (down if alone or battery > 0.0 else 0.0)
    rest = np.maximum(asked.load - solar, 0.0)
    none = np.zeros_like(rest)
    if alone:
        hours = asked.hours * asked.rest_hours
        able = np.minimum(rest, rated * asked.hours)
        return _with_fuel(rules, (solar, none, able), rest - able, rated, hours)
    dark = asked.load * down - sun_in_outage
    grid = rest - dark
    held = np.minimum(in_outage(rules, asked) * down, dark)
    if rules.standby == "none":
        # the battery gives back what the grid has charged; its loss is nothing at this scale
        held = held * carried_by_battery(rules, battery, asked)
        return _with_fuel(rules, (solar, grid + held, none), dark - held, 0.0, asked.hours)
    held = np.minimum(held, rated * asked.hours * down)
    return _with_fuel(rules, (solar, grid, held), dark - held, rated, asked.hours * down)


def _with_fuel(
    rules: SupplyInputs,
    carried: tuple[Array, Array, Array],
    unserved: Array,
    rated: float,
    hours: Array,
) -> Supplied:
    """Add fuel and emissions to what sun, grid and generator carry."""
    solar, grid, generator = carried
    fuel = generator_fuel(rules, generator, rated, hours)
    emissions = grid * rules.grid_emissions + fuel * rules.fuel_emissions
    return Supplied(solar, grid, generator, fuel, emissions, unserved)


def fuel_store(rules: SupplyInputs, rated: float, hardest: float) -> float:
    """Return the fuel kept: for the longest outage, or days of a main generator's use. [L]

    A main generator's days are those of the month that asks most, and the sun carries nothing.

    Parameters
    ----------
    rated, hardest : float
        Generator [kW], and that month's mean load [kW].
    """
    if rules.main == "generator":
        day = generator_fuel(rules, np.full((1, 1), hardest * 24.0), rated, np.full((1, 1), 24.0))
        return float((day * rules.fuel_days)[0, 0])
    if rules.standby == "none" or rated <= 0.0:
        return 0.0
    hours = np.maximum(rules.outage_longest, rules.outage_hours)
    full = rated * np.ones((1, 1))
    return float(generator_fuel(rules, full * hours, rated, hours)[0, 0])


def outages_a_year(rules: SupplyInputs) -> Array:
    """Return how many outages of usual length make up the hours the grid is down. [1/year]"""
    return rules.outage_share * 8760.0 / rules.outage_hours
