"""What do the statements say by project year?

Year 0 is month 0; year n holds months 12n − 11 to 12n. Income and cash are sums of their
months, (draws, years + 1); a balance is that of the year's last month. [money]
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.money.project import total
from sitefare.money.statements import ACTIVITIES, Sheet
from sitefare.timeline import Timeline

Statements = Mapping[str, Mapping[str, Array]]


@dataclass(frozen=True)
class YearlyStatements:
    """Statements by project year, (draws, years + 1), names as in the monthly ones. [money]

    `cash_flow` has each activity's lines and their sum, `net`, `opening_cash` and
    `closing_cash`; `opening` is the balance sheet of the year before, nothing before year 0.
    """

    income: Sheet
    cash_flow: Sheet
    balance: Sheet
    opening: Sheet
    notes: Sheet


def at_year_end(balance: Array, timeline: Timeline) -> Array:
    """Return a stock at the end of each project year, year 0 first. [same unit]"""
    return timeline.life(balance)[:, ::12] if balance.shape[1] == 1 else balance[:, ::12]


def summed(lines: Mapping[str, Array], timeline: Timeline) -> Sheet:
    """Sum every line by project year. [same unit]"""
    return {
        name: timeline.by_year(timeline.life(x) if x.shape[1] == 1 else x)
        for name, x in lines.items()
    }


def before(closing: Array) -> Array:
    """Return opening balances of closing ones. [same unit]"""
    return np.concatenate([np.zeros((len(closing), 1)), closing[:, :-1]], axis=1)


def yearly_statements(closed: Statements, timeline: Timeline) -> YearlyStatements:
    """Return the monthly statements by project year."""
    cash: Sheet = {}
    for activity in ACTIVITIES:
        lines = summed(closed[activity], timeline)
        cash |= {**lines, f"{activity}_activities": total(lines.values())}
    cash["net"] = total(cash[f"{activity}_activities"] for activity in ACTIVITIES)
    balance = {name: at_year_end(x, timeline) for name, x in closed["balance"].items()}
    cash |= {"opening_cash": before(balance["cash"]), "closing_cash": balance["cash"]}
    notes = closed["notes"]
    put_off = at_year_end(notes["deferred_tax_not_recognised"], timeline)
    return YearlyStatements(
        summed(closed["income"], timeline),
        cash,
        balance,
        {name: before(x) for name, x in balance.items()},
        {
            **summed({"taxable_profit": notes["taxable_profit"]}, timeline),
            "deferred_tax_not_recognised": put_off,
        },
    )


@dataclass(frozen=True)
class StatementLine:
    """A printed line of a statement, first draw: one figure a year shown. [money]

    `strong` marks a sum.
    """

    statement: str
    name: str
    amounts: tuple[float, ...]
    strong: bool


STATEMENTS = ("income", "cash_flow", "balance")

#: Sums of a statement, printed in bold and even where they are nothing.
SUMS = (
    "profit_before_tax",
    "profit",
    *(f"{name}_activities" for name in ACTIVITIES),
    "net",
    "total_assets",
    "total_claims",
    "closing_cash",
)


def condensed_income(income: Mapping[str, Array]) -> Sheet:
    """Gather sales and operating costs of the yearly income statement into one line each."""
    names = list(income)
    grants = names.index("grants_for_running")
    costs, end = names.index("capital_grants_released") + 1, names.index("depreciation")
    return {
        "sales": total(income[name] for name in names[:grants]),
        **{name: income[name] for name in names[grants:costs]},
        "operating_costs": total(income[name] for name in names[costs:end]),
        **{name: income[name] for name in names[end:]},
    }


def presented(balance: Mapping[str, Array]) -> Sheet:
    """Return a balance sheet with cash below zero among the claims, as an accountant shows it."""
    short = np.maximum(-balance["cash"], 0.0)
    found: Sheet = {}
    for name, x in balance.items():
        found[name] = x + short if name in ("cash", "total_assets", "total_claims") else x
        if name == "total_assets":
            found["cash_short_of_funding"] = short
    return found


def statement_lines(
    closed: Statements, timeline: Timeline, years: Sequence[int] = (1, 2, 5)
) -> tuple[StatementLine, ...]:
    """Return the three statements of the first draw for some project years, ready to print.

    Month 0 is told with year 1. Cash below zero stands among the claims, as what no source pays.
    Lines that are nothing in every year shown and years beyond the appraisal are left out.
    """
    found = yearly_statements(closed, timeline)
    shown = [year for year in years if 1 <= year <= timeline.years]
    sheets = {
        "income": condensed_income(found.income),
        "cash_flow": found.cash_flow,
        "balance": presented(found.balance),
    }
    nothing = 1e-9 * float(np.max(found.balance["total_claims"][0]))
    lines = []
    for statement in STATEMENTS:
        for name, x in sheets[statement].items():
            flow = statement != "balance" and not name.endswith("_cash")
            amounts = tuple(_amount(name, x[0], year, flow=flow) for year in shown)
            amounts = tuple(0.0 if abs(one) < nothing else one for one in amounts)
            if any(amounts) or name in SUMS:
                lines.append(StatementLine(statement, name, amounts, strong=name in SUMS))
    return tuple(lines)


def _amount(name: str, by_year: Array, year: int, *, flow: bool) -> float:
    """Return one figure; month 0 belongs to year 1, which opens with no cash. [money]"""
    if year > 1 or not (flow or name == "opening_cash"):
        return float(by_year[year])
    return float(by_year[0] + by_year[1]) if flow else 0.0
