"""FAO-56 worked examples, moist air against psychrolib, sun against pvlib."""

import csv
from pathlib import Path

import numpy as np
import psychrolib
import pytest
from pvlib import solarposition

from sitefare.arrays import value
from sitefare.farm import air, enclosure, evapotranspiration, oxygen, sun, water

validation = pytest.mark.validation
identity = pytest.mark.identity
psychrolib.SetUnitSystem(psychrolib.SI)
COMMON = Path(__file__).parents[2] / "assumptions" / "common"

# FAO-56 prints two to four digits; each tolerance is half of the last one, or what the paper's
# own rounding of intermediate steps carries through.


@validation
def test_energy_to_depth_fao56_example_1():
    assert pytest.approx(4.9, abs=0.05) == 0.8 * 15 * evapotranspiration.DEPTH


@validation
def test_pressure_and_psychrometric_constant_fao56_example_2():
    assert air.pressure(value(1800))[0, 0] == pytest.approx(81.8, abs=0.05)
    assert air.psychrometric_constant(value(81.8))[0, 0] == pytest.approx(0.054, abs=0.0005)


@validation
def test_saturation_pressure_fao56_example_3():
    assert air.mean_saturation(value(24.5), value(15))[0, 0] == pytest.approx(2.39, abs=0.005)


@validation
def test_psychrometer_fao56_example_4():
    atmosphere = air.pressure(value(1200))
    found = air.vapour_from_wet_bulb(value(19.5), value(25.6), atmosphere)
    assert found[0, 0] == pytest.approx(1.91, abs=0.005)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("degrees", "expected"), [(13 + 44 / 60, 0.240), (-(22 + 54 / 60), -0.400)]
)
def test_latitude_in_radians_fao56_example_7(degrees, expected):
    assert np.radians(degrees) == pytest.approx(expected, abs=0.0005)


@validation
def test_extraterrestrial_radiation_fao56_example_8():
    latitude, day = np.radians(-20.0), np.array([246.0])
    assert sun.distance_factor(day)[0] == pytest.approx(0.985, abs=0.0005)
    assert sun.declination(day)[0] == pytest.approx(0.120, abs=0.0005)
    assert sun.sunset_angle(latitude, day)[0] == pytest.approx(1.527, abs=0.0005)
    assert sun.extraterrestrial(latitude, day)[0] == pytest.approx(32.2, abs=0.05)


@validation
def test_daylight_hours_fao56_example_9():
    assert sun.daylight_hours(np.radians(-20.0), np.array([246.0]))[0] == pytest.approx(
        11.7, abs=0.05
    )


@validation
def test_net_longwave_fao56_example_11():
    found = evapotranspiration.net_longwave(
        value(25.1), value(19.1), value(2.1), value(14.5 / 18.8)
    )
    assert found[0, 0] == pytest.approx(3.5, abs=0.05)


@validation
def test_soil_heat_fao56_example_13():
    # The example spans two months, eq. 43: 0.07 (T next − T before); half of eq. 44's 0.14.
    found = evapotranspiration.monthly_soil_heat(value(14.1), value(18.8)) / 2.0
    assert found[0, 0] == pytest.approx(0.33, abs=0.005)


@validation
def test_wind_fao56_example_14():
    assert evapotranspiration.wind_at_two_metres(value(3.2))[0, 0] == pytest.approx(2.4, abs=0.05)


@validation
def test_monthly_evapotranspiration_fao56_example_17():
    # Radiation is printed to 0.01 and the paper rounds on the way: 0.02.
    latitude, day = np.radians(13 + 44 / 60), np.array([105.0])
    top = sun.extraterrestrial(latitude, day)
    radiation = evapotranspiration.sunshine_radiation(
        value(8.5), sun.daylight_hours(latitude, day), top
    )
    clear = evapotranspiration.clear_sky(top, value(2))
    longwave = evapotranspiration.net_longwave(
        value(34.8), value(25.6), value(2.85), radiation / clear
    )
    net = 0.77 * radiation - longwave
    saturated = air.mean_saturation(value(34.8), value(25.6))
    soil = evapotranspiration.monthly_soil_heat(value(29.2), value(30.2))
    gamma = air.psychrometric_constant(air.pressure(value(2)))
    found = evapotranspiration.reference(
        net, soil, value(30.2), value(2), saturated, value(2.85), gamma
    )
    assert top[0] == pytest.approx(38.06, abs=0.05)  # the paper takes 15 April as day 105
    assert radiation[0, 0] == pytest.approx(22.65, abs=0.05)
    assert net[0, 0] == pytest.approx(14.33, abs=0.03)
    assert found[0, 0] == pytest.approx(5.72, abs=0.02)


@validation
def test_daily_evapotranspiration_fao56_example_18():
    latitude, day = np.radians(50 + 48 / 60), np.array([187.0])
    top = sun.extraterrestrial(latitude, day)
    radiation = evapotranspiration.sunshine_radiation(
        value(9.25), sun.daylight_hours(latitude, day), top
    )
    low, high = air.saturation_pressure(value(12.3)), air.saturation_pressure(value(21.5))
    vapour = (low * 0.84 + high * 0.63) / 2
    clear = evapotranspiration.clear_sky(top, value(100))
    longwave = evapotranspiration.net_longwave(value(21.5), value(12.3), vapour, radiation / clear)
    net = 0.77 * radiation - longwave
    wind = evapotranspiration.wind_at_two_metres(value(2.78))
    gamma = air.psychrometric_constant(air.pressure(value(100)))
    found = evapotranspiration.reference(
        net, value(0), value(16.9), wind, (low + high) / 2, vapour, gamma
    )
    assert top[0] == pytest.approx(41.09, abs=0.02)
    assert vapour[0, 0] == pytest.approx(1.409, abs=0.001)
    assert wind[0, 0] == pytest.approx(2.079, abs=0.001)
    assert net[0, 0] == pytest.approx(13.28, abs=0.03)
    assert found[0, 0] == pytest.approx(3.9, abs=0.05)


@validation
@pytest.mark.parametrize(
    ("temperature", "expected"), [(15, 10.08), (20, 9.09), (25, 8.26), (28, 7.83), (30, 7.56)]
)
def test_oxygen_saturation_benson_and_krause_1984(temperature, expected):
    # The table prints 0.01 mg/L; 0.02 allows for editions.
    assert oxygen.saturation(value(temperature), value(101.3))[0, 0] == pytest.approx(
        expected, abs=0.02
    )


@pytest.mark.identity
@pytest.mark.parametrize("temperature", [2.0, 15.0, 30.0, 42.0])
def test_saturation_pressure_agrees_with_psychrolib(temperature):
    # Tetens' form of FAO-56 stays within 0.3 % of ASHRAE's from 0 to 45 degrees.
    expected = psychrolib.GetSatVapPres(temperature) / 1000
    assert air.saturation_pressure(value(temperature))[0, 0] == pytest.approx(expected, rel=3e-3)


@pytest.mark.identity
def test_declination_agrees_with_pvlib():
    # FAO-56's one-term form strays from Spencer's by up to 1.5 degrees in autumn.
    found, expected = (
        sun.declination(sun.MONTH_DAY),
        solarposition.declination_spencer71(sun.MONTH_DAY),
    )
    assert found == pytest.approx(expected, abs=np.radians(1.5))


@identity
def test_hours_share_the_whole_day():
    angles = sun.sunset_angle(np.radians(np.array([[0.0], [55.0], [66.0]])), sun.MONTH_DAY)
    assert np.sum(sun.hourly_share(angles), axis=-1) == pytest.approx(1.0)


@pytest.mark.calibration
@pytest.mark.parametrize(
    ("house", "imperial"),
    [("single_film", 1.2), ("double_film", 0.7), ("polycarbonate", 0.56)],
)
def test_cover_losses_of_the_shipped_houses(house, imperial):
    # Btu/h/ft2/F to W/m2/K is 5.678; the University of Arkansas prints two digits: 1 %.
    with (COMMON / "enclosures.csv").open(encoding="utf-8", newline="") as file:
        base = {row["name"]: row["base"] for row in csv.DictReader(file)}
    assert float(base[f"enclosure.{house}.cover_u"]) == pytest.approx(imperial * 5.678, rel=0.01)


@pytest.mark.identity
def test_summer_ventilation_ngma():
    # 8 cfm/ft2 is printed whole: 2 %.
    assert pytest.approx(146, rel=0.02) == 8 * 1.699 / 0.0929


@validation
def test_infiltration_aldrich_and_bartok():
    # 0.018 Btu/h/ft3/F is 0.335 W/m3/K to three digits: 1 %.
    assert enclosure.air_conductance(value(1.0), value(101.3))[0, 0] == pytest.approx(
        0.018 * 0.5275 / 0.02832, rel=0.01
    )


@identity
def test_salts_concentrate_by_water_that_leaves():
    # 4 L/m2/day to the air and 0.5 let go make (4 + 0.5) / 0.5 = 9 times.
    assert water.salt_discharge(value(4), value(1), value(9), value(0))[0, 0] == pytest.approx(0.5)
