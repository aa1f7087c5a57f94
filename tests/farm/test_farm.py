"""The farm as a whole: balances, directions, scale, and draws against one draw."""

import dataclasses

import numpy as np
import pytest

from sitefare.errors import DesignError
from sitefare.farm import climate, crops, nutrients, parts, season
from sitefare.farm.design import size_farm
from sitefare.farm.fish import FishPath
from sitefare.farm.flows import farm_flows, sizes_of
from sitefare.timeline import Timeline


def arrays_of(flows):
    for field in dataclasses.fields(flows):
        found = getattr(flows, field.name)
        if isinstance(found, np.ndarray):
            yield field.name, found
        elif isinstance(found, dict):
            yield from ((f"{field.name}.{k}", x) for k, x in found.items())


def year(flow):
    return float(np.sum(flow[0, -12:]))


@pytest.mark.parametrize("site", ["hot_dry", "cold", "city"])
@pytest.mark.parametrize("draws", [1, 7, 12, 24, 73])
def test_a_draw_among_many_equals_the_draw_alone(site, draws, drawn, site_values, timeline):
    assert timeline.months + 1 == 73
    design = size_farm(site_values(site), 300.0)
    values = drawn(site, draws)
    many = dict(arrays_of(farm_flows(values, design, timeline)))
    row = draws - 1
    alone = {
        n: v if isinstance(v, str) else v[min(row, len(v) - 1)][None, :] for n, v in values.items()
    }
    for name, one in arrays_of(farm_flows(alone, design, timeline)):
        each = many[name][min(row, len(many[name]) - 1)]
        assert np.max(np.abs(each - one[0])) <= 1e-12 * max(1.0, np.max(np.abs(one))), name


@pytest.mark.parametrize("site", ["hot_dry", "cold", "city"])
def test_flows_have_the_shape_of_the_life_and_are_finite(site, site_values, timeline):
    values = site_values(site)
    flows = farm_flows(values, size_farm(values, 200.0), timeline)
    for name, x in arrays_of(flows):
        assert x.shape == ((1, 12) if name.startswith("season.") and x.shape[1] == 12 else x.shape)
        assert np.all(np.isfinite(x)), name
        if not name.startswith("season."):
            assert x.shape[1] in (1, timeline.months + 1), name
            assert np.all(x >= -1e-9), name


def test_doubled_beds_double_the_flows(site_values, timeline):
    values = site_values("cold", farm_design__tank_volume_largest=500.0)
    small, large = size_farm(values, 300.0), size_farm(values, 600.0)
    assert small.tank_count == large.tank_count
    one, two = farm_flows(values, small, timeline), farm_flows(values, large, timeline)
    power = year(two.electricity_total_kwh) / year(one.electricity_total_kwh)
    assert 1.96 < power < 2.0  # a larger pump is better, a longer main loses a little more
    for name in ("feed_kg", "fish_live_kg", "water_makeup_m3"):
        assert year(getattr(two, name)) == pytest.approx(2 * year(getattr(one, name)), rel=1e-9)
    for key, kilograms in one.crop_kg.items():
        assert year(two.crop_kg[key]) == pytest.approx(2 * year(kilograms), rel=1e-9)


@pytest.mark.parametrize("site", ["cold", "city"])
def test_a_colder_place_takes_more_heat(site, site_values, timeline):
    mild = site_values(site, climate__temperature_shift=0.0)
    cold = site_values(site, climate__temperature_shift=-3.0)
    design = size_farm(site_values(site, place__design_temperature_low=-30.0), 300.0)
    heat = [
        farm_flows(v, design, timeline).season["air_heating_kwh"].sum()
        + farm_flows(v, design, timeline).season["water_heating_kwh"].sum()
        for v in (mild, cold)
    ]
    assert heat[1] > heat[0]


def test_more_light_never_grows_less(site_values):
    made = parts.parts_of(site_values("cold"))
    light = np.linspace(0.0, 60.0, 200)[None, :]
    for crop, _ in made.crops.values():
        grown = np.diff(crops.light_response(light, crop))
        assert np.all(grown >= 0.0)
        assert np.all(grown[light[:, 1:] <= crop.light_most[0, 0]] > 0.0)


def test_slower_growth_brings_the_first_fish_later(site_values, timeline):
    values = site_values("cold")
    design = size_farm(values, 300.0)
    slow = values | {"species.tilapia.growth": values["species.tilapia.growth"] * 0.6}
    first = [
        int(np.argmax(farm_flows(v, design, timeline).fish_live_kg[0] > 0.0))
        for v in (values, slow)
    ]
    assert first[0] < first[1]


def test_an_element_that_comes_with_feed_leaves_by_named_ways():
    feed = np.array([[10.0, 0.0, 4.0]])
    found = nutrients.element_balance(
        feed,
        feed * 0.3,
        np.array([[0.17]]),
        np.array([[0.3]]),
        np.array([[1.0, 1.0, 9.0]]),
        np.array([[2.0]]),
    )
    out = found.fish + found.solids + found.gas + found.plants + found.exchange + found.stored
    assert out == pytest.approx(found.feed)
    assert np.all(found.exchange >= -1e-12)
    assert found.plants[0, 1] == pytest.approx(1.0)  # the stock feeds a month without feed
    assert np.all(found.plants <= found.demand)


def test_hungry_plants_are_held_back(site_values):
    species = parts.parts_of(site_values("cold")).species
    rules = parts.parts_of(site_values("cold")).nutrients
    feed = np.full((1, 2), 10.0)
    path = FishPath(feed, feed / 1.6, feed, feed, feed, feed * 0.0)
    demand = {"nitrogen": np.array([[0.01, 10.0]]), "phosphorus": np.array([[0.001, 0.001]])}
    shares = nutrients.fed_share(nutrients.nutrient_balances(rules, species, path, demand, 0.0))
    assert shares[0, 0] == pytest.approx(1.0)
    assert shares[0, 1] < 0.1


def test_water_in_equals_water_out(site_values, timeline):
    values = site_values("cold")
    design = size_farm(values, 300.0)
    flows = farm_flows(values, design, timeline)
    made = parts.parts_of(values)
    running = timeline.running[0]
    crop = sum(flows.crop_kg.values())
    days = climate.DAYS[timeline.calendar]
    out = (
        timeline.life(flows.season["evaporated_m3"] + flows.season["pad_water_m3"]) * running
        + flows.discharge_m3
        + flows.sludge_m3
        + crop * (made.water.crop_water + made.water.wash) / 1000.0
        + made.water.leak * design.water_volume * days * running
        + design.water_volume * np.diff(running, prepend=0.0)
    )
    assert flows.water_makeup_m3 + flows.rain_m3 == pytest.approx(out, rel=1e-9)


def test_supply_covers_the_load_where_there_are_no_outages(site_values, timeline):
    values = site_values(
        "cold", supply__outage_share=0.0, supply__solar_share=0.4, supply__battery_hours=8.0
    )
    flows = farm_flows(values, size_farm(values, 300.0), timeline)
    given = flows.pv_kwh + flows.grid_kwh + flows.generator_kwh
    assert given == pytest.approx(flows.electricity_total_kwh, rel=1e-12)
    assert 0.2 < year(flows.pv_kwh) / year(flows.electricity_total_kwh) <= 0.4


def test_typical_hours_keep_the_month(site_values):
    made = parts.parts_of(site_values("cold", climate__temperature_shift=0.0))
    hours = climate.typical_hours(made.climate, made.place)
    month = climate.DAYS * 24.0
    assert hours.weights.sum(axis=1) == pytest.approx(month)
    mean = climate.month_sum(hours.temperature, hours.weights) / month
    assert mean == pytest.approx(made.climate.temperature)
    sun = climate.month_sum(hours.sunshine, hours.weights) / climate.DAYS * 0.0036
    assert sun == pytest.approx(made.climate.sunshine)


def test_heated_house_holds_its_set_point(site_values):
    values = site_values("cold")
    made = parts.parts_of(values)
    found = season.season_of(made, sizes_of(size_farm(values, 300.0)))
    assert found.indoor.min() > float(made.rules.night_set_point[0, 0])
    assert found.air_heat[0, 0] > found.air_heat[0, 6]


def test_events_take_their_share(site_values, timeline):
    values = site_values("cold")
    design = size_farm(values, 300.0)
    calm = values | {f"occurrence.{k}": np.zeros((1, 73)) for k in ("fish_kill", "storm")}
    lost = calm | {"occurrence.fish_kill": np.ones((1, 73))}
    fish = [year(farm_flows(v, design, timeline).fish_live_kg) for v in (calm, lost)]
    assert fish[1] == pytest.approx(fish[0] * (1.0 - 0.35))


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"life_support__response_time": 90.0}, "help comes after 90"),
        ({"source_water__conductivity": 4.0}, "saltier than the plan's crops bear"),
        ({"plan__lettuce__share": 0.9}, "shares of bed add to 1.7"),
        ({"farm_design__species": "trout", "farm_design__heated_water": "yes"}, ""),
        (
            {"farm_design__species": "trout", "crop__lettuce__temperature_least": 21.0},
            "Lettuce stands with its roots in the fish's water",
        ),
        (
            {"farm_design__heated_water": "no", "farm_design__heated_air": "no"},
            "heat the water|lives",
        ),
    ],
    ids=["help too far", "salt", "plan", "trout grows", "roots", "cold water"],
)
def test_a_farm_that_cannot_live_is_refused(changes, text, site_values):
    values = site_values("cold", **changes)
    if not text:
        assert size_farm(values, 300.0).species == "trout"
        return
    with pytest.raises(DesignError, match=text):
        size_farm(values, 300.0)


def test_density_is_held_to_the_back_up_class(site_values):
    design = size_farm(site_values("cold", farm_design__density=45.0), 300.0)
    assert "cap of back-up class media_only" in " ".join(design.limits)
    assert design.life_support_minutes == pytest.approx(60 * 4 / (20 * 0.4))


def test_whole_posts_are_never_under_two_trained_people(site_values):
    values = site_values("hot_dry")
    flows = farm_flows(values, size_farm(values, 20.0), Timeline(2027, 1, 3, 2))
    assert flows.workers["manager"][0, -1] + flows.workers["technician"][0, -1] >= 2
    assert np.all(flows.workers["worker"][0, 1:3] == 0.0)


@pytest.mark.parametrize("bed", ["media", "raft", "channel"])
@pytest.mark.parametrize("species", ["tilapia", "catfish", "carp", "trout"])
def test_every_fish_and_bed_makes_a_farm(bed, species, site_values):
    values = site_values("cold", farm_design__bed=bed, farm_design__species=species)
    design = size_farm(values, 300.0)
    assert design.drivers["fish_year"] > 100
    assert design.drivers["crop_year"] > 1000


@pytest.mark.parametrize(
    "house",
    ["open", "shade_net", "single_film", "double_film", "polycarbonate", "warehouse", "basement"],
)
@pytest.mark.parametrize("cooling", ["vents", "pad_and_fan", "mechanical"])
def test_every_house_makes_a_farm(house, cooling, site_values):
    values = site_values(
        "hot_dry",
        farm_design__enclosure=house,
        farm_design__cooling=cooling,
        farm_design__heated_water="yes",
        farm_design__lamps="yes",
        species__tilapia__lethal_high=45.0,
        life_support__response_time=8.0,
    )
    design = size_farm(values, 300.0)
    flows = farm_flows(values, design, Timeline(2027, 1, 3, 2))
    assert year(flows.electricity_total_kwh) > 0.0
    cooled = flows.season["cooling_kwh"].sum() > 0.0
    assert cooled == (cooling == "mechanical" and house not in {"open", "shade_net"})
