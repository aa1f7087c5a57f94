"""The house by the hour and the water by the month: balances close, and directions hold."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.arrays import DAYS, hourly, value
from sitefare.farm import air, climate, enclosure, house_balance, indoors, machines, parts, season
from sitefare.farm.design import size_farm
from sitefare.farm.enclosure import Capacity, HouseChoices
from sitefare.farm.flows import farm_flows
from sitefare.farm.season import Sizes
from sitefare.timeline import Timeline

SITES = Path(__file__).parent / "sites"
SIZES = Sizes(300.0, 550.0, 60.0, flow=60.0)
EXAMPLES = settings(max_examples=40, deadline=None, derandomize=True)


@pytest.fixture(scope="session")
def case_of(folder_values):
    """Return a site's house as a bundle, some of its rows changed."""
    held = {name: folder_values(SITES / name) for name in ("cold", "city", "hot_dry")}

    def make(site, sizes=SIZES, lamps=0.0, **changes):
        found = dict(held[site])
        for name, x in changes.items():
            found[name.replace("__", ".")] = x if isinstance(x, str) else value(x)
        made = parts.parts_of(found)
        hours = climate.typical_hours(made.climate, made.place)
        return season.indoors_of(made, sizes, hours, np.full((1, 12), lamps))

    return make


def moved(case, shift, humidity=None):
    """Return a case in colder or warmer air of the same relative humidity."""
    hours = case.hours
    kept = hours.vapour / air.saturation_pressure(hours.temperature)
    warm = hours.temperature + shift
    moist = (kept if humidity is None else humidity) * air.saturation_pressure(warm)
    moist = np.minimum(moist, air.saturation_pressure(warm))
    changed = replace(hours, temperature=warm, vapour=moist, ground=hours.ground + shift)
    return replace(case, hours=changed)


def sensible(case, found):
    """Return what is left of each hour's dry heat, term by term from the drawing board. [W/m2]"""
    house, rules, hours = case.house, case.rules, case.hours
    cover = hourly(house.cover_u * house.cover_ratio)
    cover = np.where(hours.sunshine > 0.0, cover, cover * (1.0 - hourly(house.screen_saving)))
    leak = hourly(enclosure.air_conductance(house.air_changes * house.height, hours.atmosphere))
    out = (cover + leak + found.vent) * (found.temperature - hours.temperature)
    ground = hourly(house.ground_u) * (found.temperature - hourly(hours.ground))
    sun = hours.sunshine.reshape(1, 12, -1, 24)
    stored = np.repeat(sun.mean(axis=3), 24, axis=2) * hourly(rules.stored_sun)
    light = hourly(rules.solar_gain) * hours.sunshine + stored
    light = hourly(house.transmittance) * light + case.lamps
    film = np.minimum(house.cover_u / house_balance.INNER_FILM, house_balance.MOST_FILM)
    back = (1.0 - hourly(film)) * found.condensed
    gains = light + found.heated + found.warmed + back + found.dried + found.drying_power
    gains = gains + found.misted
    taken = found.transpired + found.padded + found.chilled - found.coiled
    return gains - out - ground - taken


def latent(case, found):
    """Return what is left of each hour's vapour. [W/m2]"""
    house, hours = case.house, case.hours
    leak = hourly(enclosure.air_conductance(house.air_changes * house.height, hours.atmosphere))
    gamma = hourly(air.psychrometric_constant(hours.atmosphere))
    out = (leak + found.vent) / gamma * (found.vapour - hours.vapour)
    came = found.transpired + found.evaporated + found.padded
    return came - out - found.condensed - found.misted - found.dried - found.coiled


houses = st.fixed_dictionaries(
    {
        "site": st.sampled_from(["cold", "city", "hot_dry"]),
        "house": st.sampled_from(["single_film", "polycarbonate", "warehouse", "basement"]),
        "cooling": st.sampled_from(["vents", "pad_and_fan", "mechanical"]),
        "air": st.sampled_from(["yes", "no"]),
        "water": st.sampled_from(["yes", "no"]),
        "lamps": st.sampled_from([0.0, 20.0, 60.0]),
        "capacity": st.sampled_from([0.0, 15.0, 60.0, np.inf]),
        "heater": st.sampled_from([2.0, 15.0, np.inf]),
        "shift": st.floats(-15.0, 10.0),
        "humidity": st.floats(0.1, 1.0),
    }
)


def heated_alone(case_of, drawn):
    """Return a house whose heating answers to its cover alone.

    Its heater is never short, its water is held at 34 degC, and humidity is let go: a screen or a
    mild wet night may ask more airing. With humidity held the claims are of a site's year.
    """
    drawn = drawn | {"air": "yes", "capacity": np.inf}
    case = built(case_of, drawn, house__humidity_limit=1.0)
    held = replace(case.pool, target=value(34.0), heater=np.inf)
    return replace(case, pool=held)


def built(case_of, drawn, **changes):
    sizes = replace(SIZES, water_heater=drawn["heater"])
    case = case_of(
        drawn["site"], sizes, drawn["lamps"],
        farm_design__enclosure=drawn["house"], farm_design__cooling=drawn["cooling"],
        farm_design__heated_air=drawn["air"], farm_design__heated_water=drawn["water"], **changes,
    )  # fmt: skip
    most = drawn["capacity"]
    case = replace(case, capacity=Capacity(most, most, most / 3.0))
    return moved(case, drawn["shift"], drawn["humidity"])


@EXAMPLES
@given(drawn=houses)
def test_heat_and_moisture_close_in_each_hour(case_of, drawn):
    case = built(case_of, drawn)
    found = indoors.indoor_climate(case)
    scale = 1.0 + np.abs(case.hours.sunshine) + np.abs(found.transpired) + np.abs(found.padded)
    assert np.max(np.abs(sensible(case, found)) / scale) < 1e-9
    assert np.max(np.abs(latent(case, found)) / scale) < 1e-9
    assert np.all(np.isfinite(found.temperature))
    for flow in ("heated", "chilled", "coiled", "dried", "padded", "vent", "fan_hours"):
        assert np.all(getattr(found, flow) >= 0.0), flow


@EXAMPLES
@given(drawn=houses)
def test_heat_closes_for_the_water_and_between_water_and_house(case_of, drawn):
    case = built(case_of, drawn)
    found = indoors.indoor_climate(case)
    water, hours = found.water, DAYS * 24.0
    flows = (water.heater, water.air, water.evaporation, water.ground, water.renewal, water.gain)
    assert np.max(np.abs(sum(flows))) < 1e-9
    given_heat = climate.month_sum(found.warmed, case.hours.weights) / hours
    given_vapour = climate.month_sum(found.evaporated, case.hours.weights) / hours
    assert given_heat == pytest.approx(-water.air, abs=1e-9)
    assert given_vapour == pytest.approx(-water.evaporation, abs=1e-9)
    assert np.all(water.heater <= drawn["heater"] * (1.0 + 1e-9))
    if drawn["water"] == "yes":
        short = water.temperature < case.pool.target - 1e-6
        assert np.all(water.heater[short] == pytest.approx(drawn["heater"], rel=1e-6))


@EXAMPLES
@given(drawn=houses, colder=st.floats(0.1, 10.0))
def test_more_cold_never_needs_less_heat(case_of, drawn, colder):
    case = heated_alone(case_of, drawn)
    mild, cold = indoors.indoor_climate(case), indoors.indoor_climate(moved(case, -colder))
    assert np.all(cold.heating >= mild.heating - 1e-9)


@pytest.mark.parametrize("house", ["single_film", "double_film", "polycarbonate"])
def test_a_colder_year_needs_more_heat_with_humidity_held(case_of, house):
    case = case_of("cold", farm_design__enclosure=house)
    heat = [indoors.indoor_climate(moved(case, shift)) for shift in (2.0, 0.0, -2.0, -6.0)]
    assert np.all(np.diff([float(x.heating.sum()) for x in heat]) > 0.0)
    assert np.all(np.diff([float(x.water.heater.sum()) for x in heat]) > -1e-9)


@EXAMPLES
@given(drawn=houses, more=st.floats(1.01, 2.0))
def test_more_cover_loss_never_needs_less_heat(case_of, drawn, more):
    case = heated_alone(case_of, drawn)
    lossy = replace(case, house=replace(case.house, cover_u=case.house.cover_u * more))
    least = indoors.indoor_climate(case)
    assert np.all(indoors.indoor_climate(lossy).heating >= least.heating - 1e-9)


@EXAMPLES
@given(drawn=houses, saving=st.floats(0.05, 0.8))
def test_a_screen_never_increases_heating(case_of, drawn, saving):
    case = heated_alone(case_of, drawn)
    bare = replace(case, house=replace(case.house, screen_saving=value(0.0)))
    screened = replace(case, house=replace(case.house, screen_saving=value(saving)))
    with_screen = indoors.indoor_climate(screened).heating
    assert np.all(with_screen <= indoors.indoor_climate(bare).heating + 1e-9)


def test_a_screen_saves_heat_with_humidity_held(case_of):
    bare = indoors.indoor_climate(case_of("cold", enclosure__double_film__screen_saving=0.0))
    screened = indoors.indoor_climate(case_of("cold", enclosure__double_film__screen_saving=0.4))
    assert np.all(screened.heating <= bare.heating)
    assert screened.heating.sum() < 0.9 * bare.heating.sum()


@EXAMPLES
@given(drawn=houses)
def test_enough_machines_hold_their_set_points(case_of, drawn):
    drawn = drawn | {"air": "yes", "capacity": np.inf, "heater": np.inf, "water": "yes"}
    case = built(case_of, drawn)
    found = indoors.indoor_climate(case)
    assert np.all(found.temperature >= float(case.rules.night_set_point[0, 0]) - 1e-9)
    assert np.all(found.water.temperature >= case.pool.target - 1e-9)
    if drawn["cooling"] == "mechanical":
        sealed = case.house.air == "closed"
        most = case.rules.vent_set_point if sealed else case.rules.cooling_set_point
        assert np.all(found.temperature <= float(most[0, 0]) + 1e-9)


def test_a_closed_room_keeps_its_humidity_limit(case_of):
    # The limit is held along the last pass's straight line: within three points.
    found = indoors.indoor_climate(case_of("city", lamps=60.0))
    humidity = found.vapour / air.saturation_pressure(found.temperature)
    assert humidity.max() < 0.85 + 0.03
    assert found.drying_power.max() > 0.0


def test_air_hardly_passes_saturation(case_of):
    # Warm tanks in a freezing house steam; what the air cannot hold settles. Two points for the
    # last pass's straight line.
    found = indoors.indoor_climate(moved(case_of("cold", farm_design__heated_air="no"), -15.0))
    humidity = found.vapour / air.saturation_pressure(found.temperature)
    assert found.misted.max() > 0.0
    assert humidity.max() < 1.02


def test_humidity_held_by_airing_costs_heat(case_of):
    held = indoors.indoor_climate(case_of("cold", house__humidity_limit=0.75))
    free = indoors.indoor_climate(case_of("cold", house__humidity_limit=1.0))
    assert held.heating.sum() > 1.02 * free.heating.sum()


def test_nights_without_lamps_hardly_transpire(case_of):
    # Stomata eight times closed still let some vapour by: an eighth of a bright hour at most.
    case = case_of("cold")
    found, dark = indoors.indoor_climate(case), case.hours.sunshine <= 0.0
    given_off = np.where(dark, found.transpired, 0.0).max(axis=2)
    assert np.all(given_off[0, 4:8] < 0.125 * found.transpired.max(axis=2)[0, 4:8])


def test_doubled_areas_double_flows(folder_values):
    # Mains grow with the house's width: their friction, which warms the water, is left out.
    values = folder_values(SITES / "cold") | {"pumping.pipe_length": value(0.0)}
    made = parts.parts_of(values)
    twice = Sizes(600.0, 1100.0, 120.0, flow=120.0)
    one, two = season.season_of(made, SIZES), season.season_of(made, twice)
    for name in ("air_heat", "water_heat", "evaporated", "pad_water", "fan_air"):
        assert getattr(two, name) == pytest.approx(2.0 * getattr(one, name), rel=1e-12), name


def test_a_house_with_no_machines_floats_between_weather_and_sun(case_of):
    case = case_of("cold", farm_design__heated_air="no", farm_design__heated_water="no")
    found = indoors.indoor_climate(case)
    assert found.heating.sum() == found.water.heater.sum() == 0.0
    assert found.temperature.min() > case.hours.temperature.min()
    assert found.temperature.min() < float(case.rules.night_set_point[0, 0]) - 5.0


def test_a_small_water_heater_leaves_the_water_cooler(case_of):
    small = indoors.indoor_climate(case_of("cold", replace(SIZES, water_heater=8.0)))
    assert small.water.temperature.min() < 20.0
    assert small.water.heater.max() == pytest.approx(8.0, rel=1e-9)


def test_a_closed_room_turns_light_into_vapour_and_cold(case_of):
    case = case_of("city", lamps=60.0)
    assert case.choices == HouseChoices(heated=False, cooling="mechanical")
    found = indoors.indoor_climate(case)
    lamps = climate.month_sum(case.lamps, case.hours.weights).sum()
    vapour = climate.month_sum(found.transpired, case.hours.weights).sum()
    assert 0.4 < vapour / lamps < 0.9


def test_any_number_of_hours_goes_through(case_of):
    case = case_of("cold")
    hours = case.hours

    def twice(x):
        return np.concatenate([x, x], axis=2)

    doubled = replace(
        hours,
        temperature=twice(hours.temperature),
        vapour=twice(hours.vapour),
        sunshine=twice(hours.sunshine),
        weights=np.concatenate([hours.weights, hours.weights], axis=1) / 2.0,
    )
    found = indoors.indoor_climate(replace(case, hours=doubled, lamps=twice(case.lamps)))
    once = indoors.indoor_climate(case)
    assert found.heating == pytest.approx(once.heating, rel=1e-12)
    assert found.water.temperature == pytest.approx(once.water.temperature, rel=1e-12)


def test_the_bill_for_warm_water_is_the_heat_delivered(folder_values):
    values = folder_values(SITES / "cold") | {"energy.heat_source": "electric"}
    design = size_farm(values, 300.0)
    line = Timeline(2027, 1, 3, 0)
    flows = farm_flows(values, design, line)
    billed = flows.electricity_kwh["water_heating"][0, -12:]
    given_off = line.life(flows.season["water_heating_kwh"])[0, -12:]
    assert billed == pytest.approx(given_off, rel=1e-12)
    assert np.all(given_off <= design.drivers["water_heater_power"] * 24.0 * 31.0)


def test_a_cold_spell_past_the_water_heater_cools_the_fish_and_is_noted(folder_values):
    values = folder_values(SITES / "cold")
    design = size_farm(values, 300.0)
    small = replace(design, drivers={**design.drivers, "water_heater_power": 3.0})
    flows = farm_flows(values, small, Timeline(2027, 1, 3, 0))
    full = farm_flows(values, design, Timeline(2027, 1, 3, 0))
    assert flows.season["water_temperature"].min() < full.season["water_temperature"].min() - 2.0
    assert flows.feed_kg.sum() < full.feed_kg.sum()
    assert any("water heater cannot hold" in note for note in flows.notes)


def test_hours_of_load_are_kept_for_the_year(folder_values):
    made = parts.parts_of(folder_values(SITES / "city"))
    found = season.season_of(made, SIZES)
    for name in ("heated", "chilled", "drying_power", "fan_hours"):
        assert found.house.hours[name].shape == (1, 12, 72), name
    power = climate.month_sum(found.house.hours["drying_power"], climate.hour_weights())
    assert power.sum() / 1000 == pytest.approx(found.drying.sum() / SIZES.covered_area)


@pytest.mark.parametrize("enclosed", ["single_film", "double_film", "warehouse"])
def test_a_water_heater_meets_the_air_that_an_unheated_house_keeps(enclosed, folder_values):
    values = folder_values(SITES / "cold") | {
        "farm_design.heated_air": "no",
        "farm_design.heated_water": "yes",
        "farm_design.enclosure": enclosed,
        "farm_design.lamps": "yes",
    }
    design, made = size_farm(values, 300.0), parts.parts_of(values)
    outside, held = (
        float(x[0, 0]) for x in (made.place.design_temperature_low, made.species.water_target)
    )
    assert outside < design.drivers["indoor_low"] < held
    # The months that it then meets leave the fish their temperature.
    year = farm_flows(values, design, Timeline(2027, 1, 3, 0)).season["water_temperature"]
    assert year.min() == pytest.approx(held, abs=0.05)


def test_an_unheated_house_floats_where_its_heat_balances(folder_values):
    values = folder_values(SITES / "cold") | {"farm_design.heated_air": "no"}
    made = parts.parts_of(values | {"farm_design.heated_water": "no"})
    found = season.season_of(made, SIZES)
    low = float(made.place.design_temperature_low[0, 0])
    inside = machines.indoor_low(made, found, SIZES)
    cover = float(enclosure.cover_conductance(made.house, found.atmosphere)[0, 0])
    month = int(np.argmin(found.outdoor[0]))
    floor = float(made.house.ground_u[0, 0]) * (float(found.ground[0, month]) - inside)
    assert cover * (inside - low) == pytest.approx(floor)
    warm = machines.indoor_low(parts.parts_of(values), found, SIZES)
    assert warm > inside
    outdoors = parts.parts_of(values | {"farm_design.enclosure": "open"})
    assert machines.indoor_low(outdoors, found, SIZES) == low
