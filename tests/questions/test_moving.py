"""Moves of rows: bars, groups, switching values, curves and goals keep their identities."""

import numpy as np
import pytest

from sitefare.appraisal import appraise, appraise_many
from sitefare.assumptions.case import BESIDE, base_values, swung_values
from sitefare.errors import AssumptionError
from sitefare.questions.bracketing import crossings
from sitefare.questions.curves import curve, isoline, surface
from sitefare.questions.goal import goal_seek
from sitefare.questions.grouping import group_tornado, members
from sitefare.questions.groups import OTHER, group_of
from sitefare.questions.moving import answers_of, appraise_moves
from sitefare.questions.switching import decision, place, span, switching, together
from sitefare.questions.tornado import only_jumps, swings, tornado, with_steps

SITES = ["kaldre", "norhaven", "port_anui", "qasr_adhra"]


def same(a, b, tolerance=1e-12):
    np.testing.assert_allclose(a, b, rtol=tolerance, atol=tolerance, equal_nan=True)


@pytest.mark.parametrize("site", SITES)
def test_moves_answer_as_one_vectorised_call_of_every_row(plan, site):
    sized = plan(site)
    rows = [sized.case.rows[n] for n in sized.case.uncertain]
    moves = [(r.name, x) for r in rows for x in (r.low, r.high)]
    whole, narrow = appraise_many(sized, swung_values(sized.case, moves)), swings(sized)
    for name, x in whole.items():
        same(narrow[name], x)


def test_no_move_is_the_base_and_order_does_not_matter(plan):
    sized = plan("norhaven")
    base = appraise(sized).indicators
    moves = [{}, {"wage.worker": 20.0}, {"crop.lettuce.yield_year": 30.0}, {}]
    found, turned = appraise_moves(sized, moves), appraise_moves(sized, moves[::-1])
    for name, x in base.items():
        same(found[name][[0, 3]], np.broadcast_to(x, (2, 1)))
        same(found[name], turned[name][::-1])


def test_many_moves_equal_each_alone(plan):
    # 300 moves are more than a block, so farm and money moves are sorted apart.
    sized = plan("port_anui")
    names = ["wage.worker", "crop.cucumber.yield_year", "price.feed"]
    rows = [sized.case.rows[n] for n in names]
    moves = [{r.name: r.base * (0.9 + 0.002 * k)} for k in range(100) for r in rows]
    found = appraise_moves(sized, moves, ("npv", "people_fed"))
    for i in (0, 1, 2, 150, 299):
        alone = appraise_moves(sized, [moves[i]], ("npv", "people_fed"))
        for name, x in alone.items():
            same(found[name][i], x[0])


def test_a_move_that_the_farm_refuses_has_no_answer_and_spoils_no_other(plan):
    sized = plan("port_anui")
    share = "plan.cucumber.share"
    base = sized.case.rows[share].base
    found = appraise_moves(sized, [{share: base}, {share: 0.95}], ("npv",))["npv"][:, 0]
    assert found[0] == pytest.approx(appraise(sized).indicators["npv"][0, 0])
    assert np.isnan(found[1])


def test_tornado_stands_on_the_appraisal(plan):
    sized = plan("qasr_adhra")
    ends, base = swings(sized), appraise(sized).indicators
    for name in ("npv", "cost_per_person_day", "people_fed", "minutes_without_air"):
        assert tornado(sized, name, ends).base == float(base[name][0, 0])


def test_a_bar_of_whole_workers_alone_is_a_step_and_a_price_is_none(plan):
    sized = plan("norhaven")
    found = {b.row.name: b for b in with_steps(sized, tornado(sized, "npv")).bars[:12]}
    assert found["task.feed.hours"].step
    assert not found["wage.worker"].step
    assert not found["tariff.electricity"].step


def test_jumps_are_told_from_slopes():
    model = answers_of(
        lambda x: np.floor(x["steps"]) + x["slope"] + 1e-9 * x["both"] + np.ceil(x["both"]),
        {"steps": 2.5, "slope": 1.0, "both": 0.4, "still": 0.0},
    )
    triples = {
        "steps": (1.6, 2.5, 3.4), "slope": (0.0, 1.0, 3.0), "both": (-0.2, 0.4, 0.9),
        "still": (0.0, 1.0, 2.0),
    }  # fmt: skip
    found = only_jumps(model, triples)
    assert found == {"steps": True, "slope": False, "both": True, "still": False}


def test_every_uncertain_row_has_a_group(library):
    ranged = [name for name, row in library.common.rows.items() if row.uncertain]
    names = [name for name in ranged if not name.startswith(BESIDE)]
    alone = sorted({name.split(".")[0] for name in names if group_of(name) == OTHER})
    assert not alone, "add these prefixes to groups"


def test_a_group_of_one_row_moves_as_its_draws_and_no_group_moves_what_it_does_not_read(plan):
    sized = plan("port_anui")
    found = group_tornado(sized, ("npv", "people_fed"), 64)
    bars = {b.group: b for b in found["people_fed"].bars}
    assert bars["Labour"].width == 0.0
    assert bars["Prices of inputs"].width == 0.0
    assert bars["Crop yields and losses"].width > 0.0
    assert bars["Year-to-year chance"].width > 0.0
    widths = [b.width for b in found["npv"].bars]
    assert widths == sorted(widths, reverse=True)
    assert sum(b.rows for b in found["npv"].bars) == len(sized.case.uncertain)


def test_group_bars_are_less_wide_than_all_bad_ends_together(plan):
    sized = plan("port_anui")
    ends = swings(sized)["npv"][:, 0].reshape(-1, 2)
    base = appraise(sized).indicators["npv"][0, 0]
    worst = dict(zip(sized.case.uncertain, ends.min(axis=1) - base, strict=True))
    bar = {b.group: b for b in group_tornado(sized, ("npv",), 128)["npv"].bars}["Building cost"]
    all_bad = sum(worst[n] for n in members(sized.case)["Building cost"])
    assert bar.low_result - base > all_bad


@pytest.mark.parametrize("site", ["port_anui", "kaldre"])
def test_at_the_switching_value_the_indicator_meets_its_target(plan, site):
    sized = plan(site)
    asked = decision(sized, "people_fed")
    found = switching(sized, asked)
    exact = [x for x in found.found if not x.jump]
    assert len(exact) > 5
    again = appraise_moves(sized, [{x.row.name: x.value} for x in exact], ("people_fed",))
    np.testing.assert_allclose(again["people_fed"][:, 0], asked.target, rtol=1e-6)
    far = [x.distance for x in found.rows]
    assert far == sorted(far)
    for x in found.rows:
        assert x.lowest <= x.best <= x.highest
        assert x.row.spec.low <= x.lowest <= x.highest <= x.row.spec.high


def test_switching_one_by_one_equals_all_at_once(plan):
    sized = plan("port_anui")
    asked = decision(sized, "npv", -3.6e6)
    names = ["wage.worker", "capital.overrun", "market.tilapia.price", "task.feed.hours"]
    whole = {x.row.name: x for x in switching(sized, asked, names).rows}
    for name in names:
        (alone,) = switching(sized, asked, [name]).rows
        assert whole[name].value == pytest.approx(alone.value, rel=1e-9)
        assert whole[name].jump == alone.jump


def test_a_jump_over_the_target_is_told(plan):
    # Whole workers: hours of feeding change the money by one worker, and by nothing before.
    sized = plan("norhaven")
    ends = swings(sized)["npv"][:, 0].reshape(-1, 2)
    at = sized.case.uncertain.index("task.feed.hours")
    asked = decision(sized, "npv", float(ends[at].mean()))
    (found,) = switching(sized, asked, ["task.feed.hours"]).rows
    assert found.jump
    assert found.value is not None


def test_a_row_that_never_switches_says_how_near_it_comes(plan):
    sized = plan("kaldre")
    found = switching(sized, decision(sized, "npv"), ["wage.worker", "price.feed"])
    for x in found.rows:
        assert x.value is None
        assert abs(x.best_answer) < abs(found.gap)
        assert x.distance == np.inf


def test_switching_price_is_the_break_even_price(plan):
    # Where no market bends prices, all food prices at their break-even multiple make the project
    # worth its cost: the money's own break-even is found by other code.
    sized = plan(
        "port_anui", "as_planned", "sales.unnoticed_share=1", "sales.most_share=1",
        "market.tilapia.price=30 FJD/kg",
    )  # fmt: skip
    even = appraise(sized).indicators["break_even_price"][0, 0]
    asked = decision(sized, "npv")
    row = sized.case.rows["sales.price_level"]
    (found,) = switching(sized, asked, ["sales.price_level"], points=8).rows
    assert found.value == pytest.approx(even * row.base, rel=1e-6)


def test_decisions_have_their_usual_targets_and_others_ask_for_one(plan):
    sized = plan("port_anui", "grant_and_soft_loan")
    base = appraise(sized).indicators
    cost = decision(sized, "cost_per_person_day")
    gap = base["cost_per_person_day"] - base["alternative_cost_person_day"]
    assert cost.gap(base)[0] == gap[0, 0]
    assert decision(sized, "min_dscr").target == sized.case.rows["grant_target.debt_cover"].base
    assert decision(sized, "people_fed").target == pytest.approx(0.9 * base["people_fed"][0, 0])
    with pytest.raises(AssumptionError, match="no target of its own"):
        decision(sized, "jobs_fte")
    with pytest.raises(AssumptionError, match="nearest known name is 'npv'"):
        decision(sized, "nvp")
    with pytest.raises(AssumptionError, match="no answer at base"):
        switching(plan("port_anui"), decision(plan("port_anui"), "min_dscr"))


def test_all_rows_together_switch_sooner_than_any_group(plan):
    sized = plan("port_anui")
    asked = decision(sized, "people_fed")
    found = {x.group: x for x in together(sized, asked, swings(sized))}
    groups = [x.likelihood for x in found.values() if x.likelihood is not None]
    assert found["All assumptions"].likelihood == max(groups)
    assert found["Labour"].likelihood is None


def test_place_and_span_follow_the_row(plan):
    row = plan("port_anui").case.rows["wage.worker"]
    assert place(row, row.low) == pytest.approx(0.1, abs=1e-3)
    assert place(row, row.base) == pytest.approx(0.5, abs=1e-3)
    assert place(row, row.high) == pytest.approx(0.9, abs=1e-3)
    low, high = span(row)
    assert 0.0 < low < row.low < row.high < high


def test_crossings_find_the_nearest_of_several_and_none_where_there_is_none():
    def gap(which, x):
        curves = [np.sin(x), x**2 + 1.0, np.where(x < 1.3, -1.0, 2.0), np.log(x + 3.0)]
        return np.choose(which, curves)

    base, start = np.array([1.0, 0.5, 0.0, 0.0]), np.array([np.sin(1.0), 1.25, -1.0, np.log(3.0)])
    ends = (np.full(4, -2.5), np.full(4, 4.0))
    low, high = crossings(gap, base, start, ends, 8)
    assert low.value[0] == pytest.approx(0.0, abs=1e-9)
    assert high.value[0] == pytest.approx(np.pi, abs=1e-9)
    assert not low.found[1]
    assert not high.found[1]
    assert high.jump[2]
    assert high.value[2] == pytest.approx(1.3, abs=1e-4)
    assert low.value[3] == pytest.approx(-2.0, abs=1e-9)


def test_a_curve_passes_through_the_base_and_the_ends_of_its_bar(plan):
    sized = plan("port_anui")
    row = sized.case.rows["wage.worker"]
    found = curve(sized, row.name, "npv", ends=(row.low, row.high))
    bar = next(b for b in tornado(sized, "npv").bars if b.row.name == row.name)
    assert found.answers[0] == pytest.approx(bar.low_result, rel=1e-12)
    assert found.answers[-1] == pytest.approx(bar.high_result, rel=1e-12)
    at = int(np.flatnonzero(found.points == row.base)[0])
    assert found.answers[at] == pytest.approx(found.base, rel=1e-12)
    with pytest.raises(AssumptionError, match="is no span within"):
        curve(sized, row.name, "npv", ends=(-1.0, 2.0))


def test_a_surface_is_its_curves_and_its_isoline_lies_on_the_target(plan):
    sized = plan("port_anui")
    names = ("wage.worker", "market.tilapia.price")
    found = surface(sized, names, "npv", points=5)
    for j in (0, 4):
        moves = [{names[0]: x, names[1]: found.second_values[j]} for x in found.first_values]
        alone = appraise_moves(sized, moves, ("npv",))["npv"][:, 0]
        same(found.answers[:, j], alone)
    target = float(found.answers.mean())
    pieces = isoline(found.first_values, found.second_values, found.answers, target)
    assert pieces
    spread = np.ptp(found.answers)
    for piece in pieces:
        moves = [{names[0]: x, names[1]: y} for x, y in piece]
        there = appraise_moves(sized, moves, ("npv",))["npv"][:, 0]
        assert np.abs(there - target).max() < 0.01 * spread
    with pytest.raises(AssumptionError, match="named twice"):
        surface(sized, (names[0], names[0]), "npv")


def test_an_isoline_of_a_plane_is_straight():
    x, y = np.linspace(0, 4, 5), np.linspace(0, 2, 7)
    pieces = isoline(x, y, x[:, None] + 2.0 * y[None, :], 3.0)
    for piece in pieces:
        for a, b in piece:
            assert a + 2.0 * b == pytest.approx(3.0, abs=1e-12)
    assert isoline(x, y, np.full((5, 7), np.nan), 3.0) == ()


@pytest.mark.parametrize(
    "name", ["wage.worker", "crop.cucumber.yield_year", "project.discount_rate"]
)
def test_a_goal_comes_back_round(plan, name):
    sized = plan("port_anui")
    row = sized.case.rows[name]
    x = 1.1 * row.base
    target = float(appraise_moves(sized, [{name: x}], ("npv",))["npv"][0, 0])
    found = goal_seek(sized, name, "npv", target)
    assert found.value == pytest.approx(x, rel=1e-6)
    assert found.answer == pytest.approx(target, rel=1e-9)
    assert not found.resized


def test_a_goal_on_the_size_gives_two_whole_designs(plan):
    found = goal_seek(plan("port_anui"), "size.bed_area", "people_fed", 60.0)
    assert found.above.value - found.below.value == 1.0
    assert found.below.plan.design.bed_area == found.below.value
    low, high = (
        appraise(end.plan).indicators["people_fed"][0, 0] for end in (found.below, found.above)
    )
    assert (low, high) == (found.below.answer, found.above.answer)
    assert min(low, high) < 60.0 < max(low, high)


def test_goals_refused_in_one_sentence(plan):
    sized = plan("port_anui")
    for name, indicator, target, words in (
        ("wage.wroker", "npv", 0.0, "nearest known name is 'wage.worker'"),
        ("wage.worker", "nvp", 0.0, "nearest known name is 'npv'"),
        ("economy.currency", "npv", 0.0, "is a word"),
        ("climate.temperature", "npv", 0.0, "is twelve months"),
        ("wage.worker", "npv", 1e9, "FJD/h gives npv 1,000,000,000; it reaches"),
        ("size.people", "npv", 0.0, "sized by size.bed_area"),
    ):
        with pytest.raises(AssumptionError, match=words):
            goal_seek(sized, name, indicator, target)
    with pytest.raises(AssumptionError, match="another farm or calendar"):
        curve(sized, "size.bed_area", "npv")


def test_a_yearly_row_is_moved_in_all_years_alike(plan):
    sized = plan("port_anui")
    found = appraise_moves(sized, [{"sales.price_year": 1.1}], ("npv",))["npv"][0, 0]
    values = base_values(sized.case)
    values["sales.price_year"] = values["sales.price_year"] * 0.0 + 1.1
    assert found == pytest.approx(appraise(sized, values).indicators["npv"][0, 0], rel=1e-12)


@pytest.mark.parametrize("site", SITES)
def test_rows_that_only_needs_read_move_alone(plan, site):
    # Draws of the need beside one harvest: people fed take the draws of both.
    sized = plan(site)
    rows = [sized.case.rows[n] for n in sized.case.uncertain if n.startswith("activity.")]
    assert rows
    moves = [{r.name: x} for r in rows for x in (r.low, r.base, r.high)]
    found = appraise_moves(sized, moves)["people_fed"]
    assert found.shape == (len(moves), 1)
    same(found[1], appraise(sized).indicators["people_fed"][0])


def test_every_uncertain_row_may_be_moved_beside_every_other(plan):
    # More rows than a block: whichever rows stand together, shapes must meet.
    sized = plan("kaldre")
    asked = decision(sized, "npv")
    found = switching(sized, asked, points=1, close=0.1)
    assert len(found.rows) == len(sized.case.uncertain)
