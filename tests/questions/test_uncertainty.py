"""Ranges are order statistics; 'never' is never dropped; small undefined shares are told."""

import numpy as np
import pytest

from sitefare.arrays import order_statistic
from sitefare.questions.tornado import Bar, tornado
from sitefare.questions.uncertainty import spread, uncertainty
from sitefare.questions.weakest import unsupported_share, weakest


@pytest.mark.identity
def test_order_statistics_are_those_of_the_inverted_cdf():
    # numpy's quantile with method inverted_cdf is the reference (Hyndman & Fan 1996, type 1).
    x = np.sort(np.random.default_rng(2).normal(size=501))
    for share in (0.1, 0.5, 0.9):
        assert order_statistic(x, share) == np.quantile(x, share, method="inverted_cdf")


def test_never_ranks_above_every_number():
    x = np.concatenate([np.arange(80.0), np.full(20, np.inf)])[:, None]
    found = spread(x, "not within 15 years")
    assert found.low == 9.0
    assert found.high is None
    assert found.reason == "not within 15 years in 20% of draws"
    assert found.answered == pytest.approx(0.8)


def test_undefined_in_too_many_draws_gives_no_range():
    x = np.concatenate([np.arange(90.0), np.full(10, np.nan)])[:, None]
    found = spread(x, "not within 15 years")
    assert (found.low, found.median, found.high) == (None, None, None)
    assert "undefined in 10%" in found.reason
    few = spread(np.concatenate([np.arange(96.0), np.full(4, np.nan)])[:, None], "never")
    assert few.low is not None
    assert few.answered == pytest.approx(0.96)


def test_a_cost_without_people_says_so_and_a_payback_says_years(plan):
    drawn = uncertainty(plan("kaldre"), 256, 1)
    assert "not within 15 years" in drawn.spreads["payback_years"].reason
    assert "years" not in drawn.spreads["cost_per_person_day"].reason


def test_no_draws_give_no_ranges(plan):
    assert uncertainty(plan("kaldre"), 0, 1).spreads == {}


def test_the_same_seed_gives_the_same_ranges_and_another_does_not(plan):
    sized = plan("kaldre")
    first, again, other = (uncertainty(sized, 64, seed) for seed in (1, 1, 2))
    assert np.array_equal(first.draws["npv"], again.draws["npv"])
    assert not np.array_equal(first.draws["npv"], other.draws["npv"])


def test_bars_are_widest_first_and_both_ends_are_appraised(plan):
    found = tornado(plan("port_anui"), "npv")
    widths = [bar.width for bar in found.bars]
    assert widths == sorted(widths, reverse=True)
    assert len(found.bars) == len(plan("port_anui").case.uncertain)
    wage = next(bar for bar in found.bars if bar.row.name == "wage.worker")
    assert wage.low_result > found.base > wage.high_result


def test_weak_numbers_are_wide_and_unsupported(plan):
    found = tornado(plan("port_anui"), "cost_per_person_day")
    three = weakest(found)
    assert len(three) == 3
    assert all(bar.row.basis in ("judgement", "practice", "invented") for bar in three)
    assert 0 < unsupported_share(found) <= 1


def test_a_bar_without_an_answer_is_the_widest(plan):
    row = plan("kaldre").case.rows["price.feed"]
    assert Bar(row, 1.0, np.inf).width == np.inf
    assert Bar(row, np.inf, np.inf).width == 0.0
