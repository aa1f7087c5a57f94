"""What does a loan cost, month by month, and what rate does that come to?

Money is positive in every array; flows fall at month ends. Interest accrues each month on the
opening debt. While the farm is built and started, interest and fees are added to the debt or
paid; through the grace that follows, interest is paid or added; then principal is repaid in
equal payments, equal principal or at once, by month, quarter or year, a balloon left to the
last payment. A loan still running when the appraisal ends is repaid in its last month. A loan
in another currency is reckoned in that currency and brought home at each month's rate.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import Array
from sitefare.money.project import draws_of
from sitefare.money.rates import rates_of_return


@dataclass(frozen=True)
class Schedule:
    """How a loan is charged and repaid; months counted from month 0.

    `rate` is monthly, (draws, 1) [1/month]; to `building` the cost of borrowing belongs to the
    works; to `available` the loan is drawn, interest as `building_paid` says; after `first`
    come `payments` payments `every` month, or third or twelfth.
    """

    kind: str
    rate: Array
    building: int
    available: int
    first: int
    payments: int
    every: int = 1
    balloon: float = 0.0
    building_paid: bool = False
    grace_capitalised: bool = False


@dataclass(frozen=True)
class Loan:
    """One loan by month in the site's currency, (draws, months + 1). [money]

    `capitalised` is interest and fees of the months of building, part of the works; `interest`
    and `fees` are what later months are charged, paid or not; `interest_paid`, `fees_paid` and
    `repaid` are cash. `exchange_loss` is what the debt gains by the exchange rate. `balance`
    counts interest accrued.
    """

    drawn: Array
    capitalised: Array
    interest: Array
    fees: Array
    interest_paid: Array
    fees_paid: Array
    repaid: Array
    exchange_loss: Array
    balance: Array

    @property
    def service(self) -> Array:
        """Cash that goes to the lender. [money]"""
        return self.interest_paid + self.fees_paid + self.repaid

    @property
    def table(self) -> Mapping[str, Array]:
        """The schedule a lender prints: opening and what makes it closing. [money]"""
        opening = np.concatenate([np.zeros((len(self.balance), 1)), self.balance[:, :-1]], axis=1)
        return {
            "opening": opening,
            "drawn": self.drawn,
            "charged": self.capitalised + self.interest + self.fees,
            "exchange_loss": self.exchange_loss,
            "interest_paid": self.interest_paid,
            "fees_paid": self.fees_paid,
            "principal": self.repaid,
            "closing": self.balance,
        }


def monthly_rate(yearly: float) -> float:
    """Return the monthly rate of an effective yearly one, (1 + r)^(1/12) − 1. [1/month]"""
    return float((1.0 + yearly) ** (1.0 / 12.0) - 1.0)


def remaining(kind: str, rate: Array, payments: int, balloon: float = 0.0) -> Array:
    """Return the share outstanding after 0 … `payments` payments, (draws, payments + 1). [1]

    Equal payments: B(k) = [(1+i)^n − (1+i)^k] ÷ [(1+i)^n − 1], the annuity's balance; a
    balloon bears interest alone until the last payment.
    """
    k = np.arange(payments + 1, dtype=np.float64)[None, :]
    if kind == "bullet":
        left = np.ones((len(rate), payments + 1))
    elif kind == "equal_principal":
        left = np.broadcast_to(1.0 - k / payments, (len(rate), payments + 1)).copy()
    else:
        safe = np.where(rate == 0, 1.0, rate)
        level = -np.expm1((k - payments) * np.log1p(safe)) / -np.expm1(-payments * np.log1p(safe))
        left = np.where(rate == 0, 1.0 - k / payments, level)
    shares: Array = balloon + (1.0 - balloon) * left
    shares[:, -1] = 0.0
    return shares


def loan(
    drawn: Array, plan: Schedule, fees: Array | None = None, path: Array | None = None
) -> Loan:
    """Lay a loan along the life.

    Parameters
    ----------
    drawn : Array, shape (draws, months + 1)
        Cash lent by month, none after `plan.first`. [money]
    plan : Schedule
        How it is charged and repaid.
    fees : Array, optional
        Fees by month, none after `plan.available`. [money]
    path : Array, optional
        Price of the loan's currency by month, 1 at month 0, where it is another one. [1]

    Returns
    -------
    Loan
        Schedule that ends fully repaid by the last month. [money]
    """
    charged_fees = np.zeros((1, drawn.shape[1])) if fees is None else fees
    rates = np.ones((1, drawn.shape[1])) if path is None else path
    shape = (draws_of(drawn, plan.rate, charged_fees, rates), drawn.shape[1])
    lent, fee = (np.broadcast_to(x / rates, shape) for x in (drawn, charged_fees))
    own = _repaid(_through_grace(lent, fee, plan), plan)
    if path is None:
        return own
    moved = {name: getattr(own, name) * rates for name in own.__dataclass_fields__}
    opening = np.concatenate([np.zeros((shape[0], 1)), own.balance[:, :-1]], axis=1)
    moved["exchange_loss"] = opening * np.diff(rates, axis=1, prepend=1.0)
    return Loan(**moved)


def _through_grace(drawn: Array, fees: Array, plan: Schedule) -> Loan:
    """Charge a loan month by month until repayment begins: the debt carries over."""
    made = Loan(drawn, *(np.zeros(drawn.shape) for _ in range(8)))
    principal, owed = np.zeros((len(drawn), 1)), np.zeros((len(drawn), 1))
    for month in range(min(plan.first, drawn.shape[1] - 1) + 1):
        at = slice(month, month + 1)
        interest = plan.rate * (principal + owed)
        starting = month <= plan.available
        adds = not plan.building_paid if starting else plan.grace_capitalised
        book = made.capitalised if month <= plan.building else made.interest
        book[:, at] += interest
        (made.capitalised if month <= plan.building else made.fees)[:, at] += fees[:, at]
        principal = principal + drawn[:, at]
        if starting and not plan.building_paid:
            principal = principal + fees[:, at]
        else:
            made.fees_paid[:, at] = fees[:, at]
        owed = owed + interest
        if adds:
            principal, owed = principal + owed, np.zeros(owed.shape)
        elif (plan.first - month) % plan.every == 0:
            made.interest_paid[:, at], owed = owed, np.zeros(owed.shape)
        made.balance[:, at] = principal + owed
    return made


def _repaid(made: Loan, plan: Schedule) -> Loan:
    """Repay what stands at the end of the grace; what is left in the last month goes then."""
    months = made.drawn.shape[1] - 1
    first = min(plan.first, months)
    age = np.arange(1, months + 1 - first)
    count, part = age // plan.every, age % plan.every
    period = np.asarray((1.0 + plan.rate) ** plan.every - 1.0)
    left = remaining(plan.kind, period, plan.payments, plan.balloon)
    debt = made.balance[:, first : first + 1]
    before = debt * left[:, np.minimum((age - 1) // plan.every, plan.payments)]
    after = debt * left[:, np.minimum(count, plan.payments)]
    growth = (1.0 + plan.rate) ** np.where(part == 0, plan.every, part)
    due = part == 0
    made.balance[:, first + 1 :] = np.where(due, after, before * growth)
    # A month's interest is charged on its opening debt, whatever is paid at its end.
    made.interest[:, first + 1 :] = made.balance[:, first:-1] * plan.rate
    made.interest_paid[:, first + 1 :] = np.where(due, before * (growth - 1.0), 0.0)
    made.repaid[:, first + 1 :] = np.where(due, before - after, 0.0)
    # What still runs in the last month goes then, interest accrued first.
    standing = np.where(due, after, before)[:, -1:] if age.size else made.balance[:, -1:]
    made.interest_paid[:, -1:] += made.balance[:, -1:] - standing
    made.repaid[:, -1:] += standing
    made.balance[:, -1] = 0.0
    return made


def all_in_rate(made: Loan, per_year: int = 12) -> Array:
    """Return the effective yearly rate that borrowing costs, fees in, (draws, 1). [1/year]"""
    return rates_of_return(made.service - made.drawn, per_year).rate


def together(loans: Mapping[str, Loan], shape: tuple[int, ...]) -> Loan:
    """Return the sum of loans as one, all zero where there is none. [money]"""
    zero = Loan(*(np.zeros(shape) for _ in Loan.__dataclass_fields__))
    for one in loans.values():
        zero = replace(
            zero, **{n: getattr(zero, n) + getattr(one, n) for n in Loan.__dataclass_fields__}
        )
    return zero
