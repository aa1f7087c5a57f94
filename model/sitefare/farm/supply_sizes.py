"""How large are array, battery, generator, fuel store and grid connection.

Sized once, at base values, from the year's load and the machines' powers.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.farm import aeration, machines, outages, power, pumping, supply
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts

#: The grid connection over the highest load. [1]
CONNECTION = 1.25


def supply_sizes(
    parts: Parts, bed_area: float, drivers: Mapping[str, float], year: tuple[float, float, float]
) -> dict[str, float]:
    """Return the supply's sizes by driver.

    Parameters
    ----------
    year : tuple of float
        The year's load [kWh], the hardest month's mean load [kW] and the cold store [m3].
    """
    load, hardest, store = year
    rules, alone = parts.supply, parts.supply.main == "generator"
    share = base(rules.solar_share)
    array = share * load / max(power.solar_year(parts), 1.0) if share > 0.0 else 0.0
    peak = machines.peak(parts, bed_area, drivers, store)
    held = machines.vital(parts, bed_area, drivers, store)
    standby = held + base(rules.critical_share) * (peak - held)
    standing = rules.standby == "generator" and base(rules.outage_share) > 0.0
    rated = (peak if alone else standby) * base(parts.design.power_margin)
    generator = rated if alone or standing else 0.0
    return {
        "pv_power": array,
        "battery_energy": base(rules.battery_hours) * load / 8760.0,
        "generator_power": generator,
        "second_generator_power": held * base(parts.design.power_margin) if alone else 0.0,
        "fuel_store": supply.fuel_store(rules, generator, hardest),
        "grid_connection": 0.0 if alone else peak * CONNECTION,
        "vital_power": held,
    }


def supply_words(parts: Parts, drivers: Mapping[str, float], minutes: float) -> list[str]:
    """Say what carries the farm, refusing one whose fish [min without air] nothing carries.

    Raises
    ------
    DesignError
        Naming the outage and what would carry it.
    """
    held = drivers["vital_power"]
    outages.check(parts, minutes, drivers["battery_energy"], held)
    return outages.sentences(parts, drivers, held, minutes)


def lifting_sizes(parts: Parts, flow: Array, covered_area: float) -> dict[str, float]:
    """Return power, head and main of a flow [m3/h] on a covered area [m2], by driver.

    Raises
    ------
    DesignError
        If an air-lift is asked to lift too high.
    """
    head = pumping.system_head(parts.pumping, flow, covered_area)
    if parts.design.lifting == "air_lift":
        pumping.check_airlift(parts.pumping, head)
    return {
        "pump_power": base(power.lifting(parts, flow, covered_area)),
        "pump_head": base(head.total),
        "main_diameter": base(head.diameter),
        "main_length": base(head.length),
    }


def blower_sizes(parts: Parts, blower: float, atmosphere: Array) -> dict[str, float]:
    """Return blowers [kW], the air they move [m3/h] and the oxygen to dissolve of it [1/m]."""
    rules = parts.aeration
    moved = aeration.air_moved(rules, np.full((1, 1), blower), atmosphere)
    share = aeration.transfer_share(rules, parts.oxygen.standard_efficiency, atmosphere)
    return {
        "blower_power": blower,
        "air_flow": base(moved),
        "oxygen_transfer": base(share / rules.depth),
    }
