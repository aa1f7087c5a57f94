"""What does a full year's run size: stores, supply, people, and what a year gives?

Read at base values, after the farm has settled.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.farm import machines, supply_sizes
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.season import salt_let_go


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


def drivers(parts: Parts, design: Design, flows: FarmFlows) -> dict[str, float]:
    """Return supply, stores, people and the year's amounts, by driver."""
    days = base(parts.design.rain_tank_days)
    crop = sum(last_sum(x) for x in flows.crop_kg.values())
    fish_year = settled_mean(flows.fish_live_kg)
    stored = (crop + fish_year) / 365.0 * base(parts.design.cold_store_days)
    store = stored / base(parts.design.cold_store_density)
    # the store is not there yet in this year's run
    cold = machines.cold_store_year(parts, store)
    load = last_sum(flows.electricity_total_kwh) + cold
    tank = (last_sum(flows.water_makeup_m3) + last_sum(flows.rain_m3)) / 365.0 * days
    return {
        **supply_sizes.supply_sizes(parts, design.bed_area, design.drivers, (load, store)),
        "rain_tank_volume": tank * base(parts.house.rain_catch),
        "cold_store_volume": store,
        "plants_year": sum(last_sum(x) for x in flows.plants.values()),
        "fish_year": fish_year,
        "crop_year": crop,
        "feed_year": settled_mean(flows.feed_kg),
        "workers": sum(float(x[0, -1]) for x in flows.workers.values()),
        "load_year": load,
    }
