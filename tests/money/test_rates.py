import itertools

import numpy as np
import pytest
import pyxirr
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sitefare.arrays import value
from sitefare.money.discounting import net_present_value
from sitefare.money.rates import NONE, ONE, SEVERAL, rates_of_return, roots, sign_changes


def project_flows(rows, months, seed=3):
    """Outlays while building, noisy surpluses after, replacements every five years."""
    rng = np.random.default_rng(seed)
    flow = rng.normal(1.0, 0.5, (rows, months + 1)) * rng.uniform(0.2, 3.0, (rows, 1))
    flow[:, :7] = -rng.uniform(5, 15, (rows, 7))
    flow[:, 60::60] -= rng.uniform(0, 20, (rows, 1))
    return flow


def test_rates_agree_with_a_library_row_by_row():
    flow = project_flows(200, 180)
    found = rates_of_return(flow)
    one = found.status[:, 0] == ONE
    assert np.mean(one) > 0.2
    for rate, row in zip(found.rate[one, 0], flow[one], strict=True):
        expected = pyxirr.irr(row)
        if expected is not None and expected > -0.3:
            assert (1 + rate) ** (1 / 12) - 1 == pytest.approx(expected, abs=1e-9)


def test_npv_at_the_rate_is_zero_and_scale_does_not_matter():
    flow = project_flows(64, 240)
    found = rates_of_return(flow)
    one = found.status[:, 0] == ONE
    left = net_present_value(flow[one], found.rate[one])
    assert np.max(np.abs(left)) < 1e-9 * np.max(np.abs(flow))
    doubled = rates_of_return(2 * flow)
    np.testing.assert_array_equal(found.rate, doubled.rate)


@pytest.mark.parametrize("draws", [1, 7, 12, 24, 181])
def test_a_row_does_not_depend_on_its_neighbours(draws):
    flow = project_flows(draws, 180)
    together = rates_of_return(flow).rate[:, 0]
    alone = [rates_of_return(row[None, :]).rate[0, 0] for row in flow]
    np.testing.assert_array_equal(together, alone)


def test_no_flow_has_no_rate():
    found = rates_of_return(np.zeros((2, 13)))
    assert np.all(found.status == NONE)
    assert np.all(np.isnan(found.rate))
    assert roots(np.zeros(13)).size == 0


def test_sign_changes_pass_over_zeros():
    flow = np.array([[0.0, -1, 0, 0, 2, 0, -3], [0, 0, 0, 0, 0, 0, 1]])
    assert sign_changes(flow)[:, 0].tolist() == [2, 0]


def test_a_rate_on_the_grid_is_found():
    assert rates_of_return(np.array([[-1.0, 0.5, 0.5]]), per_year=1).rate[0, 0] == pytest.approx(0)


def test_doubling_a_flow_doubles_its_worth():
    flow = project_flows(5, 60)
    twice = net_present_value(2 * flow, value(0.07))
    np.testing.assert_allclose(twice, 2 * net_present_value(flow, value(0.07)), rtol=1e-15)


HARD = [
    # Exact double root, near-double roots inside one step of the grid, and just no root.
    pytest.param([1.0, -2.2, 1.21], [0.1, 0.1], id="double root"),
    pytest.param([1.0, -2.0, 1.0], [0.0, 0.0], id="double root on the grid"),
    pytest.param([1.0, -2.201, 1.2111], [0.1, 0.101], id="near-double roots"),
    pytest.param([-1.0, 2.2001, -1.21011], [0.1, 0.1001], id="nearer-double roots"),
    pytest.param([1.0, -2.2, 1.2101], [], id="just no root"),
    pytest.param([1.0, -2.0, 0.99], [-0.1, 0.1], id="two roots about the grid's zero"),
    # Roots 0.05, 0.051 and 0.4 in z: the pair and one more.
    pytest.param(
        list(-np.poly([1.05, 1.051, 1.4])), [0.05, 0.051, 0.4], id="a near pair and a third"
    ),
    pytest.param([0.0, 0.0, -1.0, 1.1], [0.1], id="leading zeros"),
    pytest.param([-1.0, 0.0, 0.0, 0.0], [], id="outlay alone"),
    pytest.param([0.0, 0.0, 0.0], [], id="nothing"),
    pytest.param([-1e300, 1.1e300], [0.1], id="huge"),
    pytest.param([-1e-300, 1.1e-300], [0.1], id="tiny"),
    pytest.param([-1.0, 1.0], [0.0], id="on the grid"),
    pytest.param([-1.0, 11.0 + 1e-9], [], id="just beyond the range"),
    pytest.param([-100.0, 1.0 + 1e-9], [-0.99], id="just inside the range"),
]


@pytest.mark.parametrize(("flow", "expected"), HARD)
def test_hard_flows_are_told_in_full(flow, expected):
    row = np.array(flow)
    found = roots(row, per_year=1)
    # A double root is known to the square root of rounding.
    assert found.tolist() == pytest.approx(expected, abs=3e-7)
    answer = rates_of_return(row[None, :], per_year=1)
    assert answer.roots[0, 0] == len(expected)
    assert answer.status[0, 0] == min(len(expected), SEVERAL)
    if len(expected) == 1:
        assert answer.rate[0, 0] == pytest.approx(expected[0], abs=1e-9)
    else:
        assert np.isnan(answer.rate[0, 0])


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.floats(0.6, 3.0), min_size=1, max_size=4, unique=True),
    st.floats(1e-200, 1e200),
    st.sampled_from([-1.0, 1.0]),
)
def test_roots_put_in_are_found(growth, scale, sign):
    # (z − g1)(z − g2)… has exactly the rates g − 1. Two may stand within a step of the grid, but
    # not three: the scan promises to tell pairs.
    growth = sorted(growth)
    assume(all(b - a > 1e-4 for a, b in itertools.pairwise(growth)))
    assume(all(b - a > 0.4 for a, b in zip(growth, growth[2:], strict=False)))
    found = roots(sign * scale * np.poly(growth), per_year=1)
    assert found.size == len(growth)
    np.testing.assert_allclose(found, np.array(growth) - 1.0, atol=1e-7)


def test_many_months_of_hard_flows_agree_with_the_list_of_roots():
    rng = np.random.default_rng(5)
    flow = rng.normal(0.02, 1.0, (300, 61))
    answer = rates_of_return(flow)
    for row, count, rate in zip(flow, answer.roots[:, 0], answer.rate[:, 0], strict=True):
        found = roots(row)
        assert found.size == count
        terms = row * (1.0 + found[:, None]) ** (-np.arange(61) / 12.0)
        assert np.all(np.abs(terms.sum(axis=1)) < 1e-9 * np.abs(terms).sum(axis=1))
        if count == 1:
            assert rate == pytest.approx(found[0], abs=1e-9)
