"""What weather does the place have, hour by hour of a typical month.

Twelve monthly normals become three day classes (cool, mean, warm) of 24 hours in solar
time: 72 hours a month, with weights that sum to the hours of the month. The nodes are those
of three-point Gauss–Hermite quadrature of a normal spread of daily means. An hourly file gives
three real days a month of the same weights, in local standard time, or every day of the year.
"""

from dataclasses import dataclass, fields

import numpy as np

from sitefare.arrays import DAYS, Array, hourly
from sitefare.assumptions.declaration import Values, inputs, monthly, quantity, text
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
        low=-90,
        high=90,
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
    weather_file: str = text(
        doc="Hourly weather file: EPW or TMY3 in the site's folder, or none for monthly normals."
    )
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
class Weather:
    """Hours by month of an hourly file, each (1, 12, hours).

    Three typical days a month, or every day with a month's last day repeated up to 31.
    Temperature [degC], vapour [kPa], global and diffuse sun on level ground [W/m2], wind [m/s],
    cosine of the sun's zenith angle [1], its azimuth from north through east [rad].
    """

    temperature: Array
    vapour: Array
    sunshine: Array
    diffuse: Array
    wind: Array
    cos_zenith: Array
    azimuth: Array


@dataclass(frozen=True)
class TypicalHours:
    """Typical hours by month; arrays (draws or 1, 12, hours), weights (12, hours).

    72 hours a month, or 744 where every hour of a year runs. Temperature [degC], vapour pressure
    [kPa], sunshine and its diffuse part on level ground [W/m2], weights [h], wind at 10 m [m/s],
    cosine of the sun's zenith angle [1], its azimuth from north through east [rad]; by month
    (draws, 12): ground [degC], atmosphere [kPa], daylight [h].
    """

    temperature: Array
    vapour: Array
    sunshine: Array
    weights: Array
    ground: Array
    atmosphere: Array
    daylight: Array
    wind: Array
    cos_zenith: Array
    azimuth: Array
    diffuse: Array

    @property
    def days(self) -> int:
        """Days, or day classes, of a month."""
        return int(self.weights.shape[1]) // 24


def weather_of(values: Values, prefix: str) -> Weather | None:
    """Return what `values` hold of an hourly file under a prefix, None where there is none."""
    if f"{prefix}.temperature" not in values:
        return None
    return Weather(**{f.name: _array(values[f"{prefix}.{f.name}"]) for f in fields(Weather)})


def _array(x: Array | str) -> Array:
    """Return an array that is no word."""
    return np.asarray(x, dtype=np.float64)


def ground_temperature(monthly_mean: Array, damping: Array) -> Array:
    """Return ground temperature by month: the air's yearly wave, damped and late. [degC]

    Kusuda & Achenbach (1965), ASHRAE Transactions 71(1):61: at a depth z the wave shrinks by
    exp(−z √(π/αT)) and lags by z √(π/αT) radians, so that the damping alone sets the lag;
    0.6 is one month. Wave and phase are the first harmonic of the monthly means.
    """
    angle = (np.arange(12.0) + 0.5) * np.pi / 6.0
    year = np.mean(monthly_mean, axis=1, keepdims=True)
    cosine = np.sum(monthly_mean * np.cos(angle), axis=1, keepdims=True) / 6.0
    sine = np.sum(monthly_mean * np.sin(angle), axis=1, keepdims=True) / 6.0
    late = angle + np.log(np.maximum(damping, 1e-3))
    return np.asarray(year + damping * (cosine * np.cos(late) + sine * np.sin(late)))


def day_shares(days: int) -> Array:
    """Return the share of its month that each day stands for, (12, days). [1]

    Three days are the day classes; any other number are the days of the calendar, those after a
    month's end with no weight.
    """
    if days == CLASSES:
        return np.broadcast_to(CLASS_WEIGHTS, (12, CLASSES))
    real = np.arange(days)[None, :] < DAYS[:, None]
    return np.asarray(real / DAYS[:, None])


def hour_weights(days: int = CLASSES) -> Array:
    """Return hours that each typical hour stands for, (12, 24 × days); a row is its month. [h]"""
    return np.asarray(np.repeat(day_shares(days), 24, axis=1) * DAYS[:, None])


def daily_mean(hours: Array) -> Array:
    """Return the mean of each day, (draws, 12, 24 × days) to (draws, 12, days). [same unit]"""
    return np.asarray(np.mean(hours.reshape(hours.shape[0], 12, -1, 24), axis=3))


def daily_extreme(hours: Array) -> tuple[Array, Array]:
    """Return the lowest and highest hour of each day, each (draws, 12, days). [same unit]"""
    days = hours.reshape(hours.shape[0], 12, -1, 24)
    return np.asarray(np.min(days, axis=3)), np.asarray(np.max(days, axis=3))


def month_mean(daily: Array) -> Array:
    """Return the month's mean over its days, (draws, 12, days) to (draws, 12). [same unit]"""
    return np.asarray(np.sum(daily * day_shares(daily.shape[2]), axis=2))


def month_sum(hours: Array, weights: Array) -> Array:
    """Return the sum over a month's hours, (draws, 12, hours) to (draws, 12). [unit × h]"""
    return np.asarray(np.sum(hours * weights, axis=2))


def typical_hours(
    climate: ClimateInputs, place: PlaceInputs, weather: Weather | None = None
) -> TypicalHours:
    """Lay a climate out as typical hours, from its normals or round the days of a file."""
    mean = climate.temperature + climate.temperature_shift
    half = climate.temperature_range / 2.0
    vapour = climate.humidity * air.mean_saturation(mean + half, mean - half)
    if weather is None:
        return _from_normals(climate, place, mean, vapour)
    return _from_weather(climate, place, mean, vapour, weather)


def _from_normals(
    climate: ClimateInputs, place: PlaceInputs, mean: Array, vapour: Array
) -> TypicalHours:
    """Return hours in solar time from monthly means of temperature [degC] and vapour [kPa].

    Temperature is a cosine with its highest at 15 h; vapour pressure is the month's mean
    (FAO-56 eq. 19), held through the day and capped at saturation; wind is the month's mean.
    """
    spread = hourly(climate.day_spread) * np.repeat(CLASS_NODES, 24)
    swing = np.tile(np.cos((sun.HOUR - WARMEST_HOUR) * np.pi / 12.0), CLASSES)
    temperature = hourly(mean) + spread + hourly(climate.temperature_range / 2.0) * swing
    latitude = np.radians(place.latitude)
    sunset = sun.sunset_angle(latitude, sun.MONTH_DAY)
    share = np.tile(sun.hourly_share(sunset), CLASSES)
    sunshine = hourly(climate.sunshine) * share * (1e6 / 3600.0)
    at = (
        hourly(latitude),
        sun.declination(sun.MONTH_DAY)[:, None],
        np.tile((sun.HOUR - 12.0) * np.pi / 12.0, CLASSES),
    )
    return TypicalHours(
        temperature=temperature,
        vapour=np.minimum(hourly(vapour), air.saturation_pressure(temperature)),
        sunshine=sunshine,
        weights=hour_weights(),
        ground=ground_temperature(mean, climate.ground_damping),
        atmosphere=air.pressure(place.elevation),
        daylight=sunset * 24.0 / np.pi,
        wind=np.broadcast_to(hourly(climate.wind), (climate.wind.shape[0], 12, CLASSES * 24)),
        cos_zenith=sun.cos_zenith(*at),
        azimuth=sun.azimuth(*at),
        diffuse=np.minimum(_diffuse_of_normals(climate.sunshine, latitude, sunset), sunshine),
    )


def _diffuse_of_normals(daily: Array, latitude: Array, sunset: Array) -> Array:
    """Return the diffuse part of a month's mean days, from global sun [MJ/m2/day]. [W/m2]"""
    top = sun.extraterrestrial(latitude, sun.MONTH_DAY)
    clearness = daily / np.where(top > 0.0, top, np.inf)
    part = daily * sun.diffuse_share(clearness, sunset)
    hours = np.tile(sun.hourly_diffuse_share(sunset), CLASSES)
    return np.asarray(hourly(part) * hours * (1e6 / 3600.0))


def _from_weather(
    climate: ClimateInputs, place: PlaceInputs, mean: Array, vapour: Array, weather: Weather
) -> TypicalHours:
    """Return hours in local standard time: the file's pattern at the month's level in force.

    Temperature is moved, and vapour, sun and wind are multiplied, to the monthly rows, which are
    the file's own unless the site gives others: morphing, Belcher, Hacker & Powell (2005),
    Building Services Engineering Research and Technology 26:49. Vapour is capped at saturation.
    """
    weights = hour_weights(weather.temperature.shape[2] // 24)
    month = np.sum(weights, axis=1)

    def level(x: Array) -> Array:
        return np.asarray(month_sum(x, weights) / month)

    def multiplied(x: Array, wanted: Array) -> Array:
        own = level(x)
        ratio = np.where(own > 0.0, wanted / np.where(own > 0.0, own, 1.0), 1.0)
        return np.asarray(x * hourly(ratio))

    temperature = weather.temperature + hourly(mean - level(weather.temperature))
    sunshine = multiplied(weather.sunshine, climate.sunshine * (1e6 / 86400.0))
    part = weather.diffuse / np.where(weather.sunshine > 0.0, weather.sunshine, 1.0)
    sunset = sun.sunset_angle(np.radians(place.latitude), sun.MONTH_DAY)
    return TypicalHours(
        temperature=temperature,
        vapour=np.minimum(multiplied(weather.vapour, vapour), air.saturation_pressure(temperature)),
        sunshine=sunshine,
        weights=weights,
        ground=ground_temperature(mean, climate.ground_damping),
        atmosphere=air.pressure(place.elevation),
        daylight=sunset * 24.0 / np.pi,
        wind=multiplied(weather.wind, climate.wind),
        cos_zenith=weather.cos_zenith,
        azimuth=weather.azimuth,
        diffuse=sunshine * part,
    )
