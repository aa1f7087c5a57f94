"""Pumps, pipes, light and solar arrays against printed examples that set no row."""

from types import SimpleNamespace

import numpy as np
import pytest

from sitefare.arrays import DAYS, value
from sitefare.farm import energy, evapotranspiration, light, sun

validation = pytest.mark.validation
identity = pytest.mark.identity


def number(found):
    return float(np.asarray(found).reshape(-1)[0])


@validation
def test_pump_power_of_a_printed_problem():
    # Hydraulic pump power calculation (a teaching sheet, seen): 130 m3/h by 85 m, 30.1 kW in the
    # water, 67.3 hp at 60 %.
    assert number(energy.pump_power(value(130), value(85), value(1))) == pytest.approx(
        30.1, abs=0.05
    )
    found = energy.pump_power(value(130), value(85), value(0.6))
    assert number(found) / 0.7457 == pytest.approx(67.3, abs=0.05)


@validation
def test_head_loss_of_a_printed_problem():
    # Engineering ToolBox, Hazen-Williams (seen): 200 US gallons a minute in 3.048 inches, C 140,
    # lose 9 ft per 100 ft, 2.7 ft in 30; printed to two digits: 2 %.
    found = energy.head_loss(30 * 0.3048, 3.048 * 0.0254, 200 * 3.785411784e-3 / 60, 140.0)
    assert found / 0.3048 == pytest.approx(2.7, rel=0.02)


@validation
def test_flux_of_a_printed_daily_integral_faust():
    # Faust, Light management (seen): 38.1 µmol/m2/s for 12 hours is 1.6 mol, of 1.646: 3 %.
    found = light.photon_flux(value(1.6), value(12))
    assert number(found) == pytest.approx(38.1, rel=0.03)


@validation
def test_photons_in_sunlight_meek_1984():
    # Meek, Hatfield, Howell, Idso & Reginato, Agronomy Journal 76:939 (from memory): 2.04 mol of
    # photosynthetic photons per MJ measured in the western United States: 1.5 %.
    found = light.light_inside(value(1), value(1), value(0))
    assert number(found) == pytest.approx(2.04, rel=0.015)


@validation
def test_daily_light_of_a_clear_day():
    # The same note: 50 to 60 mol on sunny summer days with no shade. A sky clear from dawn to
    # dusk at midsummer, 40° N, is the most there can be: at the top of the range, 10 %.
    top = sun.extraterrestrial(np.radians(40.0), np.array([172.0]))
    clear = evapotranspiration.clear_sky(top, value(0))
    assert number(light.light_inside(clear, value(1), value(0))) == pytest.approx(60, rel=0.1)


@identity
def test_lamps_and_flux_are_one_arithmetic():
    # A day's integral from a flux and the kilowatt-hours of the same lamps agree.
    lamps = SimpleNamespace(efficacy=value(2.8), utilisation=value(0.85))
    integral = np.full((1, 12), 12.0)
    watts = number(light.photon_flux(integral, value(16)) / (2.8 * 0.85))
    found = light.lamp_energy(integral, lamps) / DAYS
    assert found == pytest.approx(watts * 16 / 1000)
