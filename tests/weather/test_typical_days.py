"""Three days a month stand for a year: means hold, and heating and cooling stay near."""

from dataclasses import replace

import numpy as np
import pytest

from sitefare.arrays import DAYS, hourly
from sitefare.assumptions.typical_days import FIELDS, SHARES, full_hours, membership, typical_days
from sitefare.farm import air, climate, reduction
from sitefare.farm.result import Scale

WEIGHTS = climate.hour_weights()
ALL_WEIGHTS = climate.hour_weights(31)


def month_means(x, weights):
    return climate.month_sum(x, weights) / np.sum(weights, axis=1)


@pytest.mark.parametrize("station", ["greensboro", "sand_point"])
def test_month_means_of_typical_days_are_those_of_the_year(years, station):
    year = years[station]
    typical, full = typical_days(year), full_hours(year)
    for name in ("temperature", "vapour", "sunshine", "wind"):
        np.testing.assert_allclose(
            month_means(typical[name], WEIGHTS), month_means(full[name], ALL_WEIGHTS), rtol=1e-9
        )
    assert {x.shape for x in typical.values()} == {(1, 12, 72)}
    assert {x.shape for x in full.values()} == {(1, 12, 744)}
    assert set(typical) == set(FIELDS)


def test_full_hours_are_the_year_in_order_and_pad_with_no_weight(years):
    year = years["greensboro"]
    full = full_hours(year)["temperature"][0]
    assert np.sum(ALL_WEIGHTS) == pytest.approx(8760)
    np.testing.assert_array_equal(full[ALL_WEIGHTS > 0], year.temperature)
    assert np.sum(ALL_WEIGHTS[1] > 0) == 28 * 24
    np.testing.assert_allclose(ALL_WEIGHTS[ALL_WEIGHTS > 0], 1.0)


def test_every_day_is_given_once_and_classes_have_their_shares(years):
    hours = full_hours(years["sand_point"])["temperature"].reshape(12, 31, 24)
    parts = membership(hours.mean(axis=2))
    np.testing.assert_allclose(parts.sum(axis=1), np.tile(SHARES, (12, 1)))
    real = np.arange(31)[None, :] < DAYS[:, None]
    np.testing.assert_allclose(parts.sum(axis=2), real / DAYS[:, None], atol=1e-12)


def test_classes_rise_and_keep_the_order_of_a_real_days_hours(years):
    made = typical_days(years["greensboro"])
    days = climate.daily_mean(made["temperature"])[0]
    assert np.all(np.diff(days, axis=1) > 0)
    coldest = np.argmin(made["temperature"].reshape(12, 3, 24), axis=2)
    warmest = np.argmax(made["temperature"].reshape(12, 3, 24), axis=2)
    assert np.median(coldest) < 8
    assert 12 <= np.median(warmest) <= 17


def test_day_functions_take_any_number_of_days():
    for days in (3, 31):
        shares = climate.day_shares(days)
        np.testing.assert_allclose(shares.sum(axis=1), 1.0)
        hours = np.broadcast_to(np.arange(24.0 * days) % 24, (2, 12, 24 * days))
        assert climate.daily_mean(hours).shape == (2, 12, days)
        np.testing.assert_allclose(climate.month_mean(climate.daily_mean(hours)), 11.5)
        low, high = climate.daily_extreme(hours)
        assert (low.max(), high.min()) == (0.0, 23.0)
        total = climate.month_sum(hours, climate.hour_weights(days))
        np.testing.assert_allclose(total, np.tile(11.5 * 24 * DAYS, (2, 1)))


def made_hours(demands, **changes):
    parts = demands("greensboro", "heated greenhouse").parts
    return parts, climate.typical_hours(
        replace(parts.climate, **changes), parts.place, parts.weather
    )


def test_shift_moves_the_hours_of_a_file_and_vapour_stays_under_saturation(demands):
    _, cool = made_hours(demands, temperature_shift=np.array([[0.0]]))
    _, warm = made_hours(demands, temperature_shift=np.array([[-5.0], [3.0]]))
    moved = warm.temperature - cool.temperature
    np.testing.assert_allclose(moved[0], -5.0)
    np.testing.assert_allclose(moved[1], 3.0)
    assert np.all(warm.vapour <= air.saturation_pressure(warm.temperature) * (1 + 1e-12))
    np.testing.assert_array_equal(warm.sunshine, cool.sunshine)
    assert np.all(warm.diffuse <= warm.sunshine + 1e-9)


def test_a_sites_own_normals_set_the_level_and_the_file_the_pattern(demands):
    parts, own = made_hours(demands)
    other = {
        "temperature": parts.climate.temperature + 2.0,
        "sunshine": parts.climate.sunshine * 1.1,
        "wind": parts.climate.wind * 0.5,
    }
    _, moved = made_hours(demands, **other)
    np.testing.assert_allclose(moved.temperature, own.temperature + 2.0)
    np.testing.assert_allclose(moved.sunshine, own.sunshine * 1.1)
    np.testing.assert_allclose(moved.diffuse, own.diffuse * 1.1)
    np.testing.assert_allclose(moved.wind, own.wind * 0.5)


def test_rows_computed_from_a_file_give_its_hours_back(demands, years):
    parts, made = made_hours(demands, temperature_shift=np.array([[0.0]]))
    typical = typical_days(years["greensboro"])
    np.testing.assert_allclose(made.temperature, typical["temperature"], atol=1e-9)
    np.testing.assert_allclose(made.sunshine, typical["sunshine"], rtol=1e-9)
    np.testing.assert_allclose(made.wind, typical["wind"], rtol=1e-9)
    capped = np.minimum(typical["vapour"], air.saturation_pressure(typical["temperature"]))
    np.testing.assert_allclose(made.vapour, capped, rtol=1e-9)
    assert parts.weather_year.temperature.shape == (1, 12, 744)


def test_normals_make_wind_and_sun_position_of_the_same_form(demands):
    parts = demands("greensboro", "heated greenhouse").parts
    made = climate.typical_hours(parts.climate, parts.place)
    shape = (1, 12, 72)
    assert made.wind.shape == made.cos_zenith.shape == made.azimuth.shape == shape
    np.testing.assert_array_equal(made.wind, np.broadcast_to(hourly(parts.climate.wind), shape))
    assert np.all(made.sunshine[made.cos_zenith < 0.0] == 0.0)
    assert np.all(made.diffuse <= made.sunshine)
    assert np.all(made.diffuse >= 0.0)


# From here on the house is a black box on typical hours: bands, no pinned demand.

HOUSES = ["heated greenhouse", "heated film house", "closed room"]
STATIONS = ["greensboro", "sand_point"]


@pytest.mark.parametrize("house", HOUSES)
@pytest.mark.parametrize("station", STATIONS)
def test_reduced_demand_lies_within_5_percent_of_the_full_year(demands, errors, station, house):
    made = demands(station, house)
    full = made.full("base")
    assert all(abs(e) <= 0.05 for e in errors(full, made.typical("base")))
    np.testing.assert_allclose(made.scaled("base"), full, rtol=1e-9)


@pytest.mark.parametrize(
    "move",
    [
        "cover loses 30 % less",
        "cover loses 30 % more",
        "set points 30 % lower",
        "set points 30 % higher",
    ],
)
@pytest.mark.parametrize("house", HOUSES)
@pytest.mark.parametrize("station", STATIONS)
def test_scaled_demand_holds_away_from_base(demands, errors, station, house, move):
    made = demands(station, house)
    full = made.full(move)
    assert all(abs(e) <= 0.05 for e in errors(full, made.scaled(move)))


@pytest.mark.parametrize("house", ["heated greenhouse", "heated film house"])
@pytest.mark.parametrize("station", STATIONS)
def test_normals_of_the_same_file_stray_by_a_tenth(demands, errors, station, house):
    # Twelve means and a spread of days know neither clouds nor the tails of a month. The closed
    # room by the sea is left out: its demand is a small difference of lamps and losses.
    made = demands(station, house)
    assert all(abs(e) <= 0.15 for e in errors(made.full("base"), made.normals("base")))


def test_growth_follows_the_full_year_at_base(demands):
    from sitefare.farm.flows import sizes_of  # noqa: PLC0415
    from sitefare.farm.season import season_of  # noqa: PLC0415

    made = demands("greensboro", "heated greenhouse")
    sizes = sizes_of(made.design)
    found = reduction.scaled(season_of(made.parts, sizes), made.design.scale)
    full = season_of(replace(made.parts, weather=made.parts.weather_year), sizes)
    for key, crop in found.crops.items():
        on = crop.growth > 0.0
        np.testing.assert_allclose(crop.growth[on], full.crops[key].growth[on], rtol=1e-9)


def test_what_typical_days_miss_is_added_and_never_blown_up():
    twelve = (0.0,) * 9
    scale = Scale(full=(10.0, 5.0, 2.0, *twelve), reduced=(8.0, 0.0, 4.0, *twelve))
    typical = np.zeros((4, 12))
    typical[:, 0] = [0.0, 4.0, 8.0, 80.0]
    typical[:, 1] = [0.0, 1.0, 0.0, 0.0]
    typical[:, 2] = [0.0, 2.0, 4.0, 40.0]
    found = reduction.brought(typical, scale)
    assert found[:, 0] == pytest.approx([0.0, 5.0, 10.0, 82.0])
    assert found[:, 1] == pytest.approx([5.0, 6.0, 5.0, 5.0])
    assert found[:, 2] == pytest.approx([0.0, 1.0, 2.0, 38.0])
    assert np.all(found >= 0.0)


def test_more_demand_never_becomes_less():
    rng = np.random.default_rng(3)
    for _ in range(50):
        full, reduced = rng.uniform(0, 10, (2, 12)) * (rng.random((2, 12)) > 0.2)
        scale = Scale(tuple(full), tuple(reduced))
        rising = np.linspace(0.0, 20.0, 60)[:, None] * np.ones((1, 12))
        found = reduction.brought(rising, scale)
        assert np.all(np.diff(found, axis=0) >= -1e-12)
        assert np.all(found >= -1e-12)
