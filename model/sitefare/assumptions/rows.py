"""What is a checked row, and how is one made from a line of a table?

Every number becomes a Row in its declared field's canonical unit. Money keeps its currency
and price date; moving it to the appraisal date is `prices_to_date`'s work.
"""

import dataclasses
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sitefare.assumptions.declaration import DECLARED, Declared, Spec
from sitefare.assumptions.files import LARGEST, Line, nearest, require_columns
from sitefare.assumptions.units import convert, currency_in
from sitefare.errors import AssumptionError

TAIL = ("source", "locator", "as_of", "basis", "note")
ROW_COLUMNS = ("name", "unit", "low", "base", "high", "varies", *TAIL)
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
MONTHLY_COLUMNS = ("name", "unit", *MONTHS, *TAIL)
BASES = ("published", "measured", "quote", "practice", "judgement", "invented")


@dataclass(frozen=True)
class Row:
    """One assumption in force: value and range in the canonical unit, and where it came from."""

    name: str
    spec: Spec
    unit: str
    low: float | None
    base: float
    high: float | None
    text: str
    months: tuple[float, ...]
    varies: str
    source: str
    locator: str
    as_of: str
    basis: str
    note: str
    where: str
    layer: str

    @property
    def uncertain(self) -> bool:
        """Whether the row has a range that draws sample."""
        return self.low is not None and self.varies != "choice"

    @property
    def currency(self) -> str:
        """Currency code of a money row, else an empty string."""
        return currency_in(self.unit)

    def scaled(self, factor: float) -> "Row":
        """Return the row with its value and range multiplied by a factor [1]."""
        low, high = (None if x is None else x * factor for x in (self.low, self.high))
        months = tuple(x * factor for x in self.months)
        return dataclasses.replace(self, low=low, base=self.base * factor, high=high, months=months)


def declared_field(name: str) -> tuple[Declared, str, str, Spec] | None:
    """Find the declaration behind a dotted name: class, key, field and spec."""
    parts = name.split(".")
    declared = DECLARED.get(parts[0])
    if declared is None or len(parts) != (3 if declared.keyed else 2):
        return None
    key, field = (parts[1], parts[2]) if declared.keyed else ("", parts[1])
    spec = declared.specs.get(field)
    return (declared, key, field, spec) if spec else None


def known_names() -> Iterator[str]:
    """Yield every declared name; a keyed one with KEY in the middle."""
    for declared in DECLARED.values():
        middle = ".KEY." if declared.keyed else "."
        for field in declared.specs:
            yield declared.prefix + middle + field


def row_from_line(line: Line, layer: str, sources: Mapping[str, str]) -> Row:
    """Make a checked row from a line of a row file or a monthly file.

    Raises
    ------
    AssumptionError
        Naming file, line, column, what was found and what would be accepted.
    """
    name = line.cells["name"]
    found = declared_field(name)
    if found is None:
        line.refuse("name", "a declared name is accepted" + _nearest_name(name))
    return _checked(line, name, found[3], layer, sources, base="base", unit=line.cells["unit"])


def _nearest_name(name: str) -> str:
    """Suggest the nearest declared name, with the given key in place of KEY."""
    parts = name.split(".")
    key = parts[1] if len(parts) > 2 else "KEY"  # noqa: PLR2004
    return nearest(name, (n.replace("KEY", key) for n in known_names()))


def rows_from_item(
    line: Line, declared: Declared, layer: str, sources: Mapping[str, str]
) -> Iterator[Row]:
    """Yield the rows of one item of an item table: its texts, fixed numbers and measure.

    Raises
    ------
    AssumptionError
        As `row_from_line`.
    """
    key = line.cells["key"]
    if not re.fullmatch(r"[a-z][a-z0-9_]*", key):
        line.refuse("key", "a key of small letters, digits and underscores is accepted")
    for field, spec in declared.specs.items():
        name = f"{declared.prefix}.{key}.{field}"
        if field == declared.measure:
            yield _checked(line, name, spec, layer, sources, base="base", unit=line.cells["unit"])
        elif spec.kind == "quantity":
            column = item_column(declared, field)
            unit = column[len(field) + 2 : -1]
            yield _checked(line, name, spec, layer, sources, base=column, unit=unit, fixed=True)
        else:
            yield _checked(line, name, spec, layer, sources, base=field, unit=spec.kind, fixed=True)


def item_column(declared: Declared, field: str) -> str:
    """Name the column of an item table that holds a field."""
    spec = declared.specs[field]
    return f"{field} [{spec.unit}]" if spec.kind == "quantity" else field


def item_columns(declared: Declared) -> list[str]:
    """List the columns of an item table, in order."""
    fields = [f for f in declared.specs if f != declared.measure]
    texts = [f for f in fields if declared.specs[f].kind != "quantity"]
    numbers = [item_column(declared, f) for f in fields if declared.specs[f].kind == "quantity"]
    measure = ["unit", "low", "base", "high", "varies"] if declared.measure else []
    return ["key", *texts, *numbers, *measure, *TAIL]


def check_header(file: str, header: list[str], declared: Declared | None) -> str:
    """Say whether a table holds rows, months or items.

    Returns
    -------
    str
        'rows', 'months' or 'items'.

    Raises
    ------
    AssumptionError
        If the header fits none of them.
    """
    if declared is not None and declared.table and "key" in header:
        require_columns(file, header, item_columns(declared))
        return "items"
    if "jan" in header:
        require_columns(file, header, MONTHLY_COLUMNS)
        return "months"
    require_columns(file, header, ROW_COLUMNS)
    return "rows"


def _checked(
    line: Line,
    name: str,
    spec: Spec,
    layer: str,
    sources: Mapping[str, str],
    *,
    base: str,
    unit: str,
    fixed: bool = False,
) -> Row:
    """Check one value against its declaration and make its row."""
    check_tail(line, sources)
    if spec.kind in ("choice", "text"):
        return _text_row(line, name, spec, layer, base=base, unit=unit)
    if spec.kind == "monthly":
        return _monthly_row(line, name, spec, layer, unit)
    _check_money_date(line, unit)
    low, middle, high = _range(line, base, unit, spec, fixed=fixed)
    varies = "choice" if fixed else (line.cells.get("varies", "") or spec.varies)
    if varies not in ("life", "year", "choice") or (spec.varies == "year") > (varies != "life"):
        accepted = "life, year, choice or a blank is accepted"
        line.refuse("varies", accepted)
    return _row(line, name, spec, layer, unit=unit, low=low, base=middle, high=high, varies=varies)


def _row(
    line: Line,
    name: str,
    spec: Spec,
    layer: str,
    *,
    unit: str,
    low: float | None = None,
    base: float = float("nan"),
    high: float | None = None,
    text: str = "",
    months: tuple[float, ...] = (),
    varies: str = "choice",
) -> Row:
    """Put a row together with the tail of its line."""
    tail = {column: line.cells[column] for column in TAIL}
    where = f"{line.file} line {line.number}"
    return Row(
        name=name, spec=spec, unit=unit, low=low, base=base, high=high, text=text, months=months,
        varies=varies, **tail, where=where, layer=layer,
    )  # fmt: skip


def check_tail(line: Line, sources: Mapping[str, str]) -> None:
    """Check source, date and basis.

    Raises
    ------
    AssumptionError
        Naming the cell and what is accepted.
    """
    source = line.cells["source"]
    if source not in sources:
        own = "a key of sources.csv is accepted; add a line there for a source of your own"
        line.refuse("source", own + nearest(source, sources))
    if line.cells["basis"] not in BASES:
        line.refuse("basis", f"one of {', '.join(BASES)} is accepted")
    if not re.fullmatch(r"(\d{4}(-(0[1-9]|1[0-2]))?)?", line.cells["as_of"]):
        line.refuse("as_of", "a year such as 2024, a month such as 2024-06 or a blank is accepted")


def _check_money_date(line: Line, unit: str) -> None:
    """Refuse money without its price date."""
    if currency_in(unit) and not line.cells["as_of"]:
        line.refuse("as_of", "money needs the year or month of its price, such as 2024-06")


def _text_row(line: Line, name: str, spec: Spec, layer: str, *, base: str, unit: str) -> Row:
    """Make a row of a word or text."""
    word = line.cells[base]
    if unit != spec.kind:
        line.refuse("unit", f"{name} has unit '{spec.kind}'")
    for column in ("low", "high"):
        if base == "base" and line.cells.get(column):
            line.refuse(column, "a word has no range: leave it blank")
    if spec.kind == "choice" and word not in spec.options:
        accepted = f"one of {', '.join(spec.options)} is accepted" + nearest(word, spec.options)
        line.refuse(base, accepted)
    if spec.kind == "text" and not word and not spec.optional:
        line.refuse(base, "some text is needed here")
    return _row(line, name, spec, layer, unit=unit, text=word)


def _monthly_row(line: Line, name: str, spec: Spec, layer: str, unit: str) -> Row:
    """Make a row of twelve numbers."""
    if "jan" not in line.cells:
        line.refuse(
            "name", f"{name} holds twelve months: put it in a table with {MONTHS[0]} … {MONTHS[-1]}"
        )
    numbers = []
    for column in MONTHS:
        number = line.number_in(column)
        if number is None:
            line.refuse(column, "a number for every month is needed")
        numbers.append(_converted(line, column, number, unit, spec))
    return _row(line, name, spec, layer, unit=unit, months=tuple(numbers))


def _range(
    line: Line, base: str, unit: str, spec: Spec, *, fixed: bool
) -> tuple[float | None, float, float | None]:
    """Read low, base and high in the canonical unit."""
    if "jan" in line.cells:
        line.refuse(
            "name", "this is one number, not twelve: put it in a table with low, base, high"
        )
    middle = line.number_in(base)
    if middle is None:
        line.refuse(base, "a number is needed here")
    middle = _converted(line, base, middle, unit, spec)
    low = None if fixed else line.number_in("low")
    high = None if fixed else line.number_in("high")
    if low is None and high is None:
        return None, middle, None
    if low is None or high is None:
        line.refuse(
            "low" if low is None else "high", "give both low and high, or neither for a fixed value"
        )
    low = _converted(line, "low", low, unit, spec)
    high = _converted(line, "high", high, unit, spec)
    if low == middle == high:
        line.refuse(
            "low", "low, base and high are equal: leave low and high blank for a fixed value"
        )
    if not low <= middle <= high:
        line.refuse(
            base, f"low <= base <= high is accepted, but they read {low:g}, {middle:g}, {high:g}"
        )
    return low, middle, high


def accepted_span(spec: Spec) -> str:
    """Write a field's physical bounds in words, with its unit."""
    unit = "" if spec.unit == "1" else f" {spec.unit}"
    if spec.high == float("inf"):
        return f"{spec.low:g}{unit} or more"
    return f"{spec.low:g} to {spec.high:g}{unit}"


def _converted(line: Line, column: str, number: float, unit: str, spec: Spec) -> float:
    """Convert one number and hold it against the field's physical bounds."""
    try:
        result = convert(number, unit, spec.unit)
    except AssumptionError as error:
        accepted = f"unit like '{spec.unit}' is accepted here ({error})"
        line.refuse("unit" if "unit" in line.cells else column, accepted)
    if not spec.low <= result <= spec.high:
        line.refuse(column, f"{accepted_span(spec)} is accepted")
    if not math.isfinite(result) or abs(result) > LARGEST:
        line.refuse(column, f"at most {LARGEST:g} {spec.unit} is accepted")
    return result
