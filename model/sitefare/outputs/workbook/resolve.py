"""Where does each item of the workbook stand, and what does its formula say in a spreadsheet?

Templates name what they read in braces:

- `{key}` the cell of a line in this column; a single cell's absolute address
- `{key<}`, `{key<3}` the line one or three columns before; `{key>}`, `{key>2}` after. Columns
  before the first and after the last are one empty column at each end, which counts as 0
- `{key:}` the whole row, absolute
- `{key..}` from the first column to this one; `{key<11..}` from eleven before to this one;
  `{key<11..<1}`, `{key..<1}`, `{key>1..end}` likewise, kept within the row and its empty ends
- `{key@first}`, `{key@end}` the first and the last cell of a row, absolute
- `{in:row.name}` the input cell of a row of the assumptions, by its defined name
- `{month}`, `{calendar}`, `{days}`, `{year}`, `{running}` the lines of sheet Clock; on a sheet
  of years `{project_year}`, on a sheet of steps `{step}` is the number at the column's head

A key of another sheet gets that sheet's name. From a sheet of years or steps a monthly line is
read whole (`{key:}`) or at an end.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import TypeAlias

from sitefare.outputs.workbook.frame import (
    Axis,
    Chart,
    Given,
    Heading,
    Item,
    Line,
    Sheet,
    Table,
    TableCell,
    Words,
)

#: Columns: label, unit, key, value or total, opening; then the columns of the axis. [column]
LABEL, UNIT, KEY, VALUE, OPENING, FIRST = range(6)

#: Rows: title, lead, blank, number at the head, its label, project year; then the items. [row]
TITLE, LEAD, HEAD, HEAD_LABEL, HEAD_YEAR, TOP = 0, 1, 3, 4, 5, 7

#: Row of the titles over single cells, or of the verdict on all checks. [row]
VERDICT = 2

#: Rows that a chart takes. [row]
CHART_ROWS = 21

#: The number at the head of a column, by axis.
HEADS = {"project_year": "years", "step": "steps"}

REFERENCE = re.compile(
    r"\{(?P<given>in:)?(?P<key>[A-Za-z0-9_]+(?:\.[A-Za-z0-9_]+)*)(?P<rest>[^}]*)\}"
)
#: A range whose ends both name their sheet: the second name goes.
SAME_SHEET = re.compile(r"(?P<sheet>[A-Za-z]+)!(?P<from>\$?[A-Z]+\$?\d+):(?P=sheet)!")

OFFSET = re.compile(r"(?P<way>[<>])(?P<by>\d*)")


@cache
def column_name(column: int) -> str:
    """Return a column's letters, A for 0."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def address(row: int, column: int, *, fixed: bool = False) -> str:
    """Return a cell's address from its row and column, both from 0."""
    mark = "$" if fixed else ""
    return f"{mark}{column_name(column)}{mark}{row + 1}"


def input_name(row: str) -> str:
    """Return the defined name of an assumption's cell."""
    return "in_" + row.replace(".", "_")


def output_name(key: str) -> str:
    """Return the defined name of an indicator's cell, key `out.NAME`."""
    return key.replace(".", "_")


@dataclass(frozen=True)
class Place:
    """Where one key stands: its sheet, row and column; a line runs along its sheet's axis."""

    sheet: str
    row: int
    column: int
    axis: Axis
    line: bool


@dataclass
class Places:
    """Every place of a workbook, and the input rows that formulas were found to read."""

    lengths: Mapping[str, int]
    found: dict[str, Place] = field(default_factory=dict)
    inputs: dict[str, tuple[str, str]] = field(default_factory=dict)
    used: set[str] = field(default_factory=set)

    def add(self, key: str, place: Place) -> None:
        """Note where a key stands.

        Raises
        ------
        ValueError
            If the key stands somewhere already.
        """
        if key in self.found:
            msg = f"workbook key {key} stands twice: {self.found[key].sheet} and {place.sheet}"
            raise ValueError(msg)
        self.found[key] = place

    def length(self, axis: Axis) -> int:
        """Return the number of columns of an axis."""
        return self.lengths[axis]


def height(item: Item) -> int:
    """Return the rows that an item takes."""
    if isinstance(item, Chart):
        return CHART_ROWS
    if isinstance(item, Table):
        return len(item.rows) + 2 + bool(item.title)
    if isinstance(item, Heading):
        return 3 if item.note else 2
    return 1


def rows_of(sheet: Sheet) -> Iterator[tuple[int, Item]]:
    """Yield every item with its first row: a heading leaves a blank row above it."""
    row = TOP if sheet.axis else HEAD
    for item in sheet.items:
        yield row, item
        row += height(item)


def place_all(sheets: Sequence[Sheet], lengths: Mapping[str, int]) -> Places:
    """Find where every key of the workbook stands.

    Raises
    ------
    ValueError
        If a key stands twice.
    """
    places = Places(lengths)
    for sheet in sheets:
        for row, item in rows_of(sheet):
            if isinstance(item, Heading | Words | Chart):
                continue
            if isinstance(item, Table):
                _place_table(places, sheet, row, item)
            else:
                line = isinstance(item, Line | Given)
                axis = sheet.axis if line else ""
                places.add(item.key, Place(sheet.name, row, FIRST if line else VALUE, axis, line))
    return places


def table_top(row: int, table: Table) -> int:
    """Return the row of a table's column titles."""
    return row + bool(table.title)


def _place_table(places: Places, sheet: Sheet, row: int, table: Table) -> None:
    """Note the cells of a table that have a key or hold an input."""
    for n, cells in enumerate(table.rows):
        at = table_top(row, table) + 1 + n
        for column, cell in spread(cells):
            if cell is None or isinstance(cell, str | float | int):
                continue
            if cell.key:
                places.add(cell.key, Place(sheet.name, at, column, "", line=False))
            if cell.row:
                last = column + (len(cell.value) if isinstance(cell.value, tuple) else 1) - 1
                where = address(at, column, fixed=True)
                if last > column:
                    where += ":" + address(at, last, fixed=True)
                places.inputs[cell.row] = (sheet.name, where)


def spread(cells: Sequence[TableCell]) -> Iterator[tuple[int, TableCell]]:
    """Yield each cell of a table's row with its first column."""
    column = 0
    for cell in cells:
        yield column, cell
        many = getattr(cell, "value", None)
        column += len(many) if isinstance(many, tuple) else 1


#: A part of a formula: fixed text, or what a column makes of it.
Part: TypeAlias = str | Callable[[int], str]


@dataclass(frozen=True)
class Resolver:
    """Turns the templates of one sheet into formulas; each template is read once."""

    places: Places
    sheet: Sheet
    read: dict[str, list[Part]] = field(default_factory=dict)

    def formula(self, template: str, column: int = VALUE) -> str:
        """Return the formula of a template for a column.

        Raises
        ------
        ValueError
            If it names what stands nowhere, or reads a line where that has no meaning.
        """
        if template not in self.read:
            self.read[template] = list(self._parts(template))
        parts = self.read[template]
        made = "".join(part if isinstance(part, str) else part(column) for part in parts)
        return "=" + (SAME_SHEET.sub(r"\g<sheet>!\g<from>:", made) if ":" in made else made)

    def _parts(self, template: str) -> Iterator[Part]:
        """Yield the parts of a template."""
        at = 0
        for match in REFERENCE.finditer(template):
            yield template[at : match.start()]
            try:
                yield self._reference(match)
            except ValueError as error:
                msg = f"workbook formula '{template}' on {self.sheet.name}: {error}"
                raise ValueError(msg) from None
            at = match.end()
        yield template[at:]

    def _reference(self, match: re.Match[str]) -> Part:
        key, rest = match["key"], match["rest"].strip()
        if match["given"]:
            if key not in self.places.inputs:
                msg = f"no input row {key}"
                raise ValueError(msg)
            self.places.used.add(key)
            return input_name(key)
        if HEADS.get(key) == self.sheet.axis and self.sheet.axis:
            return lambda column: f"{column_name(column)}${HEAD + 1}"
        if key not in self.places.found:
            msg = f"no line or cell {key}"
            raise ValueError(msg)
        place = self.places.found[key]
        own = "" if place.sheet == self.sheet.name else f"{place.sheet}!"
        part = self._where(place, rest)
        return own + part if isinstance(part, str) else lambda column: own + part(column)

    def _where(self, place: Place, rest: str) -> Part:
        """Return an address within a place's own sheet."""
        if not place.line:
            if rest:
                msg = f"a single cell has no '{rest}'"
                raise ValueError(msg)
            return address(place.row, place.column, fixed=True)
        row, last = place.row, FIRST + self.places.length(place.axis) - 1
        ends = {":": (FIRST, last), "@first": (FIRST, FIRST), "@end": (last, last)}
        if rest in ends:
            left, right = (address(row, x, fixed=True) for x in ends[rest])
            return left if rest.startswith("@") else f"{left}:{right}"
        if place.axis != self.sheet.axis:
            msg = f"a row of {place.axis} is read whole from here"
            raise ValueError(msg)
        first, dots, then = rest.partition("..")
        start, end = _move(first), _move("" if then == "end" else then)

        def cell(column: int) -> str:
            return address(row, _kept(column + start, last))

        def span(column: int) -> str:
            left = cell(column) if first else f"${column_name(FIRST)}{row + 1}"
            return f"{left}:{address(row, last if then == 'end' else _kept(column + end, last))}"

        return span if dots else cell


def _kept(column: int, last: int) -> int:
    """Keep a column within a row and its empty ends."""
    return min(max(column, OPENING), last + 1)


def _move(offset: str) -> int:
    """Return the columns that an offset moves by.

    Raises
    ------
    ValueError
        If it is no offset.
    """
    if not offset:
        return 0
    match = OFFSET.fullmatch(offset)
    if match is None:
        msg = f"'{offset}' is no offset"
        raise ValueError(msg)
    return int(match["by"] or 1) * (-1 if match["way"] == "<" else 1)
