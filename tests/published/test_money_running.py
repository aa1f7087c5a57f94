"""Tariffs, demand, wages and running costs against printed figures.

Worked examples of tariffs: V. K. Mehta and R. Mehta, Principles of Power System, chapter 5
(Tariff), in rupees, from memory; each example is one check. The code bills by month; where an
example is by year, its year is one period, and the arithmetic is the same.
"""

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.arrays import DAYS, value
from sitefare.assumptions.declaration import build
from sitefare.money.labour import WageInputs, hourly_cost
from sitefare.money.market import price_response
from sitefare.money.tariff import TariffInputs, billed_demand, block_bill, electricity_bill
from sitefare.timeline import Timeline

CLOCK = Timeline(2026, 12, 2, 0)


def tariff(plan, **given):
    """The tariff of a shipped site with some fields replaced."""
    rows = plan("norhaven").case.rows
    values = {
        n: row.text if row.spec.kind == "choice" else value(row.base)
        for n, row in rows.items()
        if n.startswith("tariff.")
    }
    return build(TariffInputs, values | {f"tariff.{n}": x for n, x in given.items()})


@pytest.mark.validation
def test_block_by_hours_of_demand():
    # Example: 20 A at 220 V, 8,760 kWh; 20 paise for 500 hours of the demand, then 10 paise.
    # Printed: bill Rs 1,096; equivalent flat rate 12.5 paise.
    edge = 20 * 220 / 1000 * 500
    bill = block_bill(value(8760.0), value(0.20), ((value(edge), value(0.5)),))
    assert bill[0, 0] == pytest.approx(1096.0, abs=0.5)
    assert bill[0, 0] / 8760 == pytest.approx(0.125, abs=0.0005)


@pytest.mark.validation
def test_two_part_tariff_a_unit(plan):
    # Example: 200 kW at 40 % load factor, Rs 100 a kW and 10 paise a kWh; printed 12.85 paise.
    # The metered peak is found back from the use and the load factor.
    use = 200 * 0.40 * 8760.0
    month = use * DAYS[CLOCK.calendar][None, :] / 365
    given = tariff(plan, demand_on="metered", load_factor=value(0.4), ratchet=value(0.0))
    peak = billed_demand(given, 1000.0, month, CLOCK)
    assert peak[0, 1:] == pytest.approx(np.full(24, 200.0), rel=1e-9)
    bill = 100.0 * peak[0, 1] + block_bill(value(use), value(0.10), ())[0, 0]
    assert bill / use == pytest.approx(0.1285, abs=5e-5)


@pytest.mark.validation
def test_where_two_block_tariffs_meet():
    # Example: Rs 30 a year and 3 paise, or 6 paise for 400 units and 5 paise beyond; printed:
    # the same at 1,300 units.
    use = value(1300.0)
    blocks = block_bill(use, value(0.06), ((value(400.0), value(5 / 6)),))
    assert blocks[0, 0] == pytest.approx(30 + 0.03 * 1300, abs=0.005)


@pytest.mark.validation
def test_where_a_standing_charge_pays():
    # Example: Rs 100 and 15 paise a unit, or 30 paise; printed: the first from 666.67 units on.
    units = np.array([[666.0, 666.67, 667.0]])
    first, flat = 100 + block_bill(units, value(0.15), ()), block_bill(units, value(0.30), ())
    assert np.sign(np.round((first - flat)[0], 2)).tolist() == [1, 0, -1]


@pytest.mark.validation
@pytest.mark.parametrize(("factor", "printed"), [(0.8, 0.40), (1.0, 0.34)])
def test_demand_by_apparent_power(factor, printed):
    # Example: 240 kW at a power factor of 0.8, 50,000 units, Rs 50 a kVA and 10 paise a unit;
    # printed flat rates 40 paise, and 34 at unity.
    bill = 50 * 240 / factor + block_bill(value(50000.0), value(0.10), ())[0, 0]
    assert bill / 50000 == pytest.approx(printed, abs=0.0005)


@pytest.mark.identity
def test_bill_is_the_sum_of_its_marginal_prices(plan):
    # A block tariff's bill is the area under its step of prices (any text on rate design).
    given = tariff(
        plan, electricity=value(0.1), electricity_from_2=value(100.0),
        electricity_ratio_2=value(1.5), electricity_from_3=value(300.0),
        electricity_ratio_3=value(2.0),
    )  # fmt: skip
    units = np.arange(1.0, 501.0)[None, :]
    bill = electricity_bill(given, units)
    marginal = np.diff(bill, prepend=0.0)[0]
    np.testing.assert_allclose(marginal[:100], 0.10, rtol=1e-9)
    np.testing.assert_allclose(marginal[100:300], 0.15, rtol=1e-9)
    np.testing.assert_allclose(marginal[300:], 0.30, rtol=1e-9)
    assert bill[0, -1] == pytest.approx(10 + 30 + 60)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("before", "after", "elasticity", "price", "tolerance"),
    [
        pytest.param(2800, 3000, 0.45, (70, 60), 0.005, id="OpenStax Economics 3e, s. 5.1"),
        pytest.param(9, 11, 4.0, (20.5, 19.5), 0.005, id="Parkin, Microeconomics, ch. 4: pizza"),
        pytest.param(10, 8, 2.3, (2.0, 2.2), 0.005, id="Mankiw, Principles, ch. 5: ice cream"),
    ],
)
def test_price_at_a_printed_elasticity(before, after, elasticity, price, tolerance):
    # Each text gives two points of a demand curve and the elasticity by midpoints (from memory).
    # A constant elasticity through the first point must pass by the second; the arc of a straight
    # line and the curve differ by less than the tolerance.
    found = price[0] * price_response(value(after - before), value(before), value(elasticity))
    assert found[0, 0] == pytest.approx(price[1], rel=tolerance)


@pytest.mark.validation
def test_kings_law():
    # Davenant (1699), after Gregory King: a harvest short by 1 to 5 tenths raises the price of
    # corn by 3, 8, 16, 28 and 45 tenths (from memory). One elasticity, from the first pair alone,
    # must give the rest; the table is a little steeper in the middle, so 7 %.
    short = np.arange(1, 6) / 10
    printed = 1 + np.array([3, 8, 16, 28, 45]) / 10
    elasticity = -np.log(1 - short[0]) / np.log(printed[0])
    assert elasticity == pytest.approx(0.40, abs=0.01)
    found = price_response(-short[None, :], value(1.0), value(elasticity))
    assert found[0] == pytest.approx(printed, rel=0.07)


@pytest.mark.calibration
def test_elasticity_row_covers_the_review(library):
    # Andreyeva, Long & Brownell (2010), table 1: 0.58 vegetables, 0.50 fish; they set the low end.
    row = library.common.rows["sales.elasticity"]
    assert row.low < 0.50
    assert row.base > 0.58


def on_cost(share):
    """Return on-costs over wages where non-wage costs are a share of labour cost."""
    return share / (1 - share)


@pytest.mark.validation
@pytest.mark.parametrize(
    "share",
    [
        pytest.param(0.247, id="Eurostat, hourly labour costs 2023, EU: non-wage share"),
        pytest.param(0.294, id="US BLS, employer costs, private industry: benefits' share"),
    ],
)
def test_on_cost_of_labour_statistics(share, library):
    # From memory. 0.33 and 0.42 of wages; the row was set by judgement, and its range, meant for
    # every country, must hold both.
    row = library.common.rows["wage.on_cost"]
    assert row.low <= on_cost(share) <= row.high


@pytest.mark.identity
def test_labour_cost_by_its_shares():
    # Labour cost × (1 − non-wage share) is the wage: 31.8 EUR and 24.7 % make 23.9 EUR (Eurostat).
    wages = {
        "worker": value(31.8 * (1 - 0.247)), "technician_ratio": value(1), "paid_hours": value(1),
        "manager_ratio": value(1), "on_cost": value(on_cost(0.247)), "overtime": value(1.5),
        "on_call": value(0),
    }  # fmt: skip
    found = build(WageInputs, {f"wage.{n}": x for n, x in wages.items()})
    assert hourly_cost(found, "worker")[0, 0] == pytest.approx(31.8)
    assert float(found.worker[0, 0]) == pytest.approx(23.9, abs=0.06)


@pytest.mark.validation
def test_paid_hours_of_a_year(library):
    # US Office of Personnel Management, 5 U.S.C. 5504: 2,087 hours a work year over a 28-year
    # calendar cycle; the row's 52 weeks of 40 hours leave out a day or two, 0.4 %.
    assert 12 * library.common.rows["wage.paid_hours"].base == pytest.approx(2087, rel=0.005)


@pytest.mark.calibration
def test_overtime_row_is_of_law(library):
    # ILO Convention No. 1, article 6: at least 1.25; US Fair Labor Standards Act s. 7: 1.5.
    row = library.common.rows["wage.overtime"]
    assert (row.low, row.base) == (1.25, 1.5)


@pytest.mark.validation
@pytest.mark.parametrize("site", ["kaldre", "norhaven", "port_anui", "qasr_adhra"])
def test_labour_is_the_dominant_cost(site, plan):
    # Quagrainie, Flores, Kim & McClain (2018), J. Applied Aquaculture 30:1-14: labour dominates
    # running costs of small aquaponic farms (E03). Sign only.
    money = appraise(plan(site)).finances
    groups: dict[str, float] = {}
    for name, kind in money.line_group.items():
        if kind == "operating":
            purpose = "labour" if name.startswith("wages") else name
            cost = -float(np.sum(money.at_date(name)[0]))
            groups[purpose] = groups.get(purpose, 0.0) + cost
    assert max(groups, key=groups.__getitem__) == "labour"
