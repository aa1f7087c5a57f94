"""Which three days stand for a month of an hourly year?

Days are ranked by the mean of temperature and what the sun adds under a cover; the coolest
sixth, the middle two thirds and the warmest sixth are the day classes, and the day at an edge
counts to both by its share. A class is shown by its real day nearest its mean in temperature
and sun, so that clouds and nights stay where a mean of days would smooth away the hours that
take heating and cooling. Sun, vapour and wind are multiplied to the class's mean. Temperature
keeps the real day's order of hours and takes the class's own distribution: its 24 hours, from
coldest to warmest, are the means of the class's hours in 24 equal parts. Measured on the two
years that pvlib ships, mean days miss a tenth of the cooling, and these at most 3.5 % of
heating and cooling (tests/benchmarks).
"""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.weather import HourlyYear

#: Share of a month's days in each class, as in a year made of normals. [1]
SHARES = np.array([1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0])

#: Warmth that the sun adds under a cover, for ranking: gain over loss, between 0.02 of a single
#: film and 0.04 of two skins; from 0.03 to 0.05 the measured error hardly moves. [K m2/W]
SUN_WARMTH = 0.03

#: What a year holds by the hour.
FIELDS = ("temperature", "vapour", "sunshine", "diffuse", "wind", "cos_zenith", "azimuth")

#: Days of the longest month.
LONGEST = 31

Index = npt.NDArray[np.int64]


def by_month(year: Array) -> Array:
    """Lay a year (8760,) out by month and day, (12, 31, 24); a month's last day is repeated."""
    lengths = DAYS.astype(np.int64)
    first = np.cumsum(lengths) - lengths
    day = first[:, None] + np.minimum(np.arange(LONGEST)[None, :], lengths[:, None] - 1)
    return np.asarray(year.reshape(365, 24)[day])


def full_hours(year: HourlyYear) -> Mapping[str, Array]:
    """Return the whole year by month, each (1, 12, 744). [unit of the year]"""
    return {name: by_month(getattr(year, name)).reshape(1, 12, -1) for name in FIELDS}


def membership(rank_by: Array) -> Array:
    """Return how much of a month each day gives to each class, (12, 31, 3). [1]

    Parameters
    ----------
    rank_by : Array, shape (12, 31)
        What days are ranked by, coolest first.
    """
    real = np.arange(LONGEST)[None, :] < DAYS[:, None]
    order = np.argsort(np.where(real, rank_by, np.inf), axis=1, kind="stable")
    rank = np.argsort(order, axis=1, kind="stable")[:, :, None]
    length = DAYS[:, None, None]
    ends = np.cumsum(SHARES)
    overlap = np.minimum((rank + 1) / length, ends) - np.maximum(rank / length, ends - SHARES)
    return np.asarray(np.maximum(overlap, 0.0) * real[:, :, None])


def chosen_days(temperature: Array, sunshine: Array, parts: Array) -> Index:
    """Return the day that stands for each class of each month, (12, 3), 0 for the first.

    Parameters
    ----------
    temperature, sunshine : Array, shape (12, 31)
        Daily means. [degC, W/m2]
    parts : Array, shape (12, 31, 3)
        What `membership` returns.
    """
    distance = np.zeros(parts.shape)
    month = np.sum(parts, axis=2)
    for x in (temperature, sunshine):
        centre = np.sum(x * month, axis=1, keepdims=True)
        spread = np.sqrt(np.sum((x - centre) ** 2 * month, axis=1))[:, None, None]
        off = x[:, :, None] - (np.sum(x[:, :, None] * parts, axis=1) / SHARES)[:, None, :]
        distance += (off / np.maximum(spread, 1e-9)) ** 2
    return np.asarray(np.argmin(np.where(parts > 0.0, distance, np.inf), axis=1))


def class_hours(hours: Array, parts: Array) -> Array:
    """Return each class's hours in 24 equal parts, coldest first: their means, (12, 3, 24).

    Parameters
    ----------
    hours : Array, shape (12, 31, 24)
        Hours of the year's days. [degC]
    parts : Array, shape (12, 31, 3)
        What `membership` returns.
    """
    flat = hours.reshape(12, -1)
    order = np.argsort(flat, axis=1, kind="stable")
    ordered = np.take_along_axis(flat, order, axis=1)
    edges = np.linspace(0.0, 1.0, 25)
    found = np.empty((12, SHARES.size, 24))
    for month in range(12):
        for kind in range(SHARES.size):
            weight = np.repeat(parts[month, :, kind], 24)[order[month]]
            share = np.concatenate([[0.0], np.cumsum(weight)]) / np.sum(weight)
            total = np.concatenate([[0.0], np.cumsum(weight * ordered[month])]) / np.sum(weight)
            rising = np.concatenate([[True], np.diff(share) > 0.0])
            found[month, kind] = np.diff(np.interp(edges, share[rising], total[rising])) * 24.0
    return found


def typical_days(year: HourlyYear) -> Mapping[str, Array]:
    """Return three days a month in place of the year, each (1, 12, 72). [unit of the year]

    Month means are those of the year; the sun's position is that of the real day.
    """
    hours = {name: by_month(getattr(year, name)) for name in FIELDS}
    daily = {name: np.mean(x, axis=2) for name, x in hours.items()}
    parts = membership(daily["temperature"] + SUN_WARMTH * daily["sunshine"])
    days = chosen_days(daily["temperature"], daily["sunshine"], parts)
    months = np.arange(12)[:, None]
    found = {name: x[months, days] for name, x in hours.items()}
    for name in ("vapour", "sunshine", "diffuse", "wind"):
        mean = np.sum(daily[name][:, :, None] * parts, axis=1) / SHARES
        own = np.mean(found[name], axis=2)
        ratio = np.where(own > 0.0, mean / np.where(own > 0.0, own, 1.0), 1.0)
        found[name] = found[name] * ratio[:, :, None]
    rank = np.argsort(np.argsort(found["temperature"], axis=2, kind="stable"), axis=2)
    ordered = class_hours(hours["temperature"], parts)
    found["temperature"] = np.take_along_axis(ordered, rank, axis=2)
    found["diffuse"] = np.minimum(found["diffuse"], found["sunshine"])
    return {name: x.reshape(1, 12, -1) for name, x in found.items()}
