"""Lines of a loan on sheet Funding: fees, grace, repayment, foreign currency, month by month.

Interest accrues on the opening debt, so nothing refers to itself. The debt through the grace
stands in a row of its own, which repayment reads at its end.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import build
from sitefare.money.funding import FundingItem, Uses, paid_by
from sitefare.money.loan_terms import (
    MONTHS_APART,
    LoanTerms,
    exchange_path,
    fees_of,
    schedule,
)
from sitefare.money.loans import Loan, Schedule, remaining
from sitefare.money.project import EconomyInputs
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar
from sitefare.outputs.workbook.made import Made

#: Rows of debt as the statements read them: key, label, whether a flow.
PARTS = (
    ("drawn", "Drawn", True),
    ("capitalised", "Interest and fees of the months of building, part of the works", True),
    ("interest", "Interest charged after building", True),
    ("fees", "Fees charged after building", True),
    ("interest_paid", "Interest paid", True),
    ("fees_paid", "Fees paid", True),
    ("repaid", "Principal repaid", True),
    ("exchange_loss", "Loss by the exchange rate", True),
    ("balance", "Debt at month end, interest accrued in it", False),
)


class _Lender:
    """One loan: its terms, its schedule and the names of its cells."""

    def __init__(self, made: Made, key: str, item: FundingItem, uses: Uses) -> None:
        self.made, self.key, self.item, self.uses = made, key, item, uses
        self.terms = build(LoanTerms, made.values, str(item.terms))
        self.plan: Schedule = schedule(str(item.terms), self.terms, uses.start_up, made.timeline)
        self.every = MONTHS_APART[str(self.terms.frequency)]
        self.last = made.timeline.months
        economy = build(EconomyInputs, made.values)
        self.path = exchange_path(self.terms, economy, made.timeline)
        self.name = f"loan.{key}"
        #: Prefix of rows in the loan's own currency, and its code.
        self.own = self.name if self.path is None else f"{self.name}.own"
        self.currency = made.currency if self.path is None else str(self.terms.currency)

    def term(self, field: str) -> str:
        """Return the template of one of the loan's terms."""
        return f"{{in:loan.{self.item.terms}.{field}}}"

    @property
    def loan(self) -> Loan:
        """The loan in the site's currency. [money]"""
        return self.made.books.funding.loans[self.key]

    def home(self, flow: Array) -> Array:
        """Return a flow of the site's currency in the loan's own."""
        return flow if self.path is None else flow / self.path


def loan_items(made: Made, key: str, item: FundingItem, uses: Uses) -> Iterator[Item]:
    """Yield every line of one loan."""
    one = _Lender(made, key, item, uses)
    yield from _terms(one)
    yield from _drawn(one)
    yield from _grace(one)
    yield from _repayment(one)
    yield from _booked(one)
    if one.path is not None:
        yield from _at_home(one)


def rate_formula(one: _Lender) -> str:
    """Return the monthly rate that the quotation comes to."""
    rate, every, payments = one.term("interest"), one.every, f"{{{one.name}.payments}}"
    quoted = str(one.terms.quoted)
    if quoted == "effective":
        return f"(1+{rate})^(1/12)-1"
    if quoted == "per_period":
        return f"(1+{rate}*{every / 12!r})^(1/{every})-1"
    years = f"{payments}*{every / 12!r}"
    if quoted == "add_on":
        payment = f"(1+{rate}*{years})/{payments}"
    else:
        payment = f"1/(1-{rate}*{years})/{payments}"
    return f"(1+RATE({payments},-({payment}),1,0,0,0.02))^(1/{every})-1"


def _terms(one: _Lender) -> Iterator[Item]:
    """Yield the terms as they lie on the project's clock."""
    plan, name = one.plan, one.name
    built = "{in:project.construction}"
    grace = f"ROUND({one.term('grace')},0)"
    cells = (
        ("available", "Drawn until month", f"{built}+{{funding.start_up}}", plan.available),
        ("first", "Grace ends with month", f"{built}+MAX({grace},{{funding.start_up}})",
         plan.first),
        ("payments", "Payments",
         f"MAX(ROUND((12*{one.term('term')}-MAX({grace},{{funding.start_up}}))/{one.every},0),1)",
         plan.payments),
    )  # fmt: skip
    for key, label, formula, found in cells:
        yield Scalar(f"{name}.{key}", label, "month", formula, float(found), kind="count")
    yield Scalar(
        f"{name}.rate", "Monthly rate on the debt", "1/month", rate_formula(one),
        float(plan.rate[0, 0]), kind="rate",
        note=f"interest quoted as {str(one.terms.quoted).replace('_', ' ')}",
    )  # fmt: skip


def _drawn(one: _Lender) -> Iterator[Item]:
    """Yield what is lent and its fees, in the loan's own currency."""
    name, home = one.name, one.made.currency
    owed = paid_by(one.item, one.uses)
    committed = one.item.share * one.uses.planned
    fees = fees_of(one.terms, owed, committed, one.plan.available)
    planned = f"{{in:funding.{one.key}.share}}*{{funding.planned}}"
    so_far = np.cumsum(owed, axis=1)
    yield Line(
        f"{name}.drawn_so_far", "Drawn so far", home,
        f"{{{name}.drawn_so_far<}}+{{funding.{one.key}.owed}}", so_far,
    )  # fmt: skip
    undrawn = np.maximum(committed - so_far, 0.0)
    yield Line(
        f"{name}.undrawn", "Committed and not drawn", home,
        f"MAX({planned}-{{{name}.drawn_so_far}},0)", undrawn,
    )  # fmt: skip
    yield Line(
        f"{name}.fees_charged", "Arrangement and commitment fees", home,
        f"IF({{month}}=0,{one.term('arrangement_fee')}*{planned},"
        f"IF({{month}}<={{{name}.available}},"
        f"{{{name}.undrawn<}}*{one.term('commitment_fee')}/12,0))", fees, total=True,
    )  # fmt: skip
    if one.path is None:
        return
    terms = one.terms
    growth = f"1+{one.term('devaluation')}"
    if terms.exchange != "stated":
        growth = f"(1+{{in:economy.inflation}})/(1+{one.term('foreign_inflation')})"
    yield Line(
        f"{name}.path", f"Price of one {one.currency} over that of the appraisal date", "1",
        f"({growth})^({{month}}/12)", one.path, kind="path",
    )  # fmt: skip
    for part, source, flow in (
        ("drawn", f"funding.{one.key}.owed", owed), ("fees_charged", f"{name}.fees_charged", fees),
    ):  # fmt: skip
        label = "Drawn" if part == "drawn" else "Fees"
        yield Line(
            f"{one.own}.{part}", f"{label}, in {one.currency}", one.currency,
            f"{{{source}}}/{{{name}.path}}", one.home(flow), total=True,
        )  # fmt: skip


def _grace(one: _Lender) -> Iterator[Item]:
    """Yield the debt until the grace ends: interest is added to it or paid."""
    plan, name, own = one.plan, one.name, one.own
    rate, first, available = f"{{{name}.rate}}", f"{{{name}.first}}", f"{{{name}.available}}"
    adds = {
        (False, True): "TRUE", (False, False): f"{{month}}<={available}",
        (True, True): f"{{month}}>{available}", (True, False): "FALSE",
    }[plan.building_paid, plan.grace_capitalised]  # fmt: skip
    drawn = f"{{funding.{one.key}.owed}}" if one.path is None else f"{{{own}.drawn}}"
    fees = "" if plan.building_paid else f"+{{{own}.fees_charged}}"
    due = f"MOD({first}-{{month}},{one.every})=0"
    debt, accrued, paid = through_grace(one)
    yield Line(
        f"{own}.grace_paid", "Interest paid until the grace ends", one.currency,
        f"IF(AND({{month}}<={first},NOT({adds}),{due}),"
        f"{{{own}.accrued<}}+{{{own}.grace_debt<}}*{rate},0)", paid, total=True,
    )  # fmt: skip
    yield Line(
        f"{own}.accrued", "Interest accrued and not yet due, until the grace ends", one.currency,
        f"IF(OR({{month}}>{first},{adds},{due}),0,"
        f"{{{own}.accrued<}}+{{{own}.grace_debt<}}*{rate})", accrued,
    )  # fmt: skip
    yield Line(
        f"{own}.grace_debt", "Debt until the grace ends", one.currency,
        f"IF({{month}}<={first},{{{own}.grace_debt<}}*(1+{rate})+{drawn}{fees}"
        f"-{{{own}.grace_paid}},0)", debt,
    )  # fmt: skip
    yield Scalar(
        f"{own}.debt", "Debt to be repaid when the grace ends", one.currency,
        f"INDEX({{{own}.grace_debt:}},MIN({first},{one.last})+1)",
        float(debt[0, min(plan.first, one.last)]),
    )  # fmt: skip


def through_grace(one: _Lender) -> tuple[Array, Array, Array]:
    """Return debt, interest accrued and interest paid by month until the grace ends. [money]"""
    plan = one.plan
    fees = fees_of(one.terms, *_lent(one), plan.available)
    lent, fee = one.home(_lent(one)[0])[0], one.home(fees)[0]
    rate = float(plan.rate[0, 0])
    debt, accrued, paid = (np.zeros((1, one.last + 1)) for _ in range(3))
    for month in range(min(plan.first, one.last) + 1):
        before = month - 1
        owed = (accrued[0, before] + debt[0, before] * rate) if month else 0.0
        starting = month <= plan.available
        adds = not plan.building_paid if starting else plan.grace_capitalised
        due = not adds and (plan.first - month) % one.every == 0
        paid[0, month] = owed if due else 0.0
        accrued[0, month] = 0.0 if adds or due else owed
        debt[0, month] = (debt[0, before] * (1.0 + rate) if month else 0.0) + lent[month]
        debt[0, month] += (0.0 if plan.building_paid else fee[month]) - paid[0, month]
    return debt, accrued, paid


def _lent(one: _Lender) -> tuple[Array, Array]:
    """Return what is drawn by month and what was committed, in the site's currency. [money]"""
    return paid_by(one.item, one.uses), one.item.share * one.uses.planned


def share_formula(one: _Lender) -> str:
    """Return the share of the debt outstanding in a month: 1 through the grace."""
    name = one.name
    paid = f"INT(({{month}}-{{{name}.first}})/{one.every})"
    count, balloon = f"{{{name}.payments}}", one.term("balloon")
    if one.plan.kind == "bullet":
        left = "1"
    elif one.plan.kind == "equal_principal":
        left = f"(1-{paid}/{count})"
    else:
        growth = f"(1+{{{name}.rate}})"
        left = (
            f"IF({{{name}.rate}}=0,1-{paid}/{count},"
            f"(1-{growth}^({one.every}*({paid}-{count})))/(1-{growth}^(-{one.every}*{count})))"
        )
    return f"IF({{month}}<={{{name}.first}},1,IF({paid}>={count},0,{balloon}+(1-{balloon})*{left}))"


def _shares(one: _Lender) -> Array:
    """Return the share of the debt outstanding by month, (1, months + 1). [1]"""
    plan, month = one.plan, np.arange(one.last + 1)
    period = np.asarray((1.0 + plan.rate) ** plan.every - 1.0)
    left = remaining(plan.kind, period, plan.payments, plan.balloon)
    count = np.minimum(np.maximum(month - plan.first, 0) // plan.every, plan.payments)
    return np.where(month <= plan.first, 1.0, left[:, count])


def _repayment(one: _Lender) -> Iterator[Item]:
    """Yield repayment from the end of the grace; what is left in the last month goes then."""
    name, own, last = one.name, one.own, one.last
    first, rate, debt = f"{{{name}.first}}", f"{{{name}.rate}}", f"{{{own}.debt}}"
    share, before = f"{{{own}.share}}", f"{{{own}.share<}}"
    part = f"MOD({{month}}-{first},{one.every})"
    yield Line(
        f"{own}.share", "Share of that debt still outstanding", "1", share_formula(one),
        _shares(one), kind="share",
    )  # fmt: skip
    made = one.loan
    yield Line(
        f"{own}.balance", "Debt at month end", one.currency,
        f"IF({{month}}={last},0,IF({{month}}<={first},{{{own}.grace_debt}},"
        f"{debt}*{share}*(1+{rate})^{part}))", one.home(made.balance), strong=True,
    )  # fmt: skip
    yield Line(
        f"{own}.charged", "Interest on the opening debt", one.currency,
        f"{{{own}.balance<}}*{rate}", _charged(one), total=True,
    )  # fmt: skip
    yield Line(
        f"{own}.interest_paid", "Interest paid", one.currency,
        f"{{{own}.grace_paid}}+IF({{month}}>{first},{debt}*IF({part}=0,"
        f"{before}*((1+{rate})^{one.every}-1),"
        f"IF({{month}}={last},{share}*((1+{rate})^{part}-1),0)),0)",
        one.home(made.interest_paid), total=True,
    )  # fmt: skip
    yield Line(
        f"{own}.repaid", "Principal repaid", one.currency,
        f"IF({{month}}>{first},{debt}*(IF({part}=0,{before}-{share},0)"
        f"+IF({{month}}={last},{share},0)),"
        f"IF(AND({{month}}={last},{first}>={last}),{{{own}.grace_debt}},0))",
        one.home(made.repaid), total=True,
    )  # fmt: skip


def _charged(one: _Lender) -> Array:
    """Return interest charged on the opening debt, in the loan's own currency. [money]"""
    balance = one.home(one.loan.balance)
    opening = np.concatenate([np.zeros((1, 1)), balance[:, :-1]], axis=1)
    return np.asarray(opening * one.plan.rate)


def _booked(one: _Lender) -> Iterator[Item]:
    """Yield what is part of the works, and what is a cost of its month."""
    own, made = one.own, one.loan
    fees = f"{{{own}.fees_charged}}"
    building = "{month}<={in:project.construction}"
    cells = [
        ("capitalised", f"IF({building},{{{own}.charged}}+{fees},0)", made.capitalised),
        ("interest", f"IF({building},0,{{{own}.charged}})", made.interest),
        ("fees", f"IF({building},0,{fees})", made.fees),
        ("fees_paid", fees if one.plan.building_paid else "0", made.fees_paid),
    ]
    if one.path is None:
        cells[:0] = [("drawn", f"{{funding.{one.key}.owed}}", made.drawn)]
        cells += [("exchange_loss", "0", made.exchange_loss)]
    labels = {key: label for key, label, _ in PARTS}
    for key, formula, values in cells:
        yield Line(f"{own}.{key}", labels[key], one.currency, formula, one.home(values), total=True)


def _at_home(one: _Lender) -> Iterator[Item]:
    """Yield the loan in the site's currency, at each month's rate."""
    name, own, home = one.name, one.own, one.made.currency
    yield Heading(f"The same in {home}, at each month's exchange rate")
    for key, label, flow in PARTS:
        formula = f"{{{own}.{key}}}*{{{name}.path}}"
        if key == "exchange_loss":
            formula = f"{{{own}.balance<}}*({{{name}.path}}-{{{name}.path<}})"
        values: Array = getattr(one.loan, key)
        yield Line(f"{name}.{key}", label, home, formula, values, total=flow)


def debt_items(made: Made, keys: list[str]) -> Iterator[Item]:
    """Yield all loans as one, and the service they ask."""
    debt = made.books.funding.debt
    yield Heading("All loans together")
    for part, label, flow in PARTS:
        formula = "+".join(f"{{loan.{key}.{part}}}" for key in keys) or "0"
        yield Line(f"debt.{part}", label, made.currency, formula, getattr(debt, part), total=flow)
    yield Line(
        "debt.service", "Cash that goes to lenders", made.currency,
        "{debt.interest_paid}+{debt.fees_paid}+{debt.repaid}", debt.service, total=True,
        strong=True,
    )  # fmt: skip
