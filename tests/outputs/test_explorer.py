"""Sliders move the answer, go back to the plan, and save what another run can take."""

import shutil

import ipywidgets as widgets
import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.assumptions.case import make_case, moved_values, swung_values
from sitefare.assumptions.library import read_library
from sitefare.errors import AssumptionError, SitefareError
from sitefare.outputs.cells import VEGALITE
from sitefare.outputs.explorer import Explorer, person_day_parts
from sitefare.outputs.saved_scenario import save_scenario, scenario_text
from sitefare.sizing import plan_for


@pytest.fixture
def own(root, tmp_path):
    """A copy of the assumptions that a test may write into."""
    shutil.copytree(root / "assumptions", tmp_path / "assumptions")
    return tmp_path / "assumptions"


def planned(folder, site="kaldre", scenario="as_planned", settings=()):
    return plan_for(make_case(read_library(folder), site, scenario, settings))


@pytest.fixture
def explorer(own):
    return Explorer(planned(own), rows=5)


def test_sliders_run_from_low_to_high_of_the_widest_rows(explorer):
    rows = explorer.plan.case.rows
    assert len(explorer.sliders) == 5
    for name, slider in explorer.sliders.items():
        for step, number in (
            (slider.min, rows[name].low), (0.0, rows[name].base), (slider.max, rows[name].high)
        ):  # fmt: skip
            slider.value = step
            assert explorer._number(name) == number


def test_whole_steps_from_the_plan_leave_it_where_it_is(explorer):
    # A browser moves a slider to the nearest step from its least value and tells the kernel.
    for name, slider in explorer.sliders.items():
        assert (0.0 - slider.min) % slider.step == 0.0, name
        slider.value = slider.min + round((slider.value - slider.min) / slider.step) * slider.step
    assert explorer.moved == {}
    explorer.move(name, explorer.plan.case.rows[name].base)
    assert explorer.moved == {}


def test_a_value_given_by_code_is_held(explorer):
    for name, slider in explorer.sliders.items():
        low, base = explorer.plan.case.rows[name].low, explorer.plan.case.rows[name].base
        explorer.move(name, 0.3 * low + 0.7 * base)
        assert explorer.moved[name] == pytest.approx(0.3 * low + 0.7 * base, rel=1e-12)
        assert slider.value < 0.0


def test_the_finding_names_a_part_and_not_the_rest(explorer):
    words = explorer._costs.outputs[0]["data"][VEGALITE]["title"]["text"]
    assert "all else" not in " ".join(words)


def test_a_move_is_appraised_as_a_swing_of_the_row(explorer):
    for name, slider in explorer.sliders.items():
        explorer.reset()
        slider.value = slider.max
        high = explorer.plan.case.rows[name].high
        swung = appraise(explorer.plan, swung_values(explorer.plan.case, [(name, high)]))
        for key, x in swung.indicators.items():
            assert np.array_equal(explorer.now.indicators[key], x, equal_nan=True), (name, key)


def test_figures_and_charts_follow_a_move_and_a_reset(explorer):
    before = explorer.words, explorer._cash.outputs, explorer._figures.value
    name = next(iter(explorer.sliders))
    explorer.move(name, explorer.plan.case.rows[name].low)
    after = explorer.words, explorer._cash.outputs, explorer._figures.value
    assert all(a != b for a, b in zip(before, after, strict=True))
    drawn = after[1][0]["data"][VEGALITE]
    rows = next(r for r in drawn["datasets"].values() if "moved" in r[0])
    assert any(row["moved"] != row["planned"] for row in rows)
    explorer.reset()
    assert explorer.moved == {}
    assert (explorer.words, explorer._cash.outputs, explorer._figures.value) == before


def test_moving_nothing_is_the_base(explorer):
    case = explorer.plan.case
    same = appraise(explorer.plan, moved_values(case, [{}]))
    for key, x in explorer.base.indicators.items():
        assert np.array_equal(same.indicators[key], x, equal_nan=True), key


def test_parts_of_a_person_day_add_up_to_its_cost(explorer):
    parts = person_day_parts(explorer.base)
    cost = explorer.base.indicators["cost_per_person_day"][0, 0]
    assert sum(parts.values()) == pytest.approx(cost, rel=1e-9)


def test_a_saved_scenario_appraises_to_what_was_moved(explorer, own):
    # Rows that do not size the farm: the saved scenario sizes it anew.
    case = explorer.plan.case
    moved = {"wage.worker": 9.1, "price.feed": 5.0, "distribution.vegetables_loss": 0.2}
    save_scenario(case, moved, "dearer")
    again = planned(own, scenario="dearer").case
    for name, number in moved.items():
        assert again.rows[name].base == pytest.approx(number, rel=1e-9), name
        assert not again.rows[name].uncertain
    same = appraise(explorer.plan, moved_values(case, [moved])).indicators
    found = appraise(planned(own, scenario="dearer")).indicators
    for key in ("people_fed", "operating_cost_year"):
        assert found[key] == pytest.approx(same[key], rel=1e-9), key


def test_a_saved_scenario_keeps_its_start_and_what_was_set(own):
    case = planned(own, scenario="grant_and_soft_loan", settings=["price.feed=6 GEL/kg"]).case
    save_scenario(case, {"wage.worker": 9.0}, "kept")
    again = planned(own, scenario="kept").case
    assert again.rows["price.feed"].base == pytest.approx(case.rows["price.feed"].base)
    funding = [n for n in case.rows if n.startswith("funding.")]
    assert funding
    for name in funding:
        assert again.rows[name].base == pytest.approx(case.rows[name].base, nan_ok=True), name


def test_the_button_says_where_the_file_is_or_why_not(explorer):
    name = next(iter(explorer.sliders))
    explorer.move(name, explorer.plan.case.rows[name].high)
    explorer.name.value = "tried"
    explorer.save_button.click()
    assert "Saved as scenarios/tried.csv" in explorer.said.value
    explorer.save_button.click()
    assert "is there already" in explorer.said.value
    explorer.name.value = "No Name!"
    explorer.save_button.click()
    assert "is no name for a scenario" in explorer.said.value


@pytest.mark.parametrize(
    ("moved", "words"),
    [
        ({"wage.wroker": 1.0}, "the nearest known name is 'wage.worker'"),
        ({"distribution.vegetables_loss": 2.0}, "lies outside 0 to 1"),
        ({"place.name": 2.0}, "is no number"),
    ],
    ids=["name", "bounds", "text"],
)
def test_what_cannot_be_saved_is_refused(explorer, moved, words):
    with pytest.raises(AssumptionError, match=words):
        scenario_text(explorer.plan.case, moved)


def test_a_slider_that_is_not_there_or_too_short_is_refused(explorer):
    with pytest.raises(SitefareError, match="has no slider here"):
        explorer.move("price.nothing", 1.0)
    name = next(iter(explorer.sliders))
    with pytest.raises(SitefareError, match="outside the slider"):
        explorer.move(name, 1e9)


def test_the_view_holds_every_slider(explorer):
    def below(widget):
        yield widget
        for child in getattr(widget, "children", ()):
            yield from below(child)

    held = [w for w in below(explorer.view) if isinstance(w, widgets.FloatSlider)]
    assert held == list(explorer.sliders.values())


def test_a_farm_that_feeds_nobody_has_sliders_too(own):
    made = Explorer(planned(own, settings=["storage.fish_window=1", "size.bed_area=150"]), rows=3)
    assert "People fed: 0\nCost a person-day: No answer" in made.words
    name = next(iter(made.sliders))
    made.move(name, made.plan.case.rows[name].high)
    assert "People fed: 0\nCost a person-day: No answer" in made.words
