"""Sun, day length, diffuse split and ground against printed figures, pvlib and two TMY3 files.

D&B is Duffie & Beckman, Solar Engineering of Thermal Processes (example numbers as in the third
and fourth editions); FAO-56 and FAO-24 are the Irrigation and Drainage Papers. Printed figures
are from memory; none sets a row.
"""

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pvlib
import pytest
from pvlib import solarposition

from sitefare.arrays import value
from sitefare.assumptions.weather import read_weather
from sitefare.assumptions.weather_rows import _answers
from sitefare.farm import air, climate, evapotranspiration, sun

validation = pytest.mark.validation
identity = pytest.mark.identity
PVLIB = Path(pvlib.__file__).parent / "data"

#: The 15th of each month. [day]
MIDDLE = np.array([15.0, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349])


@validation
@pytest.mark.parametrize(
    ("latitude", "expected"),
    [
        (20, [11.1, 11.5, 12.0, 12.6, 13.1, 13.3, 13.2, 12.8, 12.3, 11.7, 11.2, 10.9]),
        (40, [9.6, 10.7, 11.9, 13.3, 14.4, 15.0, 14.7, 13.7, 12.5, 11.2, 10.0, 9.3]),
    ],
)
def test_day_length_fao24_table(latitude, expected):
    # Doorenbos & Pruitt (1977) count from the sun's upper edge, refraction included: up to 0.3 h
    # longer than the geometric day of FAO-56 eq. 34.
    found = sun.daylight_hours(np.radians(latitude), MIDDLE)
    assert found == pytest.approx(np.array(expected), abs=0.3)
    assert np.all(found <= np.array(expected) + 0.05)


@validation
@pytest.mark.parametrize(
    ("tilt", "hour_angle", "zenith", "from_south"),
    [
        pytest.param(-14.0, -37.5, 66.5, -40.0, id="9:30 on 13 February"),
        pytest.param(23.1, 97.5, 79.6, 112.0, id="18:30 on 1 July"),
    ],
)
def test_sun_position_duffie_beckman_example_1_6_2(tilt, hour_angle, zenith, from_south):
    # At 43 N; printed to 0.1 degree.
    at = [np.radians(np.array([x])) for x in (43.0, tilt, hour_angle)]
    assert np.degrees(np.arccos(sun.cos_zenith(*at)))[0] == pytest.approx(zenith, abs=0.15)
    assert np.degrees(sun.azimuth(*at))[0] - 180.0 == pytest.approx(from_south, abs=0.15)


@validation
def test_share_of_an_hour_duffie_beckman_example_2_13_2():
    # Madison, 43 N, 23 August, 13 to 14 h: 0.118 of the day, read from a figure: 0.003.
    sunset = sun.sunset_angle(np.radians(43.0), np.array([235.0]))
    assert sun.hourly_share(sunset)[0, 13] == pytest.approx(0.118, abs=0.003)


@validation
def test_diffuse_share_of_a_month_duffie_beckman_example_2_12_1():
    # Madison in June, clearness 0.55: 0.38 of the sun is diffuse, printed to two digits.
    sunset = sun.sunset_angle(np.radians(43.0), np.array([162.0]))
    assert sun.diffuse_share(np.array([0.55]), sunset)[0] == pytest.approx(0.38, abs=0.005)


@validation
@pytest.mark.parametrize(("file", "tolerance"), [("723170TYA.CSV", 0.10), ("703165TY.csv", 0.15)])
def test_diffuse_sun_of_normals_is_near_that_of_the_file(file, tolerance):
    # The correlation was fitted to other stations: a tenth of the year's diffuse sun, and 15 %
    # for Sand Point's low sun. The hourly correlation on mean days gives 37 and 52 % too much.
    year = read_weather(PVLIB / file, file)
    months = {
        name.split(".")[1]: numbers[None, :]
        for name, (numbers, _) in _answers(year).items()
        if name.startswith("climate.")
    }
    normals = climate.ClimateInputs(
        **months, rain=np.zeros((1, 12)), weather_file="none", temperature_shift=value(0.0),
        day_spread=value(2.8), ground_damping=value(0.6),
    )  # fmt: skip
    place = SimpleNamespace(latitude=value(year.latitude), elevation=value(year.elevation))
    found = climate.typical_hours(normals, place)
    total = np.sum(found.diffuse * found.weights) / np.sum(found.sunshine * found.weights)
    printed = year.diffuse.sum() / year.sunshine.sum()
    assert total == pytest.approx(printed, rel=tolerance)


@validation
def test_yearly_mean_of_greensboro():
    # NOAA's normals for Piedmont Triad airport round 14.6 degC; a typical year of other decades
    # may lie 0.7 K off.
    year = read_weather(PVLIB / "723170TYA.CSV", "723170TYA.CSV")
    assert year.temperature.mean() == pytest.approx(14.6, abs=0.7)


@identity
@pytest.mark.parametrize(
    ("file", "station", "place"),
    [
        ("723170TYA.CSV", "GREENSBORO PIEDMONT TRIAD INT", (36.1, -79.95, -5.0, 273.0)),
        ("703165TY.csv", "SAND POINT", (55.317, -160.517, -9.0, 7.0)),
    ],
)
def test_tmy3_header_is_read_as_printed(file, station, place):
    year = read_weather(PVLIB / file, file)
    assert year.station == station
    assert (year.latitude, year.longitude, year.utc_offset, year.elevation) == place


@identity
@pytest.mark.parametrize("latitude", [-35.0, 0.0, 36.1, 52.3, 70.0])
def test_sun_of_normals_agrees_with_pvlibs_full_algorithm(latitude):
    # One day a month and a one-term declination, in solar time: 1.6 degrees of height; azimuth
    # where the sun is between 5 and 75 degrees high, 3 degrees.
    at = (np.radians(latitude), sun.declination(sun.MONTH_DAY)[:, None])
    angle = (sun.HOUR - 12.0) * np.pi / 12.0
    found = 90.0 - np.degrees(np.arccos(sun.cos_zenith(*at, angle)))
    turned = np.degrees(sun.azimuth(*at, angle))
    for month, day in enumerate(sun.MONTH_DAY):
        date = pd.Timestamp("2001-01-01", tz="UTC") + pd.Timedelta(days=day - 1)
        late = solarposition.equation_of_time_spencer71(day)
        times = date + pd.to_timedelta(sun.HOUR * 60 - late, unit="min")
        exact = solarposition.get_solarposition(pd.DatetimeIndex(times), latitude, 0.0)
        height = exact["elevation"].to_numpy()
        assert np.max(np.abs(found[month] - height)) < 1.6
        seen = (height > 5.0) & (height < 75.0)
        apart = (turned[month] - exact["azimuth"].to_numpy() + 180.0) % 360.0 - 180.0
        assert np.max(np.abs(apart[seen]), initial=0.0) < 3.0


@identity
def test_sun_position_is_pvlibs_analytical_one():
    latitude, tilt = np.radians(41.5), np.radians(np.array([-20.0, 0.0, 15.0]))[:, None]
    angle = np.radians(np.linspace(-170.0, 170.0, 18))[None, :]
    found = sun.cos_zenith(latitude, tilt, angle)
    zenith = solarposition.solar_zenith_analytical(latitude, angle, tilt)
    assert np.arccos(found) == pytest.approx(zenith, abs=1e-9)
    turned = solarposition.solar_azimuth_analytical(latitude, angle, tilt, zenith)
    assert np.cos(sun.azimuth(latitude, tilt, angle)) == pytest.approx(np.cos(turned), abs=1e-7)
    assert np.sin(sun.azimuth(latitude, tilt, angle)) == pytest.approx(np.sin(turned), abs=1e-4)


@identity
@pytest.mark.parametrize("file", ["723170TYA.CSV", "703165TY.csv"])
def test_position_of_the_sun_in_a_file_is_where_its_beam_comes_from(file):
    # Beam = (global − diffuse) ÷ cos zenith never passes the solar constant by more than the
    # file's rounding and the hour's spread, where the sun stands above 15 degrees.
    year = read_weather(PVLIB / file, file)
    table, _ = pvlib.iotools.read_tmy3(PVLIB / file)
    high = year.cos_zenith > np.sin(np.radians(15.0))
    beam = (year.sunshine - year.diffuse)[high] / year.cos_zenith[high]
    assert np.max(beam) < 1367.0
    printed = table["dni"].to_numpy()[high]
    assert np.sum(beam) == pytest.approx(np.sum(printed), rel=0.02)


@identity
def test_clear_sky_agrees_with_pvlib():
    # FAO-56 eq. 37 takes one share of the sun above the atmosphere at every height; Haurwitz
    # (1945) by the hour loses more of a low winter sun, so December is 15 % apart, the year 8 %.
    latitude = np.radians(36.1)
    angle = (np.arange(24 * 6) / 6.0 - 12.0 + 1 / 12) * np.pi / 12.0
    tilt = sun.declination(sun.MONTH_DAY)[:, None]
    zenith = np.degrees(np.arccos(sun.cos_zenith(latitude, tilt, angle)))
    hours = pvlib.clearsky.haurwitz(pd.Series(zenith.ravel()))["ghi"].to_numpy()
    daily = hours.reshape(12, -1).sum(axis=1) * 600.0 / 1e6
    top = sun.extraterrestrial(latitude, sun.MONTH_DAY)
    found = evapotranspiration.clear_sky(top, value(273.0))[0]
    assert found == pytest.approx(daily, rel=0.15)
    assert found.sum() == pytest.approx(daily.sum(), rel=0.08)


@identity
@pytest.mark.parametrize(("depth", "shrink", "days"), [(1.0, 0.6605, 24.1), (2.0, 0.4363, 48.2)])
def test_ground_follows_kusuda_and_achenbach(depth, shrink, days):
    # Diffusivity of moist soil 0.05 m2/day: √(π/(365 × 0.05)) = 0.4149 per metre.
    rate = np.sqrt(np.pi / (365.0 * 0.05))
    assert np.exp(-rate * depth) == pytest.approx(shrink, abs=5e-4)
    assert rate * depth * 365.0 / (2.0 * np.pi) == pytest.approx(days, abs=0.1)
    middle = (np.arange(12.0) + 0.5) * 365.0 / 12.0
    air_wave = 12.0 - 9.0 * np.cos(2.0 * np.pi * (middle - 15.0) / 365.0)
    ground = climate.ground_temperature(air_wave[None, :], value(np.exp(-rate * depth)))
    late = 2.0 * np.pi * (middle - 15.0 - days) / 365.0
    assert ground[0] == pytest.approx(12.0 - 9.0 * shrink * np.cos(late), abs=0.02)


@identity
def test_a_file_and_the_farm_know_one_saturation_pressure():
    from sitefare.assumptions.weather import saturation  # noqa: PLC0415

    degrees = np.linspace(-30.0, 45.0, 60)
    np.testing.assert_array_equal(saturation(degrees), air.saturation_pressure(degrees))


@identity
@pytest.mark.parametrize("latitude", [-90.0, -70.0, 70.0, 90.0])
def test_polar_night_and_day(latitude):
    day = sun.sunset_angle(np.radians(latitude), sun.MONTH_DAY) * 24.0 / np.pi
    light, dark = (5, 11) if latitude > 0 else (11, 5)
    assert day[light] == pytest.approx(24.0)
    assert day[dark] == pytest.approx(0.0)
    top = sun.extraterrestrial(np.radians(latitude), sun.MONTH_DAY)
    assert np.all(top >= -1e-9)
    assert top[dark] == pytest.approx(0.0, abs=1e-9)
    shares = sun.hourly_share(np.array(day) * np.pi / 24.0)
    assert np.all(shares >= 0.0)
    assert np.sum(shares, axis=-1) == pytest.approx(1.0)


@identity
def test_no_sun_falls_at_night_in_short_days():
    # The day's shape of Collares-Pereira & Rabl turns negative at night in short winter days.
    for latitude in np.linspace(-66.0, 66.0, 23):
        sunset = sun.sunset_angle(np.radians(latitude), sun.MONTH_DAY)[:, None]
        night = np.abs(sun.HOUR - 12.0) * np.pi / 12.0 > sunset
        shares = sun.hourly_share(sunset[:, 0])
        lit = np.any(~night, axis=1)
        assert np.all(shares[lit][night[lit]] == 0.0)
