"""Checks of the money for sheet Checks: do the books close, and are the rates rates of return?

Each value should be nothing. It is rounded well below its tolerance, so that what arithmetic
leaves over is not shown.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sitefare.assumptions.declaration import build
from sitefare.money.funding import sources
from sitefare.money.grants import GrantTerms
from sitefare.outputs.workbook.frame import Check, Heading, Item
from sitefare.outputs.workbook.made import Made
from sitefare.outputs.workbook.rates import RATES, Search, flows_of, worth_formula

#: A hundredth of the currency; a part in a million of an answer.
MONEY, PART = 0.01, 1e-6


@dataclass(frozen=True)
class Gap:
    """One identity: what must be nothing, in the workbook and in the model."""

    key: str
    label: str
    formula: str
    value: float


def gaps(made: Made) -> Iterator[Gap]:
    """Yield the identities of money, in the site's currency."""
    balance, cash = made.statements["balance"], made.statements["cash_flow"]
    paid, debt = made.books.funding, made.books.funding.debt
    apart = balance["total_assets"] - balance["total_claims"]
    yield Gap(
        "balance", "Assets equal claims in every month",
        "(SUMPRODUCT(({balance.total_assets:}-{balance.total_claims:})"
        "*({balance.total_assets:}-{balance.total_claims:})))^0.5", float(np.sqrt(np.sum(apart**2))),
    )  # fmt: skip
    closing = float(np.sum(cash["net"]))
    ends = {name: float(balance[name][0, -1]) for name in balance}
    yield Gap(
        "cash", "Cash at the end is what owners put in and what was earned",
        "{cash.closing@end}-{balance.equity_paid_in@end}-{balance.retained_profit@end}",
        closing - ends["equity_paid_in"] - ends["retained_profit"],
    )  # fmt: skip
    for name, label in (
        ("equipment_and_works", "Works and equipment are written off or sold by the end"),
        ("deferred_grants", "Grants are all earned by the end"),
        ("tax_payable", "Tax is all paid by the end"),
        ("receivables", "Buyers and the state have paid by the end"),
        ("payables", "Suppliers are paid by the end"),
        ("stock", "Stock is used or written off by the end"),
    ):
        yield Gap(f"end.{name}", label, f"{{balance.{name}@end}}", ends[name])
    granted = paid.capital_grants + paid.running_grants
    uses, sources = paid.need + paid.extra, granted + paid.equity + debt.drawn
    yield Gap(
        "sources", "Sources equal uses while the farm is built and started",
        "(SUMPRODUCT(({funding.need:}+{funding.extra:}-{funding.granted:}-{funding.equity:}"
        "-{debt.drawn:})*({funding.need:}+{funding.extra:}-{funding.granted:}-{funding.equity:}"
        "-{debt.drawn:})))^0.5", float(np.sqrt(np.sum((uses - sources) ** 2))),
    )  # fmt: skip
    charged = debt.capitalised + debt.interest + debt.fees + debt.exchange_loss
    yield Gap(
        "debt", "Loans drawn and charged are repaid",
        "SUM({debt.drawn:})+SUM({debt.capitalised:})+SUM({debt.interest:})+SUM({debt.fees:})"
        "+SUM({debt.exchange_loss:})-SUM({debt.service:})",
        float(np.sum(debt.drawn + charged - debt.service)),
    )  # fmt: skip
    yield from yearly_gaps(made)


def yearly_gaps(made: Made) -> Iterator[Gap]:
    """Yield that years hold their months, and that parts make the whole."""
    for key, label in (
        ("profit.profit", "Profit by year is that by month"),
        ("cash.net", "Cash by year is that by month"),
        ("real.net", "The project's real flow by year is that by month"),
    ):
        yield Gap(
            f"years.{key}", label, f"SUM({{years.{key}:}})-SUM({{{key}:}})", _by_year(made, key)
        )
    worth, view = made.appraisal.indicators["npv"], made.appraisal.finances.figures
    parts = sum(float(np.sum(flow * view.factors)) for flow in view.group.values())
    groups = "+".join(f"{{worth.{name}}}" for name in view.group)
    yield Gap("npv", "Present values of the groups make the net present value",
              f"{{out.npv}}-({groups})", float(worth[0, 0]) - parts)  # fmt: skip


def _by_year(made: Made, key: str) -> float:
    """Return the yearly sums of a line less its months. [money]"""
    flows = {
        "profit.profit": made.statements["income"]["profit"],
        "cash.net": made.statements["cash_flow"]["net"],
        "real.net": made.appraisal.finances.figures.net,
    }
    flow = flows[key]
    return float(np.sum(made.timeline.by_year(flow)) - np.sum(flow))


def rounded(x: float, digits: int) -> float:
    """Round a gap, zero without a sign."""
    return round(x, digits) + 0.0


def items(made: Made) -> list[Item]:
    """Return the checks of the money."""
    return [
        Heading("Do the books close"), *(_of_gap(gap, made.currency) for gap in gaps(made)),
        Heading("Are the rates rates of return"), *answer_checks(made),
        Heading("Are the sources within their limits"), *source_checks(made),
    ]  # fmt: skip


def _of_gap(gap: Gap, currency: str) -> Check:
    """Return the check of an identity."""
    formula = f"ROUND({gap.formula},4)"
    return Check(f"check.{gap.key}", gap.label, currency, formula, rounded(gap.value, 4), MONEY)


def source_checks(made: Made) -> Iterator[Check]:
    """Yield what the model refuses of funding terms typed in: it asks for too much or too long."""
    found = sources(made.values)
    for field, label in (("share", "Shares of the need"), ("overrun", "Parts of an overrun")):
        total = "+".join(f"{{in:funding.{key}.{field}}}" for key in found)
        asked = sum(float(getattr(item, field)[0, 0]) for item in found.values())
        yield Check(
            f"check.funding.{field}", f"{label}: what they are beyond 1", "1",
            f"ROUND(MAX(0,{total}-1),9)", rounded(max(0.0, asked - 1.0), 9), PART,
        )  # fmt: skip
    for key, item in found.items():
        if item.kind == "grant":
            terms = build(GrantTerms, made.values, str(item.terms))
            names = ("on_start", "on_completion", "on_operation")
            total = "+".join(f"{{in:grant.{item.terms}.{name}}}" for name in names)
            parts = sum(float(getattr(terms, name)[0, 0]) for name in names)
            yield Check(
                f"check.grant.{key}", f"{item.title}: parts paid at milestones beyond 1", "1",
                f"ROUND(MAX(0,{total}-1),9)", rounded(max(0.0, parts - 1.0), 9), PART,
            )  # fmt: skip
        elif item.kind == "loan":
            lent = f"loan.{item.terms}"
            yield Check(
                f"check.loan.{key}", f"{item.title}: 1 where the term ends within the grace", "1",
                f"IF(12*{{in:{lent}.term}}<=ROUND({{in:{lent}.grace}},0),1,0)", 0.0, PART,
                note="the model refuses such a loan, so it stood at 0 when this was written",
            )  # fmt: skip


def answer_checks(made: Made) -> Iterator[Check]:
    """Yield that value is nothing at each rate of return, and real and nominal values agree."""
    years, flows = made.timeline.years, flows_of(made)
    for name, flow, title in RATES:
        rate = f"LN(1+{{rates.{name}.rate}})"
        worth = worth_formula(flow, rate, years)
        size = worth.replace(f"{{{flow}:}}", f"((({{{flow}:}}>0)-({{{flow}:}}<0))*{{{flow}:}})")
        one, x = Search(flows[name]), float(made.appraisal.indicators[name][0, 0])
        value = 0.0
        if np.isfinite(x):
            value = one.worth(float(np.log1p(x))) / one.size(float(np.log1p(x)))
        yield Check(
            f"check.{name}", f"Net present value is zero at it: {title}", "1",
            f"IF({{rates.{name}.count}}=1,ROUND({worth}/({size}),9),0)", rounded(value, 9), PART,
        )  # fmt: skip
    npv, nominal = (float(made.appraisal.indicators[n][0, 0]) for n in ("npv", "npv_nominal"))
    scale = max(abs(npv), 1.0)
    yield Check(
        "check.fisher", "Nominal money at the nominal rate is worth the same", "1",
        "ROUND(({out.npv_nominal}-{out.npv})/MAX(ABS({out.npv}),1),9)",
        rounded((nominal - npv) / scale, 9), PART,
    )  # fmt: skip
