"""What does a rated kilowatt of solar array make, hour by hour of a typical year.

Sun's place, transposition, cell temperature and power are pvlib's (Anderson et al., 2023, Journal
of Open Source Software 8:5994), which is read only where a farm has an array. Radiation in
W/m2, angles of pvlib in degrees, azimuth from north; hours are solar time.

The split of the mean day's sun into beam and diffuse is that of monthly means (Erbs, Klein &
Duffie 1982), not that of single hours: a month's mean day looks overcast to an hourly split.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array, hourly
from sitefare.assumptions.declaration import choice, inputs, quantity
from sitefare.farm import climate, sun
from sitefare.farm.climate import TypicalHours

#: Power of a rated kilowatt at standard conditions, 1,000 W/m2 and 25 °C. [kW]
RATED = 1.0

#: Beam is not reckoned with the sun lower than this, 3°. [1]
LEAST_COSINE = 0.05


@inputs("solar")
class SolarInputs:
    """The solar array, per rated kilowatt."""

    mounting: str = choice(
        "latitude", "given", doc="Tilted as the latitude, 10 to 60 degrees, or as given."
    )
    tilt: Array = quantity(
        "degree", low=0, high=90, varies="choice", doc="Tilt from level, where it is given."
    )
    albedo: Array = quantity("1", low=0, high=0.9, doc="Sun that the ground before it reflects.")
    day_spread: Array = quantity(
        "1",
        low=0,
        high=0.57,
        doc="Spread of days: standard deviation of a day's yield over its month's mean.",
    )
    losses: Array = quantity(
        "1", low=0, high=0.6, doc="Array losses: dirt, shade, wiring, mismatch, ageing, downtime."
    )
    inverter: Array = quantity("1", low=0.7, high=0.99, doc="Inverter's rated efficiency.")
    temperature_coefficient: Array = quantity(
        "1/K", low=-0.008, high=-0.0005, doc="Module power lost per kelvin over 25 degrees."
    )


@dataclass(frozen=True)
class SunPlace:
    """Zenith and azimuth [degree] and radiation above the air [W/m2]; (draws, 12, hours)."""

    zenith: Array
    azimuth: Array
    extra: Array

    @property
    def cosine(self) -> Array:
        """Cosine of the zenith angle. [1]"""
        return np.asarray(np.cos(np.radians(self.zenith)))


def sun_place(latitude: Array) -> SunPlace:
    """Return where the sun stands in each typical hour at a latitude [degree], by pvlib."""
    from pvlib import irradiance, solarposition  # noqa: PLC0415  costs a second to read

    angle = np.tile((sun.HOUR - 12.0) * np.pi / 12.0, climate.CLASSES)
    place = np.radians(latitude)[:, :, None]
    tilt = solarposition.declination_spencer71(sun.MONTH_DAY)[None, :, None]
    zenith = solarposition.solar_zenith_analytical(place, angle, tilt)
    azimuth = solarposition.solar_azimuth_analytical(place, angle, tilt, zenith)
    extra = irradiance.get_extra_radiation(sun.MONTH_DAY)[None, :, None]
    return SunPlace(np.degrees(zenith), np.degrees(azimuth), np.asarray(extra))


def placed(cosine: Array, azimuth: Array) -> SunPlace:
    """Return the sun of hours that a weather file places.

    Parameters
    ----------
    cosine, azimuth : Array, shape (draws, 12, hours)
        Cosine of the zenith angle [1], and azimuth from north through east [rad].
    """
    from pvlib import irradiance  # noqa: PLC0415

    extra = irradiance.get_extra_radiation(sun.MONTH_DAY)[None, :, None]
    zenith = np.arccos(np.clip(cosine, -1.0, 1.0))
    return SunPlace(np.degrees(zenith), np.degrees(azimuth), np.asarray(extra))


def diffuse_share(clearness: Array, sunset: Array) -> Array:
    """Return diffuse over global radiation of a month's mean day. [1]

    Erbs, Klein & Duffie (1982), Solar Energy 28:293, monthly correlation; as eq. 2.12.1 of
    Duffie & Beckman, Solar Engineering of Thermal Processes.

    Parameters
    ----------
    clearness : Array
        Global over extraterrestrial radiation, held to 0.3 to 0.8 where it was fitted. [1]
    sunset : Array
        Sunset hour angle; over 81.4° is another season. [rad]
    """
    k = np.clip(clearness, 0.3, 0.8)
    low_sun = 1.391 - 3.560 * k + 4.189 * k**2 - 2.137 * k**3
    high_sun = 1.311 - 3.022 * k + 3.427 * k**2 - 1.821 * k**3
    return np.asarray(np.where(sunset <= np.radians(81.4), low_sun, high_sun))


def diffuse_hourly(sunshine: Array, latitude: Array) -> Array:
    """Return diffuse radiation of typical hours from global radiation, both (draws, 12, hours).

    The day's diffuse is laid over the hours as the sun above the air; Liu & Jordan (1960),
    Solar Energy 4:1. Hours are whole day classes of 24. [W/m2]
    """
    sunset = sun.sunset_angle(np.radians(latitude), sun.MONTH_DAY)
    days = sunshine.reshape(sunshine.shape[0], 12, -1, 24)
    total = np.sum(days, axis=3)
    top = sun.extraterrestrial(np.radians(latitude), sun.MONTH_DAY) * (1e6 / 3600.0)
    share = diffuse_share(total / np.maximum(top, 1.0)[:, :, None], sunset[:, :, None])
    angle = (sun.HOUR - 12.0) * np.pi / 12.0
    shape = np.maximum(np.cos(angle) - np.cos(sunset)[:, :, None], 0.0)
    shape = shape / np.maximum(np.sum(shape, axis=2, keepdims=True), 1e-9)
    spread = (total * share)[:, :, :, None] * shape[:, :, None, :]
    return np.asarray(np.minimum(spread, days).reshape(sunshine.shape))


def tilt_of(rules: SolarInputs, latitude: Array) -> Array:
    """Return the array's tilt from level. [degree]"""
    return rules.tilt if rules.mounting == "given" else np.clip(np.abs(latitude), 10.0, 60.0)


def on_the_plane(
    rules: SolarInputs, latitude: Array, sunshine: Array, diffuse: Array, place: SunPlace
) -> Array:
    """Return radiation on the array, which faces the equator; Hay & Davies (1980). [W/m2]

    Parameters
    ----------
    sunshine, diffuse : Array, shape (draws, 12, hours)
        Global and diffuse radiation on level ground. [W/m2]
    """
    from pvlib import irradiance  # noqa: PLC0415

    tilt = hourly(tilt_of(rules, latitude))
    facing = hourly(np.where(latitude >= 0.0, 180.0, 0.0))
    cosine = place.cosine
    level = np.maximum(sunshine - diffuse, 0.0)
    beam = np.where(cosine > LEAST_COSINE, level / np.maximum(cosine, LEAST_COSINE), 0.0)
    seen = irradiance.aoi(tilt, facing, place.zenith, place.azimuth)
    sky = irradiance.haydavies(
        tilt, facing, diffuse, beam, place.extra, place.zenith, place.azimuth
    )
    ground = irradiance.get_ground_diffuse(tilt, sunshine, hourly(rules.albedo))
    return np.asarray(beam * np.maximum(np.cos(np.radians(seen)), 0.0) + sky + ground)


def power(rules: SolarInputs, plane: Array, temperature: Array, wind: Array) -> Array:
    """Return power of a rated kilowatt, after losses and inverter, (draws, 12, hours). [kW]

    Cell temperature by Faiman (2008) with pvlib's defaults, power by PVWatts (Dobos 2014,
    NREL/TP-6A20-62641).

    Parameters
    ----------
    plane, temperature, wind : Array
        Radiation on the array [W/m2], air [degC] and wind [m/s].
    """
    from pvlib import inverter, pvsystem  # noqa: PLC0415
    from pvlib import temperature as cells  # noqa: PLC0415

    warm = cells.faiman(plane, temperature, wind)
    made = pvsystem.pvwatts_dc(plane, warm, RATED, hourly(rules.temperature_coefficient))
    direct = np.maximum(made, 0.0) * hourly(1.0 - rules.losses)
    return np.asarray(inverter.pvwatts(direct, RATED, hourly(rules.inverter)))


def hourly_yield(
    rules: SolarInputs,
    latitude: Array,
    hours: TypicalHours,
    wind: Array,
    diffuse: Array | None = None,
    place: SunPlace | None = None,
) -> Array:
    """Return what a rated kilowatt makes in each typical hour, (draws, 12, hours). [kW]

    Parameters
    ----------
    wind : Array, shape (draws, 12)
        Wind by month. [m/s]
    diffuse : Array, optional
        Diffuse radiation where the weather has it; else split from monthly means. [W/m2]
    place : SunPlace, optional
        Where the sun stands, if the hours are not those of solar time.
    """
    if diffuse is None:
        diffuse = diffuse_hourly(hours.sunshine, latitude)
    seen = sun_place(latitude) if place is None else place
    plane = on_the_plane(rules, latitude, hours.sunshine, diffuse, seen)
    return power(rules, plane, hours.temperature, hourly(wind))
