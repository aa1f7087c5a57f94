"""How long does each item last, when was it bought last, and what is left of it at the end?

One row an item, beside the bill: nominal cost of building it, its life in months, its price when
the appraisal ends, the part of its life then unused.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.arrays import Array
from sitefare.money.bill import BillItem
from sitefare.money.delivery import COMPONENTS, comes_from
from sitefare.money.economic import LANDED
from sitefare.money.phases import phase_weights
from sitefare.outputs.workbook.frame import Cell, Heading, Item, Table, TableCell
from sitefare.outputs.workbook.made import Made

#: Rows that set in which month something is paid: formulas are written for the months in force.
CALENDAR = frozenset({"project.construction", "project.start_up_months", "retention.months"})


def priced(cost: str, path: str = "price") -> str:
    """Return the formula of a cost by its parts at the prices of a month; `cost` names the parts."""
    return "+".join(f"{{{cost}.{name}}}*{{{path}.{name}}}" for name in COMPONENTS)


COLUMNS = (
    "Item", "Unit", "Key", "Spent on building, nominal", "Replaced", "Overhaul, share of cost",
    "Life in months", "Half of it", "Price at the end", "Bought last in month", "Unused part",
    "Residual before share", "of it landed", "Yearly reserve", "Yearly upkeep", "of it landed",
)  # fmt: skip


class Life:
    """One item's purchases through the life, as the ledger of the model enters them."""

    def __init__(self, made: Made, n: int) -> None:
        bill, paths, time = made.money.parts.bill, made.money.paths, made.timeline
        self.key, self.item = bill.items[n][0], bill.items[n][1]
        self.built, self.end = time.construction, time.months
        self.life, self.overhaul = float(bill.life[n]), float(bill.overhaul[n])
        path = np.array([np.broadcast_to(paths[c], (1, self.end + 1))[0] for c in COMPONENTS])
        costs = float(made.money.parts.factor[0, 0]) * bill.parts[0, :, n]
        self.price: Array = np.sum(costs[:, None] * path, axis=0)
        landed = np.array([float(name in LANDED) for name in COMPONENTS])
        self.landed: Array = np.sum((costs * landed)[:, None] * path, axis=0)
        weights = phase_weights(made.values, time)[str(self.item.phase)]
        self.spent = float(np.sum(self.price * weights[0]))
        self.months = max(round(12 * self.life), 1) if self.life > 0 else self.end - self.built
        self.half = self.months // 2

    def renewed(self, price: Array) -> Array:
        """Return replacements by month at a price by month, (months + 1,). [money]"""
        flow = np.zeros(self.end + 1)
        at = list(range(self.built + self.months, self.end, self.months)) if self.life > 0 else []
        flow[at] = price[at]
        return flow

    def overhauled(self, price: Array) -> Array:
        """Return overhauls by month at the item's price by month, (months + 1,). [money]"""
        flow = np.zeros(self.end + 1)
        if self.life > 0 and self.overhaul > 0:
            at = list(range(self.built + self.half, self.end, self.months))
            flow[at] = self.overhaul * price[at]
        return flow

    def written(self, spent: Array, months: int) -> Array:
        """Return the write-off in equal months after each month of spending. [money]"""
        flow = np.zeros(self.end + 1)
        for month in np.flatnonzero(spent):
            flow[month + 1 : month + months + 1] += spent[month] / months
        return flow

    @property
    def bought_last(self) -> int:
        """Month of the last purchase before the appraisal ends."""
        if self.life <= 0:
            return self.built
        return self.built + (self.end - 1 - self.built) // self.months * self.months

    @property
    def unused(self) -> float:
        """Part of the life left at the end. [1]"""
        left = 1.0 - (self.end - self.bought_last) / self.months
        return max(left, 0.0) if self.life > 0 else 0.0


def cells(made: Made, n: int) -> tuple[TableCell, ...]:
    """Return an item's row of single numbers."""
    one = Life(made, n)
    key, life = one.key, f"{{in:bill.{one.key}.life}}"
    built, end = one.built, one.end
    months, last = f"{{item.{key}.months}}", f"{{item.{key}.last}}"
    phase = f"phase.{one.item.phase}"
    sums = "+".join(
        f"{{bill.{key}.{c}}}*SUMPRODUCT({{price.{c}:}},{{{phase}:}})" for c in COMPONENTS
    )
    at_end = "+".join(f"{{bill.{key}.{c}}}*{{price.{c}@end}}" for c in COMPONENTS)
    cost = float(made.money.parts.bill.cost[0, n])
    wear = cost * (1.0 + one.overhaul) / one.life if one.life > 0 else 0.0

    def cell(name: str, formula: str, value: float, kind: str = "money") -> Cell:
        return Cell(value, kind, f"item.{key}.{name}", formula)  # type: ignore[arg-type]

    landed = "+".join(f"{{bill.{key}.{c}}}*{{price.{c}@end}}" for c in LANDED)
    over, upkeep = f"{{item.{key}.overhaul}}", f"{{in:bill.{key}.upkeep}}"
    cared = float(made.money.parts.bill.upkeep[n])
    abroad = sum(float(made.money.parts.bill.parts[0, COMPONENTS.index(c), n]) for c in LANDED)
    return (
        str(one.item.title), made.currency, f"item.{key}",
        cell("spent", f"{{capital.factor}}*({sums})", one.spent),
        cell("replaced", f"IF({life}>0,1,0)", float(one.life > 0), "count"),
        cell("overhaul", f"{{in:bill.{key}.overhaul}}", one.overhaul, "share"),
        cell("months", f"IF({life}>0,MAX(ROUND(12*{life},0),1),{end - built})", one.months, "count"),
        cell("half", f"INT({months}/2)", one.half, "count"),
        cell("end", f"{{capital.factor}}*({at_end})", float(one.price[-1])),
        cell("last", f"{built}+{{item.{key}.replaced}}*INT(({end - 1 - built})/{months})*{months}",
             one.bought_last, "count"),
        cell("unused", f"{{item.{key}.replaced}}*MAX(1-({end}-{last})/{months},0)", one.unused,
             "path"),
        cell("residual", f"{{item.{key}.end}}*{{item.{key}.unused}}",
             float(one.price[-1]) * one.unused),
        cell("residual_landed", f"{{capital.factor}}*({landed})*{{item.{key}.unused}}",
             float(one.landed[-1]) * one.unused),
        cell("reserve", f"IF({life}>0,{{bill.{key}.cost}}*(1+{over})/MAX({life},0.001),0)", wear),
        cell("upkeep", f"{{bill.{key}.cost}}*{upkeep}", cost * cared),
        cell("upkeep_landed", f"({'+'.join(f'{{bill.{key}.{c}}}' for c in LANDED)})*{upkeep}",
             abroad * cared),
    )  # fmt: skip


def lasting(made: Made) -> list[str]:
    """Name the items that are replaced."""
    bill = made.money.parts.bill
    return [key for n, (key, _) in enumerate(bill.items) if bill.life[n] > 0]


def overhauls(made: Made) -> list[str]:
    """Name the items that are overhauled at half their life."""
    bill = made.money.parts.bill
    return [
        key for n, (key, _) in enumerate(bill.items) if bill.life[n] > 0 and bill.overhaul[n] > 0
    ]


def abroad(made: Made, key: str, item: BillItem) -> str:
    """Return the formula of 1 for what is bought abroad: a service is never shipped."""
    listed = 1 if item.origin == "imported" else 0
    said = (
        1 if comes_from(made.values, str(item.category), str(item.origin), 1.0) == "imported" else 0
    )
    if listed == said:
        return str(said)
    return f"IF({{in:bill.{key}.mass}}>0,{said},{listed})"


def item_price(made: Made, n: int) -> str:
    """Return the formula of an item's price in a month, all that is added to the bill in it.

    What is never shipped has no part from abroad, what always is has none bought in the country.
    """
    key, item = made.money.parts.bill.items[n]
    never = {"0": LANDED, "1": ("equipment",)}.get(abroad(made, key, item), ())
    names = [name for name in COMPONENTS if name not in never]
    return "+".join(f"{{bill.{key}.{name}}}*{{grown.{name}}}" for name in names)


def shipped(made: Made) -> list[str]:
    """Name the items that are replaced and may come from abroad."""
    bill = made.money.parts.bill
    again = set(lasting(made))
    return [key for key, item in bill.items if key in again and abroad(made, key, item) != "0"]


def items(made: Made) -> Iterator[Item]:
    """Yield the table of lives."""
    count = len(made.money.parts.bill.items)
    yield Heading(
        "Life of every item", "Nominal; what is left is sold at the share of sheet Inputs."
    )
    yield Table(COLUMNS, tuple(cells(made, n) for n in range(count)))


def column(made: Made, name: str) -> str:
    """Return the template of one column of the table of lives, all items."""
    keys = [key for key, _ in made.money.parts.bill.items]
    return f"{{item.{keys[0]}.{name}}}:{{item.{keys[-1]}.{name}}}"
