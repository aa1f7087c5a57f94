"""What stands on a sheet of the workbook: lines along the months, single cells, tables, checks.

A sheet is a list of items from top to bottom. Every computed item carries a formula template and
the value that the model computed for it, which is written as the formula's cached value. The
template language is `resolve`'s; how it looks is `writing`'s.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, TypeAlias

import numpy as np
import numpy.typing as npt

#: How a value is printed: money, a unit price, a plain number, a count, a share, a yearly rate,
#: a price path, words; an input as it stands, in a few decimals, in more.
Kind = Literal[
    "money",
    "price",
    "number",
    "count",
    "share",
    "rate",
    "path",
    "text",
    "general",
    "fine",
    "finest",
]

#: What runs along the columns of a sheet: the project's months, its years, or steps of a search.
Axis = Literal["", "months", "years", "steps"]

#: Significant digits of values from the model, which formulas read, and of cached values.
GIVEN_DIGITS, CACHED_DIGITS = 12, 10

#: What the one verdict on all checks says: they hold, or one does not.
ALL_OK, LOOK = "all OK", "look below"

Number: TypeAlias = float | str

#: A row's values as an array, (1, columns), (columns,) or one value, or one by one.
RowValues: TypeAlias = npt.NDArray[Any] | Sequence[Number]

#: Low and high of draws, nothing where there is no such end.
Ends: TypeAlias = tuple[float | None, float | None] | None


@dataclass(frozen=True)
class Heading:
    """A heading between items; `note` is a sentence beneath it."""

    text: str
    note: str = ""


@dataclass(frozen=True)
class Words:
    """A paragraph of plain text across the sheet."""

    text: str
    strong: bool = False


@dataclass(frozen=True)
class Line:
    """One row of a monthly (or yearly) sheet: one formula along it.

    `values` are what the model computed, one for each column; `total` asks for the row's sum in
    column D, which only flows have. `first` is the formula of the first column where it differs.
    """

    key: str
    label: str
    unit: str
    formula: str
    values: RowValues
    note: str = ""
    kind: Kind = "money"
    total: bool = False
    first: str = ""
    strong: bool = False


@dataclass(frozen=True)
class Given:
    """A row of values from the model, no formula."""

    key: str
    label: str
    unit: str
    values: RowValues
    note: str = ""
    kind: Kind = "number"
    total: bool = False


@dataclass(frozen=True)
class Scalar:
    """One computed cell, in column D. Key `out.NAME` gives it the defined name `out_NAME`.

    `ends` are the low and the high of draws, values beside it.
    """

    key: str
    label: str
    unit: str
    formula: str
    value: Number
    note: str = ""
    kind: Kind = "money"
    strong: bool = False
    ends: Ends = None


@dataclass(frozen=True)
class GivenScalar:
    """One value from the model in column D, no formula; `ends` as of a `Scalar`."""

    key: str
    label: str
    unit: str
    value: Number
    note: str = ""
    kind: Kind = "number"
    ends: Ends = None


@dataclass(frozen=True)
class Check:
    """A value that must be zero within a tolerance; both of the same unit."""

    key: str
    label: str
    unit: str
    formula: str
    value: float
    tolerance: float
    note: str = ""


@dataclass(frozen=True)
class Cell:
    """One cell of a table.

    `formula` makes it computed, `key` lets formulas name it, `row` makes it the input cell of a
    row of the assumptions: name `in_…`, unlocked where formulas follow it. `low` and `high` bound
    what may be typed. A `value` of several numbers takes as many cells side by side. `style` is a
    name of `looks.STYLES` in place of the usual one; `link` names a sheet that the cell leads to.
    """

    value: Number | tuple[float, ...]
    kind: Kind = "number"
    key: str = ""
    formula: str = ""
    row: str = ""
    low: float = -np.inf
    high: float = np.inf
    strong: bool = False
    style: str = ""
    link: str = ""


#: What may stand in a table: a cell, plain text or number, nothing.
TableCell: TypeAlias = Cell | str | float | None


@dataclass(frozen=True)
class Table:
    """A table of its own columns, from column A on.

    `right` are columns whose titles stand at the right though no row here tells that they hold
    numbers.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[TableCell, ...], ...]
    title: str = ""
    right: tuple[int, ...] = ()


@dataclass(frozen=True)
class Chart:
    """A chart of rows of one sheet of years: `series` are labels and keys of lines.

    `kind` is column (side by side), stacked or line; `alt` says in words what it shows.
    """

    title: str
    kind: Literal["column", "stacked", "line"]
    series: tuple[tuple[str, str], ...]
    unit: str
    alt: str


Item: TypeAlias = Chart | Heading | Words | Line | Given | Scalar | GivenScalar | Check | Table


@dataclass(frozen=True)
class Sheet:
    """One sheet: its items from top to bottom.

    `locked` names input rows that its formulas read but do not follow in full, so that their
    cells stay locked. `part` says what the sheet is, which colours its tab; `wraps` that words in
    its tables are wrapped. `widths` are column widths by column number, A being 0. [characters]
    """

    name: str
    title: str
    lead: str
    items: Sequence[Item]
    axis: Axis = ""
    columns: int = 0
    part: Literal["words", "inputs", "workings", "answers"] = "workings"
    wraps: bool = False
    locked: frozenset[str] = frozenset()
    widths: Mapping[int, float] = field(default_factory=dict)


def number_columns(table: Table) -> frozenset[int]:
    """Return the columns of a table that hold numbers, whose titles stand at the right."""
    found = set(table.right)
    for cells in table.rows:
        column = 0
        for cell in cells:
            value = cell.value if isinstance(cell, Cell) else cell
            many = value if isinstance(value, tuple) else (value,)
            found.update(column + n for n, x in enumerate(many) if isinstance(x, float | int))
            column += len(many)
    return frozenset(found)


def row_values(
    values: RowValues, columns: int, key: str, digits: int = CACHED_DIGITS
) -> list[Number]:
    """Return a row's values as floats or words, one for each column.

    A value or an array of one draw is laid along the columns.

    Raises
    ------
    ValueError
        If there are more or fewer values than columns, or one is not finite.
    """
    if isinstance(values, np.ndarray):
        flat = np.broadcast_to(values, (1, columns))[0] if values.size != columns else values
        found: list[Number] = [short(float(x), digits) for x in np.ravel(flat)]
    else:
        found = list(values)
    if len(found) != columns:
        msg = f"workbook line {key}: {len(found)} values for {columns} columns"
        raise ValueError(msg)
    for x in found:
        finite(x, key)
    return found


def short(x: float, digits: int) -> float:
    """Return a number with so many significant digits: files of so many cells stay small."""
    return float(f"{x:.{digits}g}")


def finite(x: Number, key: str) -> Number:
    """Return a value that a cell can hold: words, or a finite number.

    Raises
    ------
    ValueError
        If a number is not finite: a cell without an answer holds words that say so.
    """
    if not isinstance(x, str) and not np.isfinite(x):
        msg = f"workbook cell {key}: {x} is no number; say in words why there is no answer"
        raise ValueError(msg)
    return x
