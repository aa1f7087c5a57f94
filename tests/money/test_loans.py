"""Loans on any terms: identities, and agreement with three libraries on random terms."""

import numpy as np
import numpy_financial as npf
import pytest
import pyxirr
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.arrays import value
from sitefare.errors import AssumptionError
from sitefare.money.loan_terms import (
    LoanTerms,
    fees_of,
    quoted_rate,
    schedule,
)
from sitefare.money.loans import Schedule, all_in_rate, loan
from sitefare.timeline import Timeline

CLOCK = Timeline(2027, 1, 15, 6)
KINDS = ["equal_payment", "equal_principal", "bullet"]


def terms(**changed):
    given_terms = {
        "title": "A loan", "repayment": "equal_payment", "frequency": "monthly",
        "quoted": "effective", "building_interest": "capitalised", "grace_interest": "paid",
        "currency": "home", "exchange": "inflation_difference", "interest": 0.1, "term": 7.0,
        "grace": 12.0, "balloon": 0.0, "arrangement_fee": 0.0, "commitment_fee": 0.0,
        "foreign_inflation": 0.02, "devaluation": 0.0,
    } | changed  # fmt: skip
    return LoanTerms(**{k: x if isinstance(x, str) else value(x) for k, x in given_terms.items()})


def spread(draws=3):
    """Draws over building and start-up, different in each row."""
    drawn = np.zeros((draws, CLOCK.months + 1))
    drawn[:, :15] = np.linspace(1, 2, 15) * (1 + np.arange(draws)[:, None])
    return drawn


def closes(made):
    """Opening + drawn + charged + exchange loss − paid = closing, in every month and draw."""
    table = made.table
    paid = table["interest_paid"] + table["fees_paid"] + table["principal"]
    left = table["opening"] + table["drawn"] + table["charged"] + table["exchange_loss"] - paid
    scale = np.max(table["closing"])
    np.testing.assert_allclose(left, table["closing"], atol=1e-11 * scale)
    assert np.all(table["closing"][:, -1] == 0)
    assert np.all(table["closing"] >= -1e-12 * scale)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("every", [1, 3, 12])
@pytest.mark.parametrize(("paid", "added"), [(False, False), (False, True), (True, False)])
def test_every_loan_closes_and_ends_at_zero(kind, every, paid, added):
    plan = Schedule(kind, np.array([[0.0], [0.01], [0.02]]), 6, 18, 29, 10, every, 0.2, paid, added)
    fees = fees_of(terms(arrangement_fee=0.02, commitment_fee=0.01), spread(), value(200.0), 18)
    path = CLOCK.growth(value(0.05))
    for rates in (None, path):
        closes(loan(spread(), plan, fees, rates))


def test_a_loan_longer_than_the_appraisal_is_repaid_in_the_last_month():
    plan = Schedule("equal_payment", value(0.01), 6, 18, 24, 80, 3)
    made = loan(spread(), plan)
    closes(made)
    assert np.all(made.repaid[:, -1] > 3 * made.repaid[:, -4])


@settings(max_examples=60, deadline=None)
@given(
    principal=st.floats(1e2, 1e7),
    rate=st.floats(0.0005, 0.05),
    payments=st.integers(2, 240),
    balloon=st.floats(0.0, 0.9),
)
def test_level_payments_agree_with_numpy_financial(principal, rate, payments, balloon):
    drawn = np.zeros((1, payments + 1))
    drawn[0, 0] = principal
    made = loan(drawn, Schedule("equal_payment", value(rate), 0, 0, 0, payments, 1, balloon))
    periods = np.arange(1, payments + 1)
    left = -balloon * principal
    interest = -npf.ipmt(rate, periods, payments, principal, left)
    capital = -npf.ppmt(rate, periods, payments, principal, left)
    capital[-1] += balloon * principal
    np.testing.assert_allclose(made.interest[0, 1:], interest, rtol=1e-8, atol=1e-9 * principal)
    np.testing.assert_allclose(made.repaid[0, 1:], capital, rtol=1e-8, atol=1e-9 * principal)
    closes(made)


@settings(max_examples=40, deadline=None)
@given(
    rate=st.floats(0.01, 0.4),
    term=st.floats(2.0, 10.0),
    grace=st.integers(0, 18),
    frequency=st.sampled_from(["monthly", "quarterly", "yearly"]),
    kind=st.sampled_from(KINDS),
    capitalised=st.booleans(),
)
def test_a_loan_without_fees_costs_its_own_rate(rate, term, grace, frequency, kind, capitalised):
    choice = "capitalised" if capitalised else "paid"
    given_terms = terms(
        interest=rate, term=term, grace=grace, frequency=frequency, repayment=kind,
        grace_interest=choice, building_interest=choice,
    )  # fmt: skip
    made = loan(spread(1), schedule("x", given_terms, 12, CLOCK))
    assert all_in_rate(made)[0, 0] == pytest.approx(rate, abs=1e-9)
    flow = (made.service - made.drawn)[0]
    assert (1 + pyxirr.irr(flow)) ** 12 - 1 == pytest.approx(rate, abs=1e-8)


@settings(max_examples=20, deadline=None)
@given(rate=st.floats(0.005, 0.3), payments=st.integers(2, 120))
def test_level_payments_agree_with_quantlib(rate, payments):
    ql = pytest.importorskip("QuantLib")
    drawn = np.zeros((1, payments + 1))
    drawn[0, 0] = 100.0
    made = loan(drawn, Schedule("equal_payment", value(rate / 12), 0, 0, 0, payments))
    start = ql.Date(1, 1, 2027)
    bond = ql.AmortizingFixedRateBond(
        0, ql.sinkingNotionals(ql.Period(payments, ql.Months), ql.Monthly, rate, 100.0),
        ql.sinkingSchedule(start, ql.Period(payments, ql.Months), ql.Monthly, ql.NullCalendar()),
        [rate], ql.Thirty360(ql.Thirty360.European),
    )  # fmt: skip
    found = np.array(bond.notionals())[:payments]
    np.testing.assert_allclose(made.balance[0, :payments], found, rtol=1e-8)


def test_fees_raise_the_rate_and_fall_on_what_is_not_drawn():
    plan = schedule("x", terms(), 12, CLOCK)
    drawn = spread(1)
    fees = fees_of(terms(arrangement_fee=0.02, commitment_fee=0.012), drawn, value(30.0), 18)
    assert fees[0, 0] == pytest.approx(0.6)
    assert fees[0, 1] == pytest.approx(0.001 * (30 - drawn[0, 0]))
    assert np.all(fees[0, 19:] == 0)
    dear = all_in_rate(loan(drawn, plan, fees))[0, 0]
    assert 0.105 < dear < 0.14


def test_flat_quotations_cost_about_twice_their_rate():
    flat = terms(quoted="add_on", interest=0.1, term=3, grace=0, building_interest="paid")
    rate = 12 * quoted_rate(flat, 36, 1)[0, 0]
    assert rate == pytest.approx(12 * npf.rate(36, -1.3 / 36, 1, 0), abs=1e-9)
    off = 12 * quoted_rate(terms(quoted="discount", interest=0.1), 36, 1)[0, 0]
    assert off > rate


def test_a_rate_a_period_is_its_part_of_the_year():
    quarter = quoted_rate(terms(quoted="per_period", interest=0.12), 20, 3)[0, 0]
    assert (1 + quarter) ** 3 == pytest.approx(1.03)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"term": 1.0}, r"loan\.x\.term: a loan needs a term longer"),
        ({"quoted": "add_on", "repayment": "bullet"}, r"loan\.x\.quoted: interest added on"),
        ({"quoted": "discount", "interest": 0.5}, "leaves nothing"),
    ],
)
def test_terms_that_cannot_be_are_refused(changed, message):
    with pytest.raises(AssumptionError, match=message):
        schedule("x", terms(**changed), 12, CLOCK)


def test_weaker_money_makes_a_foreign_loan_dearer():
    plan = schedule("x", terms(), 12, CLOCK)
    home, weak = loan(spread(1), plan), loan(spread(1), plan, path=CLOCK.growth(value(0.08)))
    assert np.sum(weak.service) > np.sum(home.service)
    assert np.sum(weak.exchange_loss) > 0
    # What is lost on the rate is what is repaid above what was lent and charged.
    assert np.sum(weak.exchange_loss) == pytest.approx(
        np.sum(weak.repaid + weak.interest_paid - weak.interest - weak.capitalised - weak.drawn)
    )
    assert all_in_rate(weak)[0, 0] == pytest.approx(1.1 * 1.08 - 1, abs=1e-9)
