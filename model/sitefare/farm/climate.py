"""What weather does the place have, hour by hour of a typical month.

Twelve monthly normals become three day classes (cool, mean, warm) of 24 hours in solar
time: 72 hours a month, with weights that sum to the hours of the month. The nodes are those
of three-point Gauss–Hermite quadrature of a normal spread of daily means.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array, hourly
from sitefare.assumptions.declaration import inputs, monthly, quantity, text
from sitefare.farm import air, sun

#: Distance of the cool and warm day classes from the mean, in standard deviations. [1]
CLASS_NODES = np.array([-np.sqrt(3.0), 0.0, np.sqrt(3.0)])

#: Share of a month's days in each class. [1]
CLASS_WEIGHTS = np.array([1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0])

#: Day classes in a month.
CLASSES = 3

#: Hour of the day's highest temperature, solar time. [h]
WARMEST_HOUR = 15.0


@inputs("place")
class PlaceInputs:
    """Where the farm stands."""

    name: str = text(fact="required", doc="Name of the place, as it shall be printed.")
    latitude: Array = quantity(
        "degree",
        low=-66,
        high=66,
        varies="choice",
        fact="required",
        doc="Latitude, south negative.",
    )
    elevation: Array = quantity(
        "m", low=-450, high=5200, varies="choice", fact="required", doc="Height above the sea."
    )
    footprint_available: Array = quantity(
        "m2", low=1, high=1e7, varies="choice", fact="required", doc="Ground the farm may cover."
    )
    design_temperature_low: Array = quantity(
        "degC",
        low=-60,
        high=40,
        varies="choice",
        fact="required",
        doc="Outdoor temperature that 99 % of hours exceed; heaters are sized by it.",
    )
    design_temperature_high: Array = quantity(
        "degC",
        low=0,
        high=60,
        varies="choice",
        fact="required",
        doc="Outdoor temperature that 1 % of hours exceed; cooling is sized by it.",
    )
    design_wind: Array = quantity(
        "m/s",
        low=5,
        high=100,
        varies="choice",
        fact="required",
        doc="Design gust, 50-year return; the storm loss follows its square.",
    )


@inputs("climate")
class ClimateInputs:
    """Monthly normals of the place, and how days scatter round them."""

    temperature: Array = monthly(
        "degC", low=-50, high=50, fact="required", doc="Mean outdoor temperature."
    )
    temperature_range: Array = monthly(
        "K", low=0, high=35, fact="required", doc="Mean daily highest less lowest temperature."
    )
    humidity: Array = monthly(
        "1", low=0.02, high=1, fact="required", doc="Mean relative humidity, share of saturation."
    )
    sunshine: Array = monthly(
        "MJ/m2/day", low=0, high=40, fact="required", doc="Global radiation on level ground."
    )
    wind: Array = monthly("m/s", low=0, high=30, fact="required", doc="Mean wind at 10 m.")
    rain: Array = monthly("mm", low=0, high=3000, fact="required", doc="Rain in the month.")
    temperature_shift: Array = quantity(
        "K", low=-10, high=10, doc="Added to every month: error of the normals and change to come."
    )
    day_spread: Array = quantity(
        "K", low=0, high=12, doc="Standard deviation of daily mean temperature within a month."
    )
    ground_damping: Array = quantity(
        "1", low=0, high=1, doc="Swing of the ground at about 1 m over the swing of monthly air."
    )


@dataclass(frozen=True)
class TypicalHours:
    """Typical hours by month; arrays (draws, 12, 72), weights (12, 72), seasons (draws, 12).

    Temperature [degC], vapour pressure [kPa], sunshine on level ground [W/m2], weights [h],
    ground [degC], atmosphere [kPa], daylight [h].
    """

    temperature: Array
    vapour: Array
    sunshine: Array
    weights: Array
    ground: Array
    atmosphere: Array
    daylight: Array


def ground_temperature(monthly_mean: Array, damping: Array) -> Array:
    """Return ground temperature: the year's mean, a damped swing one month late. [degC]"""
    year = np.mean(monthly_mean, axis=1, keepdims=True)
    return np.asarray(year + damping * (np.roll(monthly_mean, 1, axis=1) - year))


def hour_weights() -> Array:
    """Return hours that each typical hour stands for, (12, 72); a row sums to its month. [h]"""
    return np.asarray(np.repeat(CLASS_WEIGHTS, 24)[None, :] * DAYS[:, None])


def daily_mean(hours: Array) -> Array:
    """Return the mean of each day class, (draws, 12, 72) to (draws, 12, 3). [same unit]"""
    days = hours.reshape(hours.shape[0], 12, CLASSES, 24)
    return np.asarray(np.mean(days, axis=3))


def daily_extreme(hours: Array) -> tuple[Array, Array]:
    """Return the lowest and highest hour of each day class, each (draws, 12, 3). [same unit]"""
    days = hours.reshape(hours.shape[0], 12, CLASSES, 24)
    return np.asarray(np.min(days, axis=3)), np.asarray(np.max(days, axis=3))


def month_mean(classes: Array) -> Array:
    """Return the month's mean over day classes, (draws, 12, 3) to (draws, 12). [same unit]"""
    return np.asarray(np.sum(classes * CLASS_WEIGHTS, axis=2))


def month_sum(hours: Array, weights: Array) -> Array:
    """Return the sum over a month's hours, (draws, 12, 72) to (draws, 12). [unit × h]"""
    return np.asarray(np.sum(hours * weights, axis=2))


def typical_hours(climate: ClimateInputs, place: PlaceInputs) -> TypicalHours:
    """Lay monthly normals out as typical hours.

    Temperature is a cosine with its highest at 15 h; vapour pressure is the month's mean
    (FAO-56 eq. 19), held through the day and capped at saturation.
    """
    mean = climate.temperature + climate.temperature_shift
    spread = hourly(climate.day_spread) * np.repeat(CLASS_NODES, 24)
    swing = np.tile(np.cos((sun.HOUR - WARMEST_HOUR) * np.pi / 12.0), CLASSES)
    half = climate.temperature_range / 2.0
    temperature = hourly(mean) + spread + hourly(half) * swing
    vapour = climate.humidity * air.mean_saturation(mean + half, mean - half)
    sunset = sun.sunset_angle(np.radians(place.latitude), sun.MONTH_DAY)
    share = np.tile(sun.hourly_share(sunset), CLASSES)
    return TypicalHours(
        temperature=temperature,
        vapour=np.minimum(hourly(vapour), air.saturation_pressure(temperature)),
        sunshine=hourly(climate.sunshine) * share * (1e6 / 3600.0),
        weights=hour_weights(),
        ground=ground_temperature(mean, climate.ground_damping),
        atmosphere=air.pressure(place.elevation),
        daylight=sunset * 24.0 / np.pi,
    )
