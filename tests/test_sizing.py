"""A farm is sized from any one of bed area, people, ground, budget or fish."""

import pytest

from sitefare.appraisal import appraise
from sitefare.errors import AssumptionError, DesignError


def indicator(plan, name):
    return float(appraise(plan).indicators[name][0, 0])


def test_smallest_farm_that_feeds_the_people(plan):
    sized = plan("port_anui", "as_planned", "size.basis=people", "size.people=40")
    smaller = plan("port_anui", "as_planned", f"size.bed_area={sized.design.bed_area - 1}")
    assert indicator(sized, "people_fed") >= 40 > indicator(smaller, "people_fed")


def test_largest_farm_within_the_budget(plan):
    sized = plan("qasr_adhra", "as_planned", "size.basis=budget", "size.budget=400000 USD")
    larger = plan("qasr_adhra", "as_planned", f"size.bed_area={sized.design.bed_area + 1}")
    budget = sized.case.rows["size.budget"].base
    assert indicator(sized, "capex") <= budget < indicator(larger, "capex")


def test_largest_farm_on_the_ground(plan):
    sized = plan("kaldre", "as_planned", "size.basis=footprint", "size.footprint=900")
    assert sized.design.footprint <= 900
    larger = plan("kaldre", "as_planned", f"size.bed_area={sized.design.bed_area + 1}")
    assert larger.design.footprint > 900


def test_smallest_farm_with_the_fish(plan):
    sized = plan("norhaven", "as_planned", "size.basis=fish_output", "size.fish_output=5000")
    assert indicator(sized, "fish_live_kg_year") >= 5000


def test_what_cannot_be_built_says_so(plan):
    with pytest.raises(DesignError, match=r"already needs .* of capital; .* asked"):
        plan("qasr_adhra", "as_planned", "size.basis=budget", "size.budget=1000 USD")
    with pytest.raises(DesignError, match="even 200,000 m² of bed gives"):
        plan("qasr_adhra", "as_planned", "size.basis=people", "size.people=1000000")


@pytest.mark.parametrize("item", ["bill.standby_blower.price", "bill.alarm.price"])
def test_essential_items_cannot_be_removed(plan, item):
    with pytest.raises(AssumptionError, match="essential"):
        plan("qasr_adhra", "as_planned", f"{item}=0 USD")


def test_fish_die_before_anyone_comes(plan):
    with pytest.raises(DesignError, match="minutes"):
        plan("qasr_adhra", "as_planned", "life_support.response_time=90")
