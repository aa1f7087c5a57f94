"""On what terms does a lender lend, and how do they lay out on the project's clock?

A rate is quoted in one of four ways: effective a year; a year's rate of which each period takes
its part; flat interest added on to the sum lent; flat interest taken off it beforehand. Each is
turned into the monthly rate on the debt that it comes to.
"""

from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import choice, inputs, quantity, text
from sitefare.errors import AssumptionError
from sitefare.money.exchange import parity
from sitefare.money.loans import Schedule
from sitefare.money.project import EconomyInputs, whole
from sitefare.timeline import Timeline

MONTHS_APART = {"monthly": 1, "quarterly": 3, "yearly": 12}
STEPS = 80


@inputs("loan", keyed=True, table=True)
class LoanTerms:
    """Terms on which a lender lends."""

    title: Any = text(doc="Terms of the loan.")
    repayment: Any = choice(
        "equal_payment", "equal_principal", "bullet", doc="Repayment, how principal is paid back."
    )
    frequency: Any = choice("monthly", "quarterly", "yearly", doc="Payment frequency.")
    quoted: Any = choice(
        "effective",
        "per_period",
        "add_on",
        "discount",
        doc="Quotation of the interest, effective, per period, added on or taken off.",
    )
    building_interest: Any = choice(
        "capitalised", "paid", doc="Interest and fees while building and starting up."
    )
    grace_interest: Any = choice("paid", "capitalised", doc="Interest through the grace.")
    currency: Any = text(doc="Currency of the loan, 'home' for the site's own.")
    exchange: Any = choice(
        "inflation_difference", "stated", doc="Exchange path, by inflation difference or as stated."
    )
    interest: Array = quantity(
        "1/year", low=0, high=2, varies="choice", doc="Interest of the loan, nominal, as quoted."
    )
    term: Array = quantity(
        "year",
        low=0,
        high=50,
        varies="choice",
        doc="Term of the loan from the end of building, grace included.",
    )
    grace: Array = quantity(
        "month", low=0, high=120, varies="choice", doc="Grace after building, before repayment."
    )
    balloon: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Balloon, the share of the debt left to the last payment.",
    )
    arrangement_fee: Array = quantity(
        "1", low=0, high=0.2, varies="choice", doc="Arrangement fee, of the sum committed."
    )
    commitment_fee: Array = quantity(
        "1/year", low=0, high=0.1, varies="choice", doc="Commitment fee, of the sum not yet drawn."
    )
    foreign_inflation: Array = quantity(
        "1/year", low=-0.05, high=1, varies="choice", doc="Inflation of the loan's currency."
    )
    devaluation: Array = quantity(
        "1/year",
        low=-0.2,
        high=2,
        varies="choice",
        doc="Devaluation of the site's currency, where the exchange path is stated.",
    )


def annuity(rate: Array, payments: int) -> Array:
    """Return the level payment on 1, i ÷ (1 − (1 + i)^−n), for a rate a period. [1/period]"""
    safe = np.where(rate == 0, 1.0, rate)
    level = safe / -np.expm1(-payments * np.log1p(safe))
    paid: Array = np.where(rate == 0, 1.0 / payments, level)
    return paid


def rate_of_payment(payment: Array, payments: int) -> Array:
    """Return the rate a period at which level payments repay 1, by bisection. [1/period]

    No payment above twice the loan, nor payments that together fall short of it.
    """
    low, high = np.zeros(payment.shape), np.full(payment.shape, 2.0)
    for _ in range(STEPS):
        middle = (low + high) / 2.0
        more = annuity(middle, payments) < payment
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    return np.asarray((low + high) / 2.0)


def add_on_payment(rate: Array, years: float, payments: int) -> Array:
    """Return the payment on 1 where flat interest is added on: (1 + rate × years) ÷ n. [1]"""
    return (1.0 + rate * years) / payments


def discount_payment(rate: Array, years: float, payments: int) -> Array:
    """Return the payment on 1 received where interest is taken off: 1 ÷ (1 − r × years) ÷ n. [1]

    Raises
    ------
    AssumptionError
        If interest takes the whole loan.
    """
    if np.any(rate * years >= 1.0):
        msg = "loan: interest taken off beforehand leaves nothing; lower its interest or term"
        raise AssumptionError(msg)
    return 1.0 / (1.0 - rate * years) / payments


def quoted_rate(terms: LoanTerms, payments: int, every: int) -> Array:
    """Return the monthly rate that a quotation comes to, (draws, 1). [1/month]"""
    yearly, years = terms.interest, payments * every / 12.0
    if terms.quoted == "effective":
        return np.asarray((1.0 + yearly) ** (1.0 / 12.0) - 1.0)
    if terms.quoted == "per_period":
        period = yearly * every / 12.0
    elif terms.quoted == "add_on":
        period = rate_of_payment(add_on_payment(yearly, years, payments), payments)
    else:
        period = rate_of_payment(discount_payment(yearly, years, payments), payments)
    return np.asarray((1.0 + period) ** (1.0 / every) - 1.0)


def exchange_path(terms: LoanTerms, economy: EconomyInputs, timeline: Timeline) -> Array | None:
    """Return the price of a loan's currency by month, 1 at month 0; none for the site's own. [1]

    By inflation difference: relative purchasing power parity.
    """
    if terms.currency in ("home", economy.currency):
        return None
    if terms.exchange == "stated":
        return timeline.growth(terms.devaluation)
    return parity(economy.inflation, terms.foreign_inflation, timeline)


def schedule(key: str, terms: LoanTerms, start_up: int, timeline: Timeline) -> Schedule:
    """Return how the terms lay out on a project's clock.

    Raises
    ------
    AssumptionError
        If the term ends within the grace, or flat interest meets other than equal payments.
    """
    every = MONTHS_APART[str(terms.frequency)]
    grace = max(whole(terms.grace), start_up)
    if 12.0 * float(terms.term[0, 0]) <= whole(terms.grace):
        msg = f"loan.{key}.term: a loan needs a term longer than its grace"
        raise AssumptionError(msg)
    flat = terms.quoted in ("add_on", "discount")
    if flat and (terms.repayment != "equal_payment" or terms.balloon[0, 0] > 0):
        msg = f"loan.{key}.quoted: interest added on or taken off goes with equal payments alone"
        raise AssumptionError(msg)
    payments = max(round((12.0 * float(terms.term[0, 0]) - grace) / every), 1)
    built = timeline.construction
    return Schedule(
        kind=str(terms.repayment),
        rate=quoted_rate(terms, payments, every),
        building=built,
        available=built + start_up,
        first=built + grace,
        payments=payments,
        every=every,
        balloon=float(terms.balloon[0, 0]),
        building_paid=terms.building_interest == "paid",
        grace_capitalised=terms.grace_interest == "capitalised",
    )


def fees_of(terms: LoanTerms, drawn: Array, committed: Array, available: int) -> Array:
    """Return arrangement and commitment fees by month. [money]

    The first is a share of the sum committed, in month 0; the second a yearly share of what
    was not yet drawn when each month began, until the loan is no longer available.
    """
    undrawn = np.maximum(committed - np.cumsum(drawn, axis=1), 0.0)
    month = np.arange(drawn.shape[1])[None, :]
    fees = np.zeros(undrawn.shape)
    fees[:, 1:] = undrawn[:, :-1] * terms.commitment_fee / 12.0
    fees = fees * (month <= available)
    fees[:, :1] += terms.arrangement_fee * committed
    return fees
