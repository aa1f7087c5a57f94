"""Draws pass through the three points of a row, stay in bounds and depend on their number only."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitefare.assumptions import draws
from sitefare.assumptions.declaration import Spec
from sitefare.errors import AssumptionError

FREE = Spec("quantity", "")
POSITIVE = Spec("quantity", "", low=0)
SHARE = Spec("quantity", "", low=0, high=1)
TRIPLES = [
    (FREE, (-3.0, 1.0, 4.0)),
    (POSITIVE, (0.5, 1.0, 3.0)),
    (SHARE, (0.1, 0.3, 0.6)),
    (POSITIVE, (0.9, 1.0, 30.0)),  # infeasible for three terms: the two slopes
    (POSITIVE, (0.0, 1.0, 3.0)),  # touches its bound: untransformed and clipped
]


@pytest.mark.identity
@pytest.mark.parametrize(("spec", "triple"), TRIPLES)
def test_distribution_passes_through_its_three_points(spec, triple):
    # Keelin 2016: the three-term metalog is parameterised by these three quantiles exactly.
    found = draws.quantile(spec, triple, np.array([0.1, 0.5, 0.9]))
    assert found == pytest.approx(triple, abs=1e-9)


@given(st.floats(0.001, 1), st.floats(1, 5), st.floats(5, 100))
def test_quantiles_never_fall(low, base, high):
    u = np.linspace(0, 1, 101)
    found = draws.quantile(POSITIVE, (low, base, high), u)
    assert np.all(np.diff(found) >= -1e-9 * np.abs(found[1:]))
    assert np.all(found >= 0)


def test_probabilities_are_clipped_not_rescaled():
    ends = draws.quantile(POSITIVE, (1.0, 2.0, 4.0), np.array([0.0, 0.01, 0.99, 1.0]))
    assert ends[0] == ends[1]
    assert ends[2] == ends[3]


def test_draws_do_not_depend_on_their_count():
    few = draws.sobol(["b", "a"], 8, 1)
    many = draws.sobol(["a", "b"], 64, 1)
    assert np.array_equal(few["a"], many["a"][:8])
    assert np.array_equal(draws.yearly("k", 5, 3, 7), draws.yearly("k", 50, 3, 7)[:5])


def test_odd_counts_are_refused():
    with pytest.raises(AssumptionError, match="0 or a power of two, such as 64 or 128; found 100"):
        draws.sobol(["a"], 100, 1)
