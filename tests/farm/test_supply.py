"""Sun, battery, grid, generator and outages; lifting, heat pump, cold store and work."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.arrays import value
from sitefare.errors import DesignError
from sitefare.farm import (
    climate,
    dispatch,
    energy,
    events,
    machines,
    parts,
    power,
    pumping,
    solar,
    supply,
)
from sitefare.farm.design import size_farm
from sitefare.farm.dispatch import Battery
from sitefare.farm.flows import farm_flows
from sitefare.timeline import Timeline

WEIGHTS = climate.hour_weights()


def year(flow):
    return float(np.sum(np.broadcast_to(flow, (1, max(flow.shape[1], 12)))[0, -12:]))


def days(seed, draws):
    rng = np.random.default_rng(seed)
    load = rng.uniform(0.0, 5.0, (draws, 12, 72))
    sun = np.maximum(np.cos((np.arange(72) % 24 - 12) / 4.0), 0.0)
    return load, rng.uniform(0.0, 12.0, (draws, 12, 1)) * sun


battery = st.builds(
    Battery,
    store=st.floats(0.0, 200.0),
    power=st.floats(0.1, 100.0),
    efficiency=st.floats(0.5, 1.0).map(value),
)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000), battery=battery)
def test_every_kilowatt_hour_of_load_and_sun_is_found(seed, battery):
    found = dispatch.dispatched(*days(seed, 2), battery, WEIGHTS)
    assert found.direct + found.battery + found.rest == pytest.approx(found.load)
    used = found.direct + found.battery + found.lost + found.spilled
    assert used == pytest.approx(found.made)
    for flow in (found.direct, found.battery, found.rest, found.spilled, found.lost):
        assert flow.min() > -1e-9
    # A steady day gives back what it took in, less the round trip's loss.
    taken = found.battery + found.lost
    assert found.battery == pytest.approx(taken * battery.efficiency)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000), battery=battery, more=st.floats(1.0, 3.0))
def test_a_larger_battery_never_serves_less(seed, battery, more):
    larger = Battery(battery.store * more, battery.power * more, battery.efficiency)
    small, large = (dispatch.dispatched(*days(seed, 1), b, WEIGHTS) for b in (battery, larger))
    assert np.all(large.battery >= small.battery - 1e-9)


@pytest.mark.parametrize("draws", [1, 7, 12, 24, 73])
def test_a_draw_among_many_is_dispatched_as_alone(draws):
    load, made = days(3, draws)
    battery = Battery(20.0, 6.0, np.linspace(0.7, 0.95, draws)[:, None])
    many = dispatch.dispatched(load, made, battery, WEIGHTS)
    row = draws - 1
    alone = dispatch.dispatched(
        load[row:], made[row:], Battery(20.0, 6.0, battery.efficiency[row:]), WEIGHTS
    )
    for name in ("direct", "battery", "rest", "spilled", "rest_hours"):
        assert np.array_equal(getattr(many, name)[row], getattr(alone, name)[0]), name


def test_a_day_worked_by_hand():
    # 1 kW all day; 6 kW of sun for 6 hours makes 36 kWh: 6 at once, 30 over. A lossless battery of
    # 10 kWh gives 10 of the 18 asked by night; 20 are spilled.
    load = np.ones((1, 12, 72))
    made = np.tile(np.where((np.arange(24) >= 9) & (np.arange(24) < 15), 6.0, 0.0), 3)
    found = dispatch.dispatched(load, made[None, None, :], Battery(10.0, 50.0, value(1.0)), WEIGHTS)
    each = climate.DAYS
    assert found.direct[0] == pytest.approx(6 * each)
    assert found.battery[0] == pytest.approx(10 * each)
    assert found.rest[0] == pytest.approx(8 * each)
    assert found.spilled[0] == pytest.approx(20 * each)
    assert found.rest_hours[0] == pytest.approx(8 / 24)


RULES = st.fixed_dictionaries(
    {
        "main": st.sampled_from(["grid", "generator"]),
        "standby": st.sampled_from(["generator", "none"]),
        "outage_share": st.floats(0.0, 1.0).map(value),
        "outage_hours": st.floats(0.1, 200.0).map(value),
        "critical_share": st.floats(0.0, 1.0).map(value),
        "battery_rate": st.floats(0.05, 4.0).map(value),
        "battery_efficiency": st.floats(0.5, 1.0).map(value),
    }
)


@settings(max_examples=100, deadline=None)
@given(
    rules=RULES,
    load=st.floats(0.0, 1e5),
    vital=st.floats(0.0, 1.0),
    share=st.floats(0.0, 1.0),
    rated=st.floats(0.0, 300.0),
    battery=st.floats(0.0, 500.0),
)
def test_the_load_is_served_or_said_to_be_unserved(rules, load, vital, share, rated, battery):
    made = SimpleNamespace(
        **rules, fuel_use=value(0.25), fuel_idle=value(0.08),
        grid_emissions=value(0.4), fuel_emissions=value(2.7),
    )  # fmt: skip
    month = value(load)
    asked = supply.Asked(
        month, month * vital, value(share), value(1.0 - share), month * share, value(730.0)
    )
    found = supply.supplied(made, asked, rated, battery)
    served = found.solar + found.grid + found.generator + found.unserved
    assert served[0, 0] == pytest.approx(load, abs=1e-6)
    for flow in (found.solar, found.grid, found.generator, found.fuel, found.unserved):
        assert flow.min() > -1e-9


@pytest.mark.parametrize("main", ["grid", "generator"])
@pytest.mark.parametrize("share", [0.0, 0.4])
@pytest.mark.parametrize("hours", [0.0, 12.0])
def test_each_mix_carries_the_farm(main, share, hours, site_values, timeline):
    values = site_values(
        "cold", supply__main=main, supply__solar_share=share, supply__battery_hours=hours
    )
    design = size_farm(values, 300.0)
    flows = farm_flows(values, design, timeline)
    served = flows.pv_kwh + flows.grid_kwh + flows.generator_kwh
    assert np.all(served <= flows.electricity_total_kwh * (1 + 1e-9) + 1e-9)
    vital = sum(flows.electricity_kwh[k] for k in ("pumping", "aeration", "controls", "cold_store"))
    assert np.all(served >= vital - 1e-6)
    assert (year(flows.pv_kwh) > 0) == (share > 0)
    assert (year(flows.grid_kwh) > 0) == (main == "grid")
    assert any("Electricity comes from" in said for said in design.limits)


def test_the_hours_deliver_less_than_the_year_asks_and_say_so(site_values, timeline):
    asked = {"supply__solar_share": 0.8, "supply__outage_share": 0.0}
    bare, stored = (
        farm_flows(v, size_farm(v, 300.0), timeline)
        for v in (site_values("cold", **asked, supply__battery_hours=h) for h in (0.0, 10.0))
    )
    shares = [year(f.pv_kwh) / year(f.electricity_total_kwh) for f in (bare, stored)]
    assert shares[0] < shares[1] < 0.8
    assert any("hour by hour, delivers" in note for note in stored.notes)
    # The last year of the flows is the year that the hours were laid out for.
    found = stored.season["solar_direct_kwh"] + stored.season["solar_battery_kwh"]
    assert year(stored.pv_kwh) == pytest.approx(float(found.sum()), rel=1e-9)


def test_fish_that_nothing_carries_through_an_outage_are_refused(site_values):
    bare = {"supply__standby": "none", "supply__outage_share": 0.01, "supply__outage_hours": 8.0}
    with pytest.raises(DesignError, match=r"a usual outage lasts 8 h.*supply\.standby"):
        size_farm(site_values("cold", **bare), 300.0)
    held = size_farm(site_values("cold", **bare, life_support__reserve=600.0), 300.0)
    assert any("at risk in the longest" in said for said in held.limits)
    assert held.drivers["generator_power"] == 0.0
    stored = size_farm(site_values("cold", **bare, supply__battery_hours=24.0), 300.0)
    assert stored.drivers["battery_energy"] > 8 * stored.drivers["vital_power"]


def test_fuel_lasts_the_longest_outage(site_values):
    short, long = (
        size_farm(
            site_values("cold", supply__outage_share=0.01, supply__outage_longest=h), 300.0
        ).drivers
        for h in (12.0, 48.0)
    )
    assert long["fuel_store"] == pytest.approx(4 * short["fuel_store"])
    rated = short["generator_power"]
    assert short["fuel_store"] == pytest.approx(rated * 12 * (0.25 + 0.08))


def test_an_array_faces_the_equator(site_values):
    made = parts.parts_of(site_values("cold"))
    hours = power.weather_hours(made)
    north = solar.hourly_yield(made.solar, value(35.0), hours)
    # The same weather half a year later in the south: the sun's path mirrors but for its distance.
    weather = ("sunshine", "diffuse", "temperature", "wind")
    turned = SimpleNamespace(**{k: np.roll(getattr(hours, k), 6, axis=1) for k in weather})
    south = solar.hourly_yield(made.solar, value(-35.0), turned)
    a, b = ((x * WEIGHTS).sum() for x in (north, south))
    assert b == pytest.approx(a, rel=0.03)


def test_an_air_lift_lifts_little(site_values, timeline):
    with pytest.raises(DesignError, match=r"an air-lift in 1\.6 m of water"):
        size_farm(site_values("cold", farm_design__lifting="air_lift"), 300.0)
    low = {"pumping__lift": 0.25, "pumping__velocity": 0.4}
    lifted = size_farm(site_values("cold", farm_design__lifting="air_lift", **low), 300.0)
    pumped = size_farm(site_values("cold", **low), 300.0)
    assert lifted.drivers["pump_head"] == pytest.approx(pumped.drivers["pump_head"])
    assert lifted.drivers["pump_power"] > 0.0
    flows = farm_flows(
        site_values("cold", farm_design__lifting="air_lift", **low), lifted, timeline
    )
    hours = 24.0 * climate.DAYS[timeline.calendar[-1]]
    assert flows.electricity_kwh["pumping"][0, -1] == pytest.approx(
        lifted.drivers["pump_power"] * hours
    )


@settings(max_examples=40, deadline=None)
@given(flow=st.floats(1.0, 500.0), area=st.floats(20.0, 5e4), more=st.floats(1.01, 3.0))
def test_head_grows_with_the_farm_and_with_slime(flow, area, more):
    rules = SimpleNamespace(
        lift=value(1.8), pipe_length=value(2.0), velocity=value(0.9), fittings=value(12.0),
        smoothness=value(145.0), fouling=value(1.4),
    )  # fmt: skip
    fouled = SimpleNamespace(**{**vars(rules), "fouling": value(1.4 * more)})
    here = pumping.system_head(rules, value(flow), area).total
    assert pumping.system_head(rules, value(flow), area * more).total > here
    assert pumping.system_head(fouled, value(flow), area).total > here
    assert here > 1.8


def test_a_colder_source_takes_more_electricity_for_the_same_heat(site_values):
    made = parts.parts_of(site_values("cold", energy__heat_source="heat_pump")).energy
    heat = np.full((1, 12), 1000.0)
    source = np.linspace(-20.0, 20.0, 12)[None, :]
    electricity, fuel = energy.heat_supply(made, heat, source)
    assert np.all(np.diff(electricity[0]) < 0.0)
    assert not fuel.any()
    assert np.all(electricity < heat)


def test_a_hotter_place_works_the_cold_store_harder(site_values):
    made = parts.parts_of(site_values("cold"))
    outdoor = np.linspace(-5.0, 45.0, 12)[None, :]
    found = power.store_power(made, 4.0, value(60.0), outdoor, np.full((1, 12), 0.5))
    assert np.all(np.diff(found[0]) >= 0.0)
    assert found[0, 0] > 0.0
    assert found[0, -1] > 2 * found[0, 0]


@pytest.mark.parametrize(("cleaner", "dirtier"), [("wood", "gas"), ("gas", "lpg"), ("lpg", "oil")])
def test_fuels_are_told_apart(cleaner, dirtier, site_values, timeline):
    given = [
        farm_flows(v, size_farm(v, 200.0), timeline)
        for v in (
            site_values("cold", energy__heat_source="fuel", energy__heating_fuel=fuel)
            for fuel in (cleaner, dirtier)
        )
    ]
    assert year(given[0].emissions_kg) < year(given[1].emissions_kg)
    assert year(given[0].heating_fuel_kwh) == pytest.approx(year(given[1].heating_fuel_kwh))


def test_electricity_names_every_purpose(site_values):
    values = site_values("hot_dry")
    flows = farm_flows(values, size_farm(values, 300.0), Timeline(2027, 1, 3, 2))
    purposes = {
        "pumping", "aeration", "air_heating", "water_heating", "cooling", "fans", "lamps",
        "cold_store", "controls",
    }  # fmt: skip
    assert set(flows.electricity_kwh) == purposes
    added = sum(year(x) for x in flows.electricity_kwh.values())
    assert added == pytest.approx(year(flows.electricity_total_kwh))


def test_work_is_told_by_area_and_harvest(site_values, timeline):
    values = site_values("cold")
    design = size_farm(values, 300.0)
    flows = farm_flows(values, design, timeline)
    hours = sum(year(x) for x in flows.role_hours.values())
    figures = {k: float(x[0, 0]) for k, x in flows.labour_figures.items()}
    assert figures["hours_per_bed"] == pytest.approx(hours / 300.0)
    harvest = sum(year(x) for x in flows.crop_kg.values()) + year(flows.fish_live_kg)
    assert figures["hours_per_kilogram"] == pytest.approx(hours / harvest)
    unrounded = sum(float(x[0, -1]) for x in flows.workers_unrounded.values())
    assert figures["bed_per_post"] == pytest.approx(300.0 / unrounded, rel=1e-6)
    assert any("a full post tends" in note for note in flows.notes)


def test_the_suns_place_of_a_file_is_taken(site_values):
    # The same sun given as cosine and azimuth makes the same.
    made = parts.parts_of(site_values("cold"))
    hours, latitude = power.weather_hours(made), made.place.latitude
    place = solar.sun_place(latitude)
    given_place = solar.placed(place.cosine, np.radians(place.azimuth))
    one = solar.hourly_yield(made.solar, latitude, hours)
    two = solar.hourly_yield(made.solar, latitude, hours, given_place)
    assert two == pytest.approx(one, rel=1e-9, abs=1e-12)


def test_a_longer_reserve_loses_less_to_outages(site_values):
    gust, whole = value(35.0), value(1.0)
    lost = [
        events.effective_losses(
            site_values("cold", life_support__reserve=60.0 * hours, supply__outage_hours=2.0),
            gust,
            whole,
        )
        for hours in (2.0, 4.0, 6.0)
    ]
    outage = [each["long_outage"] for each in lost]
    assert outage[1] == pytest.approx(0.15)
    assert outage[0] == pytest.approx(0.15 * np.e)
    assert outage[2] == pytest.approx(0.15 / np.e)
    assert lost[0]["storm"] == lost[2]["storm"]


def test_a_main_generator_has_a_second_set(site_values):
    alone = size_farm(site_values("cold", supply__main="generator"), 300.0)
    drivers = alone.drivers
    assert drivers["second_generator_power"] == pytest.approx(1.2 * drivers["vital_power"])
    assert drivers["second_generator_power"] < drivers["generator_power"]
    assert any("A second set of" in said for said in alone.limits)
    assert size_farm(site_values("cold"), 300.0).drivers["second_generator_power"] == 0.0


def test_back_up_carries_a_burner_and_its_fans_and_names_what_stops(site_values):
    down = {"supply__outage_share": 0.01, "farm_design__heated_air": "yes"}
    cases = {
        source: size_farm(site_values("cold", energy__heat_source=source, **down), 300.0)
        for source in ("fuel", "electric")
    }
    fuel, electric = cases["fuel"].drivers, cases["electric"].drivers
    burner = fuel["heater_power"] * 0.015
    assert fuel["vital_power"] == pytest.approx(electric["vital_power"] + burner, rel=1e-3)
    assert any("burner with its fans in full" in said for said in cases["fuel"].limits)
    assert any("heat stops but for 8%" in said for said in cases["electric"].limits)


def test_heat_from_fuel_takes_some_electricity(site_values):
    rules = parts.parts_of(site_values("cold", energy__heat_source="fuel")).energy
    power_, fuel = energy.heat_supply(rules, value(100.0), value(0.0))
    assert power_[0, 0] == pytest.approx(1.5)
    assert fuel[0, 0] == pytest.approx(100.0 / 0.82)


def test_heaters_and_coolers_do_not_peak_in_the_same_hour(site_values):
    values = site_values(
        "city", energy__heat_source="electric", farm_design__heated_air="yes",
        farm_design__cooling="mechanical",
    )  # fmt: skip
    made, design = parts.parts_of(values), size_farm(values, 300.0)
    d = design.drivers
    assert min(d["heater_power"], d["cooling_power"]) > 0.0

    def peak(**changed):
        return machines.peak(made, 300.0, {**d, **changed}, 0.0)

    alone = peak(heater_power=0.0), peak(cooling_power=0.0)
    assert peak() == pytest.approx(max(alone))
    assert min(alone) < max(alone)


def test_a_main_generators_fuel_lasts_its_days_in_the_worst_month_without_sun(site_values):
    bare, sunny = (
        size_farm(
            site_values("cold", supply__main="generator", supply__solar_share=share), 300.0
        ).drivers
        for share in (0.0, 0.7)
    )
    assert sunny["fuel_store"] == pytest.approx(bare["fuel_store"])
    mean = bare["load_year"] / 365.0
    rated = bare["generator_power"]
    assert bare["fuel_store"] > 14 * (0.25 * mean + 0.08 * rated * 24.0)


@pytest.mark.parametrize(("fuel", "room"), [("gas", 0.0), ("lpg", 0.17), ("oil", 0.105)])
def test_heating_fuel_is_stored_for_the_hardest_month(fuel, room, site_values, timeline):
    values = site_values("cold", energy__heat_source="fuel", energy__heating_fuel=fuel)
    design = size_farm(values, 300.0)
    months = farm_flows(values, design, timeline).heating_fuel_kwh[0, -12:]
    days = climate.DAYS[timeline.calendar[-12:]]
    hardest = float((months / days).max())
    assert design.drivers["heating_fuel_store"] == pytest.approx(21 * room * hardest, rel=1e-6)


def test_the_cold_store_takes_a_whole_tank_over_the_crews_days(site_values):
    def sized(**changes):
        return size_farm(site_values("cold", **changes), 300.0)

    whole = sized(farm_design__harvest_days=5.0)
    d, made = whole.drivers, parts.parts_of(site_values("cold"))
    tank = whole.stocked_fish * float((made.species.survival * made.species.harvest_weight)[0, 0])
    held = d["cold_store_volume"] * 120.0 - d["crop_year"] / 365.0 * 3
    assert held == pytest.approx(tank / 1000.0 * 3 / 5)
    assert held > 3 * d["fish_year"] / 365.0
    quick = sized(farm_design__harvest_days=1.0).drivers["cold_store_volume"]
    slow = sized(farm_design__harvest_days=60.0).drivers
    assert quick > d["cold_store_volume"] > slow["cold_store_volume"]
    mean = (slow["crop_year"] + slow["fish_year"]) / 365.0 * 3
    assert slow["cold_store_volume"] * 120.0 >= mean - 1e-9
