"""What does a full year's run size: stores, supply, people, and what a year gives?

Read at base values, after the farm has settled.
"""

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.farm import machines, supply_sizes
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.season import salt_let_go

#: Hours of each month. [h]
MONTH_HOURS = DAYS * 24.0


def last_sum(flow: Array) -> float:
    """Return the last year's sum of a flow in the first draw. [same unit]"""
    return float(np.sum(flow[0, -12:]))


def settled_mean(flow: Array) -> float:
    """Return a lumpy flow's yearly mean over the last four settled years. [unit/year]"""
    return float(np.sum(flow[0, -48:])) / 4.0


def exchange(parts: Parts, flows: FarmFlows) -> float:
    """Return water let go with solids and against sodium and nitrate. [m3/day]

    The last year's, less what the source's salt asks of what evaporated.
    """
    uses = flows.water_uses_m3
    gone = last_sum(uses["sludge"] + uses["discharge"])
    dried = last_sum(uses["transpiration"] + uses["evaporation"])
    return max(gone - base(salt_let_go(parts)) * dried, 0.0) / 365.0


def mean_power(flow: Array) -> Array:
    """Return the mean power of the last year's months in the first draw, (12,). [kW]"""
    return np.asarray(flow[0, -12:] / MONTH_HOURS)


def fuel_store(parts: Parts, flows: FarmFlows) -> float:
    """Return the store of heating fuel, for days of the hardest month's mean day. [L]"""
    day = float(mean_power(flows.heating_fuel_kwh).max()) * 24.0
    return day * base(parts.energy.fuel_days) * base(parts.fuel.room)


def stored(parts: Parts, design: Design, crop: float, fish: float) -> float:
    """Return what stands in the cold store, of a year's crop and fish [kg]. [kg]

    Fish come a tank, or a grade of it, at a time, over the days the crew takes; or every day
    where many tanks follow each other faster.
    """
    held = base(parts.design.cold_store_days)
    survived = design.stocked_fish * base(parts.species.survival)
    lump = survived * base(parts.species.harvest_weight) / 1000.0 / parts.harvest_months
    taken = base(parts.design.harvest_days)
    at_once = lump * min(held / taken, 1.0)
    return crop / 365.0 * held + max(fish / 365.0 * held, at_once)


def drivers(parts: Parts, design: Design, flows: FarmFlows) -> dict[str, float]:
    """Return supply, stores, people and the year's amounts, by driver."""
    days = base(parts.design.rain_tank_days)
    crop = sum(last_sum(x) for x in flows.crop_kg.values())
    fish_year = settled_mean(flows.fish_live_kg)
    store = stored(parts, design, crop, fish_year) / base(parts.design.cold_store_density)
    # the store is not there yet in this year's run
    cold = machines.cold_store_months(parts, store, (crop + fish_year) / 365.0)
    months = mean_power(flows.electricity_total_kwh) + cold
    load = float(np.sum(months * MONTH_HOURS))
    tank = (last_sum(flows.water_makeup_m3) + last_sum(flows.rain_m3)) / 365.0 * days
    sizes = (load, float(months.max()), store)
    return {
        "heating_fuel_store": fuel_store(parts, flows),
        **supply_sizes.supply_sizes(parts, design.bed_area, design.drivers, sizes),
        "rain_tank_volume": tank * base(parts.house.rain_catch),
        "cold_store_volume": store,
        "plants_year": sum(last_sum(x) for x in flows.plants.values()),
        "fish_year": fish_year,
        "crop_year": crop,
        "feed_year": settled_mean(flows.feed_kg),
        "workers": sum(float(x[0, -1]) for x in flows.workers.values()),
        "load_year": load,
    }
