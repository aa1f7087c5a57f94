"""What water do this farm's beds, tanks and pads ask by month, and what do they use of it.

Joins the season, the fish and the source to the balances of water and of salt. Asked before
crops grow, so that salt can act on them; settled once the harvest is known.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.farm import salinity, water
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design
from sitefare.farm.salinity import Salts
from sitefare.farm.season import Season
from sitefare.farm.water import Demand, WaterFlows
from sitefare.timeline import Timeline


@dataclass(frozen=True)
class Watering:
    """Water asked [m3], rain that serves it [m3], and salt, (draws, months + 1).

    `kept` is the share of growth that salt leaves each crop. [1]
    """

    asked: Demand
    rain: Array
    salts: Salts
    kept: dict[str, Array]


def watering(
    parts: Parts, design: Design, season: Season, feed: Array, timeline: Timeline
) -> Watering:
    """Return water asked and salt by month for feed [kg], before crops are known."""
    days = DAYS[timeline.calendar][None, :] * timeline.running
    asked = _asked(parts, design, season, feed, timeline, days)
    caught = timeline.life(_caught(parts, design)) * timeline.running
    need = asked.to_air + asked.pads + asked.bleed + asked.salty - asked.fell
    tank = design.drivers["rain_tank_volume"]
    rain = asked.fell + water.rain_used(caught, need, tank, parts.water.tank_fills)
    found = salinity.salts(
        parts.water,
        parts.source,
        salinity.operated_limit(parts.tolerance),
        design.water_volume,
        asked,
        rain,
        feed,
        days,
    )
    kept = salinity.kept(parts.salinity, parts.tolerance, found.felt)
    return Watering(asked, rain, found, kept)


def used(parts: Parts, wanted: Watering, crop: Array, spare_nitrogen: Array) -> WaterFlows:
    """Return the farm's water once the harvest [kg] and nitrogen plants leave [kg] are known."""
    asked, limit = wanted.asked, parts.nutrients.nitrate_limit
    bare = np.maximum(asked.to_air - wanted.rain, 0.0)
    nitrate = water.salt_discharge(bare, parts.source.nitrate, limit, spare_nitrogen * 1000.0)
    leaving = np.maximum(wanted.salts.leaving, nitrate * (spare_nitrogen > 0.0))
    return water.water_flows(parts.water, asked, crop, leaving, wanted.rain)


def _asked(
    parts: Parts, design: Design, season: Season, feed: Array, timeline: Timeline, days: Array
) -> Demand:
    """Return the water asked by month, days in use [day] given. [m3]"""
    on = timeline.running
    to_air = timeline.life(season.evaporated) * on
    pads = timeline.life(season.pad_water) * on
    plants = np.minimum(timeline.life(season.transpired) * on, to_air)
    removed = parts.water.removed_full if parts.full else parts.water.removed_media
    return Demand(
        transpired=plants,
        evaporated=to_air - plants,
        pads=pads,
        bleed=water.pad_bleed(parts.water, parts.source, pads),
        leak=parts.water.leak * design.water_volume * days,
        sludge=water.sludge_volume(parts.water, feed, removed),
        filling=design.water_volume * np.diff(on, axis=1, prepend=0.0),
        fell=timeline.life(_fallen(parts, design)) * on,
    )


def _fallen(parts: Parts, design: Design) -> Array:
    """Return rain that falls into beds out of doors, (draws, 12). [m3/month]"""
    if parts.house.air != "outdoors":
        return np.zeros((1, 12))
    return parts.climate.rain / 1000.0 * design.bed_area * parts.water.bed_rain


def _caught(parts: Parts, design: Design) -> Array:
    """Return rain that runs off the cover into a tank, (draws, 12). [m3/month]"""
    shed = parts.climate.rain / 1000.0 * design.covered_area * parts.house.rain_catch
    return shed * parts.water.runoff
