"""Does everything in the workbook close?

Each line is a difference that must be nothing, beside the most it may be; a cell at the head
says whether all hold.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.money.phases import PHASES
from sitefare.outputs.workbook import money_checks
from sitefare.outputs.workbook.frame import ALL_OK, LOOK, Cell, Check, Item, Sheet, Table
from sitefare.outputs.workbook.made import Made
from sitefare.outputs.workbook.resolve import FIRST, VALUE, VERDICT, address

#: What the columns of checks hold.
TITLES = Table(
    ("What must hold", "Unit", "Key", "Difference", "", "Tolerance", "Verdict"),
    (),
    right=(VALUE, FIRST),
)

#: What a sum of shares may miss. [1]
SHARE = 1e-9

#: What money may miss, over its size. [1]
RELATIVE = 1e-9


def money(key: str, label: str, made: Made, formula: str, size: float) -> Check:
    """Return a check of money that is nothing; its tolerance follows its size. [money]"""
    most = max(abs(size) * RELATIVE, RELATIVE)
    return Check(f"check.{key}", label, made.currency, f"ROUND({formula},4)", 0.0, round_up(most))


def round_up(most: float) -> float:
    """Return a tolerance as a power of ten, not below a ten-thousandth. [same unit]"""
    return max(float(10.0 ** np.ceil(np.log10(most))), 1e-4)


def capital(made: Made) -> Iterator[Check]:
    """Yield the checks of building and write-off."""
    flows, parts = made.money.capital, made.money.parts
    total = float(parts.total[0, 0])
    items = [key for key, _ in parts.bill.items]
    for phase in PHASES:
        yield Check(f"check.phase.{phase}", f"Shares paid {phase} add up to 1", "1",
                    f"ROUND(SUM({{phase.{phase}:}})-1,9)", 0.0, SHARE)  # fmt: skip
    paths = "+".join(f"{{bill.{c}}}" for c in ("equipment", "imported", "imported_freight",
                                                 "freight", "wages"))  # fmt: skip
    yield money("bill", "The bill's items are its parts", made, f"{{bill.total}}-({paths})", total)
    yield money("budget", "Capital budget is the bill and what is added", made,
                f"{{capital.budget}}-(SUM({{bill.{items[0]}.cost}}:{{bill.{items[-1]}.cost}})"
                "*{capital.factor}+{capital.design}*(1+{capital.vat_lost})"
                "+{capital.contingency}+{capital.land_price})", total)  # fmt: skip
    spent = float(np.sum(flows.works) + np.sum(flows.replacement))
    yield money(
        "book", "Nothing is left in the books at the end", made, "{capital.book@end}", spent
    )
    yield money("write_off", "What is bought is written off", made,
                "SUM({capital.works:})+SUM({capital.replacement:})-SUM({capital.depreciation:})"
                "-SUM({capital.written_off:})", spent)  # fmt: skip


def farm(made: Made) -> Iterator[Check]:
    """Yield the checks of the farm's flows."""
    kilograms = float(sum(float(np.sum(x)) for x in made.flows.crop_kg.values()))
    crops = "+".join(f"SUM({{farm.crop.{key}:}})" for key in made.flows.crop_kg)
    yield Check("check.vegetables", "Crops add up to the harvest", "kg",
                f"ROUND(SUM({{farm.vegetables:}})-({crops}),4)", 0.0, round_up(max(kilograms, 1.0) * RELATIVE))  # fmt: skip
    days = made.timeline.months / 12.0 * 365.0
    yield Check("check.days", "Years have 365 days", "day",
                f"SUM({{days:}})-{{days@first}}-{days:g}", 0.0, SHARE)  # fmt: skip


def sheet(made: Made) -> Sheet:
    """Return the sheet Checks."""
    lead = "Each difference must be zero within its tolerance. Any that is not says look, in red."
    widths = {0: 76.0, 4: 2.0, 5: 14.0, 6: 9.0, 7: 60.0}
    return Sheet("Checks", "Checks", lead, (TITLES, *checks(made)), widths=widths, part="answers")


def checks(made: Made) -> Iterator[Item]:
    """Yield every check."""
    yield from (*farm(made), *capital(made), *money_checks.items(made))


def verdict(made: Made) -> Cell:
    """Return a cell that repeats the one verdict on all checks."""
    found = [item for item in checks(made) if isinstance(item, Check)]
    holds = all(abs(item.value) <= item.tolerance for item in found)
    return Cell(
        ALL_OK if holds else LOOK,
        "number",
        formula=f"Checks!{address(VERDICT, VALUE, fixed=True)}",
        strong=True,
    )
