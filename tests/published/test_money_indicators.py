"""Indicators against printed worked examples that set no row, beyond those of test_finance_*.

The identifier of each check names its source; the tolerance is half of the last digit printed
unless a comment says more. Spreadsheet and library figures that any right formula shares are
`identity`; printed results of worked investments are `validation`.
"""

import datetime as dt

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.money.breakeven import Part, Plan, multiplier
from sitefare.money.discounting import (
    capital_recovery,
    discount_factors,
    modified_rate,
    net_present_value,
    present_value,
)
from sitefare.money.rates import ONE, SEVERAL, rates_of_return, roots
from sitefare.money.views import MoneyView, received_over_paid


def row(flow):
    return np.array([flow], dtype=np.float64)


def npv(flow, rate, per_year=1):
    return float(net_present_value(row(flow), value(rate), per_year)[0, 0])


def irr(flow, per_year=1):
    found = rates_of_return(row(flow), per_year)
    assert found.status[0, 0] == ONE
    return float(found.rate[0, 0])


def by_day(flows, dates):
    """Lay dated flows on days: with 365 periods a year, actual/365."""
    days = [(dt.date.fromisoformat(d) - dt.date.fromisoformat(dates[0])).days for d in dates]
    laid = np.zeros(days[-1] + 1)
    np.add.at(laid, days, flows)
    return laid


# Dated flows, actual/365.

THREE = ([-1000, 2000, 3000], ["2005-01-01", "2005-01-10", "2005-01-15"])
FOUR = ([-10000, 2750, 4250, 3250], ["2005-01-01", "2005-03-01", "2005-10-30", "2006-02-15"])
FIVE = (
    [-10000, 2750, 4250, 3250, 2750],
    ["2008-01-01", "2008-03-01", "2008-10-30", "2009-02-15", "2009-04-01"],
)
MANUAL = (
    [-10000, 2500, 2000, 3000, 4000],
    ["2007-01-12", "2008-02-14", "2008-03-03", "2008-06-14", "2008-12-01"],
)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("flow", "rate", "expected", "tolerance"),
    [
        pytest.param(THREE, 0.1, 3984.3581140636, 1e-6, id="OASIS OFFICE-1075, three flows"),
        pytest.param(FOUR, 0.09, -380.389117853, 1e-6, id="OASIS OFFICE-1075, four flows"),
        pytest.param(FOUR, 30.0, -8104.786251977, 1e-6, id="OASIS OFFICE-1075, 3,000 %"),
        # A function library prints 2,086.672 with a tolerance of 0.1; manuals print 2,086.65.
        pytest.param(FIVE, 0.09, 2086.65, 0.005, id="spreadsheet function reference, XNPV"),
    ],
)
def test_dated_net_present_value(flow, rate, expected, tolerance):
    assert npv(by_day(*flow), rate, per_year=365) == pytest.approx(expected, abs=tolerance)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("flow", "expected", "tolerance"),
    [
        pytest.param(FIVE, 0.373362535, 1e-8, id="spreadsheet function reference, XIRR"),
        pytest.param(MANUAL, 0.10064378342638, 1e-10, id="numerical package manual, actual/365"),
    ],
)
def test_dated_rate_of_return(flow, expected, tolerance):
    assert irr(by_day(*flow), per_year=365) == pytest.approx(expected, abs=tolerance)


@pytest.mark.validation
def test_rates_at_fractions_of_a_year():
    # jrvFinance vignette: flows at 0, 0.3, 1.9 and 2.5 years, and yearly ones.
    tenths = np.zeros(26)
    tenths[[0, 3, 19, 25]] = [-450, 100, 300, 200]
    assert irr(tenths, per_year=10) == pytest.approx(0.1746131, abs=5e-7)
    assert irr([-600, 300, 400]) == pytest.approx(0.1039126, abs=5e-7)
    assert irr([-600, 100, 400]) == pytest.approx(-0.09592852, abs=5e-8)
    assert npv([0, 100, 250, 300], 0.05) == pytest.approx(581.1467, abs=5e-5)


# Rates of return and modified rates.

PINK = [-70000, 12000, 15000, 18000, 21000, 26000]
SAVED = [
    0.0, -54163.5522242568, -15411.7240675212, 11824.6117997793, 13831.2207688571,
    24713.4452774519, 42399.4051707206, 32779.2473369743, 29832.5223979373, 21750.5007272509,
    20140.8864995232, 18357.7993605547, 10074.6628455447,
]  # fmt: skip
BIG = [-1678.87, 771.96, 1814.05, 3520.3, 3552.95, 3584.99, 4789.91, -1]
FALLING = [-217500.0, -217500.0, *(108466.80462450592 - 7336.84023122526 * np.arange(25))]


@pytest.mark.identity
@pytest.mark.parametrize(
    ("flow", "expected", "tolerance"),
    [
        pytest.param(PINK, 0.0866309480363425, 1e-12, id="accuracy workbook, IRR"),
        pytest.param(PINK[:5], -0.0212448482730205, 1e-12, id="accuracy workbook, first five"),
        pytest.param(SAVED, 0.235461374465902, 1e-12, id="pyxirr issue 56, first flow zero"),
        # Printed with the last iteration's error; (10,000 ÷ 3,500)^0.1 − 1 is 0.11069085371075.
        pytest.param([-3500, *[0] * 9, 10000], 0.110690853714269, 1e-9, id="numpy-financial RATE"),
        pytest.param([8000, *[-200] * 48], 0.00770147248820137, 1e-12, id="workbook RATE"),
        pytest.param([-5000, *[0] * 11, 10000], 0.05946309436, 1e-10, id="OpenFormula RRI"),
        pytest.param([-10000, *[0] * 11, 5000], -0.056125687, 1e-9, id="OpenFormula RRI, loss"),
    ],
)
def test_internal_rate_of_return(flow, expected, tolerance):
    assert irr(flow) == pytest.approx(expected, abs=tolerance)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("flow", "printed", "every", "tolerance"),
    [
        # numpy-financial regression test prints one; the second is recomputed.
        pytest.param(FALLING, 0.12, [-0.0181, 0.12], 6e-5, id="numpy-financial, 27 flows"),
        # Printed with one rate; a last outlay of 1 makes a second far below zero.
        pytest.param(BIG, 1.0042698, [-0.9997, 1.0042698], 6e-4, id="numpy-financial, 8 flows"),
        # Both libraries print the higher rate alone.
        pytest.param(
            [-50, -100, 600, 300, -100], 1.8544178, [-0.7689, 1.8544], 6e-5, id="pyxirr, 5 flows"
        ),
        # The book draws two rates; the figures are read off the flow.
        pytest.param([-350, 950, -620], 0.0918, [0.0918, 0.6225], 6e-5, id="OpenStax 16.3"),
    ],
)
def test_a_printed_rate_that_is_one_of_several(flow, printed, every, tolerance):
    answer, found = rates_of_return(row(flow), per_year=1), roots(np.array(flow), per_year=1)
    assert np.min(np.abs(found - printed)) < tolerance
    inside = [r for r in every if -0.99 <= r <= 10]
    assert found == pytest.approx(inside, abs=tolerance)
    assert answer.status[0, 0] == (SEVERAL if len(inside) > 1 else ONE)


@pytest.mark.validation
def test_worth_profile_of_a_flow_with_two_rates():
    # Newnan, Eschenbach and Lavelle 9th ed., p. 235: −180, six times 50, −70.
    flow = [-180, *[50] * 6, -70]
    rates = [-0.4, -0.3, -0.2, -0.1, 0, 0.1, 0.2, 0.3, 0.4, 0.5]
    printed = [-126.39, 219.99, 189.89, 114.49, 50.0, 1.84, -33.26, -59.02, -78.24, -92.88]
    assert [npv(flow, r) for r in rates] == pytest.approx(printed, abs=0.006)


@pytest.mark.validation
def test_non_normal_flow():
    # Brigham-type strip mine: −2, 14, −11; worth at 10 and 20 %, modified rates.
    flow = [-2, 14, -11]
    assert [npv(flow, 0.1), npv(flow, 0.2)] == pytest.approx([1.64, 2.03], abs=0.006)
    found = [modified_rate(row(flow), value(r), value(r), per_year=1)[0, 0] for r in (0.1, 0.2)]
    assert found == pytest.approx([0.1784, 0.3202], abs=6e-5)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("flow", "finance", "reinvest", "expected"),
    [
        pytest.param([-10, 30, 20, 10, 20], 0.1, 0.12, 0.7712844619, id="spreadsheet MIRR 1"),
        pytest.param([-100, 30, 30, 30, 30], 0.1, 1.0, 0.4564753151, id="spreadsheet MIRR 2"),
        pytest.param([-50, 20, 40, 70], 0.1, 0.12, 0.4090837902, id="spreadsheet MIRR 3"),
        pytest.param([-5, 1, 2, 3, 4], 0.1, 0.12, 0.2253901556, id="spreadsheet MIRR 4"),
        pytest.param(
            [-75000, 12000, 15000, 18000, 21000, 24000], 0.1, 0.12, 0.0797171036083804,
            id="formula library MIRR",
        ),
    ],
)  # fmt: skip
def test_modified_rate_of_return(flow, finance, reinvest, expected):
    found = modified_rate(row(flow), value(finance), value(reinvest), per_year=1)
    assert found[0, 0] == pytest.approx(expected, abs=1e-9)


# Present values, factors, durations.


@pytest.mark.validation
def test_profitability_index_of_openstax_16_2():
    # The embroidery machine at 9 %: index 1.18.
    flow = row([-16000, 2000, 4000, 5000, 5000, 5000, 5000])
    factors = discount_factors(value(0.09), 7, per_year=1)
    assert received_over_paid(flow, factors)[0, 0] == pytest.approx(1.18, abs=0.005)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("flow", "rate", "expected"),
    [
        pytest.param([0, 17000, 17000, 17000, 17500, 18000], 0.06, 72753.49, id="withdrawals"),
        pytest.param([0, 100e3, 125e3, 175e3, 90e3, 50e3], 0.04, 485326.48, id="flows"),
    ],
)
def test_mixed_streams_of_openstax_9(flow, rate, expected):
    # Sum of present values in whole cents.
    assert npv(flow, rate) == pytest.approx(expected, abs=0.026)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("deposits", "rate", "expected"),
    [
        pytest.param([2000, 2000, 2000, 12000, 2000, 5000, 2000], 0.07, 35062.26, id="seven"),
        pytest.param([10000, 10000, 10000, 15000, 15000], 0.04, 66937.76, id="five"),
    ],
)
def test_mixed_deposits_of_openstax_9(deposits, rate, expected):
    # Deposits at the start of each year, worth at the end of the last.
    grown = npv(deposits, rate) / discount_factors(value(rate), len(deposits) + 1, 1)[0, -1]
    assert grown == pytest.approx(expected, abs=0.026)


@pytest.mark.validation
def test_deferred_annuity():
    # Sullivan, Wicks and Koelling: 2,000 at years 18 to 21, 12 %; table factors, exact 884.75.
    assert npv([*[0] * 18, *[2000] * 4], 0.12) == pytest.approx(884.46, abs=0.35)


@pytest.mark.validation
@pytest.mark.parametrize(("escalation", "printed"), [(0.07, 18.049), (0.08, 20.05), (0.1, 25.0)])
def test_present_worth_of_fuel_that_grows_dearer(escalation, printed):
    # US DoD MIL-HDBK-1003/13A p. 110: 25 years at 10 %, fuel paid at mid-year.
    halves = np.zeros(51)
    halves[1::2] = (1.0 + escalation) ** (np.arange(25) + 0.5)
    assert npv(halves, 0.1, per_year=2) == pytest.approx(printed, abs=0.0011)


@pytest.mark.identity
def test_annuity_of_fifteen_years():
    # jrvFinance vignette.
    assert 1 / capital_recovery(value(0.1), value(15))[0, 0] == pytest.approx(7.60608, abs=5e-6)


@pytest.mark.identity
def test_present_and_future_value_of_payments_and_a_sum():
    # OpenFormula: 10 %, twelve payments of 100 and a sum of 100; accuracy workbook: 8 %, 240.
    assert npv([0, *[100] * 12], 0.1) - 100 * 1.1**-12 == pytest.approx(649.5061005186, abs=1e-8)
    grown = (npv([0, *[100] * 12], 0.1) - 100.0) * 1.1**12
    assert grown == pytest.approx(1824.5855390489, abs=1e-8)
    level = npv([0, *[500] * 240], 0.08) + 2 * 1.08**-240
    assert level == pytest.approx(6249.99994056535, abs=1e-8)


@pytest.mark.identity
def test_green_book_factors_after_year_thirty():
    # Green Book table: 3.5 % to year 30, 3 % to 75, 2.5 % after; year 31 is factor(30) ÷ 1.03.
    first = discount_factors(value(0.035), 31, per_year=1)[0]
    second = first[30] * discount_factors(value(0.03), 46, per_year=1)[0]
    third = second[45] * discount_factors(value(0.025), 51, per_year=1)[0]
    printed = {1: 0.3459, 10: 0.2651, 20: 0.1973, 45: 0.0942}
    for later, factor in printed.items():
        assert second[later] == pytest.approx(factor, abs=5.1e-5)
    assert [third[1], third[25], third[50]] == pytest.approx([0.0919, 0.0508, 0.0274], abs=5.1e-5)


def duration(flow, rate, per_year=1):
    """Macaulay duration: mean time weighted by present value. [year]"""
    years = np.arange(len(flow)) / per_year
    factors = discount_factors(value(rate), len(flow), per_year)
    return float(
        (present_value(row(flow) * years, factors) / present_value(row(flow), factors))[0, 0]
    )


@pytest.mark.validation
def test_duration_of_uneven_flows():
    # jrvFinance vignette: 100, 250, 300 at 5 %.
    found = duration([0, 100, 250, 300], 0.05)
    assert [found, found / 1.05] == pytest.approx([2.282051, 2.173382], abs=5.1e-7)


@pytest.mark.identity
def test_duration_of_a_bond():
    # Accuracy workbook: 8 % coupon, 9 % yield, eight years, twice and once a year.
    twice = [0, *[4.0] * 15, 104.0]
    assert duration(twice, 1.045**2 - 1, per_year=2) == pytest.approx(5.99377495554519, abs=1e-11)
    assert duration([0, *[8.0] * 7, 108.0], 0.09) == pytest.approx(6.14906788677324, abs=1e-11)


# Break-even.


@pytest.mark.validation
def test_switching_value_of_a_price():
    # ADB Guidelines, appendix 21: price −10 % takes net present value from 20,912 to 6,895; the
    # price may fall by 14.9 % before it is nothing.
    part = np.array([[0.0, 0.0, (20912 - 6895) / 0.1]])
    rest = np.array([[20912.0, 0.0, 0.0]]) - np.array([[part.sum(), 0.0, 0.0]])
    view = MoneyView(
        {"sales": part, "rest": rest}, {"sales": "income", "rest": "capital"}, np.ones((1, 3)),
        value(0.0), value(0.0),
    )  # fmt: skip
    plan = Plan(view, None, None, tax=None)
    assert 1 - multiplier(plan, Part(part, part))[0, 0] == pytest.approx(0.149, abs=5e-4)
