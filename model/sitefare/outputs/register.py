"""Which value of every assumption is in force, which layer gave it, and how far is it trusted?"""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, replace

from sitefare.assumptions.case import Case
from sitefare.assumptions.draws import method
from sitefare.assumptions.rows import MONTHS, Row

COLUMNS = (
    "name", "unit", "low", "base", "high", "varies", "layer", "source", "locator", "as_of",
    "basis", "sampled_as", "note",
)  # fmt: skip

#: Ratio of high to low above which a range is called very wide. [1]
VERY_WIDE = 10.0


@dataclass(frozen=True)
class Entry:
    """One line of the register; numbers in the unit and money of the row's own file."""

    name: str
    unit: str
    low: str
    base: str
    high: str
    varies: str
    layer: str
    source: str
    locator: str
    as_of: str
    basis: str
    sampled_as: str
    note: str


def number(x: float | None) -> str:
    """Write a number with at most six significant digits, or nothing."""
    return "" if x is None else f"{x:.6g}"


def entry(row: Row, layer: str) -> Entry:
    """Return the register line of a row."""
    base = row.text
    if row.spec.kind == "monthly":
        pairs = zip(MONTHS, row.months, strict=True)
        base = " ".join(f"{month} {number(x)}" for month, x in pairs)
    elif row.spec.kind == "quantity":
        base = number(row.base)
    sampled = ""
    if row.uncertain and row.low is not None and row.high is not None:
        sampled = method(row.spec, (row.low, row.base, row.high))
    unit = row.spec.unit
    if row.currency:
        unit = unit.replace("money", row.currency)
    return Entry(
        row.name, unit, number(row.low), base, number(row.high), row.varies, layer, row.source,
        row.locator, row.as_of, row.basis, sampled, row.note,
    )  # fmt: skip


def layer_words(case: Case, row: Row) -> str:
    """Say which layer gave a row; an optional site fact from common/ was not supplied."""
    if row.spec.fact and row.layer == "common":
        return "common (not supplied)"
    return row.layer if row.name in case.given else "computed"


def _in_money_of(case: Case, row: Row) -> Row:
    """Return a computed row in the money in which it was computed: the site's, at the appraisal."""
    if not row.currency:
        return row
    unit = row.unit.replace(row.currency, case.currency)
    return replace(row, unit=unit, as_of=case.timeline.label(0))


def register(case: Case) -> Iterator[Entry]:
    """Yield every value in force that the case uses; computed rows as the case holds them."""
    for name, row in case.given.items():
        if not case.uses(name):
            continue
        held = case.rows[name]
        computed = held.note != row.note
        shown = _in_money_of(case, held) if computed else row
        yield entry(shown, "computed" if computed else layer_words(case, row))


def warnings(case: Case) -> list[str]:
    """Say what a reader of the register should mind."""
    wide = [
        name
        for name, row in case.given.items()
        if row.low is not None and row.high is not None and row.low > 0
        and row.high / row.low > VERY_WIDE
    ]  # fmt: skip
    found = [f"{name}: high is over {VERY_WIDE:.0f} times low" for name in wide]
    missing = [name for name, supplied in case.facts if not supplied]
    if missing:
        found.append(f"site facts not supplied, wide defaults used: {', '.join(missing)}")
    return found


def inert(cell: str) -> str:
    """Keep a cell from being run as a formula by a spreadsheet; numbers stay as they are."""
    if not cell.startswith(("=", "+", "-", "@")):
        return cell
    try:
        float(cell)
    except ValueError:
        return "'" + cell
    return cell


def as_csv(case: Case) -> str:
    """Write the register as CSV text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for line in register(case):
        writer.writerow([inert(getattr(line, column)) for column in COLUMNS])
    return out.getvalue()
