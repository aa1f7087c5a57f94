"""Sun, moist air and weather against printed examples, measured years and two libraries.

Duffie & Beckman is Solar Engineering of Thermal Processes (from memory, and reproduced). The two
measured years are the NREL TMY3 files that pvlib ships (public domain): Greensboro, North
Carolina, and Sand Point, Alaska; neither set a row.
"""

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import psychrolib
import pvlib
import pytest
from pvlib import iotools, solarposition

from sitefare.arrays import DAYS, value
from sitefare.farm import air, climate, sun

validation = pytest.mark.validation
identity = pytest.mark.identity
psychrolib.SetUnitSystem(psychrolib.SI)
FILES = {"greensboro": "723170TYA.CSV", "sand_point": "703165TY.csv"}

#: The shipped standard deviation of daily means, climate.day_spread. [K]
SHIPPED_SPREAD = 2.8


def measured(place):
    """Read a year with the hour's month, day and clock, from stamps at the end of the hour."""
    path = Path(pvlib.__file__).parent / "data" / FILES[place]
    table, about = iotools.read_tmy3(path, coerce_year=2001, map_variables=True)
    begin = table.index - np.timedelta64(60, "m")
    return table.assign(month=begin.month, day=begin.day_of_year, clock=begin.hour), about


def normals(table):
    """Return the monthly normals of a measured year, as a site gives them."""
    months = table.groupby("month")
    days = table.groupby(["month", "day"])["temp_air"]
    span = (days.max() - days.min()).groupby("month").mean()
    return SimpleNamespace(
        temperature=months["temp_air"].mean().to_numpy()[None, :],
        temperature_range=span.to_numpy()[None, :],
        humidity=months["relative_humidity"].mean().to_numpy()[None, :] / 100.0,
        sunshine=months["ghi"].sum().to_numpy()[None, :] * 0.0036 / DAYS,
        wind=np.full((1, 12), 3.0),
        temperature_shift=value(0),
        day_spread=value(SHIPPED_SPREAD),
        ground_damping=value(0.6),
    )


def typical(place):
    table, about = measured(place)
    where = SimpleNamespace(latitude=value(about["latitude"]), elevation=value(about["altitude"]))
    return table, about, climate.typical_hours(normals(table), where)


@validation
def test_top_of_atmosphere_duffie_and_beckman_example_1_10_1():
    # 43° N on 15 April: 33.8 MJ/m2.
    found = sun.extraterrestrial(np.radians(43.0), np.array([105.0]))[0]
    assert found == pytest.approx(33.8, abs=0.05)


@validation
def test_declination_of_mean_days_duffie_and_beckman_table_1_6_1():
    # Their Cooper form against FAO's one term: 0.2 degrees.
    printed = [-20.9, -13.0, -2.4, 9.4, 18.8, 23.1, 21.2, 13.5, 2.2, -9.6, -18.9, -23.0]
    assert np.degrees(sun.declination(sun.MONTH_DAY)) == pytest.approx(printed, abs=0.2)


@validation
def test_hourly_share_duffie_and_beckman_example_2_13_1():
    # Melbourne, 38° S, January, 8 to 9 o'clock: sunset angle 107.3°, share 0.076.
    angle = sun.sunset_angle(np.radians(-38.0), np.array([17.0]))
    assert np.degrees(angle)[0] == pytest.approx(107.3, abs=0.05)
    assert sun.hourly_share(angle)[0, 8] == pytest.approx(0.076, abs=0.0005)


@identity
@pytest.mark.parametrize("latitude", [0.0, 36.1, 46.0, 55.3, 66.0])
def test_no_sun_shines_by_night(latitude):
    # Days shorter than ten hours once had light at midnight: both factors of eq. were negative.
    angle = sun.sunset_angle(np.radians(np.array([[latitude]])), sun.MONTH_DAY)
    dark = np.abs(sun.HOUR - 12.0) > angle[..., None] * 12.0 / np.pi + 0.5
    assert np.all(sun.hourly_share(angle)[dark] == 0.0)


@validation
@pytest.mark.parametrize(("place", "band"), [("greensboro", 0.01), ("sand_point", 0.02)])
def test_top_of_atmosphere_of_a_year_nrel_tmy3(place, band):
    # FAO's declination is up to 1.5° off Spencer's in spring and autumn: 1 % of the year at 36°,
    # 2 % at 55°.
    table, about = measured(place)
    found = sun.extraterrestrial(np.radians(about["latitude"]), np.arange(1.0, 366.0))
    assert found.sum() == pytest.approx(table["ghi_extra"].sum() * 0.0036, rel=band)


@validation
@pytest.mark.parametrize(
    ("place", "month"), [("greensboro", 6), ("greensboro", 12), ("sand_point", 6)]
)
def test_hourly_share_of_measured_sun_nrel_tmy3(place, month):
    # A month of measured sun in solar time: each hour within 1.5 % of the day.
    table, about = measured(place)
    hours = table[table["month"] == month].groupby("clock")["ghi"].sum()
    shift = (about["longitude"] - 15.0 * about["TZ"]) / 15.0
    seen = np.interp(sun.HOUR, hours.index + 0.5 + shift, hours / hours.sum())
    angle = sun.sunset_angle(np.radians([about["latitude"]]), sun.MONTH_DAY[[month - 1]])
    assert sun.hourly_share(angle)[0] == pytest.approx(seen, abs=0.015)


@validation
@pytest.mark.parametrize(("place", "kelvin_hours"), [("greensboro", 52303), ("sand_point", 118961)])
def test_heating_hours_from_twelve_normals_nrel_tmy3(place, kelvin_hours):
    # Kelvin-hours under 18 °C of the 8,760 hours, from normals and the shipped spread: 2 %.
    table, _, hours = typical(place)
    assert np.maximum(18.0 - table["temp_air"], 0.0).sum() == pytest.approx(kelvin_hours, rel=1e-4)
    found = np.sum(np.maximum(18.0 - hours.temperature, 0.0) * hours.weights)
    assert found == pytest.approx(kelvin_hours, rel=0.02)


@validation
def test_cooling_hours_from_twelve_normals_nrel_tmy3():
    # Greensboro over 24 °C; the tail of hot days is less sure than the bulk of cold ones: 5 %.
    table, _, hours = typical("greensboro")
    seen = np.maximum(table["temp_air"] - 24.0, 0.0).sum()
    found = np.sum(np.maximum(hours.temperature - 24.0, 0.0) * hours.weights)
    assert found == pytest.approx(seen, rel=0.05)


@validation
@pytest.mark.parametrize(("place", "band"), [("greensboro", 0.085), ("sand_point", 0.105)])
def test_vapour_pressure_from_mean_humidity_nrel_tmy3(place, band):
    # FAO-56 allows mean humidity where no dew point is known, and warns of its error; by month
    # against the hourly dew points it is 8 % in the dry spring of Greensboro, 10 % by the sea.
    table, _, hours = typical(place)
    dew = table.assign(vapour=air.saturation_pressure(table["temp_dew"].to_numpy()))
    seen = dew.groupby("month")["vapour"].mean().to_numpy()
    found = climate.month_mean(climate.daily_mean(hours.vapour))[0]
    assert found == pytest.approx(seen, rel=band)


@validation
@pytest.mark.parametrize("place", FILES)
def test_pressure_at_the_station_nrel_tmy3(place):
    # 273 m and 7 m: the standard atmosphere is 20 °C and 101.3 kPa, weather is not: 1 %.
    table, about = measured(place)
    found = float(air.pressure(value(about["altitude"]))[0, 0])
    assert found == pytest.approx(table["pressure"].mean() / 10.0, rel=0.01)


@validation
def test_warmest_hour_nrel_tmy3():
    # Greensboro by the year's mean of each hour, solar time: within an hour. (Sand Point, an
    # island in cold sea, is warmest near 13 h.)
    table, about = measured("greensboro")
    shift = (about["longitude"] - 15.0 * about["TZ"]) / 15.0
    warmest = table.groupby("clock")["temp_air"].mean().idxmax() + 0.5 + shift
    assert warmest == pytest.approx(climate.WARMEST_HOUR, abs=1.0)


@validation
def test_wet_bulb_stull_2011():
    # Journal of Applied Meteorology and Climatology 50:2267: 20 °C and 50 % give 13.7 °C (from
    # memory); his own fit errs by up to 0.65 K: 0.3.
    found = air.wet_bulb(value(20), 0.5 * air.saturation_pressure(value(20)), value(101.325))
    assert found[0, 0] == pytest.approx(13.7, abs=0.3)


@identity
@pytest.mark.parametrize("latitude", [-35.0, 0.0, 17.7, 46.0, 60.0])
def test_daylight_hours_agree_with_pvlib(latitude):
    # Sunset by Spencer's declination; FAO's is up to 1.5° off near the equinoxes: 0.4 h at 60°.
    day = np.arange(15.0, 365.0, 30.0)
    tilt = solarposition.declination_spencer71(day)
    cosine = np.clip(-np.tan(np.radians(latitude)) * np.tan(tilt), -1.0, 1.0)
    expected = np.arccos(cosine) * 24.0 / np.pi
    assert sun.daylight_hours(np.radians(latitude), day) == pytest.approx(expected, abs=0.4)


@identity
@pytest.mark.parametrize("latitude", [-35.0, 0.0, 17.7, 46.0])
def test_top_of_atmosphere_agrees_with_pvlib(latitude):
    # Ten-minute sun positions by pvlib's NREL algorithm over four days: FAO's declination is 1.3°
    # off in October, which at 46° is 4 % of the day.
    for month in (1, 4, 7, 10):
        times = pd.date_range(f"2001-{month:02d}-15", periods=144, freq="10min", tz="UTC")
        height = solarposition.get_solarposition(times, latitude, 0.0)["elevation"]
        beam = pvlib.irradiance.get_extra_radiation(times)
        seen = (np.maximum(np.sin(np.radians(height)), 0.0) * beam).sum() * 600.0 / 1e6
        day = np.array([float(times[0].day_of_year)])
        assert sun.extraterrestrial(np.radians(latitude), day)[0] == pytest.approx(seen, rel=0.04)
