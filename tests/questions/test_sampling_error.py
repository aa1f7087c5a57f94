"""Sampling errors hold as often as they say, on models whose answer is known."""

import numpy as np
import pytest
from scipy.special import ndtri
from scipy.stats import norm

from sitefare.assumptions import draws
from sitefare.assumptions.draws import MOST_DRAWS
from sitefare.questions.chances import Chance
from sitefare.questions.outlook import enough, figure
from sitefare.questions.sampling_error import (
    Between,
    chance,
    draws_for,
    draws_for_chance,
    mean,
    percentile,
    ranks,
)

#: A sum of twelve normal scores and a product of them: a straight and a skewed model.
SIZE, SEEDS = 12, 160


def sums(count, seed):
    made = draws.sobol([f"k{i:02d}" for i in range(SIZE)], count, seed)
    return sum(ndtri(np.clip(x[:, 0], 1e-9, 1 - 1e-9)) for x in made.values())


def skewed(count, seed):
    return np.exp(0.3 * sums(count, seed))


SPREAD = np.sqrt(SIZE)


def held(found, exact):
    return found.low is not None and found.low <= exact <= found.high


@pytest.mark.parametrize("count", [128, 1024])
def test_intervals_hold_in_over_nine_of_ten_seeds(count):
    # 95 % asked; draws of a scrambled net spread more evenly than independent ones, so that
    # intervals made for independent draws hold at least as often.
    hits = {"P10": 0, "P50": 0, "P90": 0, "mean": 0, "chance": 0}
    for seed in range(SEEDS):
        x = skewed(count, seed)
        ordered = np.sort(x)
        for share in (0.1, 0.5, 0.9):
            exact = np.exp(0.3 * SPREAD * ndtri(share))
            hits[f"P{100 * share:.0f}"] += held(percentile(ordered, share), exact)
        hits["mean"] += held(mean(x), np.exp(0.5 * (0.3 * SPREAD) ** 2))
        hits["chance"] += held(chance(x < 0.5), norm.cdf(np.log(0.5) / (0.3 * SPREAD)))
    assert min(hits.values()) >= 0.9 * SEEDS, hits


def test_intervals_are_not_wastefully_wide():
    # At P50 the straight model's error of independent draws is known: 1.2533 σ / √n.
    half = np.mean([percentile(np.sort(sums(1024, s)), 0.5).half for s in range(20)])
    assert half == pytest.approx(1.96 * 1.2533 * SPREAD / 32, rel=0.15)


def test_advised_draws_bring_the_error_within_bounds():
    x = np.sort(skewed(512, 1))
    found = percentile(x, 0.9)
    bound = 0.02 * found.value
    needed = draws_for(found, 512, bound)
    assert needed > 512
    assert needed & (needed - 1) == 0
    exact = np.exp(0.3 * SPREAD * ndtri(0.9))
    errors = [percentile(np.sort(skewed(needed, s)), 0.9).value - exact for s in range(20)]
    assert np.mean(np.abs(errors) <= bound) >= 0.9
    fewer = [percentile(np.sort(skewed(512, s)), 0.9).value - exact for s in range(20)]
    assert np.std(errors) < np.std(fewer)


@pytest.mark.parametrize(("share", "expected"), [(0.5, 16_384), (0.1, 4096), (0.01, 1024)])
def test_draws_for_a_chance(share, expected):
    # 1.96² p (1 − p) / 0.01² = 9,604 and 3,457: the next power of two. Near 0 the interval
    # reaches further up than down, which asks for more than 380.
    assert draws_for_chance(share, 0.01) == expected
    assert draws_for_chance(0.0, 0.0) == MOST_DRAWS


def test_too_few_draws_leave_an_end_open():
    assert ranks(16, 0.1)[0] == 0
    found = percentile(np.arange(16.0), 0.1)
    assert found.low is None
    assert found.half is None


def test_never_ranks_above_every_number():
    x = np.concatenate([np.arange(900.0), np.full(124, np.inf)])
    assert percentile(x, 0.9).value is None
    assert percentile(x, 0.5).high is not None
    assert mean(x) == Between(None, None, None)


def test_advice_names_the_worst_figure_and_counts_enough():
    sharp = figure("capex", 10.0, (10.0 + 0.001 * sums(512, 1))[:, None], "")
    wide = figure("npv", 1.0, skewed(512, 1)[:, None], "")
    coin = Chance("loss", "words", chance(sums(512, 1) < 0))
    made = enough([sharp, wide], [coin], 512)
    assert made.name == "npv"
    assert made.chance == pytest.approx(0.043, abs=0.002)
    assert made.needed >= 16_384
    alone = enough([sharp], [], 512)
    assert alone.needed <= 512
    assert alone.figure < 0.02


def test_too_many_undefined_draws_tell_nothing():
    x = np.concatenate([np.arange(90.0), np.full(10, np.nan)])[:, None]
    told = figure("irr", np.nan, x, "undefined in 10% of draws")
    assert all(end.value is None for end in told.ends.values())
    assert told.reason == "undefined in 10% of draws"
