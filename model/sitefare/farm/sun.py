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


def cos_zenith(latitude: Array, tilt: Array, angle: Array) -> Array:
    """Return the cosine of the sun's zenith angle, negative below the horizon. [1]

    Duffie & Beckman (2013), Solar Engineering of Thermal Processes, eq. 1.6.5.

    Parameters
    ----------
    latitude, tilt, angle : Array
        Latitude, declination, and hour angle from noon, afternoon positive. [rad]
    """
    across = np.cos(latitude) * np.cos(tilt) * np.cos(angle)
    return np.asarray(np.clip(across + np.sin(latitude) * np.sin(tilt), -1.0, 1.0))


def azimuth(latitude: Array, tilt: Array, angle: Array) -> Array:
    """Return the sun's azimuth from north through east, 0 to 2π. [rad]

    The sun's direction east and north: (−cos δ sin ω, cos φ sin δ − sin φ cos δ cos ω).
    """
    east = -np.cos(tilt) * np.sin(angle)
    north = np.cos(latitude) * np.sin(tilt) - np.sin(latitude) * np.cos(tilt) * np.cos(angle)
    return np.asarray(np.arctan2(east, north) % (2.0 * np.pi))


def diffuse_share(clearness: Array, sunset: Array) -> Array:
    """Return the diffuse part of a month's global sun on level ground. [1]

    Erbs, Klein & Duffie (1982), Solar Energy 28:293, for monthly means: the correlation of single
    hours would take a mean day for a hazy one and give a third too much. Below its range, a
    clearness of 0.3, a straight line to all diffuse under no sun at all.

    Parameters
    ----------
    clearness : Array
        Global sun over that above the atmosphere, at most 0.8. [1]
    sunset : Array
        Sunset hour angle. [rad]
    """
    k = np.clip(clearness, 0.3, 0.8)
    winter = 1.391 - 3.560 * k + 4.189 * k**2 - 2.137 * k**3
    summer = 1.311 - 3.022 * k + 3.427 * k**2 - 1.821 * k**3
    share = np.where(sunset <= np.radians(81.4), winter, summer)
    return np.asarray(1.0 - (1.0 - share) * np.clip(clearness / 0.3, 0.0, 1.0))


def hourly_diffuse_share(sunset: Array) -> Array:
    """Return each hour's share of the day's diffuse sun, (…, 24), Liu & Jordan (1960). [1]"""
    angle = (HOUR - 12.0) * np.pi / 12.0
    raw = np.maximum(np.cos(angle) - np.cos(sunset[..., None]), 0.0)
    return _shares(raw)


def _shares(raw: Array) -> Array:
    """Return hours as shares of their day; even where the day has no sun. [1]"""
    total = np.sum(raw, axis=-1, keepdims=True)
    return np.asarray(np.where(total > 0.0, raw / np.where(total > 0.0, total, 1.0), 1.0 / 24.0))


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
    return _shares(raw)
