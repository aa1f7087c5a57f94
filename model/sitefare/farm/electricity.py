"""What electricity does the farm take by purpose and month, and who supplies it?

Joins the typical year, the fish and the machines; everything is (draws, months + 1).
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.farm import energy, nitrification, oxygen, power, supply
from sitefare.farm.dispatch import Dispatch
from sitefare.farm.fish import FishPath
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design
from sitefare.farm.season import Season
from sitefare.timeline import Timeline

#: Purposes that back-up carries in full, and those it does where fuel heats: burner and fans.
VITAL = ("pumping", "aeration", "controls", "cold_store")
BURNING = ("air_heating", "water_heating")


def electricity(
    parts: Parts,
    design: Design,
    season: Season,
    fish: FishPath,
    harvest: Array,
    timeline: Timeline,
) -> tuple[dict[str, Array], Array]:
    """Return electricity by purpose and heating fuel by month, for a harvest [kg]. [kWh]"""
    on, days, d = timeline.running, DAYS[timeline.calendar][None, :], design.drivers
    hours = 24.0 * days * on
    pump = power.lifting(parts, np.full((1, 1), d["flow"]), design.covered_area)
    air_heat = timeline.life(season.air_heat) * on
    outside = timeline.life(power.heat_source(parts, season, by_night=True))
    air_power, air_fuel = energy.heat_supply(parts.energy, air_heat, outside)
    outside = timeline.life(power.heat_source(parts, season, by_night=False))
    water_heat = timeline.life(season.water_heat) * on
    water_power, water_fuel = energy.heat_supply(parts.energy, water_heat, outside)
    cooled = season.cooling_heat / energy.cooling_cop(parts.energy, power.warm_hours(parts, season))
    fans = season.fan_air * energy.fan_energy(parts.energy) / 1000.0
    store = power.cold_store(parts, season, d["cold_store_volume"], harvest / days, timeline)
    purposes = {
        "pumping": pump * hours,
        "aeration": _aeration(parts, design, season, fish.feed, timeline) * on,
        "air_heating": air_power,
        "water_heating": water_power,
        "cooling": timeline.life(cooled + season.drying) * on,
        "fans": timeline.life(fans) * on,
        "lamps": timeline.life(season.lamp_energy) * on,
        "cold_store": store * hours,
        "controls": parts.energy.controls * design.bed_area / 1000.0 * hours,
    }
    return purposes, air_fuel + water_fuel


def _aeration(
    parts: Parts, design: Design, season: Season, feed: Array, timeline: Timeline
) -> Array:
    """Return electricity of blowers: what oxygen asks, within what is installed. [kWh]"""
    tan = nitrification.ammonia(feed, parts.species.feed_protein)
    asked = oxygen.demand(parts.oxygen, feed, tan)
    beta = parts.aeration.salinity_factor
    efficiency = oxygen.field_efficiency(parts.oxygen, season.water, season.atmosphere, beta)
    most = design.drivers["blower_power"] * 24.0 * DAYS[timeline.calendar][None, :]
    least = parts.oxygen.least_running * most
    return np.clip(asked / timeline.life(efficiency), least, most)


def supplied(
    parts: Parts,
    design: Design,
    season: Season,
    purposes: Mapping[str, Array],
    fuel: Array,
    timeline: Timeline,
) -> tuple[supply.Supplied, Dispatch | None]:
    """Return who supplies the electricity asked, and the sun's part by hour. [kWh]"""
    d = design.drivers
    found = power.solar_dispatch(parts, season, d, purposes, timeline)
    share, left, made = np.zeros((1, 1)), np.ones((1, 1)), np.zeros((1, 1))
    if found is not None:
        share, left = (timeline.life(x) for x in supply.solar_months(found))
        made = timeline.life(found.made)
    kept = (*VITAL, *BURNING) if parts.energy.heat_source == "fuel" else VITAL
    asked = supply.Asked(
        load=energy.total(purposes),
        vital=energy.total({k: purposes[k] for k in kept}),
        solar_share=share,
        rest_hours=left,
        made=made * timeline.running,
        hours=24.0 * DAYS[timeline.calendar][None, :] * timeline.running,
    )
    given = supply.supplied(parts.supply, asked, d["generator_power"], d["battery_energy"])
    heated = given.emissions + fuel * parts.fuel.emissions
    return replace(given, emissions=heated), found
