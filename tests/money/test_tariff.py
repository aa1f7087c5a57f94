"""Bills by block, demand, heating fuel and spare sun."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from sitefare.arrays import DAYS, value
from sitefare.assumptions.declaration import build
from sitefare.errors import AssumptionError
from sitefare.money.prices import price_paths
from sitefare.money.tariff import (
    TariffInputs,
    billed_demand,
    block_bill,
    electricity_bill,
    power_sold,
    ratcheted,
    utilities,
)


def by_hand(use, price, blocks):
    """One customer's bill, block by block."""
    edges = [0.0, *(start for start, _ in blocks), np.inf]
    bill = 0.0
    for n, (low, high) in enumerate(pairwise(edges)):
        price *= 1.0 if n == 0 else blocks[n - 1][1]
        bill += price * max(min(use, high) - low, 0.0)
    return bill


@pytest.mark.parametrize("use", [0.0, 99.9, 100.0, 100.1, 299.0, 300.0, 300.5, 4000.0])
def test_a_bill_is_exact_at_the_edges(use):
    blocks = ((100.0, 1.6), (300.0, 1.25))
    arrays = [(value(a), value(b)) for a, b in blocks]
    found = block_bill(value(use), value(0.11), arrays)
    assert found[0, 0] == pytest.approx(by_hand(use, 0.11, blocks), rel=1e-14, abs=1e-14)


def test_one_price_has_no_blocks(base):
    use = np.array([[0.0, 1500.0, 90000.0]])
    found = electricity_bill(build(TariffInputs, base), use)
    np.testing.assert_allclose(found, use * base["tariff.electricity"])


def test_dearer_blocks_cost_more_and_only_above_the_edge(base):
    more = {**base, "tariff.electricity_ratio_2": value(2.0)}
    use = np.array([[1000.0, 2000.0, 3000.0]])
    plain, blocks = (electricity_bill(build(TariffInputs, v), use) for v in (base, more))
    price = float(base["tariff.electricity"][0, 0])
    assert (blocks - plain)[0].tolist() == pytest.approx([0, 0, 1000 * price])


def test_every_draw_has_its_own_blocks():
    rng = np.random.default_rng(2)
    use, price = rng.uniform(0, 500, (7, 25)), rng.uniform(0.1, 0.4, (7, 1))
    ratio = rng.uniform(0.8, 2.0, (7, 1))
    found = block_bill(use, price, ((value(200.0), ratio),))
    expected = [
        [by_hand(u, float(price[i, 0]), ((200.0, float(ratio[i, 0])),)) for u in use[i]]
        for i in range(7)
    ]
    np.testing.assert_allclose(found, expected, rtol=1e-14)


def test_blocks_out_of_order_are_refused(base):
    wrong = {**base, "tariff.electricity_from_3": value(500.0)}
    with pytest.raises(AssumptionError, match=r"electricity_from_3: the third .* 500 kWh/month"):
        electricity_bill(build(TariffInputs, wrong), value(10.0))


def test_a_ratchet_holds_for_eleven_months():
    peak = np.full((1, 25), 100.0)
    peak[0, 6] = 400.0
    billed = ratcheted(peak, value(0.8))[0]
    assert billed[5:8].tolist() == [100.0, 400.0, 320.0]
    assert billed[17] == 320.0
    assert billed[18] == 100.0
    assert np.array_equal(ratcheted(peak, value(0.0)), peak)


def test_demand_counts_connected_or_metered_power(base, timeline):
    use = np.full((1, timeline.months + 1), 7300.0) * timeline.running
    connected = billed_demand(build(TariffInputs, base), 50.0, use, timeline)
    assert connected[0, [6, 7, 100]].tolist() == [0, 50, 50]
    given = {**base, "tariff.demand_on": "metered", "tariff.load_factor": value(0.4)}
    metered = billed_demand(build(TariffInputs, given), 50.0, use, timeline)
    hours = 24 * DAYS[timeline.calendar][100]
    assert metered[0, 100] == pytest.approx(7300 / hours / 0.4)
    given["tariff.load_factor"] = value(0.05)
    metered = billed_demand(build(TariffInputs, given), 50.0, use, timeline)
    assert metered.max() == 50.0


def lines(values, design, flows, timeline):
    return utilities(values, design, flows, price_paths(values, timeline), timeline)


def test_the_boiler_pays_for_what_it_burns(base, design, flows, timeline):
    prices = {"gas": 0.05, "lpg": 0.09, "oil": 0.1, "wood": 0.03}
    values = {**base, **{f"heating_fuel_price.{k}": value(x) for k, x in prices.items()}}
    bills = {
        kind: lines({**values, "energy.heating_fuel": kind}, design, flows, timeline)
        for kind in prices
    }
    for kind, price in prices.items():
        ratio = bills[kind]["heating_fuel"].sum() / bills["lpg"]["heating_fuel"].sum()
        assert ratio == pytest.approx(price / prices["lpg"])


def test_water_and_discharge_are_billed_apart(base, design, flows, timeline):
    found = lines(base, design, flows, timeline)
    dear = lines({**base, "tariff.discharge": value(9.0)}, design, flows, timeline)
    np.testing.assert_array_equal(dear["water"], found["water"])
    assert dear["discharge"].sum() > found["discharge"].sum()
    blocks = {**base, "tariff.water_from_2": value(20.0), "tariff.water_ratio_2": value(3.0)}
    assert lines(blocks, design, flows, timeline)["water"].sum() > found["water"].sum()


def test_spare_sun_is_sold_only_to_a_grid(base, design, flows, timeline):
    sunny = replace(flows, season={"solar_spilled_kwh": np.full((1, 12), 100.0)})
    values, paths = {**base, "tariff.feed_in": value(0.05)}, price_paths(base, timeline)
    sold = power_sold(values, design, sunny, paths, timeline)
    np.testing.assert_allclose(sold, 5.0 * timeline.running * paths["energy"])
    alone = replace(design, drivers={**design.drivers, "grid_connection": 0.0})
    assert power_sold(values, alone, sunny, paths, timeline).sum() == 0
    assert power_sold(base, design, sunny, paths, timeline).sum() == 0
