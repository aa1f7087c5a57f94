"""A farm is sized from any one of bed area, people, ground, budget or fish."""

import re

import pytest

from sitefare.appraisal import appraise
from sitefare.errors import AssumptionError, DesignError
from sitefare.sizing import largest_within, smallest_giving


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


@pytest.mark.parametrize(
    ("basis", "asked", "text"),
    [
        ("bed_area", "size.bed_area=300", r"bed area asked, 300 m²"),
        ("footprint", "size.footprint=900", r"900 m² of ground are asked and set the size"),
        ("budget", "size.budget=400000 USD", r"m² of bed take [\d,]+ and \d+ m² would take"),
        ("people", "size.people=40", r"The binding part is (vegetables|fish), in "),
        ("fish_output", "size.fish_output=5000", r"give 5,?\d+ and \d+ m² would give"),
    ],
)
def test_what_sets_the_size_comes_first_of_the_limits(basis, asked, text, plan):
    sized = plan("qasr_adhra", "as_planned", f"size.basis={basis}", asked)
    assert re.search(text, sized.design.limits[0])
    assert {"posts", "tanks", "ground"} <= {m.name for m in sized.design.margins}


def test_steps_beside_the_answer_are_looked_at(plan):
    # Cost rises by a step at 21 m² and falls back: the larger farm is found, and told.
    case = plan("qasr_adhra").case
    stepped = largest_within(
        case, lambda p: p.design.bed_area + 5.0 * (p.design.bed_area in {21, 22}), 24.0, "units"
    )
    assert stepped.design.bed_area == 24
    assert "not every area between 20 and 24 m²" in stepped.design.limits[0]
    least = smallest_giving(
        case, lambda p: p.design.bed_area - 5.0 * (p.design.bed_area == 25), 22.0, "units"
    )
    assert least.design.bed_area == 22
    assert "not every area between 22 and 26 m²" in least.design.limits[0]
