"""Lines on sheet Views that funders ask: cash that services debt over its life, yearly subsidy."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.money.indicators import servicing
from sitefare.outputs.workbook.frame import Heading, Item, Line, Scalar
from sitefare.outputs.workbook.made import Made

#: Lines of the cash flow that are there for debt service.
AVAILABLE = ("sales", "operating_costs", "tax", "working_capital", "replacements")


def surplus_line(made: Made) -> Line:
    """Return cash of a month at appraisal-date prices after tax and debt service."""
    at_date = made.appraisal.finances.figures.at_date
    books, cash = made.books, made.statements["cash_flow"]
    owed = (cash["tax"] - books.funding.debt.service) / books.inflation
    values = at_date["income"] - at_date["operating"] + at_date["unpaid"] + owed
    return Line(
        "cover.surplus", "Cash after tax and debt service, appraisal-date prices", made.currency,
        "{income.at_date}-{running.at_date}+{running.unpaid_at_date}"
        "-({tax.paid}+{debt.service})/{price.inflation}", values, total=True,
    )  # fmt: skip


@dataclass(frozen=True)
class Life:
    """When loans are serviced and what debt costs, as the model reckons it."""

    made: Made

    @property
    def due(self) -> Array:
        """Month number where debt is serviced, nothing elsewhere, (1, months + 1)."""
        debt, month = self.made.books.funding.debt, self.made.timeline.month
        paid = (debt.service > 0) & (month > self.begun)
        return np.where(paid, month, 0.0)

    @property
    def begun(self) -> int:
        """The last month in which a loan is drawn, building at least."""
        drawn = np.flatnonzero(self.made.books.funding.debt.drawn[0] > 0)
        built = self.made.timeline.construction
        return max(int(drawn[-1]) if drawn.size else built, built)

    @property
    def cost(self) -> Array:
        """Interest and exchange loss of a month over the opening debt, (1, months + 1). [1]"""
        debt = self.made.books.funding.debt
        opening = np.concatenate([np.zeros((1, 1)), debt.balance[:, :-1]], axis=1)
        charged = debt.interest + debt.exchange_loss
        return np.where(opening > 0, charged / np.where(opening > 0, opening, 1.0), 0.0)

    @property
    def payments(self) -> tuple[float, float]:
        """The first and the second month of service, 0 for none."""
        months = np.flatnonzero(self.due[0])
        found = [float(m) for m in months[:2]] + [0.0, 0.0]
        return found[0], found[1]


def cover_items(made: Made) -> Iterator[Item]:
    """Yield yearly subsidy and loan-life cover by month, the second where there are loans."""
    money = made.currency
    yield Heading("What funders ask")
    yield surplus_line(made)
    if not made.books.funding.loans:
        return
    life, debt, cash = Life(made), made.books.funding.debt, made.statements["cash_flow"]
    available = sum((cash[name] for name in AVAILABLE), np.zeros((1, 1)))
    yield Line(
        "cover.available", "Cash available for debt service", money,
        "+".join(f"{{cash.{name}}}" for name in AVAILABLE), available, total=True,
    )  # fmt: skip
    drawn = np.where(debt.drawn > 0, made.timeline.month, 0.0)
    yield Line(
        "cover.drawn", "Month, where a loan is drawn", "month", "IF({debt.drawn}>0,{month},0)",
        drawn, kind="count",
    )  # fmt: skip
    yield Scalar(
        "cover.begun", "All drawn, and built, by month", "month",
        "MAX({in:project.construction},MAX({cover.drawn:}))", float(life.begun), kind="count",
    )  # fmt: skip
    yield Line(
        "cover.due", "Month, where debt is serviced", "month",
        "IF(AND({debt.service}>0,{month}>{cover.begun}),{month},0)", life.due, kind="count",
    )  # fmt: skip
    yield Line(
        "cover.count", "Months of service so far", "month",
        "{cover.count<}+IF({cover.due}>0,1,0)", np.cumsum(life.due > 0, axis=1) + 0.0,
        kind="count",
    )  # fmt: skip
    first, second = life.payments
    for n, (key, value) in enumerate((("first", first), ("second", second)), 1):
        yield Scalar(
            f"cover.{key}", f"The {key} month of service", "month",
            f"IF({{cover.count@end}}<{n},0,MATCH({n},{{cover.count:}},0)-1)", value, kind="count",
        )  # fmt: skip
    yield Scalar(
        "cover.before", "Service belongs to months after", "month",
        "MAX({cover.begun},IF({cover.second}>{cover.first},2*{cover.first}-{cover.second},"
        "{cover.begun}))",
        max(float(life.begun), 2 * first - second if second > first else float(life.begun)),
        kind="count",
    )  # fmt: skip
    yield from _factors(made, life)


def _factors(made: Made, life: Life) -> Iterator[Item]:
    """Yield what debt costs by month, and the factor at that cost in the months of service."""
    debt, built = made.books.funding.debt, made.timeline.construction
    grown = np.asarray(np.cumprod(1.0 + life.cost, axis=1), dtype=np.float64)
    yield Line(
        "cover.cost", "Cost of debt of the month", "1/month",
        "IF({debt.balance<}>0,({debt.interest}+{debt.exchange_loss})/{debt.balance<},0)",
        life.cost, kind="rate",
    )  # fmt: skip
    yield Line(
        "cover.grown", "What one at the appraisal date grows to at that cost", "1",
        "{cover.grown<}*(1+{cover.cost})", grown, kind="path", first="1+{cover.cost}",
    )  # fmt: skip
    yield Line(
        "cover.factor", "Factor in the months of service", "1",
        "IF(AND({month}>{cover.before},{month}<=MAX({cover.due:})),1/{cover.grown},0)",
        np.asarray(servicing(debt.service, debt.drawn, built) / grown), kind="path",
    )  # fmt: skip
