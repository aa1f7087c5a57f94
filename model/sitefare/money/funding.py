"""Who pays for the capital need, and what do lenders get back?

The capital need is what construction spends, land included, and the cash deficits of the first
months of operation. Each source pays its share of every use in the month it falls, so that
sources equal uses. Interest during construction and start-up is capitalised; afterwards it is
paid monthly on the opening balance. A loan still running when the appraisal ends is repaid in
the last month.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build_all, choice, inputs, quantity, text
from sitefare.errors import AssumptionError
from sitefare.money.project import total
from sitefare.timeline import Timeline


@inputs("funding", keyed=True, measure="share")
class FundingItem:
    """One source of funds; `share` is its part of the capital need."""

    title: Any = text(doc="Who pays.")
    kind: Any = choice("grant", "equity", "loan", doc="Grant, owner's equity or loan.")
    repayment: Any = choice(
        "none", "equal_payment", "equal_principal", "bullet", doc="How a loan is repaid."
    )
    interest: Array = quantity(
        "1/year", low=0, high=1, varies="choice", doc="Nominal effective yearly interest."
    )
    term: Array = quantity(
        "year",
        low=0,
        high=50,
        varies="choice",
        doc="Years from the end of building, grace included.",
    )
    grace: Array = quantity(
        "month",
        low=0,
        high=120,
        varies="choice",
        doc="Months after building in which only interest is paid.",
    )
    share: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Part of the capital need that it pays."
    )


@dataclass(frozen=True)
class Loan:
    """One loan by month, (draws, months + 1), all positive. [money]

    `drawn` is cash lent, `capitalised` interest added to the debt while building.
    """

    drawn: Array
    capitalised: Array
    interest: Array
    repaid: Array
    balance: Array


@dataclass(frozen=True)
class Funding:
    """Sources by month; `capital_grants` pay for assets, `running_grants` for deficits."""

    flows: Mapping[str, Array]
    capital_grants: Array
    running_grants: Array
    equity: Array
    drawn: Array
    capitalised: Array
    interest: Array
    repaid: Array
    loan_balance: Array
    need: Array

    @property
    def net(self) -> Array:
        """Cash from funders less what goes back to lenders. [money]"""
        received = self.capital_grants + self.running_grants + self.equity + self.drawn
        return received - self.interest - self.repaid


def remaining(kind: str, rate: float, payments: int) -> Array:
    """Return the share of a loan outstanding after 0 … `payments` payments, (payments + 1,). [1]

    Equal payments: B(k) = [(1+i)^n − (1+i)^k] ÷ [(1+i)^n − 1], the annuity's balance.
    """
    k = np.arange(payments + 1, dtype=np.float64)
    if kind == "bullet":
        return (k < payments).astype(np.float64)
    if kind == "equal_principal" or rate == 0:
        return 1.0 - k / payments
    final = (1.0 + rate) ** payments
    left: Array = (final - (1.0 + rate) ** k) / (final - 1.0)
    return left


def monthly_rate(yearly: float) -> float:
    """Return the monthly rate of an effective yearly one, (1 + r)^(1/12) − 1. [1/month]"""
    return float((1.0 + yearly) ** (1.0 / 12.0) - 1.0)


def loan(
    drawn: Array, kind: str, rate: float, *, grace: int, payments: int, construction: int
) -> Loan:
    """Lay a loan along the life.

    Parameters
    ----------
    drawn : Array, shape (draws, months + 1)
        Cash lent by month, none after the grace. [money]
    kind : str
        equal_payment, equal_principal or bullet.
    rate : float
        Monthly rate. [1/month]
    grace, payments, construction : int
        Months of interest only after building; payments after that; months of building, and of
        start-up, in which interest is capitalised.

    Returns
    -------
    Loan
        Schedule that ends fully repaid by the last month. [money]
    """
    months = drawn.shape[1] - 1
    growth = (1.0 + rate) ** np.arange(months + 1)
    balance = np.cumsum(drawn / growth, axis=1) * growth
    later = np.cumsum(drawn[:, construction + 1 :], axis=1)
    balance[:, construction + 1 :] = balance[:, construction : construction + 1] + later
    first = min(construction + grace, months)
    left = np.zeros(months + 1 - first)
    plan = remaining(kind, rate, payments)[: left.size]
    left[: plan.size] = plan
    balance[:, first:] = balance[:, first : first + 1] * left
    balance[:, -1] = 0.0
    opening = np.concatenate([np.zeros((drawn.shape[0], 1)), balance[:, :-1]], axis=1)
    building = np.arange(months + 1) <= construction
    capitalised = opening * rate * building
    # Nothing is drawn once repayment has begun.
    repaid = np.zeros(drawn.shape)
    repaid[:, first + 1 :] = (opening - balance)[:, first + 1 :]
    repaid[:, -1] = opening[:, -1] + drawn[:, -1] + capitalised[:, -1]
    return Loan(drawn, capitalised, opening * rate * ~building, repaid, balance)


def sources(values: Values) -> list[tuple[str, FundingItem, Array]]:
    """List the sources in use: key, item, share.

    Raises
    ------
    AssumptionError
        If shares exceed the need, or a loan has no repayment within its term.
    """
    items = build_all(FundingItem, values)
    asked = total(item.share for item in items.values())
    if np.any(asked > 1.0 + 1e-9):
        msg = f"funding: shares add up to {float(np.max(asked)):g} of the capital need; at most 1"
        raise AssumptionError(msg)
    for key, item in items.items():
        late = float(item.grace[0, 0]) >= 12.0 * float(item.term[0, 0])
        if item.kind == "loan" and (item.repayment == "none" or late):
            msg = f"funding.{key}: a loan needs a repayment and a term longer than its grace"
            raise AssumptionError(msg)
    return [(key, item, item.share) for key, item in items.items() if np.any(item.share > 0)]


def funding(
    values: Values, capital_use: Array, deficit_use: Array, start_up: int, timeline: Timeline
) -> Funding:
    """Return every source by month for the uses given, both (draws, months + 1), positive."""
    uses = capital_use + deficit_use
    zero = np.zeros(uses.shape)
    flows: dict[str, Array] = {}
    grants, running, equity, loans = zero, zero, zero, []
    for key, item, share in sources(values):
        if item.kind == "loan":
            made = _lent(item, share * uses, start_up, timeline)
            loans.append(made)
            flows |= {f"{key}.drawn": made.drawn}
            flows |= {f"{key}.interest": -made.interest, f"{key}.repaid": -made.repaid}
            continue
        flows[f"{key}.received"] = share * uses
        if item.kind == "equity":
            equity = equity + share * uses
        else:
            grants, running = grants + share * capital_use, running + share * deficit_use
    drawn, capitalised, interest, repaid, balance = (
        sum((getattr(one, name) for one in loans), zero)
        for name in ("drawn", "capitalised", "interest", "repaid", "balance")
    )
    return Funding(
        flows, grants, running, equity, drawn, capitalised, interest, repaid, balance, uses
    )


def _lent(item: FundingItem, drawn: Array, start_up: int, timeline: Timeline) -> Loan:
    grace = max(round(float(item.grace[0, 0])), start_up)
    payments = max(round(12 * float(item.term[0, 0])) - grace, 1)
    # Interest is capitalised until the first months' deficits are over: nothing earns it before.
    rate = monthly_rate(float(item.interest[0, 0]))
    return loan(
        drawn,
        str(item.repayment),
        rate,
        grace=grace - start_up,
        payments=payments,
        construction=timeline.construction + start_up,
    )
