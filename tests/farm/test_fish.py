"""Fish by month: mass kept, directions, graded harvests, lethal water, own hatchery, gases."""

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.appraisal import appraise, sampled_values
from sitefare.arrays import value
from sitefare.assumptions.case import base_values, block_of
from sitefare.errors import DesignError
from sitefare.farm import fish, gases, hatchery, lifesupport, nitrification, parts, stocking
from sitefare.farm.design import size_farm
from sitefare.farm.fish import Stocking
from sitefare.farm.flows import farm_flows
from sitefare.timeline import Timeline

COLD = Path(__file__).parent / "sites" / "cold"
LIFE = Timeline(2027, 1, 8, 3)
WARM = np.full((1, 12), 27.0)
ONE = value(1.0)

temperatures = st.lists(st.floats(5.0, 45.0), min_size=12, max_size=12)
tank_plans = st.builds(
    Stocking, st.floats(50.0, 3000.0), st.integers(1, 9), st.sampled_from([1.0, 2.0, 3.0])
)
quick = settings(max_examples=40, deadline=None)


@pytest.fixture(scope="module")
def tilapia(folder_values):
    return parts.parts_of(folder_values(COLD)).species


def path(species, water=WARM, tanks=None, allowed=ONE, timeline=LIFE):
    return fish.fish_path(
        species, water, tanks or Stocking(1000.0, 4), allowed, value(120.0), timeline
    )


def total(flow):
    return float(np.sum(flow))


# Mass


@quick
@given(temperatures, tank_plans, st.floats(0.2, 1.0))
def test_what_is_stocked_and_gained_is_harvested_dead_or_standing(tilapia, water, tanks, share):
    found = path(tilapia, np.array([water]), tanks, value(share))
    stocked = found.fingerlings * tilapia.stock_weight / 1000.0
    came = np.cumsum(stocked + found.gain, axis=1)
    left = np.cumsum(found.harvest + found.deaths, axis=1)
    scale = max(1.0, float(came[0, -1]))
    assert np.abs(came - left - found.biomass).max() < 1e-9 * scale
    for flow in (found.harvest, found.biomass, found.feed, found.deaths, found.fingerlings):
        assert flow.min() > -1e-9


@quick
@given(st.floats(17.5, 29.0), st.floats(0.1, 6.0))
def test_warmer_water_below_the_optimum_never_grows_slower(tilapia, water, more):
    warmer = min(water + more, float(tilapia.temperature_high[0, 0]))
    slow, fast = (fish.daily_growth(tilapia, value(t))[0, 0] for t in (water, warmer))
    assert fast >= slow
    least, most = (fish.conversion(tilapia, value(t))[0, 0] for t in (warmer, water))
    assert 1.0 <= least <= most <= fish.MOST_RISE


@quick
@given(st.floats(0.3, 0.95), st.floats(1.01, 1.05), tank_plans)
def test_more_survival_never_harvests_less(tilapia, survival, more, tanks):
    few = replace(tilapia, survival=value(survival))
    many = replace(tilapia, survival=value(survival * more))
    poor, rich = path(few, tanks=tanks), path(many, tanks=tanks)
    assert total(rich.harvest) >= total(poor.harvest)


@quick
@given(tank_plans)
def test_twice_the_fish_eat_twice_the_feed(tilapia, tanks):
    one = path(tilapia, tanks=tanks)
    two = path(tilapia, tanks=replace(tanks, fish=2.0 * tanks.fish))
    for field in fields(one):
        a, b = getattr(one, field.name), getattr(two, field.name)
        np.testing.assert_allclose(b, 2.0 * a, rtol=1e-12, atol=1e-9)


def test_growth_is_nothing_at_the_base_and_at_the_most(tilapia):
    free = replace(tilapia, temperature_least=value(0.0))
    for water in (10.0, float(tilapia.growth_base[0, 0]), 36.0, 40.0):
        assert fish.daily_growth(free, value(water))[0, 0] == 0.0


def test_tank_by_tank_feed_is_the_steady_feed_over_a_cycle(tilapia):
    water = np.array([[24.0, 25, 26, 27, 28, 29, 29, 28, 27, 26, 25, 24]])
    tanks = Stocking(1000.0, 12)
    life = Timeline(2027, 1, 20, 0)
    found = path(tilapia, water, tanks, timeline=life)
    months = found.feed[0, 1:].reshape(-1, 12)[4:].mean(axis=0)
    days = np.array([31.0, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    # Project months begin in February, as month 0 is January.
    steady = np.roll((fish.steady_feed(tilapia, water, tanks) * days)[0], -1)
    assert months.sum() == pytest.approx(steady.sum(), rel=0.02)
    assert months == pytest.approx(steady, rel=0.12)


@pytest.mark.parametrize("start", [2, 5, 8, 11])
@pytest.mark.parametrize("months", [1.0, 3.0])
def test_yearly_totals_do_not_depend_on_the_start_month(start, months, tilapia):
    # Cohorts beat against the year: means over 24 settled years, 2 %.
    water = np.array([[22.0, 23, 25, 26, 27, 28, 29, 29, 28, 26, 24, 22]])
    tanks = Stocking(1000.0, 5, months)
    means = []
    for first in (1, start):
        found = path(tilapia, water, tanks, timeline=Timeline(2027, first, 28, 3))
        means.append([total(x[:, -288:]) for x in (found.harvest, found.feed, found.fingerlings)])
    assert means[0] == pytest.approx(means[1], rel=0.02)


# Graded harvest


@pytest.mark.parametrize("months", [2.0, 3.0, 4.0])
def test_graded_harvests_are_more_even(months, tilapia):
    life = Timeline(2027, 1, 20, 3)
    whole = path(tilapia, tanks=Stocking(1000.0, 4), timeline=life)
    graded = path(tilapia, tanks=Stocking(1000.0, 4, months), timeline=life)
    late = slice(61, None)
    spread = [np.std(x.harvest[0, late]) / np.mean(x.harvest[0, late]) for x in (whole, graded)]
    assert spread[1] < 0.8 * spread[0]
    assert np.all(graded.harvest[0, late] > 0.0) or months < 3.0


def test_a_graded_tank_never_holds_more_than_its_design(site_values):
    values = site_values("cold", farm_design__harvest="graded")
    design = size_farm(values, 300.0)
    made = parts.parts_of(values)
    found = path(made.species, np.full((1, 12), 26.1), Stocking(design.stocked_fish, 1, 3.0))
    assert found.biomass.max() <= 18.0 * design.tank_volume * (1 + 1e-9)
    assert found.biomass.max() > 0.75 * 18.0 * design.tank_volume


def test_a_tank_is_not_graded_out_longer_than_it_grows(site_values):
    values = site_values("cold", farm_design__harvest="graded", farm_design__harvest_months=8.0)
    with pytest.raises(DesignError, match=r"lower farm_design\.harvest_months"):
        size_farm(values, 300.0)


# Lethal water


def test_lethal_water_kills_what_stands_and_tanks_are_stocked_again(tilapia):
    hot = WARM.copy()
    hot[0, 7] = 41.0
    found, calm = path(tilapia, hot), path(tilapia)
    august = LIFE.calendar == 7
    assert np.all(found.deaths[0, ~august] == 0.0)
    assert found.deaths[0, august][1:].min() > 0.0
    assert np.all(found.biomass[0, august] == 0.0)
    assert np.all(found.fingerlings[0, august] == 0.0)
    assert found.fingerlings[0, LIFE.calendar == 8][1:].min() > 0.0
    assert total(found.harvest) < 0.7 * total(calm.harvest)


def test_water_too_hot_in_a_draw_is_counted(plan):
    sized = plan("port_anui")
    values = base_values(sized.case)
    found = appraise(sized, values)
    hot = appraise(sized, values | {"species.tilapia.lethal_high": value(27.0)})
    assert found.indicators["water_lives_share"][0, 0] == 1.0
    assert hot.indicators["water_lives_share"][0, 0] == 0.0
    assert hot.flows.fish_deaths_kg.sum() > 0.0 == found.flows.fish_deaths_kg.sum()
    fish_year = [x.indicators["fish_live_kg_year"][0, 0] for x in (hot, found)]
    assert fish_year[0] < fish_year[1]


# Feed


def test_fish_that_hardly_grow_are_kept_alive(tilapia):
    # At half a degree above no feeding, or with little growth, feed is the upkeep of what stands.
    slow = replace(tilapia, growth=value(0.06))
    found = path(slow)
    kept = found.biomass * tilapia.maintenance * 28.0
    fed = found.biomass > 0
    assert np.all(found.feed[fed] >= kept[fed] * (1 - 1e-12))


def test_cooler_water_takes_more_feed_for_the_same_fish(site_values):
    warm, cool = (
        size_farm(site_values("cold", species__tilapia__water_target=t), 300.0)
        for t in (29.5, 23.0)
    )
    per_kg = [d.drivers["feed_year"] / d.drivers["fish_year"] for d in (warm, cool)]
    assert per_kg[1] > 1.1 * per_kg[0]


def test_feeding_table_runs_from_stocking_to_harvest(plan):
    made = plan("qasr_adhra")
    design, season = made.design, appraise(made).flows.season
    species = parts.parts_of(base_values(made.case))
    lines = stocking.feeding_table(species, season["water_temperature"], design.stocked_fish)
    assert lines[0].weight == pytest.approx(50.0)
    assert lines[-1].weight == pytest.approx(600.0)
    rates = [line.rate for line in lines]
    assert rates == sorted(rates, reverse=True)
    # What the tanks eat, evenly spread over the sizes, is the farm's feed: 5 %, for six lines.
    mean = np.trapezoid([line.tank_feed for line in lines]) / (len(lines) - 1)
    grown = lines[-1].days / (lines[-1].days + 4.0)
    assert mean * design.tank_count * grown == pytest.approx(design.feed_per_day, rel=0.05)


def test_grading_takes_hours(plan):
    whole = appraise(plan("qasr_adhra")).flows.labour_hours["grade_fish"]
    graded = plan("qasr_adhra", "as_planned", "farm_design.harvest=graded")
    assert appraise(graded).flows.labour_hours["grade_fish"].sum() > 0.0 == whole.sum()


# Own hatchery


def test_an_own_hatchery_buys_fewer_fingerlings_and_costs_hours_feed_and_water(plan):
    bought = plan("qasr_adhra")
    own = plan("qasr_adhra", "as_planned", "farm_design.fingerlings=own_hatchery")
    a, b = appraise(bought), appraise(own)
    assert b.flows.fingerlings[0, 60:].sum() == 0.0 < a.flows.fingerlings[0, 60:].sum()
    assert b.flows.fingerlings[0].sum() > 0.0  # the first stocking is bought
    assert bought.design.drivers["hatchery_volume"] == 0.0 < own.design.drivers["hatchery_volume"]
    assert b.flows.labour_hours["hatch"].sum() > 0.0 == a.flows.labour_hours["hatch"].sum()
    assert b.indicators["fish_live_kg_year"] < a.indicators["fish_live_kg_year"]
    assert own.design.water_volume > bought.design.water_volume
    assert any("hormone sex reversal" in words for words in own.design.limits)


def test_fish_of_mixed_sex_grow_more_slowly(tilapia, library):
    rows = {n: r for n, r in library.common.rows.items() if n.startswith("hatchery.")}
    rules = hatchery.HatcheryInputs(**{n[9:]: value(r.base) for n, r in rows.items()})
    by_hand = replace(rules, hand_sexed=ONE)
    assert hatchery.as_bred(tilapia, rules).growth < tilapia.growth
    assert hatchery.as_bred(tilapia, by_hand).growth == tilapia.growth
    assert hatchery.raised(by_hand, ONE) == 2.0 * hatchery.raised(rules, ONE)
    assert hatchery.sized(by_hand, 40.0).volume > hatchery.sized(rules, 40.0).volume
    assert hatchery.sized(rules, 40.0).sexed == 0.0 < hatchery.sized(by_hand, 40.0).sexed
    scarce = replace(rules, fry=rules.fry * 0.3)
    brood = hatchery.sized(rules, 40.0).brood
    few = hatchery.own_share(scarce, brood, 40.0, WARM)
    assert hatchery.own_share(rules, brood, 40.0, WARM) == 1.0 > few
    assert hatchery.own_share(rules, brood, 40.0, WARM - 10.0) == 0.0


@pytest.mark.parametrize("species", ["catfish", "carp", "trout"])
def test_fish_that_spawn_once_a_year_are_not_bred_here(species, site_values):
    values = site_values(
        "cold", farm_design__species=species, farm_design__fingerlings="own_hatchery"
    )
    with pytest.raises(DesignError, match="cannot be bred on this farm"):
        size_farm(values, 300.0)


def test_brood_fish_in_cold_water_give_no_fry(site_values):
    values = site_values(
        "cold", farm_design__fingerlings="own_hatchery", species__tilapia__water_target=21.0
    )
    with pytest.raises(DesignError, match="spawns in water of 22 degC or warmer"):
        size_farm(values, 300.0)


# Water


def test_trout_are_held_at_more_oxygen_than_the_farm_asks(site_values):
    held = [
        parts.parts_of(site_values("cold", farm_design__species=s)).oxygen.least[0, 0]
        for s in ("tilapia", "trout")
    ]
    assert held == [5.0, 6.0]


def test_warmer_water_and_smaller_fish_leave_fewer_minutes(plan):
    sized = plan("port_anui")
    season = appraise(sized).flows.season
    warmest = np.argmax(season["water_temperature"][0])
    assert np.argmin(season["minutes_without_air"][0]) == warmest
    assert season["minutes_without_air"].min() == pytest.approx(sized.design.life_support_minutes)
    assert lifesupport.warmth_factor(value(10.0))[0, 0] == pytest.approx(2.0)
    assert lifesupport.weight_factor(value(50.0), value(600.0))[0, 0] > 1.0
    facts = {what: number for what, number, _ in sized.design.facts}
    assert facts["Time fish last without air, mean"] > sized.design.life_support_minutes


def test_oxygen_held_lasts_the_reserve(site_values):
    short, long = (
        size_farm(site_values("cold", life_support__reserve=m), 300.0).drivers["oxygen_reserve"]
        for m in (120.0, 240.0)
    )
    assert long == pytest.approx(2.0 * short)
    # 240 minutes of 1 kg at 0.4 g/kg/h is 1.6 g; 0.4 of what is let in dissolves: 4 g.
    rules = parts.parts_of(site_values("cold")).life_support
    assert lifesupport.oxygen_reserve(ONE, value(0.4), rules)[0, 0] == pytest.approx(0.004)


def test_the_flow_keeps_ammonia_within_what_is_allowed(site_values):
    for kind in ("media_only", "full"):
        values = site_values(
            "cold", farm_design__backup_class=kind, farm_design__density=55.0,
            life_support__response_time=5.0,
        )  # fmt: skip
        facts = {what: x for what, x, _ in size_farm(values, 300.0).facts}
        assert facts["Ammonia nitrogen in the tanks, most"] <= 1.0 + 1e-9
        assert facts["Un-ionised ammonia nitrogen, most"] < 0.02


def test_high_acidity_number_makes_ammonia_toxic_and_cuts_the_feed(site_values, timeline):
    values = site_values("cold")
    design = size_farm(values, 300.0)
    basic = values | {"nitrification.acidity": value(9.0)}
    mild, toxic = (farm_flows(v, design, timeline).season for v in (values, basic))
    assert mild["feed_share_borne"].min() == pytest.approx(1.0)
    assert toxic["feed_share_borne"].max() < 1.0
    most = parts.parts_of(values).species.ammonia_most[0, 0]
    assert toxic["unionised_ammonia_mg_l"].max() <= most * (1 + 1e-9)


@quick
@given(st.floats(0.01, 5.0), st.floats(1.0, 3.0), st.floats(5.0, 500.0))
def test_more_ammonia_never_leaves_less_in_the_tanks(site_rules, made, more, flow):
    low, high = (
        nitrification.level(site_rules, value(x), value(2.0), flow)[0, 0]
        for x in (made, made * more)
    )
    assert high >= low


@pytest.fixture(scope="module")
def site_rules(folder_values):
    return parts.parts_of(folder_values(COLD)).nitrification


def test_stripping_lowers_carbon_dioxide_and_a_tight_limit_asks_a_degasser():
    made, given_oxygen, deficit = value(10.0), value(8.0), value(3.0)
    few = gases.stripping(given_oxygen, deficit, 200.0, value(0.25), value(0.35))
    many = gases.stripping(given_oxygen, deficit, 200.0, value(0.5), value(0.35))
    assert gases.level(made, many) < gases.level(made, few)
    aired = gases.stripping(given_oxygen, deficit, 0.0, value(0.5), value(0.35))
    asked = gases.degassing_needed(made, value(5.0), aired, value(0.5))
    held = gases.level(made, aired + asked * 0.5)
    assert held[0, 0] == pytest.approx(5.0)
    assert gases.degassing_needed(made, value(40.0), aired, value(0.5))[0, 0] == 0.0


def test_trout_in_water_too_warm_to_feed_are_named(plan):
    sized = plan("norhaven", "as_planned", "farm_design.species=trout")
    assert any("does not feed in water above 21" in words for words in sized.design.limits)


@pytest.mark.parametrize(
    ("site", "changes"),
    [
        ("kaldre", ("farm_design.species=trout", "farm_design.enclosure=single_film",
                    "farm_design.density=35")),
        ("kaldre", ("farm_design.species=tilapia",)),
        ("norhaven", ("farm_design.species=catfish",)),
        ("port_anui", ("farm_design.species=catfish",)),
        ("qasr_adhra", ("farm_design.species=carp",)),
    ],
)  # fmt: skip
def test_every_fish_runs_on_a_demo_site(site, changes, plan):
    assert plan(site, "as_planned", *changes).design.drivers["fish_year"] > 1000.0


def test_a_heavier_harvest_is_stocked_thinner_so_that_the_density_holds(plan):
    sized = plan("qasr_adhra")
    values = base_values(sized.case)
    heavy = values | {"species.tilapia.harvest_weight": value(800.0)}
    light, more = appraise(sized, values).flows, appraise(sized, heavy).flows
    assert more.season["minutes_without_air"] == pytest.approx(light.season["minutes_without_air"])
    assert more.fingerlings[0, -60:].sum() < 0.8 * light.fingerlings[0, -60:].sum()


@pytest.mark.parametrize(
    ("site", "changes"),
    [
        ("port_anui", ()),
        ("port_anui", ("farm_design.harvest=graded",)),
        ("qasr_adhra", ("farm_design.fingerlings=own_hatchery",)),
        ("qasr_adhra", ("farm_design.heated_water=no", "farm_design.species=carp")),
        ("norhaven", ("farm_design.species=trout",)),
    ],
)
def test_the_fish_eat_what_the_beds_were_to_take(site, changes, plan):
    # Four settled years of whole cohorts against the steady design: 6 %, or 12 % where fish of
    # long cycles grow in some months only.
    design = plan(site, "as_planned", *changes).design
    loose = 0.12 if any("species" in word for word in changes) else 0.06
    assert design.drivers["feed_year"] / 365.0 == pytest.approx(design.feed_per_day, rel=loose)


@pytest.mark.parametrize("draws", [1, 7, 12, 24, 181])
def test_a_draw_of_a_graded_hatchery_farm_equals_the_draw_alone(draws, plan):
    sized = plan(
        "qasr_adhra", "as_planned", "farm_design.fingerlings=own_hatchery",
        "farm_design.harvest=graded",
    )  # fmt: skip
    values = sampled_values(sized, 256, 4) | {"species.tilapia.lethal_high": value(26.5)}
    many = appraise(sized, block_of(values, slice(0, draws))).flows
    row = draws - 1
    one = appraise(sized, block_of(values, slice(row, draws))).flows
    for name in ("fish_live_kg", "feed_kg", "fish_deaths_kg", "fingerlings", "fish_biomass_kg"):
        each = np.broadcast_to(getattr(many, name), (draws, 181))[row]
        alone = getattr(one, name)[0]
        np.testing.assert_allclose(each, alone, rtol=1e-12, atol=1e-9, err_msg=name)
    for name, each in many.season.items():
        if name.startswith("growth_"):
            continue
        alone = one.season[name]
        row_of = min(row, each.shape[0] - 1)
        np.testing.assert_allclose(each[row_of], alone[0], rtol=1e-12, atol=1e-12, err_msg=name)
