"""Loans, their true rates, other currencies and grants against published worked examples."""

from types import SimpleNamespace

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.money.discounting import net_present_value
from sitefare.money.indicators import cover_by_year, debt_cover
from sitefare.money.loan_terms import (
    add_on_payment,
    discount_payment,
    exchange_path,
    rate_of_payment,
)
from sitefare.money.loans import Schedule, all_in_rate, loan, remaining
from sitefare.money.statements import grants_released
from sitefare.timeline import Timeline

TEN_YEARS = Timeline(2027, 1, 10, 0)


def lent(principal, rate, payments, *, kind="equal_payment", every=1, balloon=0.0, fee=0.0):
    """A loan drawn at once, repaid from the next period on; a fee is paid at once."""
    drawn, fees = np.zeros((2, 1, payments * every + 1))
    drawn[0, 0], fees[0, 0] = principal, fee
    plan = Schedule(kind, value(rate), 0, 0, 0, payments, every, balloon, building_paid=True)
    return loan(drawn, plan, fees)


@pytest.mark.validation
def test_interest_during_construction_by_the_half_year_rule():
    # LOAN-IDC-HALF, worked example of the investment-appraisal rule: half of a year's draw bears
    # the year's interest, so half stands at each end of the year. Two decimals.
    drawn = np.array([[50.0, 200.0, 200.0, 50.0, 0.0]])
    made = loan(drawn, Schedule("bullet", value(0.06), 3, 3, 3, 1))
    assert made.capitalised[0, 1:4] == pytest.approx([3, 15.18, 28.09], abs=0.006)
    assert np.sum(made.capitalised) == pytest.approx(46.27, abs=0.006)


@pytest.mark.validation
def test_a_years_interest_paid_or_added_to_the_debt():
    # LOAN-PLUS, Direct PLUS master promissory note, US Department of Education: whole dollars.
    year = lent(15000, 0.105 / 12, 12, kind="bullet")
    assert np.sum(year.interest_paid) == pytest.approx(1575, abs=0.6)
    paid, added = (lent(15000 + x, 0.105 / 12, 120) for x in (0, 1575))
    assert added.service[0, 1] == pytest.approx(224, abs=0.6)
    assert np.sum(added.service) == pytest.approx(26839, abs=0.6)
    # Its total for interest paid at once counts the year's interest.
    assert np.sum(paid.service) + 1575 == pytest.approx(25863, abs=0.6)


@pytest.mark.validation
def test_capitalised_interest_of_a_student_loan():
    # LOAN-UMAINE, University of Maine handout: 20,500 at 7.9 %, whole dollars.
    year = lent(20500, 0.079 / 12, 12, kind="bullet")
    assert year.interest_paid[0, 1] == pytest.approx(135, abs=0.9)
    added = lent(20500 + 1620, 0.079 / 12, 120)
    assert added.service[0, 1] == pytest.approx(267, abs=0.9)
    assert np.sum(added.service) == pytest.approx(32064, abs=2.0)


@pytest.mark.validation
def test_add_on_and_discount_interest():
    # LOAN-ADDON, Colorado State University Extension, Farm loan interest methods.
    assert 3000 * add_on_payment(value(0.06), 2, 2)[0, 0] == pytest.approx(1680, abs=1e-9)
    received = 3000 * (1 - 0.06 * 2)
    assert received == pytest.approx(2640)
    payment = discount_payment(value(0.06), 2, 2)
    assert received * payment[0, 0] == pytest.approx(1500, abs=1e-9)
    # True yearly rates recomputed: 7.90 and 8.96 %.
    assert rate_of_payment(value(1680 / 3000), 2)[0, 0] == pytest.approx(0.0790, abs=5e-5)
    assert rate_of_payment(payment, 2)[0, 0] == pytest.approx(0.0896, abs=5e-5)


@pytest.mark.validation
def test_deferred_annuity():
    # LOAN-DEFERRED-ANNUITY, Sullivan, Wicks & Koelling: the book's tables round, exact 884.75.
    flow = np.zeros((1, 22))
    flow[0, 18:] = 2000
    assert net_present_value(flow, value(0.12), 1)[0, 0] == pytest.approx(884.46, abs=0.35)


@pytest.mark.validation
def test_balloon_of_a_loan_paid_as_if_over_fifteen_years():
    # Printed form 'Balloon payment calculator' (formsbirds.com): 500,000 at 6 %, payments of 180
    # months, all due at month 60. Rows to the cent; the balloon to one in a million, as payments
    # are rounded there.
    left = remaining("equal_payment", value(0.005), 180)[0, 60]
    made = lent(500000, 0.005, 60, balloon=left)
    assert made.service[0, 1:60] == pytest.approx(4219.28, abs=0.006)
    assert made.interest_paid[0, [1, 2, 10, 20, 29]] == pytest.approx(
        [2500.00, 2491.40, 2421.07, 2329.11, 2242.33], abs=0.011
    )
    assert made.service[0, 60] == pytest.approx(384264.40, rel=1.1e-6)


@pytest.mark.validation
def test_balloon_after_five_of_ten_years():
    # Help page of a loan program, 'Loan with balloon payment': 100,000 at 7.29 %; payments are
    # rounded to the cent there, worth 0.28 after 60 months.
    left = remaining("equal_payment", value(0.0729 / 12), 120)[0, 60]
    made = lent(100000, 0.0729 / 12, 60, balloon=left)
    assert made.service[0, 1] == pytest.approx(1176.09, abs=0.006)
    assert 100000 * left == pytest.approx(58986.00, abs=0.3)


@pytest.mark.validation
def test_balance_after_five_years():
    # Real-estate calculator manual (realtycalc.com): 80,000, 30 years, 8 %.
    made = lent(80000, 0.08 / 12, 360)
    assert made.service[0, 1] == pytest.approx(587.01, abs=0.006)
    assert made.balance[0, 60] == pytest.approx(76055.89, abs=0.006)


@pytest.mark.validation
def test_rate_of_level_payments():
    # FormCalc reference, function Apr: 35,000 repaid at 269.50 over 360 months. Its search stops
    # at about one in a million.
    found = 12 * rate_of_payment(value(269.5 / 35000), 360)[0, 0]
    assert found == pytest.approx(0.08515404566, abs=1e-6)
    # Business-mathematics text: 5,200 financed at 169 a month over 36; table in quarters of a %.
    found = 12 * rate_of_payment(value(169 / 5200), 36)[0, 0]
    assert found == pytest.approx(0.1050, abs=0.00125)


@pytest.mark.validation
def test_effective_rate_with_an_arrangement_fee():
    # Question on a loan of 100,000 at 23 %, 8,000 taken off at once, 12 payments: 47.60 %
    # effective by the spreadsheet's RATE.
    made = lent(100000, 0.23 / 12, 12, fee=8000)
    assert made.service[0, 1] == pytest.approx(9407.63, abs=0.006)
    assert all_in_rate(made)[0, 0] == pytest.approx(0.4760, abs=5e-5)


@pytest.mark.validation
def test_effective_rate_of_a_mortgage_with_three_in_a_hundred_off():
    # Textbook question (jiskha.com 1217801713): 25,000, 3 % fee, 15 yearly payments of 3,188:
    # 10.0 %.
    rate = rate_of_payment(value(3188 / 25000), 15)[0, 0]
    made = lent(25000, rate, 15, fee=750)
    assert made.service[0, 1] == pytest.approx(3188)
    assert all_in_rate(made, per_year=1)[0, 0] == pytest.approx(0.100, abs=5e-4)


@pytest.mark.validation
def test_effective_rate_with_insurance_and_a_set_up_fee():
    # Blank & Tarquin question: 45,800 for a year at 10 %, 900 and 1 % beside, all at the end.
    drawn, fees = np.zeros((2, 1, 2))
    drawn[0, 0], fees[0, 1] = 45800, 900 + 458
    plan = Schedule("bullet", value(0.10), 0, 1, 1, 1, building_paid=True)
    made = loan(drawn, plan, fees)
    # Printed as 12.97 %, cut off: 5,938 ÷ 45,800 is 12.965 %.
    assert all_in_rate(made, per_year=1)[0, 0] == pytest.approx(0.1297, abs=6e-5)


@pytest.mark.validation
def test_flat_interest_over_three_years():
    # Loan article: 100,000 at 12 % flat over 36 months; 136,000 in all, 3,777 a month, cut off.
    assert 100000 * add_on_payment(value(0.12), 3, 36)[0, 0] == pytest.approx(3777, abs=1.0)


@pytest.mark.validation
def test_debt_cover_worked():
    # Net operating income of 20,000, payments of 1,000 a month: 1.67.
    timeline = Timeline(2027, 1, 2, 0)
    service = np.full((1, 25), 1000.0)
    income = np.full((1, 25), 20000 / 12)
    service[0, 0] = income[0, 0] = 0.0
    found = debt_cover(cover_by_year(income, service, service, timeline))
    assert found[0, 0] == pytest.approx(1.67, abs=0.005)


@pytest.mark.validation
def test_loss_on_a_loan_in_another_currency():
    # IAS 21 examination question: 12 million dinars lent at 6 to the dollar, 3 repaid at 5, the
    # rest stands at 5.6: a loss of 207,000.
    price = np.full((1, 45), 1 / 6.0)
    price[0, 11], price[0, 12:] = 1 / 5.0, 1 / 5.6
    drawn = np.zeros((1, 45))
    drawn[0, 0] = 12e6 / 6
    plan = Schedule("equal_principal", value(0.0), 0, 0, 0, 4, 11)
    made = loan(drawn, plan, path=price * 6)
    assert made.repaid[0, 11] == pytest.approx(3e6 / 5)
    assert np.sum(made.exchange_loss[0, :13]) == pytest.approx(207000, abs=500)


@pytest.mark.validation
@pytest.mark.parametrize(
    ("spot", "home", "foreign", "years", "expected", "tolerance"),
    [
        pytest.param(1.2, 0.02, 0.08, 0.5, 1.1662, 6e-5, id="FX-PPP-HALF, article"),
        pytest.param(1.6971, 0.05, 0.03, 1, 1.73, 6e-5, id="FX-PPP-SFR, course exercise"),
        pytest.param(0.168, 0.03, 0.07, 1, 0.1617, 5.1e-5, id="FX-PPP-FRANC, exercise"),
    ],
)
def test_exchange_rate_by_inflation_difference(spot, home, foreign, years, expected, tolerance):
    terms = SimpleNamespace(
        currency="XXX", exchange="inflation_difference", foreign_inflation=value(foreign)
    )
    economy = SimpleNamespace(currency="YYY", inflation=value(home))
    path = exchange_path(terms, economy, TEN_YEARS)
    assert spot * path[0, int(12 * years)] == pytest.approx(expected, abs=tolerance)


def released(grant, cost, years):
    """Yearly release of a grant for an asset written off in equal months."""
    months = TEN_YEARS.months + 1
    grants, spent, written = np.zeros((3, 1, months))
    grants[0, 0], spent[0, 0] = grant, cost
    written[0, 1 : 12 * years + 1] = cost / years / 12
    capital = SimpleNamespace(
        initial={"equipment": spent},
        works=spent,
        land=np.zeros((1, 1)),
        depreciation_initial=written,
    )
    return TEN_YEARS.by_year(grants_released(SimpleNamespace(capital_grants=grants), capital))[
        0, 1:
    ]


@pytest.mark.validation
def test_release_of_a_grant_for_equipment():
    # IFRS text, government grants, illustration 2: 10,000 for equipment of 100,000, five years.
    assert released(10000, 100000, 5)[:6] == pytest.approx([2000] * 5 + [0])


@pytest.mark.validation
def test_release_of_a_grant_for_a_windmill():
    # Ind AS 20 material, case 2: 150 lakhs towards 250, straight line over ten years: 15 a year.
    assert released(150, 250, 10) == pytest.approx([15] * 10)
