"""Capital cost, price indices, exchange rates and landed cost against published figures."""

import csv
from pathlib import Path

import numpy as np
import pytest

from sitefare.appraisal import CONTINGENCY_DRAWS
from sitefare.arrays import value
from sitefare.assumptions.case import base_values, draw_values
from sitefare.assumptions.declaration import build
from sitefare.assumptions.prices import index_at
from sitefare.money.bill import units_of_cost
from sitefare.money.capital import budget, capital_cost
from sitefare.money.delivery import landed_factor
from sitefare.money.estimate import CLASSES, accuracy_words, stated_range
from sitefare.money.exchange import parity
from sitefare.money.vat import VatInputs, rate_lost
from sitefare.timeline import Timeline

SITES = ["kaldre", "norhaven", "port_anui", "qasr_adhra"]
COMMON = Path(__file__).parents[2] / "assumptions" / "common"


def scaled(cost, size, reference, exponent):
    """Cost at a size, from a cost at the reference size."""
    return float(units_of_cost(np.array(size), np.array(reference), np.array(exponent))) * (
        cost / reference
    )


def escalated(cost, then, now):
    points = {2000.5: then, 2005.5: now}
    return cost * index_at(points, 2005.5) / index_at(points, 2000.5)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("cost", "size", "reference", "exponent", "expected", "tolerance"),
    [
        # Printed to three decimals.
        pytest.param(1, 2, 1, 0.6, 1.516, 6e-4, id="Berresford, rule of .6, twice the size"),
        pytest.param(1, 4, 1, 0.6, 2.297, 6e-4, id="Berresford, rule of .6, four times"),
        pytest.param(1, 2, 1, 0.6, 1.52, 6e-3, id="Turton 3rd ed. Example 7.3, p. 187"),
        # Printed to the hundred dollars.
        pytest.param(50000, 2500, 1000, 0.55, 82800, 60, id="Newnan Example 2-8, exchanger"),
        # Printed to the dollar, from a chart's 14,000; 2,321 rounds the size factor.
        pytest.param(1.4e4, 63, 1000, 0.65, 2321, 1, id="Silla, Chemical Process Eng., p. 76"),
        pytest.param(1.4e4, 364, 1000, 0.65, 7258, 1, id="Silla p. 76, condenser"),
    ],
)
def test_cost_follows_size(cost, size, reference, exponent, expected, tolerance):
    assert scaled(cost, size, reference, exponent) == pytest.approx(expected, abs=tolerance)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("cost", "then", "now", "expected", "tolerance"),
    [
        pytest.param(82800, 1306, 1487, 94300, 60, id="Newnan Example 2-8, index"),
        pytest.param(2321, 372.2, 382.8, 2387, 1, id="Silla p. 76, exchanger index"),
        pytest.param(7258, 372.2, 382.8, 7465, 1, id="Silla p. 76, condenser index"),
    ],
)
def test_cost_follows_an_index(cost, then, now, expected, tolerance):
    assert escalated(cost, then, now) == pytest.approx(expected, abs=tolerance)


@pytest.mark.validation
def test_size_and_index_together():
    # An exercise prints 162,705.34 for 135,000 × 617/584 × (12,500/10,000)^0.59 with a rounded
    # size factor; exact is 162,698.29, so the tolerance is 10.
    found = escalated(scaled(135000, 12500, 10000, 0.59), 584, 617)
    assert found == pytest.approx(162705.34, abs=10)


@pytest.mark.validation
def test_blower_exponent():
    # Turton 3rd ed. Figure 7.1, p. 187: a centrifugal air blower's cost goes as flow^0.60. Small
    # packaged blowers hold more fixed parts that do not shrink: 0.15 either way.
    with (COMMON / "bill.csv").open(encoding="utf-8", newline="") as table:
        items = {line["key"]: line for line in csv.DictReader(table)}
    assert float(items["blower"]["exponent [1]"]) == pytest.approx(0.60, abs=0.15)


def series(name):
    with (COMMON / "price_index.csv").open(encoding="utf-8", newline="") as table:
        lines = [line for line in csv.DictReader(table) if line["series"] == name]
    return {int(line["year [year]"]): float(line["base"]) for line in lines}


@pytest.mark.validation
def test_building_index_grows_as_its_release_says():
    # Turner Building Cost Index, release of 2019 Q1: yearly changes printed beside the averages,
    # to 0.1 %; it prints 2.1 for 2012 where the averages give 2.2.
    index = series("usd_building")
    printed = {
        2018: 5.6, 2017: 5.0, 2016: 4.8, 2015: 4.5, 2014: 4.4, 2013: 4.1, 2012: 2.1, 2011: 1.6,
        2010: -4.0, 2009: -8.4, 2008: 6.3, 2007: 7.7,
    }  # fmt: skip
    for year, change in printed.items():
        assert 100 * (index[year] / index[year - 1] - 1) == pytest.approx(change, abs=0.13), year


@pytest.mark.validation
@pytest.mark.parametrize(
    ("spot", "home", "foreign", "months", "expected", "tolerance"),
    [
        # Dollars for one euro: the quoted currency is home, the other foreign.
        pytest.param(1.2, 0.02, 0.08, 6, 1.1662, 6e-5, id="Investopedia, half a year"),
        # The text prints 47.9762 from a rounded factor; exact is 47.9763.
        pytest.param(43.40, 0.065, 0.03, 12, 44.8751, 5e-4, id="rupees, 1 year"),
        pytest.param(43.40, 0.065, 0.03, 36, 47.9762, 5e-3, id="rupees, 3 years"),
        pytest.param(1.5, 0.02, 0.05, 12, 1.4571, 6e-5, id="ACCA F9 Sep 2016 q. 12, dinars"),
        pytest.param(175, 0.30, 0.05, 12, 217, 0.5, id="ACCA article, 1 year"),
    ],
)
def test_rates_follow_inflation(spot, home, foreign, months, expected, tolerance):
    path = parity(value(home), value(foreign), Timeline(2027, 1, 5, 6))
    assert spot * path[0, months] == pytest.approx(expected, abs=tolerance)


@pytest.mark.validation
def test_rate_over_two_unlike_years():
    # OpenTuition forum: $1.42 a euro; 8 then 4 % in the euro country, 2 then 7 % in the US: 1.38.
    first, second = (
        parity(value(home), value(foreign), Timeline(2027, 1, 2, 6))[0, 12]
        for home, foreign in ((0.02, 0.08), (0.07, 0.04))
    )
    assert 1.42 * first * second == pytest.approx(1.38, abs=0.006)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("goods", "freight", "insurance", "duty", "expected"),
    [
        pytest.param(10000, 500, 0.0, 0.04, 10920, id="DHL guide, umbrellas, 4 % on CIF"),
        pytest.param(1000, 100, 50 / 1100, 0.20, 1380, id="import cost page, CIF 1,150 and 20 %"),
        pytest.param(100, 0, 0.01, 0.0, 101, id="Bangladesh agent, CIF at 1 % insurance"),
    ],
)
def test_landed_cost(goods, freight, insurance, duty, expected):
    factor = landed_factor(value(insurance), value(duty), value(0.0))[0, 0]
    assert (goods + freight) * factor == pytest.approx(expected, abs=0.005)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("cif", "duty", "rate", "expected"),
    [
        pytest.param(1000, 0.07, 0.18, 1262.60, id="CIF 1,000, duty 7 %, VAT 18 %"),
        pytest.param(1150, 0.20, 0.18, 1628.40, id="import cost page, CIF 1,150, VAT 18 %"),
    ],
)
def test_tax_stands_on_cost_landed(cif, duty, rate, expected):
    terms = VatInputs(rate=value(rate), recovered=value(0.0), wait=value(0.0), exempt="no")
    landed = cif * landed_factor(value(0.0), value(duty), value(0.0)) * (1.0 + rate_lost(terms))
    assert landed[0, 0] == pytest.approx(expected, abs=0.005)


@pytest.mark.identity
def test_estimate_classes():
    # AACE International 18R-97 (rev. 2016), Table 1.
    ends = {name: (one.low, one.high) for name, one in CLASSES.items()}
    assert ends == {
        "5": ((-0.50, -0.20), (0.30, 1.00)), "4": ((-0.30, -0.15), (0.20, 0.50)),
        "3": ((-0.20, -0.10), (0.10, 0.30)), "2": ((-0.15, -0.05), (0.05, 0.20)),
        "1": ((-0.10, -0.03), (0.03, 0.15)),
    }  # fmt: skip
    assert stated_range("4", 2.0) == pytest.approx((1.4, 3.0))
    assert accuracy_words("5") == (
        "outcomes from 20 to 50 % below it to 30 to 100 % above it are usual (AACE 18R-97)"
    )


@pytest.mark.calibration
@pytest.mark.parametrize("site", SITES)
def test_sampled_budget_is_as_wide_as_a_class_4_estimate(plan, site):
    # The range of capital.overrun is read so that P10 to P90 round P50 lies in class 4's bands.
    made = plan(site)
    case = made.case.with_fixed("capital.contingency", 0.0, "")
    cost = np.sort(capital_cost(draw_values(case, CONTINGENCY_DRAWS, 3), made.design)[:, 0])
    low, middle, high = np.quantile(cost, [0.1, 0.5, 0.9])
    assert CLASSES["4"].low[0] < low / middle - 1 < CLASSES["4"].low[1]
    assert CLASSES["4"].high[0] < high / middle - 1 < CLASSES["4"].high[1]


@pytest.mark.validation
@pytest.mark.parametrize("site", SITES)
def test_capital_over_delivered_equipment(plan, site):
    # Lang (1947-48), Turton Table 7.7: total cost of a plant over its delivered equipment is 3.10
    # (solids) to 4.74 (fluids). A farm's plant is its fish, water, air, climate and power; 10 %
    # beyond either end, for a house where a plant has a building.
    made = plan(site)
    parts = budget(base_values(made.case), made.design)
    plant = [
        n for n, (_, item) in enumerate(parts.bill.items)
        if item.category in ("fish", "water", "air", "climate", "energy")
    ]  # fmt: skip
    delivered = np.sum((parts.bill.goods + parts.bill.delivery)[0, plant])
    assert 0.9 * 3.10 < parts.total[0, 0] / delivered < 1.1 * 4.74


@pytest.mark.validation
def test_an_index_grows_geometrically():
    # Newnan et al., average inflation: 5 % then 8 % is 6.48 % a year; printed cut, exact 6.49.
    points = {2000.5: 100.0, 2001.5: 105.0, 2002.5: 113.4}
    mean = (index_at(points, 2002.5) / index_at(points, 2000.5)) ** 0.5 - 1
    assert mean == pytest.approx(0.0648, abs=1.1e-4)
    # Course exercise: 100 of year 3 is 86.38 in today's money at 5 % inflation.
    steady = {2000.5: 100.0, 2001.5: 105.0}
    assert 100 * index_at(steady, 2000.5) / index_at(steady, 2003.5) == pytest.approx(
        86.38, abs=0.006
    )


@pytest.mark.identity
def test_vat_inputs_build_from_rows(plan):
    terms = build(VatInputs, base_values(plan("port_anui").case))
    assert rate_lost(terms)[0, 0] == pytest.approx(0.15 * 0.1)
