"""Chances are shares of draws, told against what is promised; cash ends when it says."""

from dataclasses import replace

import numpy as np
import pytest

from sitefare.appraisal import appraise, sampled_values
from sitefare.assumptions.case import make_case
from sitefare.assumptions.correlation import in_force
from sitefare.questions import uncertainty as module
from sitefare.questions.chances import cash_end, chances, promise
from sitefare.questions.fan import EDGES, fan
from sitefare.questions.middle import P90_SCORE, pulls
from sitefare.questions.outlook import outlook
from sitefare.questions.tornado import swings, tornado
from sitefare.questions.uncertainty import Uncertainty, first_short, uncertainty

DRAWS = 512


@pytest.fixture(scope="module")
def case(plan):
    sized = plan("port_anui", "grant_and_soft_loan")
    return appraise(sized), uncertainty(sized, DRAWS, 1)


def test_every_chance_is_a_share_of_the_draws(case):
    base, drawn = case
    found = {c.key: c.share.value for c in chances(base, drawn)}
    x = {name: y[:, 0] for name, y in drawn.draws.items()}
    fed = float(base.indicators["people_fed"][0, 0])
    assert found == {
        "loss": np.mean(x["npv"] < 0),
        "payback": 1.0 - np.mean(x["payback_years"] <= 10.0),
        "cash": np.mean(np.isfinite(drawn.first_short)),
        "people": np.mean(x["people_fed"] < fed),
        "alternative": np.mean(x["cost_per_person_day"] > x["alternative_cost_person_day"]),
    }
    assert 0 < found["people"] < 1


def test_a_promise_stands_before_the_base_case(plan, library):
    few, many = (
        plan("port_anui", "as_planned", "promise.people=5"),
        plan("port_anui", "as_planned", "promise.people=500"),
    )
    drawn = uncertainty(few, 64, 1)
    kept, broken = (
        next(c for c in chances(appraise(p), drawn) if c.key == "people") for p in (few, many)
    )
    assert kept.share.value < 0.1
    assert broken.share.value == 1.0
    assert "500 promised" in broken.words
    assert promise(appraise(few)).people == 5
    asked = make_case(library, "port_anui", "as_planned", ["size.basis=people", "size.people=30"])
    sized = replace(appraise(few), plan=replace(few, case=asked))
    assert (promise(sized).people, promise(sized).people_from) == (30.0, "the farm is sized for")


def test_a_promise_moves_no_result(plan):
    a, b = (appraise(plan("port_anui", "as_planned", f"promise.payback={y}")) for y in (3, 30))
    for name, x in a.indicators.items():
        assert np.array_equal(x, b.indicators[name], equal_nan=True)


def test_a_kinder_payback_is_missed_less_often(case):
    base, drawn = case
    years = np.linspace(2, 18, DRAWS)[:, None]
    drawn = replace(drawn, draws={**drawn.draws, "payback_years": years})
    assert next(c for c in chances(base, drawn) if c.key == "payback").share.value == 0.5


def test_no_answer_counts_as_a_disappointment(case):
    base, drawn = case
    none = {"payback_years": np.inf, "cost_per_person_day": np.inf, "people_fed": np.nan}
    changed = {name: np.full((DRAWS, 1), x) for name, x in none.items()}
    drawn = replace(drawn, draws={**drawn.draws, **changed})
    found = {c.key: c.share.value for c in chances(base, drawn)}
    assert found["payback"] == found["alternative"] == found["people"] == 1.0


def test_first_month_without_cash():
    balance = np.array([[5.0, 1.0, -2.0, 3.0], [5.0, -1e-9, 0.0, 1.0], [-1.0, 2.0, 2.0, 2.0]])
    assert first_short(balance).tolist() == [[2.0], [np.inf], [0.0]]


def test_cash_ends_are_those_of_the_statements(plan, case):
    base, drawn = case
    sized = plan("port_anui", "grant_and_soft_loan")
    cash = appraise(sized, sampled_values(sized, 64, 1)).finances.cash_balance
    for i in range(64):
        below = np.flatnonzero(cash[i] < -1e-6 * np.abs(cash[i]).max())
        assert drawn.first_short[i, 0] == (below[0] if below.size else np.inf)
    found = cash_end(base, drawn)
    assert found.by_year.sum() == pytest.approx(found.ever.value)
    assert found.months[0.1] <= found.months[0.5]


def test_a_year_of_failure_is_the_year_of_its_month(case):
    base, drawn = case
    first = np.full((DRAWS, 1), np.inf)
    first[: DRAWS // 4] = 13.0
    first[DRAWS // 4 : DRAWS // 2] = 12.0
    found = cash_end(base, replace(drawn, first_short=first))
    assert found.by_year[1] == found.by_year[2] == 0.25
    assert found.ever.value == 0.5
    assert (found.months[0.1], found.months[0.9]) == (12, None)


def test_without_draws_nothing_is_told(plan):
    base = appraise(plan("port_anui"))
    assert outlook(base, Uncertainty({}, {}, 0, 1)) is None
    assert chances(base, Uncertainty({}, {}, 0, 1)) == ()


def test_chunks_change_nothing(plan, monkeypatch):
    sized = plan("kaldre")
    whole = uncertainty(sized, 1024, 3)
    monkeypatch.setattr(module, "CHUNK", 256)
    parts = uncertainty(sized, 1024, 3)
    for name, x in whole.draws.items():
        assert np.array_equal(x, parts.draws[name], equal_nan=True), name
    for name in ("cumulative", "balance", "first_short"):
        assert np.array_equal(getattr(whole, name), getattr(parts, name)), name


def test_fans_hold_the_shares_they_say(case):
    base, drawn = case
    made = fan(drawn.cumulative, base.finances.cumulative_real[0, ::12])
    assert np.all(np.diff(made.lines, axis=0) >= 0)
    for edge in EDGES:
        below = np.mean(drawn.cumulative <= made.line(edge), axis=0)
        assert np.all(below >= edge - 1e-12)
        assert np.all(below <= edge + 1.0 / DRAWS + 1e-12)
    assert made.base[-1] == base.finances.cumulative_real[0, -1]


def test_pulls_are_the_bends_of_the_tornado(plan):
    sized = plan("qasr_adhra")
    ends = swings(sized)
    found = pulls(sized, ends, "cost_per_person_day", upward=True, count=4)
    bars = tornado(sized, "cost_per_person_day", ends)
    shifts = {
        b.row.name: (b.low_result + b.high_result - 2 * bars.base) / (2 * P90_SCORE**2)
        for b in bars.bars
    }
    assert [p.shift for p in found] == sorted((p.shift for p in found), reverse=True)
    assert found[0].shift == max(x for x in shifts.values() if np.isfinite(x))
    down = pulls(sized, ends, "cost_per_person_day", upward=False)
    assert all(p.shift < 0 for p in down)
    assert len({p.shift for p in found}) == len(found)


@pytest.mark.identity
def test_a_pull_is_the_mean_shift_of_a_parabola():
    # For y = z² with z normal the mean is 1 and the base 0; the ends stand at ±1.2816.
    assert (2 * P90_SCORE**2 - 0.0) / (2 * P90_SCORE**2) == 1.0
    assert pytest.approx(1.2816, abs=5e-5) == P90_SCORE


def test_correlated_prices_widen_what_they_all_move(plan):
    sized = plan("port_anui")
    apart = replace(sized, case=replace(sized.case, pairs=()))
    name = "alternative_cost_person_day"
    one, two = (uncertainty(p, 1024, 1).spreads[name] for p in (sized, apart))
    assert one.high - one.low > 1.2 * (two.high - two.low)
    keys = [sized.case.key(n) for n in sized.case.uncertain]
    assert in_force(keys, sized.case.moving_together(keys))
