"""When is each tank stocked and harvested, and how many plants are started in each month?

Dates follow the plan at base values, before rare events and a new team's learning: a grower
moves them by weeks. Month 0 ends on the appraisal date; the farm's day 0 is the next day.
"""

import datetime as dt
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, MEAN_MONTH, Array
from sitefare.farm import fish
from sitefare.farm.crops import CropInputs
from sitefare.farm.fish import Stocking
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design, FarmFlows
from sitefare.timeline import Timeline

#: Months after works that the stocking calendar covers. [month]
COVERED = 24


@dataclass(frozen=True)
class Stocked:
    """One cohort: tank, dates, fish in, what comes out [kg]; harvest None if beyond the plan."""

    tank: int
    stocked: dt.date
    fingerlings: float
    stocked_kg: float
    harvested: dt.date | None
    harvest_fish: float
    harvest_kg: float


@dataclass(frozen=True)
class Planted:
    """One crop's year: plants started in each calendar month, and the days it takes.

    `plants` holds twelve counts, January first; `idle` the months, 0 for January, in which it
    cannot grow; `first` is the project's first planting, `harvest` the first picking after it.
    """

    key: str
    title: str
    area: float
    plants: tuple[float, ...]
    idle: tuple[int, ...]
    days_to_harvest: float
    days_picked: float
    days_between: float
    first: dt.date
    harvest: dt.date


def date_of(timeline: Timeline, day: float) -> dt.date:
    """Return the date of a project day, day 0 the first after month 0. [day]"""
    count = timeline.start_year * 12 + timeline.start_month
    begin = dt.date(count // 12, count % 12 + 1, 1)
    return begin + dt.timedelta(days=int(day))


def stocking(
    parts: Parts, design: Design, flows: FarmFlows, timeline: Timeline
) -> tuple[Stocked, ...]:
    """Return the cohorts of the first years, in order of stocking.

    Tanks are stocked one after another, spread evenly over a cycle; each grows with the
    water's warmth and what the bacteria bear, rests, and is stocked again.
    """
    species = parts.species
    water = flows.season["water_temperature"][:1]
    growth = fish.daily_growth(species, water) * flows.season["feed_share_borne"][:1]
    held = Stocking(design.stocked_fish, design.tank_count, parts.harvest_months)
    gap = base(fish.stagger_days(species, growth, held))
    opening = timeline.construction * MEAN_MONTH + base(parts.production.maturing_days)
    last = (timeline.construction + COVERED) * MEAN_MONTH
    found = []
    for tank in range(design.tank_count):
        day = opening + tank * gap
        while day < last:
            grown = _grown_on(parts, growth[0], timeline, day)
            found.append(_cohort(parts, design, timeline, tank + 1, day, grown))
            day = last if grown is None else grown + held.tail + base(species.rest_days)
    return tuple(sorted(found, key=lambda c: (c.stocked, c.tank)))


def _grown_on(parts: Parts, growth: Array, timeline: Timeline, day: float) -> float | None:
    """Return the day on which fish stocked on a day reach their harvest weight."""
    species = parts.species
    size, end = np.cbrt(base(species.stock_weight)), np.cbrt(base(species.harvest_weight))
    for month in range(1, timeline.months + 1):
        calendar = timeline.calendar[month]
        first = float(np.sum(DAYS[timeline.calendar[1:month]]))
        until = first + DAYS[calendar]
        if until <= day or growth[calendar] <= 0.0:
            continue
        begin = max(day, first)
        needed = (end - size) / growth[calendar]
        if begin + needed <= until:
            return float(begin + needed)
        size += growth[calendar] * (until - begin)
    return None


def _cohort(
    parts: Parts, design: Design, timeline: Timeline, tank: int, day: float, grown: float | None
) -> Stocked:
    """Return the line of one cohort."""
    species, count = parts.species, design.stocked_fish
    left = count * base(species.survival)
    return Stocked(
        tank,
        date_of(timeline, day),
        count,
        count * base(species.stock_weight) / 1000.0,
        None if grown is None else date_of(timeline, grown),
        left,
        left * base(species.harvest_weight) / 1000.0,
    )


def planting(
    parts: Parts, design: Design, flows: FarmFlows, timeline: Timeline
) -> tuple[Planted, ...]:
    """Return each crop's planting year, from the plants the farm starts in its last year."""
    opening = timeline.construction * MEAN_MONTH + base(parts.production.planting_days)
    found = []
    for key, (crop, share) in parts.crops.items():
        months = _by_calendar(flows.plants[key], timeline)
        first = _first_planting(months, timeline, opening)
        bed = float(share[0].max()) * design.bed_area
        found.append(_planted(key, crop, bed, months, first, timeline))
    return tuple(found)


def _by_calendar(flow: Array, timeline: Timeline) -> Array:
    """Return the last twelve months of a flow, January first. [same unit]"""
    found = np.zeros(12)
    found[timeline.calendar[-12:]] = flow[0, -12:]
    return found


def _first_planting(months: Array, timeline: Timeline, opening: float) -> float:
    """Return the first day on or after the opening in a month with planting. [day]"""
    day = opening
    for month in range(1, timeline.months + 1):
        first = float(np.sum(DAYS[timeline.calendar[1:month]]))
        until = first + DAYS[timeline.calendar[month]]
        if until > opening and months[timeline.calendar[month]] > 0.0:
            return max(day, first)
    return day


def _planted(
    key: str,
    crop: CropInputs,
    area: float,
    months: Array,
    first: float,
    timeline: Timeline,
) -> Planted:
    """Return the line of one crop."""
    days = base(crop.days_to_harvest)
    return Planted(
        key,
        crop.title,
        area,
        tuple(float(x) for x in months),
        tuple(int(m) for m in np.flatnonzero(months <= 0.0)),
        days,
        base(crop.days_picked),
        base(crop.days_between),
        date_of(timeline, first),
        date_of(timeline, first + days),
    )
