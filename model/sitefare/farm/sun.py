"""How much sun falls on level ground, by month and by hour of a typical day.

Angles in radians, solar time, the middle of each hour. FAO-56 is Allen et al. (1998).
"""

import numpy as np

from sitefare.arrays import Array

#: Day of the year whose declination stands for each month, Klein (1977), Solar Energy 19:325. [day]
MONTH_DAY = np.array([17.0, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344])

#: Middle of each hour of the day, solar time. [h]
HOUR = np.arange(24.0) + 0.5

#: Solar constant, FAO-56 eq. 21. [MJ/m2/min]
SOLAR_CONSTANT = 0.0820


def declination(day: Array) -> Array:
    """Return the sun's declination by day of the year, FAO-56 eq. 24. [rad]"""
    return np.asarray(0.409 * np.sin(2.0 * np.pi * day / 365.0 - 1.39))


def distance_factor(day: Array) -> Array:
    """Return the inverse relative distance from earth to sun, FAO-56 eq. 23. [1]"""
    return np.asarray(1.0 + 0.033 * np.cos(2.0 * np.pi * day / 365.0))


def sunset_angle(latitude: Array, day: Array) -> Array:
    """Return the sunset hour angle, FAO-56 eq. 25; 0 or π where the sun does not set. [rad]"""
    cosine = -np.tan(latitude) * np.tan(declination(day))
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))


def daylight_hours(latitude: Array, day: Array) -> Array:
    """Return hours from sunrise to sunset, FAO-56 eq. 34. [h]"""
    return sunset_angle(latitude, day) * 24.0 / np.pi


def extraterrestrial(latitude: Array, day: Array) -> Array:
    """Return daily radiation above the atmosphere, FAO-56 eq. 21. [MJ/m2/day]"""
    sunset, tilt = sunset_angle(latitude, day), declination(day)
    path = sunset * np.sin(latitude) * np.sin(tilt) + np.cos(latitude) * np.cos(tilt) * np.sin(
        sunset
    )
    return np.asarray(24.0 * 60.0 / np.pi * SOLAR_CONSTANT * distance_factor(day) * path)


def hourly_share(sunset: Array) -> Array:
    """Return each hour's share of the day's global radiation, (…, 24), summing to 1. [1]

    Collares-Pereira & Rabl (1979), Solar Energy 22:155, at the middle of each hour.

    Parameters
    ----------
    sunset : Array, shape (…)
        Sunset hour angle. [rad]
    """
    edge = sunset[..., None]
    angle = (HOUR - 12.0) * np.pi / 12.0
    tilt = np.sin(edge - np.pi / 3.0)
    shape = 0.409 + 0.5016 * tilt + (0.6609 - 0.4767 * tilt) * np.cos(angle)
    # In short days both factors are negative at night, and their product is not light.
    raw = np.maximum(shape, 0.0) * np.maximum(np.cos(angle) - np.cos(edge), 0.0)
    total = np.sum(raw, axis=-1, keepdims=True)
    return np.asarray(np.where(total > 0.0, raw / np.where(total > 0.0, total, 1.0), 1.0 / 24.0))
