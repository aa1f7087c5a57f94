"""What does a rated kilowatt of solar array make, hour by hour of a typical year.

Sun's place, transposition, cell temperature and power are pvlib's (Anderson et al., 2023, Journal
of Open Source Software 8:5994), which is read only where a farm has an array. Radiation in
W/m2, angles of pvlib in degrees, azimuth from north; hours are solar time.

The split of a mean day's sun into beam and diffuse is that of monthly means (Erbs, Klein &
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
    rules: SolarInputs, latitude: Array, hours: TypicalHours, place: SunPlace | None = None
) -> Array:
    """Return what a rated kilowatt makes in each typical hour, (draws, 12, hours). [kW]

    Parameters
    ----------
    place : SunPlace, optional
        Where the sun stands, if the hours are not those of solar time.
    """
    seen = sun_place(latitude) if place is None else place
    plane = on_the_plane(rules, latitude, hours.sunshine, hours.diffuse, seen)
    return power(rules, plane, hours.temperature, hours.wind)
