import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.people.storage import stored

FLOW = np.array([[0.0, 0.0, 12.0, 0.0, 30.0, 6.0, 0.0, 0.0, 0.0]])


def test_a_window_of_one_month_carries_nothing_over():
    kept = stored(FLOW, value(1.0), value(0.3))
    assert kept.released == pytest.approx(FLOW, abs=0)
    assert not kept.held.any()
    assert not kept.spoiled.any()


def test_a_harvest_is_eaten_evenly_over_its_window():
    kept = stored(np.array([[9.0, 0, 0, 0, 0]]), value(3.0), value(0.0))
    assert kept.released[0] == pytest.approx([3, 3, 3, 0, 0])


def test_a_gap_beyond_the_window_is_a_real_zero():
    kept = stored(np.array([[9.0, 0, 0, 9, 0, 0]]), value(2.0), value(0.0))
    assert kept.released[0, 2] == 0.0


@pytest.mark.parametrize("window", [1.0, 1.2, 2.0, 3.4, 12.0])
@pytest.mark.parametrize("loss", [0.0, 0.1, 1.0])
def test_released_spoiled_and_held_are_the_harvest(window, loss):
    kept = stored(FLOW, value(window), value(loss))
    change = np.diff(kept.held, axis=1, prepend=0.0)
    assert kept.released + kept.spoiled + change == pytest.approx(FLOW, abs=1e-12)
    assert np.all(kept.held >= 0.0)


def test_more_loss_never_releases_more():
    little, much = (stored(FLOW, value(2.5), value(x)).released for x in (0.02, 0.2))
    assert np.all(much <= little + 1e-12)
