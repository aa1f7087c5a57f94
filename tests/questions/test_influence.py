"""Shares of the spread: the reference library's figures, rules for odd answers, invariances."""

import numpy as np
import pytest
from SALib.analyze import sobol as reference
from SALib.sample import sobol as sampling
from scipy.stats import norm, qmc

from sitefare.appraisal import sampled_values
from sitefare.assumptions.case import BESIDE
from sitefare.questions.additive import fitted, orthonormal, spline_basis
from sitefare.questions.groups import GROUPS, OTHER, group_of
from sitefare.questions.influence import influence, redrawn, row_of, summed
from sitefare.questions.influence_design import (
    designed,
    first_order,
    parts_by_group,
    shares,
    shuffled,
    total,
)
from sitefare.questions.scoring import scale_for
from sitefare.questions.uncertainty import uncertainty

SITES = ["kaldre", "norhaven", "port_anui", "qasr_adhra"]


def ishigami(x):
    return np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])


@pytest.mark.identity
@pytest.mark.parametrize("draws", [256, 1024])
def test_estimators_are_those_of_the_reference_library_on_the_same_samples(draws):
    problem = {"num_vars": 3, "names": ["a", "b", "c"], "bounds": [[-np.pi, np.pi]] * 3}
    x = sampling.sample(problem, draws, calc_second_order=False, seed=3)
    y = ishigami(x)
    printed = reference.analyze(problem, y, calc_second_order=False, seed=1)
    scaled = (y - y.mean()) / y.std()
    a, b = scaled[::5], scaled[4::5]
    for i in range(3):
        mixed = scaled[1 + i :: 5]
        both = np.concatenate([a, b])
        # The library centres on the mean of all samples; the shift to ours is exact.
        moved = both.mean() * np.mean(mixed - a) / both.var()
        assert float(first_order(a, b, mixed)) + moved == pytest.approx(printed["S1"][i], abs=1e-12)
        assert float(total(a, b, mixed)) == pytest.approx(printed["ST"][i], abs=1e-12)
        found = shares("x", a, b, mixed)
        assert found.total_error == pytest.approx(printed["ST_conf"][i] / 1.96, rel=0.35)


def test_the_basis_is_orthonormal_and_bends():
    basis = spline_basis(1024)
    assert basis.shape == (1024, 8)
    np.testing.assert_allclose(basis.T @ basis / 1024, np.eye(8), atol=1e-10)
    assert abs(basis.mean(axis=0)).max() < 1e-12
    again = orthonormal(np.stack([basis[:, 0], 2 * basis[:, 0]], axis=1))
    assert again.shape[1] == 1


def test_shares_of_independent_numbers_add_up_to_one_at_most():
    u = qmc.Sobol(6, scramble=True, rng=np.random.default_rng(2)).random(2048)
    columns = {f"x{i}": u[:, i] for i in range(6)}
    straight = fitted(columns, 3 * u[:, 0] + 2 * u[:, 1] ** 2 + u[:, 2])
    assert sum(straight.shares.values()) == pytest.approx(1, abs=0.01)
    crossed = fitted(columns, (u[:, 0] - 0.5) * (u[:, 1] - 0.5) + 0.1 * u[:, 2])
    assert sum(crossed.shares.values()) < 0.6
    for name in ("x3", "x4", "x5"):
        assert abs(straight.shares[name]) < max(3 * straight.errors[name], 1e-3)


def test_a_share_does_not_depend_on_units_order_or_a_monotone_rescaling_of_its_number():
    rng = np.random.default_rng(4)
    x = {name: rng.random(1024) for name in "abc"}
    y = np.sin(3 * x["a"]) + x["b"]
    found = fitted(x, y).shares
    other = fitted({"c": x["c"], "b": np.exp(9 * x["b"]), "a": 1e6 * x["a"]}, 1e3 - 7 * y).shares
    for name in "abc":
        assert other[name] == pytest.approx(found[name], abs=1e-9)


def test_the_error_is_that_of_independent_draws():
    found = []
    for seed in range(20):
        x = np.random.default_rng(seed).random((1024, 3))
        y = 2 * x[:, 0] + x[:, 1] + np.random.default_rng(100 + seed).normal(size=1024) * 0.5
        found.append(fitted({"a": x[:, 0], "b": x[:, 1], "c": x[:, 2]}, y))
    for name, part in (("a", 4 / 12), ("b", 1 / 12)):
        exact = part / (5 / 12 + 0.25)
        values = np.array([f.shares[name] for f in found])
        errors = np.array([f.errors[name] for f in found])
        assert abs(values.mean() - exact) < 0.02
        assert 0.5 < errors.mean() / values.std() < 2


# How an indicator becomes a number.


def test_never_ranks_last_and_undefined_says_nothing():
    x = np.array([[3.0], [1.0], [np.inf], [np.inf], [2.0]])
    scale = scale_for(x)
    assert scale.kind == "rank"
    np.testing.assert_allclose(scale.scored(x), [0.5, 0.1, 0.8, 0.8, 0.3])
    few = scale_for(np.concatenate([np.arange(99.0), [np.nan]])[:, None])
    assert few.kind == "rank"
    assert few.scored(np.array([[np.nan]]))[0] == 0.5


def test_scales_follow_the_answers():
    rng = np.random.default_rng(1)
    assert scale_for(rng.normal(size=(1000, 1))).kind == "value"
    assert scale_for(np.exp(4 * rng.normal(size=(1000, 1)))).kind == "rank"
    half = np.where(rng.random((1000, 1)) < 0.5, np.nan, 1.0)
    assert scale_for(half).kind == "answered"
    assert set(scale_for(half).scored(half)) == {0.0, 1.0}
    for still in (np.full((9, 1), np.inf), np.full((9, 1), np.nan), np.ones((9, 1))):
        assert scale_for(still).kind == "still"


# On the shipped sites.


@pytest.mark.parametrize("site", SITES)
def test_every_uncertain_row_stands_in_a_group(plan, site):
    case = plan(site).case
    found = {group_of(name) for name in case.uncertain}
    assert OTHER not in found
    assert found <= set(GROUPS)
    assert group_of("production.crop_year_factor") == "Year-to-year chance"


def test_every_ranged_row_of_the_library_stands_in_a_group(library):
    layers = [library.common, *(library.site(site) for site in library.sites)]
    ranged = {row.name for layer in layers for row in layer.rows.values() if row.uncertain}
    drawn = [name for name in sorted(ranged) if not name.startswith(BESIDE)]
    assert [name for name in drawn if group_of(name) == OTHER] == []


@pytest.fixture(scope="module")
def port(plan):
    sized = plan("port_anui")
    return sized, uncertainty(sized, 1024, 1)


def test_the_same_seed_gives_the_same_shares(port):
    sized, drawn = port
    one, two = (influence(sized, drawn, "npv") for _ in range(2))
    assert one.rows == two.rows
    assert one.groups == two.groups
    across = [(p.first, p.second, p.share) for p in one.model.products]
    across += [(*both, x) for both, x in one.model.pairs.items()]
    between = sum(x for a, b, x in across if group_of(row_of(a)) != group_of(row_of(b)))
    assert sum(g.first for g in one.groups) + one.left == pytest.approx(1 - between, abs=1e-9)


def test_rows_drawn_again_are_those_that_were_appraised(port):
    sized, drawn = port
    columns = redrawn(sized, drawn)
    values = sampled_values(sized, 1024, 1)
    name = next(n for n in sized.case.uncertain if n.startswith("wage."))
    assert np.array_equal(columns[sized.case.key(name)], values[name][:, 0])
    assert any(key.startswith("occurrence.") for key in columns)


def test_the_first_draws_are_the_same_however_many_follow(plan):
    # Influence uses at most 16,384 draws; those must be the ones appraised.
    sized = plan("port_anui")
    few, many = (sampled_values(sized, draws, 1) for draws in (256, 512))
    for name, x in few.items():
        if not isinstance(x, str) and x.shape[0] == 256:
            assert np.array_equal(x, many[name][:256]), name


def test_no_shares_without_draws_or_spread(port):
    sized, drawn = port
    assert influence(sized, uncertainty(sized, 64, 1), "npv") is None
    assert influence(sized, drawn, "payback_years") is None


def test_groups_from_draws_agree_with_the_design(port):
    # First-order shares of both ways, within four standard errors of both together.
    sized, drawn = port
    there = {g.name: g for g in designed(sized, ["npv"], 256, 1)["npv"].groups}
    here = {g.name: g for g in influence(sized, drawn, "npv").groups}
    assert set(there) == set(here)
    for name, group in there.items():
        error = np.hypot(group.first_error, here[name].first_error)
        assert abs(group.first - here[name].first) < 4 * error + 0.02, name
        assert group.total > group.first - 4 * np.hypot(group.first_error, group.total_error)


def test_parts_hold_every_uncertain_value_once_and_sets_are_independent(plan):
    sized = plan("port_anui")
    values = dict(sampled_values(sized, 256, 1))
    parts = parts_by_group(sized, values)
    names = [name for part in parts.values() for name in part]
    assert len(names) == len(set(names))
    assert set(sized.case.uncertain) <= set(names)
    again = shuffled(values, 256, 1)
    name = sized.case.uncertain[0]
    assert np.array_equal(np.sort(again[name][:, 0]), np.sort(values[name][:, 0]))
    life = [n for n in sized.case.uncertain if values[n].shape == (256, 1)]
    first = np.stack([values[n][:, 0] for n in life])
    second = np.stack([shuffled(values, 256, 9)[n][:, 0] for n in life])
    crossed = [abs(np.corrcoef(a, b)[0, 1]) for a, b in zip(first, second, strict=True)]
    assert np.mean(crossed) < 0.1


@pytest.mark.identity
def test_many_weak_numbers_and_correlated_ones_add_up_to_all_of_a_straight_answer():
    # 400 independent numbers of equal weight make half of the variance; 10 numbers, each pair
    # correlated by 0.4, the other half: 10 + 2 × 45 × 0.4 = 46 parts, of which 10 their own.
    u = qmc.Sobol(411, scramble=True, rng=np.random.default_rng(6)).random(2048)
    z = norm.ppf(u)
    own = np.sqrt(0.4) * z[:, [410]] + np.sqrt(0.6) * z[:, 400:410]
    y = u[:, :400].sum(axis=1) * np.sqrt(12) / 20 + own.sum(axis=1) / np.sqrt(46)
    columns = {f"w{i}": u[:, i] for i in range(400)} | {f"c{i}": own[:, i] for i in range(10)}
    pairs = [(f"c{i}", f"c{j}") for j in range(10) for i in range(j)]
    found = fitted(columns, y, correlated=pairs)
    shares, names = found.shares, [f"c{i}" for i in range(10)]
    assert sum(shares[f"w{i}"] for i in range(400)) == pytest.approx(0.5, abs=0.02)
    together = sum(shares[n] for n in names) + found.paired(names)
    assert together == pytest.approx(0.5, abs=0.02)
    assert sum(shares[n] for n in names) == pytest.approx(0.5 * 10 / 46, abs=0.02)
    groups = {s.name: s.first for s in summed(found, lambda name: name[0])}
    assert groups["c"] == pytest.approx(together, abs=0.005)
