"""Draws and their errors against printed figures of their own field."""

import numpy as np
import pytest
from scipy.stats import qmc, spearmanr

from sitefare.assumptions import draws
from sitefare.assumptions.correlation import Pair
from sitefare.assumptions.declaration import Spec
from sitefare.assumptions.mixing import correlated, score_correlation
from sitefare.assumptions.triangle import lower_triangle
from sitefare.questions.sampling_error import ranks, wilson

FREE = Spec("quantity", "")
COUNT = 16_384


def metalog(triple, u):
    """Keelin 2016, symmetric percentile triplet at P10, P50, P90: his a1, a2, a3 and r."""
    low, middle, high = triple
    tail = np.log(0.9 / 0.1)
    r = (middle - low) / (high - low)
    a2 = (high - low) / (2 * tail)
    a3 = (1 - 2 * r) * (high - low) / (0.8 * tail)
    odds = np.log(u / (1 - u))
    return middle + a2 * odds + a3 * (u - 0.5) * odds, (middle, a2, a3)


@pytest.mark.identity
@pytest.mark.parametrize("triple", [(2.0, 5.0, 9.0), (-1.0, 0.0, 3.0)])
def test_three_term_metalog_has_keelins_coefficients(triple):
    # Keelin 2016, Decision Analysis 13(4), the section on a symmetric percentile triplet.
    u = np.linspace(0.01, 0.99, 99)
    assert draws.quantile(FREE, triple, u) == pytest.approx(metalog(triple, u)[0], abs=1e-12)


@pytest.mark.identity
def test_log_and_logit_forms_are_keelins():
    # The logarithm of the value, or of its odds between the bounds, is a metalog through the
    # same three points (Keelin 2016, the sections on semi-bounded and bounded distributions).
    u = np.linspace(0.01, 0.99, 99)
    above = metalog(tuple(np.log([1.0, 2.0, 5.0])), u)[0]
    found = draws.quantile(Spec("quantity", "", low=3), (4.0, 5.0, 8.0), u)
    assert found == pytest.approx(3.0 + np.exp(above), rel=1e-12)
    odds = metalog(tuple(np.log([0.1 / 0.9, 0.3 / 0.7, 0.6 / 0.4])), u)[0]
    found = draws.quantile(Spec("quantity", "", low=0, high=1), (0.1, 0.3, 0.6), u)
    assert found == pytest.approx(np.exp(odds) / (1 + np.exp(odds)), rel=1e-12)


@pytest.mark.calibration
def test_feasible_span_is_keelins():
    # Keelin 2016: feasible for r above k = (1 − 1.66711 (1/2 − 0.1)) / 2 = 0.16658. The span used
    # is rounded inward. Just inside, the density is positive everywhere; just outside it is not.
    k = 0.5 * (1 - 1.66711 * 0.4)
    assert (k, 1 - k) == pytest.approx(draws.FEASIBLE, abs=5e-4)
    u = np.linspace(1e-4, 1 - 1e-4, 200_001)
    assert np.all(np.diff(metalog((0.0, k + 1e-3, 1.0), u)[0]) > 0)
    assert np.any(np.diff(metalog((0.0, k - 1e-3, 1.0), u)[0]) < 0)


@pytest.mark.validation
def test_moments_are_those_keelin_prints(monkeypatch):
    # Keelin 2016, moments of the metalog, three terms (from memory): mean a1 + a3/2, variance
    # π² (a2²/3 + a3²/36) + a3²/12. Without the clip, which the formulas do not have.
    monkeypatch.setattr(draws, "CLIP", (1e-15, 1 - 1e-15))
    triple = (2.0, 5.0, 10.0)
    _, (a1, a2, a3) = metalog(triple, 0.5)
    u = (np.arange(2_000_000) + 0.5) / 2_000_000
    x = draws.quantile(FREE, triple, u)
    assert x.mean() == pytest.approx(a1 + a3 / 2, rel=1e-5)
    assert x.var() == pytest.approx(np.pi**2 * (a2**2 / 3 + a3**2 / 36) + a3**2 / 12, rel=1e-4)


@pytest.mark.validation
def test_sequence_is_joe_and_kuos():
    # Joe & Kuo, web example of their direction numbers: the first ten points in 3 dimensions.
    printed = [
        [0, 0, 0], [0.5, 0.5, 0.5], [0.75, 0.25, 0.25], [0.25, 0.75, 0.75], [0.375, 0.375, 0.625],
        [0.875, 0.875, 0.125], [0.625, 0.125, 0.875], [0.125, 0.625, 0.375],
        [0.1875, 0.3125, 0.9375], [0.6875, 0.8125, 0.4375],
    ]  # fmt: skip
    assert qmc.Sobol(3, scramble=False).random(16)[:10].tolist() == printed


@pytest.mark.identity
def test_scrambled_points_stay_a_net():
    # Of 2^k points each of 2^k equal parts holds exactly one, in every dimension (Owen 1995).
    for x in draws.sobol([f"k{i}" for i in range(40)], 256, 7).values():
        assert np.array_equal(np.sort(np.floor(256 * x[:, 0])), np.arange(256))


@pytest.mark.validation
def test_yearly_numbers_come_from_philox():
    # Salmon et al. 2011, Parallel random numbers: as easy as 1, 2, 3; known answer of Philox
    # 4×64-10 for key and counter 0 (kat_vectors of its authors' library). The counter is raised
    # before the first block.
    last = np.full(4, 2**64 - 1, dtype=np.uint64)
    made = np.random.Philox(key=np.zeros(2, dtype=np.uint64), counter=last).random_raw(4)
    assert [f"{x:016x}" for x in made] == [
        "16554d9eca36314c", "db20fe9d672d0fdc", "d7e772cee186176b", "7e68b68aec7ba23b",
    ]  # fmt: skip


@pytest.mark.validation
def test_triangle_is_that_of_the_iman_conover_example():
    # Mildenhall 2006, CAS Forum, the Iman–Conover method, simple example: rows of the upper
    # triangle C of the target and F of the scores' own correlations, printed to 3–4 figures.
    keys = ["a", "b", "c", "d"]
    pairs = [(x, y) for j, y in enumerate(keys) for x in keys[:j]]
    target = dict(zip(pairs, (0.8, 0.4, 0.3, 0.0, -0.2, 0.1), strict=True))
    rows = lower_triangle(keys, target).rows
    assert [row[0] for row in rows] == pytest.approx([1.0, 0.8, 0.4, 0.0], abs=5e-4)
    assert [row[1] for row in rows[1:]] == pytest.approx([0.6, -0.033, -0.333], abs=5e-4)
    found = dict(zip(pairs, (0.0486, 0.0898, 0.4504, -0.0960, -0.2408, -0.3192), strict=True))
    second = [row[1] for row in lower_triangle(keys, found).rows[1:]]
    assert second == pytest.approx([0.9988, 0.4466, -0.2364], abs=5e-4)


@pytest.mark.validation
def test_rank_and_score_correlations_are_never_far_apart():
    # Hotelling & Pabst 1936, Ann. Math. Stat. 7, on Pearson 1907's r = 2 sin(π r_s / 6): the two
    # never differ by more than 0.018 (from memory).
    ranked = np.linspace(-1, 1, 2001)
    gap = max(abs(score_correlation(r) - r) for r in ranked)
    assert gap == pytest.approx(0.018, abs=5e-4)
    assert score_correlation(1.0) == pytest.approx(1.0)


def together(rank):
    pair = Pair("x.a", "x.b", rank, "judgement", "", "", "here")
    return correlated(draws.sobol(["x.a", "x.b"], COUNT, 3), [[pair]])


@pytest.mark.validation
def test_both_rows_lie_low_as_often_as_sheppard_says():
    # Sheppard 1899: both normal scores below 0 with chance 1/4 + asin(ρ)/2π, so 1/3 at ρ = 1/2.
    # Tolerance: three standard errors of as many independent draws.
    rank = 6.0 / np.pi * np.arcsin(0.25)
    made = together(rank)
    low = np.mean((made["x.a"] < 0.5) & (made["x.b"] < 0.5))
    assert low == pytest.approx(1 / 3, abs=3 * np.sqrt(2 / 9 / COUNT))


@pytest.mark.identity
@pytest.mark.parametrize("rank", [-0.9, -0.3, 0.2, 0.7, 1.0])
def test_draws_have_the_rank_correlation_asked_for(rank):
    made = together(rank)
    found = spearmanr(made["x.a"][:, 0], made["x.b"][:, 0]).statistic
    assert found == pytest.approx(rank, abs=0.012)


def ishigami(u):
    x = np.pi * (2 * u - 1)
    return np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def g_function(u):
    a = np.array([0, 1, 4.5, 9, 99, 99, 99, 99])[:, None]
    return np.prod((np.abs(4 * u - 2) + a) / (1 + a), axis=0)


def columns(count, dimensions, seed):
    made = draws.sobol([f"k{i}" for i in range(dimensions)], count, seed)
    return np.concatenate(list(made.values()), axis=1).T


@pytest.mark.validation
def test_draws_give_ishigamis_moments():
    # Ishigami & Homma 1990, a = 7, b = 0.1: mean 3.5, variance 13.844588 (Saltelli et al. 2008).
    # Tolerance: a tenth of what independent draws would leave.
    y = ishigami(columns(COUNT, 3, 1))
    assert y.mean() == pytest.approx(3.5, abs=0.1 * 2 * np.sqrt(13.844588 / COUNT))
    assert y.var() == pytest.approx(13.844588, rel=0.002)


@pytest.mark.validation
def test_draws_give_the_variance_of_the_g_function():
    # Saltelli & Sobol 1995, a = (0, 1, 4.5, 9, 99, 99, 99, 99): mean 1, variance 0.465424.
    y = g_function(columns(COUNT, 8, 1))
    assert y.mean() == pytest.approx(1.0, abs=1e-3)
    assert y.var() == pytest.approx(0.465424, rel=0.005)


@pytest.mark.identity
@pytest.mark.parametrize(("model", "size", "exact"), [(ishigami, 3, 3.5), (g_function, 8, 1.0)])
def test_draws_integrate_faster_than_independent_ones(model, size, exact):
    # Owen 1997: scrambled nets beat the square root of the count; here by 4 times at 1,024.
    errors = [model(columns(1024, size, seed)).mean() - exact for seed in range(24)]
    apart = np.random.default_rng(5)
    loose = [model(apart.random((size, 1024))).mean() - exact for _ in range(24)]
    assert np.std(errors) < np.std(loose) / 4


# Newcombe 1998, Statistics in Medicine 17, 857–872, Table I, score method without continuity
# correction, 95 % (from memory).
NEWCOMBE = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718)]  # fmt: skip


@pytest.mark.validation
@pytest.mark.parametrize(("hits", "count", "low", "high"), NEWCOMBE)
def test_chances_have_newcombes_intervals(hits, count, low, high):
    assert wilson(hits, count) == pytest.approx((low, high), abs=5.1e-5)


# A printed table of intervals for the median (statistics textbook appendix, Table A.7: size,
# lower and upper order statistic, confidence in per cent).
MEDIANS = [
    (6, 1, 6, 96.9), (8, 1, 8, 99.2), (9, 2, 8, 96.1), (10, 2, 9, 97.9), (11, 2, 10, 98.8),
    (12, 3, 10, 96.1), (13, 3, 11, 97.8), (15, 4, 12, 96.5), (16, 4, 13, 97.9), (17, 5, 13, 95.1),
    (18, 5, 14, 96.9), (19, 5, 15, 98.1), (20, 6, 15, 95.9),
]  # fmt: skip


@pytest.mark.validation
def test_medians_lie_between_the_printed_order_statistics():
    for count, low, high, level in MEDIANS:
        assert ranks(count, 0.5) == (low, high)
        # The printed confidence, to its last digit: just below it the interval is this one,
        # just above it is wider.
        assert ranks(count, 0.5, level / 100 - 5.1e-4) == (low, high)
        assert ranks(count, 0.5, level / 100 + 5.1e-4) != (low, high)


@pytest.mark.validation
@pytest.mark.parametrize(("count", "from_top"), [(59, 1), (93, 2), (124, 3), (153, 4), (181, 5)])
def test_upper_limits_need_wilks_counts(count, from_top):
    # Wilks 1941, Ann. Math. Stat. 12: 59, 93, 124, 153, 181 runs for the first to fifth largest
    # to bound P95 with 95 % confidence (from memory). One-sided 95 % is two-sided 90 %.
    assert ranks(count, 0.95, 0.9)[1] == count + 1 - from_top
    assert ranks(count - 1, 0.95, 0.9)[1] > count - from_top
