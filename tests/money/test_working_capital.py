"""Supplies bought ahead, spare parts, and fish in the tanks at cost."""

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.money.working_capital import ahead, fish_at_cost, spare_parts, trailing
from sitefare.timeline import Timeline

CLOCK = Timeline(2027, 1, 15, 6)


class Fish:
    def __init__(self, sold, stands, killed=0.0):
        self.fish_live_kg = np.array([sold], dtype=float)
        self.fish_biomass_kg = np.array([stands], dtype=float)
        self.fish_deaths_kg = self.fish_live_kg * 0 + killed


def test_supplies_are_there_before_they_are_used():
    flow = np.array([[0.0, 0.0, 10.0, 10.0, 10.0, 0.0]])
    held = ahead(flow, value(365 / 24))
    assert held[0] == pytest.approx([0, 5, 5, 5, 0, 0])
    assert trailing(flow, value(365 / 24))[0] == pytest.approx([0, 0, 5, 5, 5, 0])


def test_the_first_feed_is_bought_before_the_first_fish_eat(base, appraised):
    # Refunds of value-added tax on the works would come in the same months.
    found = appraised({**base, "vat.exempt": "yes"})
    feed = -found.lines["feed"][0]
    first = int(np.argmax(feed > 0))
    assert found.lines["working_capital"][0, first - 1] < 0
    # It belongs to the need that funders are asked for.
    assert found.capital_need[0, first - 1] > 0
    sold = int(np.argmax(found.lines["sales_tilapia"][0] > 0))
    bought = np.sum((feed - found.lines["fingerlings"][0])[:sold])
    assert found.first_cohort_cost[0, 0] == pytest.approx(bought)


def test_fish_stand_at_cost_until_they_leave():
    bought = np.array([[0.0, 10.0, 10.0, 10.0, 10.0, 10.0]])
    cost = fish_at_cost(bought, Fish([0, 0, 0, 20, 0, 0], [0, 5, 10, 20, 30, 30]))
    # Half of what stood is sold in month 3, with half of the cost; the last month writes off.
    assert cost[0] == pytest.approx([0, 10, 20, 15, 25, 0])


def test_an_emptied_tank_holds_no_cost_and_killed_fish_leave_with_theirs():
    bought = np.array([[0.0, 10.0, 0.0, 10.0, 0.0]])
    sold_out = fish_at_cost(bought, Fish([0, 0, 9, 0, 0], [0, 5, 0, 5, 5]))
    assert sold_out[0] == pytest.approx([0, 10, 0, 10, 0])
    half_killed = fish_at_cost(bought, Fish([0, 0, 0, 0, 0], [0, 5, 5, 5, 5], 5.0))
    assert half_killed[0, 1] == pytest.approx(5)


def test_fish_at_cost_move_profit_between_months_only(drawn, appraised):
    found = appraised(drawn(12))
    moved = found.statements["income"]["fish_in_tanks"]
    assert np.all(moved[:, 9] > 0)
    np.testing.assert_allclose(np.sum(moved, axis=1), 0.0, atol=1e-6)
    assert np.all(found.statements["balance"]["stock"] >= 0)


def test_spare_parts_are_held_from_the_end_of_building():
    parts = spare_parts(value(0.01), value(1000.0), np.ones((1, 181)) * 1.1, CLOCK)
    assert parts[0, [5, 6, 179, 180]] == pytest.approx([0, 11, 11, 0])


@pytest.mark.parametrize("name", ["stock_days", "receivable_days", "spares_share"])
def test_more_tied_up_asks_more_funding(name, base, appraised):
    key = f"working_capital.{name}"
    more = appraised({**base, key: base[key] * 2}).indicators
    less = appraised(base).indicators
    assert more["peak_funding"][0, 0] > less["peak_funding"][0, 0]
    assert more["npv"][0, 0] < less["npv"][0, 0]
