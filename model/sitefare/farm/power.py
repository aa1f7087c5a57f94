"""What power do lifting, cold store and heat take on this farm, and what does the sun carry.

Joins the machines' modules to the parts chosen and a typical year. Power in kW.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array, hourly
from sitefare.farm import aeration, air, climate, coldstore, dispatch, light, pumping, solar
from sitefare.farm.climate import TypicalHours
from sitefare.farm.dispatch import Battery, Dispatch
from sitefare.farm.months import last_year
from sitefare.farm.parts import Parts
from sitefare.farm.season import Season
from sitefare.timeline import Timeline


def lifting(parts: Parts, flow: Array, covered_area: float) -> Array:
    """Return the power to lift a flow [m3/h] round a farm of a covered area [m2]. [kW]"""
    head = pumping.system_head(parts.pumping, flow, covered_area)
    if parts.design.lifting == "pump":
        efficiency = pumping.pump_efficiency(parts.pumping, flow)
        return pumping.pump_power(flow, head.total, efficiency)
    atmosphere = air.pressure(parts.place.elevation)
    free = pumping.airlift_air(parts.pumping, flow, head.total, atmosphere)
    rise = aeration.WATER_PRESSURE * parts.pumping.airlift_depth + parts.aeration.losses
    return aeration.blower_power(parts.aeration, free, atmosphere, rise)


def heat_source(parts: Parts, season: Season, *, by_night: bool) -> Array:
    """Return the temperature a heat pump takes heat from, (draws, 12). [degC]

    Air is heated mostly by night, taken as a quarter of the daily swing under the mean.
    """
    if parts.energy.heat_pump_source == "ground":
        return season.ground
    return season.outdoor - (parts.climate.temperature_range / 4.0 if by_night else 0.0)


def warm_hours(parts: Parts, season: Season) -> Array:
    """Return outdoor air while the house is cooled: the mean and a quarter of the swing. [degC]"""
    return season.outdoor + parts.climate.temperature_range / 4.0


def cold_store(
    parts: Parts, season: Season, volume: float, harvest: Array, timeline: Timeline
) -> Array:
    """Return the cold store's power for a harvest [kg/day], (draws, months + 1). [kW]"""
    if volume <= 0.0:
        return np.zeros((1, 1))
    outdoor, humidity = timeline.life(season.outdoor), timeline.life(parts.climate.humidity)
    return store_power(parts, volume, harvest, outdoor, humidity)


def store_power(
    parts: Parts, volume: float, harvest: Array, outdoor: Array, humidity: Array
) -> Array:
    """Return the power of a store [m3] for a harvest [kg/day] at outdoor air [degC], [1]. [kW]"""
    stored = harvest * parts.design.cold_store_days
    weather = (outdoor, humidity, air.pressure(parts.place.elevation))
    room = np.full((1, 1), volume)
    heat = coldstore.heat_gain(parts.cold_store, room, harvest, stored, weather)
    return coldstore.electric_power(parts.cold_store, parts.energy.cooling_share, heat, outdoor)


def weather_hours(parts: Parts) -> TypicalHours:
    """Return the typical hours of the farm's weather."""
    return climate.typical_hours(parts.climate, parts.place, parts.weather)


def solar_hours(parts: Parts, hours: TypicalHours) -> Array:
    """Return what a rated kilowatt of array makes by typical hour, (draws, 12, hours). [kW]

    The three day classes of normals are dull, mean and clear days round the month's mean; days of
    a weather file differ by themselves.
    """
    at = parts.place.latitude
    if parts.weather is not None:
        place = solar.placed(hours.cos_zenith, hours.azimuth)
        return solar.hourly_yield(parts.solar, at, hours, place)
    nodes = np.repeat(climate.CLASS_NODES, 24)
    made = solar.hourly_yield(parts.solar, at, hours)
    return np.asarray((1.0 + hourly(parts.solar.day_spread) * nodes) * made)


def solar_year(parts: Parts) -> float:
    """Return what a rated kilowatt makes in a typical year at base. [kWh/kW]"""
    hours = weather_hours(parts)
    made = np.sum(climate.month_sum(solar_hours(parts, hours), hours.weights), axis=1)
    return float(made[0])


def shapes(parts: Parts, season: Season, hours: TypicalHours) -> dict[str, Array]:
    """Return how loads that are not even lie over the day, by purpose, to any scale.

    Lamps burn in their photoperiod round noon; heat, chillers, dryers and fans of the house run
    when its hours ask them. The water is heated evenly.
    """
    days = hours.weights.shape[1] // 24
    burning = light.burning_hours(parts.light.photoperiod)
    house = season.house.hours
    return {
        "lamps": np.tile(burning, days)[:, None, :],
        "air_heating": house["heated"],
        "cooling": house["chilled"] + house["drying_power"],
        "fans": house["fan_hours"],
    }


def solar_dispatch(
    parts: Parts,
    season: Season,
    drivers: Mapping[str, float],
    electricity: Mapping[str, Array],
    timeline: Timeline,
) -> Dispatch | None:
    """Return who carries the load of the last year by hour, or nothing without an array.

    Parameters
    ----------
    electricity : Mapping of Array, shape (draws, months + 1)
        Electricity by purpose; its last twelve months are taken as the typical year. [kWh]
    """
    if drivers["pv_power"] <= 0.0:
        return None
    hours = weather_hours(parts)
    year = {k: last_year(x, timeline) for k, x in electricity.items()}
    load = dispatch.load_of(year, shapes(parts, season, hours), hours.weights)
    made = solar_hours(parts, hours) * drivers["pv_power"]
    store = drivers["battery_energy"]
    rate = float(parts.supply.battery_rate[0, 0])
    battery = Battery(store, store * rate, parts.supply.battery_efficiency)
    return dispatch.dispatched(load, made, battery, hours.weights)
