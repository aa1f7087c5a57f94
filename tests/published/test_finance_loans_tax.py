"""Loans, depreciation and tax against published worked examples."""

import numpy as np
import numpy_financial as npf
import pytest

from sitefare.arrays import value
from sitefare.money.capital import CapitalFlows, Ledger
from sitefare.money.discounting import net_present_value
from sitefare.money.loans import Schedule, loan, monthly_rate
from sitefare.money.tax import TaxRules, income_tax
from sitefare.timeline import Timeline


def level(principal, rate, payments, kind="equal_payment", grace=0):
    drawn = np.zeros((1, payments + grace + 1))
    drawn[0, 0] = principal
    return loan(drawn, Schedule(kind, value(rate), 0, 0, grace, payments))


def payment(principal, rate, payments):
    made = level(principal, rate, payments)
    return float(made.interest[0, 1] + made.repaid[0, 1])


@pytest.mark.identity
@pytest.mark.parametrize(
    ("principal", "rate", "payments", "expected", "tolerance"),
    [
        pytest.param(1000, 0.05, 12, 112.8254100208, 1e-9, id="OpenFormula PMT"),
        pytest.param(1000, 0.0, 10, 100.0, 1e-9, id="OpenFormula PMT, no interest"),
        pytest.param(
            200000, 0.075 / 12, 180, 1854.02472000546, 1e-8, id="numpy-financial mortgage"
        ),
        pytest.param(15000, 0.08 / 12, 60, 304.1459143, 1e-6, id="numpy-financial car"),
        pytest.param(32000, 0.06 / 12, 36, 973.5, 0.011, id="OpenStax Finance 8.4, car"),
        pytest.param(140000, 0.036 / 12, 240, 819.16, 0.006, id="OpenStax Finance 8.4, house"),
        pytest.param(10000, 0.09, 8, 1806.744, 5e-4, id="jrvFinance vignette"),
        pytest.param(15000, 0.105 / 12, 120, 202, 0.6, id="US Education PLUS note, whole dollars"),
        pytest.param(20500, 0.079 / 12, 120, 247.64, 0.006, id="University of Maine handout"),
    ],
)
def test_level_payment(principal, rate, payments, expected, tolerance):
    assert payment(principal, rate, payments) == pytest.approx(expected, abs=tolerance)


@pytest.mark.identity
def test_level_payment_by_rate():
    # QuantLib test suite, amortizingbond.cpp: per 100 over 360 months at 0 to 12 %.
    expected = [
        0.277777778, 0.32163952, 0.369619473, 0.421604034, 0.477415295, 0.536821623, 0.599550525,
        0.665302495, 0.733764574, 0.804622617, 0.87757157, 0.952323396, 1.028612597,
    ]  # fmt: skip
    found = [payment(100, percent / 1200, 360) for percent in range(13)]
    assert found == pytest.approx(expected, abs=1e-6)


@pytest.mark.validation
def test_car_loan_schedule():
    # OpenStax Finance 8.4: interest, principal, balance; only the display is rounded.
    made = level(32000, 0.06 / 12, 36)
    rows = {1: [160.0, 813.5, 31186.5], 5: [143.61, 829.89, 27891.61], 33: [19.23, 954.27, 2891.54]}
    for n, expected in rows.items():
        found = [made.interest[0, n], made.repaid[0, n], made.balance[0, n]]
        assert found == pytest.approx(expected, abs=0.011)
    # Total of 36 rounded payments.
    assert np.sum(made.interest) == pytest.approx(3046.08, abs=0.2)


@pytest.mark.validation
def test_year_schedule():
    # numpy-financial ipmt example: 2,500 at 8.24 % over 12 months, cents.
    made = level(2500, 0.0824 / 12, 12)
    assert [made.repaid[0, 1], made.interest[0, 1], made.balance[0, 1]] == pytest.approx(
        [200.58, 17.17, 2299.42], abs=0.0051
    )
    assert [made.repaid[0, 12], made.interest[0, 12]] == pytest.approx([216.26, 1.49], abs=0.0051)


@pytest.mark.identity
def test_interest_and_principal_parts():
    # OpenFormula IPMT, PPMT, CUMIPMT and CUMPRINC, end of period.
    assert level(100000, 0.05 / 12, 360).interest[0, 10] == pytest.approx(412.0850243, abs=1e-6)
    assert level(10000, 0.08, 24).repaid[0, 5] == pytest.approx(203.7735140493, abs=1e-8)
    five_years = level(100000, 0.06 / 12, 60)
    assert np.sum(five_years.interest[0, 5:13]) == pytest.approx(3562.187023, abs=1e-5)
    assert np.sum(five_years.repaid[0, 5:13]) == pytest.approx(11904.054201, abs=1e-5)


@pytest.mark.identity
def test_interest_of_equal_principal():
    # OpenFormula ISPMT counts from 0: its period 12 is the thirteenth payment.
    made = level(100000, 0.05 / 12, 360, "equal_principal")
    assert made.interest[0, 13] == pytest.approx(402.7777777778, abs=1e-8)
    # Co-operative bank example.
    four = level(400, 0.18, 4, "equal_principal")
    assert four.interest[0, 1:] == pytest.approx([72, 54, 36, 18])
    assert (four.interest + four.repaid)[0, 1:] == pytest.approx([172, 154, 136, 118])


@pytest.mark.validation
def test_ways_to_repay_the_same_loan():
    # Newnan tables 3-1 and 3-2: 5,000 at 8 % over five years.
    equal = level(5000, 0.08, 5, "equal_principal")
    assert (equal.interest + equal.repaid)[0, 1:] == pytest.approx([1400, 1320, 1240, 1160, 1080])
    bullet = level(5000, 0.08, 5, "bullet")
    assert (bullet.interest + bullet.repaid)[0, 1:] == pytest.approx([400, 400, 400, 400, 5400])
    assert payment(5000, 0.08, 5) == pytest.approx(1252.28, abs=0.01)
    drawn = np.zeros((1, 6))
    drawn[0, 0] = 5000
    kept = loan(drawn, Schedule("bullet", value(0.08), 5, 5, 5, 1))
    # Interest is capitalised all along, then all is repaid at the end.
    assert kept.repaid[0, -1] == pytest.approx(7346.64, abs=0.01)


@pytest.mark.validation
def test_moratorium_with_capitalised_interest():
    # Term-loan case 'Bharat Engineering': draws over two years at 12 %, then 20 quarters at 3 %.
    drawn = np.array([[1e6, 1.5e6, 1.5e6, 0.0]])
    grace = loan(drawn, Schedule("bullet", value(0.12), 2, 2, 2, 1))
    assert grace.balance[0, 2] == pytest.approx(4434400, abs=1e-6)
    made = level(4434400, 0.03, 20)
    # Whole rupees, rounded within the table.
    found = [made.repaid[0, 1], made.interest[0, 1], made.balance[0, 1]]
    assert found == pytest.approx([165029, 133032, 4269371], abs=1.1)
    assert [made.repaid[0, 20], made.interest[0, 20]] == pytest.approx([289380, 8681], abs=1.1)
    by_year = np.sum(made.interest[0, 1:].reshape(5, 4), axis=1)
    assert by_year == pytest.approx([501824, 415170, 317640, 207870, 84322], abs=1.1)


@pytest.mark.validation
def test_interest_only_year_at_an_effective_rate():
    # US SEC EDGAR, exhibit 10.2 of registrant 1283193: 43 million at 10.60 % effective.
    made = level(43e6, monthly_rate(0.106), 12, "bullet", grace=12)
    assert made.interest[0, 1:13] == pytest.approx(362540, abs=1.5)


@pytest.mark.validation
def test_straight_line_with_a_part_first_year():
    # OpenStax Accounting 1, 11.2: 58,000 less 10,000 over 5 years, 9 months in the first year.
    timeline = Timeline(2027, 1, 6, 3)
    shape = (1, timeline.months + 1)
    nothing = np.zeros(shape)
    path = np.ones((1, 1, timeline.months + 1))
    ledger = Ledger(timeline, path, value(0), 4, nothing.copy(), nothing.copy())
    ledger.enter(value(0.0), np.array([[0.0, 0.0, 0.0, 48000.0]]), 5.0)
    flows = CapitalFlows({}, nothing, nothing, nothing, nothing, tuple(ledger.purchases))
    found = timeline.by_year(flows.depreciation_initial)[0, 1:]
    assert found == pytest.approx([7200, 9600, 9600, 9600, 9600, 2400])


@pytest.mark.validation
def test_after_tax_worth_with_straight_line():
    # Jensen, Operations Research Models and Methods: 5,000; 1,500 a year; tax 40 %; 10 %.
    timeline = Timeline(2027, 1, 5, 0)
    profit = np.full((1, 61), (1500 - 1000) / 12)
    profit[0, 0] = 0.0
    rules = TaxRules(value(0.4), value(1.0))
    tax = timeline.by_year(income_tax(profit, rules, timeline).paid)
    flow = np.array([[-5000.0, *[1500.0] * 5]]) - tax
    assert flow[0, 1:] == pytest.approx([1300] * 5)
    # Whole dollars.
    assert net_present_value(flow, value(0.1), per_year=1)[0, 0] == pytest.approx(-72, abs=0.6)


@pytest.mark.identity
def test_schedule_agrees_with_numpy_financial():
    made = level(7500, 0.011, 48)
    periods = np.arange(1, 49)
    assert made.interest[0, 1:] == pytest.approx(-npf.ipmt(0.011, periods, 48, 7500))
    assert made.repaid[0, 1:] == pytest.approx(-npf.ppmt(0.011, periods, 48, 7500))
