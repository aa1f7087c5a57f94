import numpy as np
import pytest
import pyxirr

from sitefare.arrays import value
from sitefare.money.discounting import net_present_value
from sitefare.money.rates import NONE, ONE, rates_of_return, roots, sign_changes


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
