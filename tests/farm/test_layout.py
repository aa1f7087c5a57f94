"""The plan view keeps the design's areas, overlaps nowhere and stays on its ground."""

from dataclasses import replace
from math import pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.assumptions.case import base_values
from sitefare.farm.layout import Needs, Round, Space
from sitefare.farm.parts import parts_of
from sitefare.farm.siteplan import bed_sentence, farm_plan, needs_of


def made(kind="raft", bed=500.0, tanks=5, water=0.2, share=0.68, room=1.6, service=0.15, site=1.35):
    floor = bed * water / 1.2
    covered = bed / share + floor * room
    return Needs(
        bed_kind=kind,
        bed_area=bed,
        covered_area=covered,
        footprint=covered * (1 + service) * site,
        service_area=covered * service,
        tank_count=tanks,
        tank_diameter=sqrt(4 * floor / tanks / pi),
        tank_floor=floor * room,
        plant_floor=bed * water * 0.5,
        cold_store_floor=bed * 0.01,
        rain_volume=bed * 0.05,
        generator_power=bed * 0.03,
        pv_power=bed * 0.03,
    )


def boxes(plan):
    """Everything solid: it may touch and never overlap."""
    yard = plan.yard
    solid = [*plan.beds, *plan.rooms, *yard.generator, *yard.array]
    return solid + [r.box for r in (*plan.tanks, *yard.rain_tanks)]


def overlap(a: Space, b: Space):
    wide = min(a.right, b.right) - max(a.x, b.x)
    high = min(a.bottom, b.bottom) - max(a.y, b.y)
    return max(min(wide, high), 0.0)


def within(inner: Space, outer: Space, slack=1e-6):
    return (
        inner.x >= outer.x - slack
        and inner.y >= outer.y - slack
        and inner.right <= outer.right + slack
        and inner.bottom <= outer.bottom + slack
    )


NEEDS = st.builds(
    made,
    kind=st.sampled_from(["media", "raft", "channel"]),
    bed=st.floats(10, 20_000),
    tanks=st.integers(1, 60),
    water=st.floats(0.02, 0.6),
    share=st.floats(0.3, 0.9),
    room=st.floats(1.0, 3.0),
    service=st.floats(0.0, 0.5),
    site=st.floats(1.0, 2.5),
)


@settings(max_examples=120, deadline=None)
@given(NEEDS)
def test_plans_keep_areas_and_overlap_nowhere(needs):
    plan = farm_plan(needs)
    # Whole beds of one size, lengths to 5 cm: at most half a step out on each bed's length.
    step = 0.025 * plan.beds[0].height * len(plan.beds)
    assert abs(plan.bed_area - needs.bed_area) <= step + 1e-6
    assert len(plan.tanks) == needs.tank_count
    assert sum(r.area for r in plan.rooms) == pytest.approx(needs.service_area, rel=1e-6, abs=1e-6)
    solid = boxes(plan)
    if len(solid) > 250:
        solid = [plan.growing, *(b for b in solid if b.kind != "bed")]
    for i, a in enumerate(solid):
        assert within(a, plan.ground), a
        assert all(overlap(a, b) < 1e-6 for b in solid[i + 1 :]), a
    assert all(within(b, plan.growing) for b in plan.beds)
    assert all(within(t.box, plan.fish) for t in plan.tanks)
    assert within(plan.building, plan.ground)


@settings(max_examples=40, deadline=None)
@given(NEEDS)
def test_more_than_the_design_gives_is_said(needs):
    plan = farm_plan(needs)
    said = " ".join(plan.notes)
    assert (plan.house.area > 1.005 * needs.covered_area) == ("m2 are drawn for" in said)
    assert (plan.ground.area > 1.005 * needs.footprint) == ("m2 of ground for" in said)


@pytest.mark.parametrize("site", ["kaldre", "norhaven", "port_anui", "qasr_adhra"])
def test_demo_sites_draw_at_their_own_areas(plan, site):
    sized = plan(site)
    needs = needs_of(parts_of(base_values(sized.case)), sized.design)
    drawn = farm_plan(needs)
    design = sized.design
    assert drawn.bed_area == pytest.approx(design.bed_area, rel=0.005)
    assert drawn.house.area == pytest.approx(design.covered_area, rel=1e-9)
    assert drawn.ground.area == pytest.approx(design.footprint, rel=1e-9)
    assert sum(r.area for r in drawn.rooms) == pytest.approx(design.drivers["service_area"])
    circles = sum(pi * t.diameter**2 / 4 for t in drawn.tanks)
    depth = float(parts_of(base_values(sized.case)).design.tank_depth[0, 0])
    assert circles * depth == pytest.approx(design.drivers["fish_tank_volume"])
    shape = drawn.building.width / drawn.building.height
    assert 0.8 < shape < 3.0
    assert f"{len(drawn.beds)} beds" in bed_sentence(drawn, needs)


def test_what_finds_no_room_is_said():
    crowded = farm_plan(made(site=1.0))
    assert any(
        "leaves no yard for the rain tank, generator, solar array" in n for n in crowded.notes
    )
    sunny = farm_plan(replace(made(), pv_power=200.0))
    assert any("go on a roof" in n for n in sunny.notes)
    bare = farm_plan(made(service=0.0))
    assert bare.rooms == ()
    assert any("service_share is 0" in n for n in bare.notes)


def test_large_farms_repeat_bays():
    plan = farm_plan(made(bed=20_000.0, tanks=60))
    assert len({(b.width, b.height) for b in plan.beds}) == 1
    assert len({round(b.x, 6) for b in plan.beds}) >= 3
    assert len(plan.grid_x) <= 15


def test_same_sizes_same_plan():
    assert farm_plan(made()) == farm_plan(made())
    assert isinstance(farm_plan(made()).tanks[0], Round)
