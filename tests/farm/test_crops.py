"""Crops by season: shares by month, days to harvest, harvests, nursery, sowing table."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitefare.arrays import DAYS, value
from sitefare.errors import DesignError
from sitefare.farm import crops, cycles, parts, season, succession
from sitefare.farm.design import size_farm
from sitefare.farm.flows import farm_flows, sizes_of
from sitefare.timeline import Timeline

months = st.integers(1, 12)


def year(flow):
    return float(np.sum(flow[0, -12:]))


def seasons_of(values, area=300.0):
    made = parts.parts_of(values)
    return made, season.season_of(made, sizes_of(size_farm(values, area)))


@given(share=st.floats(0, 1), first=months, last=months)
def test_a_share_holds_in_its_months_and_in_no_other(share, first, last):
    plan = crops.PlanInputs(share=value(share), first_month=value(first), last_month=value(last))
    found = crops.share_by_month(plan)[0]
    within = {(first - 1 + k) % 12 for k in range((last - first) % 12 + 1)}
    assert [m in within and share > 0 for m in range(12)] == list(found > 0)
    assert found.max() <= share


def test_two_crops_share_a_bed_in_different_seasons(site_values):
    seasonal = {
        "plan__lettuce__share": 0.3,
        "plan__lettuce__first_month": 10,
        "plan__lettuce__last_month": 4,
        "plan__okra__share": 0.3,
        "plan__okra__first_month": 5,
        "plan__okra__last_month": 9,
        "plan__chard__share": 0.0,
    }
    values = site_values("hot_dry", **seasonal)
    made, found = seasons_of(values)
    shares = sum(share for _, share in made.crops.values())
    assert shares.max() <= 1.0 + 1e-9
    assert list(np.flatnonzero(found.crops["okra"].growth[0])) == [4, 5, 6, 7, 8]
    assert found.crops["lettuce"].growth[0, 5] == 0
    crowded = site_values("hot_dry", **seasonal | {"plan__okra__first_month": 4})
    with pytest.raises(DesignError, match=r"shares of bed add to 1\.\d+ in Apr"):
        parts.parts_of(crowded)


def test_half_a_month_is_refused(site_values):
    with pytest.raises(DesignError, match="whole months"):
        parts.parts_of(site_values("cold", plan__lettuce__first_month=3.5))


def test_nutrients_water_and_plants_follow_the_months_of_a_crop(site_values, timeline):
    whole = site_values("hot_dry")
    values = site_values("hot_dry", plan__tomato__first_month=10, plan__tomato__last_month=5)
    design = size_farm(whole, 300.0)
    all_year, part = (farm_flows(v, design, timeline) for v in (whole, values))
    gap = slice(5, 9)  # June to September
    same = all_year.season["evaporated_m3"], part.season["evaporated_m3"]
    assert np.all(same[1][0, gap] < same[0][0, gap])
    assert same[1][0, 11] == pytest.approx(same[0][0, 11])
    taken = all_year.season["nitrogen_plants_kg"], part.season["nitrogen_plants_kg"]
    assert np.all(taken[1][0, gap] < taken[0][0, gap])
    summer = np.isin(timeline.calendar, range(5, 9)) & (timeline.month > 12)
    assert np.all(part.plants["tomato"][0, summer] == 0.0)
    assert np.all(all_year.plants["tomato"][0, summer] > 0.0)


@given(
    response=st.lists(st.floats(0.0, 2.0), min_size=12, max_size=12),
    needed=st.floats(10, 120),
    first=st.integers(0, 11),
    length=st.integers(1, 12),
)
def test_a_season_is_never_cut_before_it_ripens_nor_beyond_what_grew(
    response, needed, first, length
):
    quick = cycles.speed(np.array([response]), value(0.7), value(3.0))
    standing = np.array([[(m - first) % 12 < length for m in range(12)]])
    growth = quick * DAYS * standing
    cut = growth * cycles.cut_share(quick * DAYS, value(needed), growth)
    assert cut.sum() <= growth.sum() * (1 + 1e-9)
    assert np.all(cut[~standing] == 0.0)
    if length == 12:
        assert cut == pytest.approx(growth)
    elif (quick * DAYS)[0, first] <= needed:
        assert cut[0, first] == 0.0


def test_slower_growth_takes_longer_and_starts_fewer_plants(site_values):
    _, found = seasons_of(site_values("cold"))
    lettuce = found.crops["lettuce"]
    ripe, set_out = crops.ripening_days(lettuce)[0], crops.plants_set(lettuce)[0] / DAYS
    assert ripe[0] > 1.3 * ripe[6]
    assert set_out[0] < set_out[6]


def test_first_harvest_waits_for_the_season_it_is_planted_in(site_values):
    values = site_values("cold", production__planting_days=0.0)
    design = size_farm(values, 300.0)
    first = {}
    for start in (5, 11):
        found = farm_flows(values, design, Timeline(2027, start, 3, 1))
        first[start] = int(np.argmax(found.crop_kg["lettuce"][0] > 0.0))
    assert first[11] >= first[5]
    assert first[5] >= 2


def test_a_full_years_harvest_is_its_growth(site_values, timeline):
    values = site_values("cold")
    design = size_farm(values, 300.0)
    flows = farm_flows(values, design, timeline)
    kept = year(flows.crop_kg["kale"]) / flows.season["growth_kale"].sum()
    assert 0.8 < kept <= 1.0


def test_the_nursery_stands_on_the_ground(site_values):
    slow = {f"crop__{k}__nursery_days": 60 for k in ("lettuce", "chard", "kale", "pak_choi")}
    one, two = (size_farm(site_values("cold", **x), 300.0) for x in ({}, slow))
    more = two.drivers["nursery_area"] - one.drivers["nursery_area"]
    assert more > 0.0
    assert two.covered_area - one.covered_area == pytest.approx(more, rel=0.02)


@given(days=st.floats(0, 400), out=st.lists(st.floats(0, 1e4), min_size=12, max_size=12))
def test_what_is_sown_is_what_is_planted_so_many_days_before(days, out):
    planted = np.array([out])
    sown = succession.sown_by_month(planted, value(days))
    assert sown.sum() == pytest.approx(planted.sum(), abs=1e-6)
    assert np.all(sown >= -1e-6)
    assert succession.sown_by_month(planted, value(0.0)) == pytest.approx(planted, abs=1e-6)
    assert succession.sown_by_month(planted, value(365.0)) == pytest.approx(planted, abs=1e-6)


def test_sowing_runs_a_month_ahead():
    planted = np.zeros((1, 12))
    planted[0, 3] = 300.0
    assert succession.sown_by_month(planted, value(30.0))[0, 2] == pytest.approx(300 * 30 / 30)


def test_succession_table(site_values):
    values = site_values(
        "hot_dry", plan__lettuce__first_month=10, plan__lettuce__last_month=3,
        crop__lettuce__days_to_harvest=32,  # two plantings in the cool months, none lost
    )  # fmt: skip
    made, found = seasons_of(values)
    lines = succession.succession(made, found)
    assert len(lines) == 12 * len(made.crops)
    lettuce = [x for x in lines if x.crop == "lettuce"]
    assert [x.month for x in lettuce] == list(range(12))
    assert sum(x.sow for x in lettuce) > sum(x.plant_out for x in lettuce) > 0
    assert lettuce[6].plant_out == 0
    assert lettuce[6].rule == "Lettuce, Jul: nothing is planted out."
    assert "plant out" in lettuce[11].rule
    assert "sown 14 days before" in lettuce[11].rule
    grown = found.crops["lettuce"].growth.sum()
    assert sum(x.harvest for x in lettuce) == pytest.approx(grown, rel=1e-9)
    turned = sum(x.bed_turned for x in lettuce) * made.crops["lettuce"][0].plants[0, 0]
    assert turned == pytest.approx(sum(x.plant_out for x in lettuce), abs=12)
    assert 60 < lettuce[0].plant_weight < 250


# Weight of a plant over its life, before cull, as markets and extension guides know it. [g]
PLANTS = {
    "lettuce": (150, 400), "chard": (250, 700), "kale": (300, 900), "pak_choi": (150, 350),
    "basil": (100, 350), "mustard_greens": (100, 300), "spinach": (15, 50), "amaranth": (40, 150),
    "water_spinach": (80, 250), "tomato": (4000, 20000), "cucumber": (3000, 12000),
    "pepper": (2000, 8000), "beans": (60, 250), "squash": (2000, 6000), "okra": (500, 1500),
}  # fmt: skip


def test_yield_plants_and_days_make_plants_that_are_sold(rows):
    known = rows["cold"]
    assert set(PLANTS) == {n.split(".")[1] for n in known if n.startswith("crop.")}
    for crop, (light, heavy) in PLANTS.items():
        of = {x: known[f"crop.{crop}.{x}"].base for x in ("yield_year", "plants")}
        spans = ("days_to_harvest", "days_picked", "days_between")
        year = of["plants"] * 365 / sum(known[f"crop.{crop}.{x}"].base for x in spans)
        assert light <= of["yield_year"] / year * 1000 <= heavy, crop


def test_a_crop_that_cannot_ripen_says_so(site_values, timeline):
    values = site_values(
        "hot_dry", plan__pepper__share=0.05, plan__chard__share=0.0,
        plan__pepper__first_month=12, plan__pepper__last_month=1,
    )  # fmt: skip
    flows = farm_flows(values, size_farm(values, 300.0), timeline)
    assert any("Sweet pepper does not ripen" in note for note in flows.notes)
    assert flows.crop_kg["pepper"].sum() == 0.0


def test_darkness_grows_nothing(site_values):
    values = site_values("city", farm_design__lamps="no", farm_design__enclosure="basement")
    with pytest.raises(DesignError, match="no crop of the plan can grow"):
        size_farm(values, 300.0)


def test_light_beyond_use_adds_nothing():
    crop = SimpleNamespace(reference_light=value(15), half_light=value(45), light_most=value(30))
    found = crops.light_response(np.array([[15.0, 30.0, 60.0]]), crop)[0]
    assert found[0] == pytest.approx(1.0)
    assert found[1] == found[2] > 1.0
