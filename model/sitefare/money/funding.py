"""Who pays for the capital need, and what do funders get back?

The capital need is what construction spends, land included, and the cash deficits of the first
months of operation, until start-up is over and the first fish are sold. Sources pay shares of
the need as planned at base values, each in the month money is spent; grants may pay at
milestones. What a draw costs beyond the plan falls on the sources by their parts of an overrun,
up to their ceilings; what no source pays falls on the farm's cash. Interest, fees and reserve
paid while the farm is built and started are paid by the owners. So in every month sources
equal uses, cash held or missing between them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import (
    Values,
    build,
    build_all,
    choice,
    inputs,
    keys_of,
    quantity,
    text,
)
from sitefare.assumptions.shocks import shock
from sitefare.errors import AssumptionError
from sitefare.money import grants
from sitefare.money.grants import GrantTerms
from sitefare.money.loan_terms import LoanTerms, exchange_path, fees_of, schedule
from sitefare.money.loans import Loan, loan, together
from sitefare.money.project import EconomyInputs, draws_of, total
from sitefare.money.reserve import ReserveInputs, reserve
from sitefare.timeline import Timeline


@inputs("funding", keyed=True, measure="share")
class FundingItem:
    """One source of funds; `share` is its part of the capital need."""

    title: Any = text(doc="Source of funds, who pays.")
    kind: Any = choice("grant", "equity", "loan", doc="Kind of funds.")
    terms: Any = text(doc="Terms, the key of a loan or a grant; blank for equity.", optional=True)
    overrun: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Part of an overrun that the source pays."
    )
    ceiling: Array = quantity(
        "1",
        low=0,
        high=10,
        varies="choice",
        doc="Ceiling of the source, over its planned sum; 0 for none.",
    )
    share: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Part of the planned capital need that it pays."
    )


@inputs("funding_plan")
class PlanInputs:
    """The capital need as planned; computed when a plan is made."""

    need: Array = quantity(
        "money",
        low=0,
        varies="choice",
        doc="Capital need as planned, at base values; 0 takes each draw's own.",
    )
    start_up: Array = quantity(
        "month",
        low=0,
        high=120,
        varies="choice",
        doc="Months of operation funded, until start-up is over and the first fish are sold.",
    )


@dataclass(frozen=True)
class Uses:
    """What is to be funded by month, (draws, months + 1), positive, and the need as planned.

    `start_up` counts the months of operation whose deficits belong to the need.
    """

    capital: Array
    deficit: Array
    planned: Array
    start_up: int

    @property
    def all(self) -> Array:
        """Capital and deficits. [money]"""
        return self.capital + self.deficit

    @property
    def within(self) -> Array:
        """The part of each month's uses within the plan, until it is used up. [money]"""
        before = np.cumsum(self.all, axis=1) - self.all
        return np.clip(self.planned - before, 0.0, self.all)


@dataclass(frozen=True)
class Funding:
    """Sources by month, (draws, months + 1). [money]

    Grants by what they pay for: `capital_grants` assets, `running_grants` deficits, in the
    month of spending; `grants_received` is their cash. `debt` is all loans as one, `loans` each
    by key. `reserve` is the balance of the debt-service reserve account. `need` is the capital
    need by month, `extra` what borrowing and reserve cost the owners until start-up ends;
    `planned` is the need as planned, (draws, 1).
    """

    flows: Mapping[str, Array]
    capital_grants: Array
    running_grants: Array
    grants_received: Array
    equity: Array
    debt: Loan
    loans: Mapping[str, Loan]
    reserve: Array
    need: Array
    extra: Array
    planned: Array

    @property
    def net(self) -> Array:
        """Cash from funders less what goes back to lenders and into the reserve. [money]"""
        received = self.grants_received + self.equity + self.debt.drawn
        return received - self.debt.service - np.diff(self.reserve, axis=1, prepend=0.0)


def sources(values: Values) -> dict[str, FundingItem]:
    """Return the sources in use by key.

    Raises
    ------
    AssumptionError
        If shares or parts of an overrun exceed the whole, or terms are not found.
    """
    items = build_all(FundingItem, values)
    for field, what in (("share", "capital need"), ("overrun", "overrun")):
        asked = total(getattr(item, field) for item in items.values())
        if np.any(asked > 1.0 + 1e-9):
            msg = f"funding: {field}s add up to {float(np.max(asked)):g} of the {what}; at most 1"
            raise AssumptionError(msg)
    found = {k: x for k, x in items.items() if np.any(x.share > 0) or np.any(x.overrun > 0)}
    for key, item in found.items():
        known = {"loan": LoanTerms, "grant": GrantTerms}.get(str(item.kind))
        if known is not None and item.terms not in keys_of(known, values):
            given = ", ".join(keys_of(known, values))
            msg = (
                f"funding.{key}.terms: '{item.terms}' is no {item.kind}; one of {given} is accepted"
            )
            raise AssumptionError(msg)
    return found


def paid_by(item: FundingItem, uses: Uses) -> Array:
    """Return what a source owes on each month's uses: planned share, overrun, ceiling. [money]"""
    within = uses.within
    owed: Array = item.share * within + item.overrun * (uses.all - within)
    if np.any(item.ceiling > 0):
        most = np.where(item.ceiling > 0, item.ceiling * item.share * uses.planned, np.inf)
        owed = np.clip(most - (np.cumsum(owed, axis=1) - owed), 0.0, owed)
    return owed


def lent(values: Values, item: FundingItem, drawn: Array, uses: Uses, timeline: Timeline) -> Loan:
    """Return the loan of one source that pays what is drawn."""
    key = str(item.terms)
    terms = build(LoanTerms, values, key)
    plan = schedule(key, terms, uses.start_up, timeline)
    committed = item.share * uses.planned
    fees = fees_of(terms, drawn, committed, plan.available)
    path = exchange_path(terms, build(EconomyInputs, values), timeline)
    return loan(drawn, plan, fees, None if path is None else path * shock(values, "exchange"))


def funding(values: Values, uses: Uses, timeline: Timeline) -> Funding:
    """Return every source by month for the uses given."""
    shape = (draws_of(uses.all, uses.planned), timeline.months + 1)
    found = sources(values)
    owed = {key: np.broadcast_to(paid_by(item, uses), shape) for key, item in found.items()}
    kinds = {kind: [k for k, x in found.items() if x.kind == kind] for kind in ("grant", "loan")}
    given = {
        key: grants.received(
            str(found[key].terms),
            build(GrantTerms, values, str(found[key].terms)),
            owed[key],
            found[key].share * uses.planned,
            timeline,
        )
        for key in kinds["grant"]
    }
    if "shock.grants_held" in values:
        late = shock(values, "grants_held")
        given = {key: grants.held_back(paid, late) for key, paid in given.items()}
    loans = {key: lent(values, found[key], owed[key], uses, timeline) for key in kinds["loan"]}
    debt = together(loans, shape)
    held = reserve(build(ReserveInputs, values), debt.service, timeline)
    extra = _extra(debt, held, timeline.construction + uses.start_up)
    owners = {k: owed[k] + extra * part for k, part in _owners(found).items()}
    granted = total(owed[key] for key in kinds["grant"])
    works = uses.capital / np.where(uses.all > 0, uses.all, 1.0)
    zero = np.zeros(shape)
    return Funding(
        flows=_lines(given | owners, loans),
        capital_grants=granted * works + zero,
        running_grants=granted * (1.0 - works) + zero,
        grants_received=total(given.values()) + zero,
        equity=total(owners.values()) + zero,
        debt=debt,
        loans=loans,
        reserve=held,
        need=uses.all,
        extra=extra,
        planned=uses.planned,
    )


def _extra(debt: Loan, held: Array, last: int) -> Array:
    """Return interest and fees paid and reserve filled until start-up is over. [money]"""
    filled = np.maximum(np.diff(held, axis=1, prepend=0.0), 0.0)
    extra: Array = debt.interest_paid + debt.fees_paid + filled
    extra[:, last + 1 :] = 0.0
    return extra


def _owners(found: Mapping[str, FundingItem]) -> dict[str, Array]:
    """Return each owner's part of what owners pay. [1]"""
    equity = {key: item.share for key, item in found.items() if item.kind == "equity"}
    whole = total(equity.values())
    even = np.full((1, 1), 1.0 / max(len(equity), 1))
    return {
        key: np.where(whole > 0, share / np.where(whole > 0, whole, 1.0), even)
        for key, share in equity.items()
    }


def _lines(received: Mapping[str, Array], loans: Mapping[str, Loan]) -> dict[str, Array]:
    """Return the funders' lines: money in positive, money back negative."""
    flows = {f"{key}.received": flow for key, flow in received.items()}
    for key, one in loans.items():
        flows |= {f"{key}.drawn": one.drawn, f"{key}.interest": -one.interest_paid}
        flows |= {f"{key}.fees": -one.fees_paid, f"{key}.repaid": -one.repaid}
    return flows
