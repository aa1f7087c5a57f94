"""Random flows agree with numpy-financial, pyxirr and QuantLib."""

import datetime as dt

import numpy as np
import numpy_financial as npf
import pytest
import pyxirr
import QuantLib as ql  # noqa: N813
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sitefare.arrays import value
from sitefare.money.discounting import (
    capital_recovery,
    discount_factors,
    modified_rate,
    net_present_value,
    present_value,
)
from sitefare.money.loans import Schedule, loan
from sitefare.money.rates import ONE, rates_of_return

amounts = st.floats(-1e6, 1e6).filter(lambda x: x == 0 or abs(x) > 1e-3)
flows = st.lists(amounts, min_size=2, max_size=60)
rates = st.floats(-0.3, 1.5)
START = ql.Date(1, 1, 2027)
DAYS = ql.Actual365Fixed()

#: A payment on the settlement date counts.
ON_THE_DAY = True


def row(flow):
    return np.array([flow], dtype=np.float64)


def size(flow, rate, per_year=1):
    """Sum of absolute present values: what rounding is measured by."""
    return float(net_present_value(np.abs(row(flow)), value(rate), per_year)[0, 0])


def leg_of(flow):
    """Lay a daily flow out as dated payments."""
    return [ql.SimpleCashFlow(float(x), START + n) for n, x in enumerate(flow) if x != 0]


def yearly(rate):
    return ql.InterestRate(rate, DAYS, ql.Compounded, ql.Annual)


@st.composite
def daily(draw):
    """A flow of up to three years with few dated payments, the first on day 0."""
    days = draw(st.lists(st.integers(1, 1095), min_size=1, max_size=12, unique=True))
    flow = np.zeros(max(days) + 1)
    flow[[0, *days]] = draw(
        st.lists(st.floats(-1e6, 1e6).filter(lambda x: abs(x) > 1), min_size=len(days) + 1,
                 max_size=len(days) + 1)
    )  # fmt: skip
    return flow


@settings(deadline=None)
@given(flows, rates)
def test_net_present_value_by_year(flow, rate):
    found = net_present_value(row(flow), value(rate), per_year=1)[0, 0]
    bound = 1e-12 * size(flow, rate)
    assert found == pytest.approx(npf.npv(rate, flow), abs=bound + 1e-300)
    assert found == pytest.approx(pyxirr.npv(rate, flow), abs=bound + 1e-300)


@settings(deadline=None)
@given(daily(), rates)
def test_net_present_value_by_day(flow, rate):
    ql.Settings.instance().evaluationDate = START
    found = net_present_value(row(flow), value(rate), per_year=365)[0, 0]
    bound = 1e-11 * size(flow, rate, 365)
    theirs = ql.CashFlows.npv(leg_of(flow), yearly(rate), ON_THE_DAY, START, START)
    assert found == pytest.approx(theirs, abs=bound)
    dates = [dt.date(2027, 1, 1) + dt.timedelta(days=n) for n in range(len(flow))]
    assert found == pytest.approx(pyxirr.xnpv(rate, dates, flow), abs=bound)


@st.composite
def investments(draw):
    """Outlays, then receipts: one change of sign, so exactly one rate above −100 %."""
    out = draw(st.lists(st.floats(1.0, 1e6), min_size=1, max_size=6))
    back = draw(st.lists(st.floats(1.0, 1e6), min_size=1, max_size=54))
    return [-x for x in out] + back


@settings(deadline=None)
@given(investments())
def test_rate_of_return_by_year(flow):
    found = rates_of_return(row(flow), per_year=1)
    rate = found.rate[0, 0]
    assume(found.status[0, 0] == ONE and -0.9 < rate < 9)
    theirs = pyxirr.irr(flow)
    if theirs is not None and theirs > -0.99:
        assert rate == pytest.approx(theirs, abs=1e-9 * (1 + abs(rate)))
    # One change of sign: worth falls through zero there and nowhere else.
    beside = [
        net_present_value(row(flow), value(rate + d), per_year=1)[0, 0] for d in (-1e-6, 1e-6)
    ]
    assert beside[0] > 0 > beside[1]
    assert abs(net_present_value(row(flow), value(rate), per_year=1)[0, 0]) < 1e-9 * size(
        flow, rate
    )


@settings(deadline=None)
@given(investments())
def test_rate_of_return_of_numpy_financial(flow):
    found = rates_of_return(row(flow), per_year=1)
    assume(found.status[0, 0] == ONE)
    theirs = npf.irr(flow)
    assume(np.isfinite(theirs) and -0.9 < theirs < 9)
    assert found.rate[0, 0] == pytest.approx(theirs, abs=1e-7 * (1 + abs(theirs)))


@settings(deadline=None, max_examples=60)
@given(daily())
def test_dated_rate_of_return(flow):
    flow[0] = -np.sum(np.abs(flow[1:])) / 1.2
    flow[1:] = np.abs(flow[1:])
    found = rates_of_return(row(flow), per_year=365)
    rate = found.rate[0, 0]
    assume(found.status[0, 0] == ONE and rate < 5)
    dates = [dt.date(2027, 1, 1) + dt.timedelta(days=n) for n in range(len(flow))]
    assert rate == pytest.approx(pyxirr.xirr(dates, flow), abs=1e-8 * (1 + rate))
    leg = leg_of(flow[1:])
    moved = [ql.SimpleCashFlow(cash.amount(), cash.date() + 1) for cash in leg]
    theirs = ql.CashFlows.yieldRate(
        moved, -flow[0], DAYS, ql.Compounded, ql.Annual, ON_THE_DAY, START, START, 1e-12, 500, 0.1
    )
    assert rate == pytest.approx(theirs, abs=1e-8 * (1 + rate))


@settings(deadline=None)
@given(investments(), st.floats(0, 0.5), st.floats(0, 0.5))
def test_modified_rate_of_return(flow, finance, reinvest):
    found = modified_rate(row(flow), value(finance), value(reinvest), per_year=1)[0, 0]
    theirs = [npf.mirr(flow, finance, reinvest), pyxirr.mirr(flow, finance, reinvest)]
    assert 1 + found == pytest.approx(1 + np.array(theirs), rel=1e-10)


@settings(deadline=None)
@given(st.floats(1e-4, 0.3), st.integers(2, 360), st.floats(1.0, 1e8))
def test_loan_payments(rate, payments, principal):
    drawn = np.zeros((1, payments + 1))
    drawn[0, 0] = principal
    made = loan(drawn, Schedule("equal_payment", value(rate), 0, 0, 0, payments))
    level = float(npf.pmt(rate, payments, -principal))
    paid = (made.interest + made.repaid)[0, 1:]
    assert paid == pytest.approx(np.full(payments, level), rel=1e-7)
    assert level == pytest.approx(
        principal * capital_recovery(value(rate), value(payments))[0, 0], rel=1e-9
    )
    n = payments // 2 + 1
    assert made.interest[0, n] == pytest.approx(
        -pyxirr.ipmt(rate, n, payments, principal), abs=1e-9 * principal
    )
    assert made.repaid[0, n] == pytest.approx(
        -pyxirr.ppmt(rate, n, payments, principal), abs=1e-9 * principal
    )


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 30), st.floats(0.005, 0.2), st.floats(1e3, 1e7))
def test_loan_balances_of_a_sinking_bond(years, nominal, principal):
    # QuantLib's notionals of a bond that sinks by equal monthly payments.
    theirs = ql.sinkingNotionals(ql.Period(years, ql.Years), ql.Monthly, nominal, principal)
    drawn = np.zeros((1, 12 * years + 1))
    drawn[0, 0] = principal
    made = loan(drawn, Schedule("equal_payment", value(nominal / 12), 0, 0, 0, 12 * years))
    balance = made.balance[0, : len(theirs)]
    assert balance == pytest.approx(np.array(theirs), abs=1e-7 * principal)


@settings(deadline=None)
@given(daily(), st.floats(0.001, 0.5))
def test_duration(flow, rate):
    flow = np.abs(flow)
    ql.Settings.instance().evaluationDate = START
    factors = discount_factors(value(rate), len(flow), 365)
    years = np.arange(len(flow)) / 365
    found = (present_value(row(flow) * years, factors) / present_value(row(flow), factors))[0, 0]
    leg, at = leg_of(flow), yearly(rate)
    given_date = (ON_THE_DAY, START)
    macaulay = ql.CashFlows.duration(leg, at, ql.Duration.Macaulay, *given_date)
    modified = ql.CashFlows.duration(leg, at, ql.Duration.Modified, *given_date)
    assert [found, found / (1 + rate)] == pytest.approx([macaulay, modified], rel=1e-9)
