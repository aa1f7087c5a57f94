"""What does the tax law write off, and when, other than the books do?

Where every class of the budget follows the books, nothing differs and two rows of nothing say so.
A class of its own has, for each life its things have in law, what is bought by month, the share
of it that law deducts in each project year (from the rules in force), and so the deduction.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from sitefare.arrays import Array
from sitefare.money.allowances import BOOKS, AllowanceItem, classes, deducted, first_part
from sitefare.money.allowances import Purchase as Bought
from sitefare.money.depreciation import schedule
from sitefare.outputs.workbook.frame import Given, Heading, Item, Line, Scalar
from sitefare.outputs.workbook.lives import Life, lasting, overhauls
from sitefare.outputs.workbook.made import Made

#: Whether construction bought it or it came later.
TIMES = ("first", "later")


@dataclass
class Group:
    """Things of a class that the law writes off alike: months of their life in the books."""

    months: int
    terms: dict[str, list[str]] = field(default_factory=lambda: {when: [] for when in TIMES})
    flow: dict[str, Array] = field(default_factory=dict)

    def add(self, when: str, term: str, flow: Array) -> None:
        """Add what is bought: its formula and its values by month. [money]"""
        self.terms[when].append(term)
        self.flow[when] = self.flow[when] + flow if when in self.flow else flow


def groups(made: Made, category: str) -> dict[int, Group]:
    """Return what a class buys by the months each thing lasts in the books."""
    time, flows = made.timeline, made.money.capital
    built = f"IF({{month}}={time.construction},1,0)"
    at_built = (time.month == time.construction).astype(np.float64)
    found: dict[int, Group] = {}

    def group(months: int) -> Group:
        return found.setdefault(months, Group(months))

    if category in ("design", "contingency"):
        spent = float(np.sum(flows.initial[category]))
        months = time.months - time.construction
        term = f"{built}*SUM({{capital.spend.{category}:}})"
        group(months).add("first", term, spent * at_built)
        return found
    for n, (key, item) in enumerate(made.money.parts.bill.items):
        if item.category != category:
            continue
        one = Life(made, n)
        group(one.months).add("first", f"{built}*{{item.{key}.spent}}", one.spent * at_built)
        if key in lasting(made):
            group(one.months).add("later", f"{{renew.{key}}}", one.renewed(one.price))
        if key in overhauls(made):
            half = group(one.months - one.half)
            half.add("later", f"{{overhaul.{key}}}", one.overhauled(one.price))
    return found


def shares(made: Made, item: AllowanceItem, months: int) -> Array:
    """Return the share of what is bought in a month that each year deducts, (years, months + 1)."""
    time, convention = made.timeline, str(made.values["tax.convention"])
    found = np.zeros((time.years, time.months + 1))
    life = float(item.life[0, 0]) or months / 12.0
    for month in range(time.months):
        year = month // 12 + 1
        found[year - 1 :, month] = schedule(
            item.method, life, time.years - year + 1, factor=float(item.factor[0, 0]),
            switch=item.switch == "yes", first=first_part(convention, month),
        )  # fmt: skip
    return found


def booked(flow: Array, months: int) -> Array:
    """Return the books' equal months of what is bought by month. [money]"""
    found = np.zeros(flow.shape)
    for month in np.flatnonzero(flow):
        found[month + 1 : month + months + 1] += flow[month] / months
    return found


def law(made: Made, item: AllowanceItem, group: Group, when: str) -> Array:
    """Return what the law deducts of what is bought by month. [money]"""
    found = np.zeros(made.timeline.months + 1)
    for month in np.flatnonzero(group.flow[when]):
        cost = np.full((1, 1), group.flow[when][month])
        one = Bought("", int(month), cost, group.months, initial=when == "first")
        convention = str(made.values["tax.convention"])
        found += deducted(item, one, convention, made.timeline)[0]
    return found


def group_items(made: Made, key: str, item: AllowanceItem, group: Group) -> Iterator[Item]:
    """Yield purchases of a group, and what books and law write off of them."""
    at, unit, years = f"{key}.{group.months}", made.currency, made.timeline.years
    own = item.method != BOOKS
    whens = [when for when in TIMES if when in group.flow]
    for when in whens:
        yield Line(f"bought_{when}.{at}", f"Bought {when}, lasting {group.months} months", unit,
                   "+".join(group.terms[when]), group.flow[when], total=True)  # fmt: skip
    if own:
        for y, row in enumerate(shares(made, item, group.months), 1):
            yield Given(f"law.{at}.{y}", f"Share that year {y} deducts, of what each month buys",
                        "1", row, kind="path")  # fmt: skip
        table = shares(made, item, group.months)
        for when in whens:
            for y in range(1, years + 1):
                yield Scalar(
                    f"deducted_{when}.{at}.{y}", f"Deducted in year {y} of what is bought {when}",
                    unit, f"SUMPRODUCT({{bought_{when}.{at}:}},{{law.{at}.{y}:}})",
                    float(np.sum(table[y - 1] * group.flow[when])),
                )  # fmt: skip
    for when in whens:
        book = f"booked_{when}.{at}"
        line = f"bought_{when}.{at}"
        yield Line(
            book, f"Written off in the books of what is bought {when}", unit,
            f"SUM({{{line}<{group.months}..<1}})/{group.months}",
            booked(group.flow[when], group.months), total=True,
        )  # fmt: skip
        once = f"{{in:allowance.{key}.at_once}}"
        ends = f"{{deducted_{when}.{at}.1}}:{{deducted_{when}.{at}.{years}}}"
        at_end = "AND({month}>0,MOD({month},12)=0)"
        rest = f"IF({at_end},INDEX({ends},MAX({{year}},1)),0)" if own else f"{{{book}}}"
        yield Line(
            f"allowed_{when}.{at}", f"Deducted in law of what is bought {when}", unit,
            f"(1-{once})*{rest}+{once}*IF({at_end},SUM({{{line}<12..<1}}),0)",
            law(made, item, group, when), total=True,
        )  # fmt: skip


def items(made: Made) -> Iterator[Item]:
    """Yield how tax allowances differ from book depreciation."""
    unit, timing, end = made.currency, made.money.timing, made.timeline.months
    yield Heading("Tax allowances less book depreciation")
    differing = classes(made.values)
    labels = ("Added to profit for tax", "Of what construction bought, allowances positive")
    if not differing:
        note = "Every tax class follows the books."
        yield Given("capital.timing_profit", labels[0], unit, timing.profit, note, "money")
        yield Given("capital.timing_initial", labels[1], unit, timing.initial, note, "money")
        return
    more: dict[str, list[str]] = {when: [] for when in TIMES}
    raw = np.zeros(end + 1)
    for key, item in differing.items():
        for group in groups(made, key).values():
            yield from group_items(made, key, item, group)
            for when in group.flow:
                at = f"{when}.{key}.{group.months}"
                more[when].append(f"{{allowed_{at}}}-{{booked_{at}}}")
                raw += booked(group.flow[when], group.months) - law(made, item, group, when)
    every = "+".join(f"({x})" for terms in more.values() for x in terms) or "0"
    yield Line("capital.timing", "Book depreciation less allowances, before the end", unit,
               f"-({every})", raw)  # fmt: skip
    yield Line("capital.timing_profit", labels[0], unit,
               f"{{capital.timing}}-IF({{month}}={end},SUM({{capital.timing:}}),0)", timing.profit,
               "What either has not yet written off is deducted when the assets are sold.")  # fmt: skip
    yield Line("capital.timing_initial", labels[1], unit,
               "+".join(f"({x})" for x in more["first"]) or "0", timing.initial)  # fmt: skip


def locked(made: Made) -> set[str]:
    """Return the input rows that stay locked where a tax class has rules of its own."""
    differing = classes(made.values)
    rows = {f"allowance.{key}.{part}" for key in differing for part in ("life", "factor")}
    bill = made.money.parts.bill
    return rows | {f"bill.{key}.life" for key, item in bill.items if item.category in differing}
