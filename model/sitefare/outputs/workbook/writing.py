"""How do sheets become an .xlsx file, with each formula's value beside it?

Every formula is written with the value the model computed, so that a viewer that never
calculates shows it. Sheets are protected without a password; only the input cells that formulas
follow are unlocked. Text is always written as text, whatever sign it starts with.
"""

import datetime
import io
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from sitefare.outputs.workbook import resolve
from sitefare.outputs.workbook.frame import (
    CACHED_DIGITS,
    GIVEN_DIGITS,
    Cell,
    Chart,
    Check,
    Given,
    GivenScalar,
    Heading,
    Item,
    Kind,
    Line,
    Number,
    Scalar,
    Sheet,
    Table,
    TableCell,
    Words,
    finite,
    row_values,
    short,
)
from sitefare.outputs.workbook.charting import draw
from sitefare.outputs.workbook.looks import BASE, NUMBER_FORMATS, STYLES
from sitefare.outputs.workbook.resolve import (
    FIRST,
    HEAD,
    HEAD_LABEL,
    HEAD_YEAR,
    KEY,
    LABEL,
    LEAD,
    OPENING,
    TITLE,
    TOP,
    UNIT,
    VALUE,
    Places,
    Resolver,
    address,
)

#: Widths of label, unit, key, value and opening column. [character]
WIDTHS = {LABEL: 44.0, UNIT: 13.0, KEY: 24.0, VALUE: 15.0, OPENING: 1.5}

#: Width of a month's or year's column. [character]
COLUMN = 11.0

#: Column of notes beside single cells.
NOTE = FIRST + 1

#: Decimals of a row's sum: what cancels out is nothing, not the last digits of its terms.
PLACES = 4

#: Row of the sentence that says whether every check holds.
ALL_CHECKS = 2

PROTECTION = {
    "format_columns": True,
    "format_rows": True,
    "select_locked_cells": True,
    "select_unlocked_cells": True,
    "autofilter": True,
    "sort": False,
}


class PlainWorksheet(Worksheet):  # type: ignore[misc]
    """A worksheet whose formulas are written as they are: none uses a newer function."""

    def _prepare_formula(self, formula: str, _expand: bool = False) -> str:  # noqa: FBT001, FBT002
        """Return a formula without its sign; searching each for newer functions takes most time."""
        return formula.removeprefix("=")


@dataclass
class Heads:
    """What stands at the head of the columns of each axis: number, label, project year."""

    number: Mapping[str, Sequence[float]]
    label: Mapping[str, Sequence[str]]
    year: Sequence[float]


@dataclass
class Book:
    """A workbook being written: its file, formats made so far, and the inputs left unlocked."""

    file: Any
    places: Places
    heads: Heads
    unlocked: frozenset[str]
    formats: dict[tuple[str, str, bool], Any] = field(default_factory=dict)

    def look(self, style: str, kind: Kind | str = "", *, strong: bool = False) -> Any:  # noqa: ANN401
        """Return a cell format, made once."""
        key = (style, kind, strong)
        if key not in self.formats:
            settings = {**BASE, **STYLES[style]}
            if kind:
                settings["num_format"] = NUMBER_FORMATS[kind]  # type: ignore[index]
                settings["align"] = "left" if kind == "text" else "right"
            if strong:
                settings["bold"] = True
            self.formats[key] = self.file.add_format(settings)
        return self.formats[key]


@dataclass
class SheetWriter:
    """Writes the items of one sheet."""

    book: Book
    sheet: Sheet
    to: Any

    @property
    def columns(self) -> int:
        """Columns of the sheet's axis."""
        return self.book.places.length(self.sheet.axis) if self.sheet.axis else 0

    @cached_property
    def resolver(self) -> Resolver:
        """What turns templates into formulas here."""
        return Resolver(self.book.places, self.sheet)

    def write(self) -> None:
        """Write the sheet."""
        self.to.hide_gridlines(2)
        self._widths()
        self.text(TITLE, LABEL, self.sheet.title, "title")
        self.text(LEAD, LABEL, self.sheet.lead, "lead")
        if self.sheet.axis:
            self._heads()
        else:
            self._titles()
            starts = bool(self.sheet.items) and isinstance(self.sheet.items[0], Table)
            self.to.freeze_panes(HEAD + starts, 0)
        for row, item in resolve.rows_of(self.sheet):
            self.item(row, item)
        self._all_checks()
        self._print()
        self.to.protect("", PROTECTION)

    def _widths(self) -> None:
        plain = {} if self.sheet.axis else {OPENING: COLUMN, FIRST: COLUMN}
        widths = WIDTHS | plain | dict(self.sheet.widths)
        for column, width in widths.items():
            self.to.set_column(column, column, width)
        if self.columns:
            self.to.set_column(FIRST, FIRST + self.columns - 1, COLUMN)
            self.to.set_column(FIRST + self.columns, FIRST + self.columns, WIDTHS[OPENING])

    def _titles(self) -> None:
        """Write what the columns of single cells hold."""
        cells = [x for x in self.sheet.items if isinstance(x, Scalar | GivenScalar)]
        checks = any(isinstance(x, Check) for x in self.sheet.items)
        if not cells or checks:
            return
        ranged = any(cell.ends for cell in cells)
        titles = ["", "Unit", "Key", "Value", *(("Low", "High") if ranged else ("", "")), "Note"]
        for column, title in enumerate(titles):
            self.to.write_string(ALL_CHECKS, column, title, self.book.look("head_left"))

    def _heads(self) -> None:
        """Write the numbers and labels at the head of the columns."""
        axis, heads, head = self.sheet.axis, self.book.heads, self.book.look("head")
        named = {"months": "Month", "years": "Project year", "steps": "Step"}[axis]
        left = self.book.look("head_left")
        for column, word in ((LABEL, named), (UNIT, "Unit"), (KEY, "Key"), (VALUE, "Value, total")):
            self.to.write_string(HEAD, column, word, left)
        for n in range(self.columns):
            self.to.write_number(HEAD, FIRST + n, heads.number[axis][n], head)
            if axis in heads.label:
                self.to.write_string(HEAD_LABEL, FIRST + n, heads.label[axis][n], head)
        if axis == "months":
            self.text(HEAD_LABEL, LABEL, "Calendar month", "unit")
            self.text(HEAD_YEAR, LABEL, "Project year", "unit")
            for n, year in enumerate(heads.year):
                self.to.write_number(HEAD_YEAR, FIRST + n, year, self.book.look("unit", "count"))
        self.to.freeze_panes(TOP - 1, FIRST)

    def _print(self) -> None:
        """Set the page for printing."""
        self.to.set_landscape()
        self.to.set_paper(9)
        self.to.set_footer("&L&F&C&A&R&P / &N")
        if self.sheet.axis:
            self.to.repeat_columns(LABEL, UNIT)
            self.to.repeat_rows(TITLE, TOP - 2)
            self.to.set_print_scale(60)
        else:
            self.to.fit_to_pages(1, 0)

    def text(self, row: int, column: int, words: str, style: str = "plain") -> None:
        """Write text as text, whatever sign it starts with."""
        if words:
            self.to.write_string(row, column, words, self.book.look(style))

    def number(self, row: int, column: int, x: Number, look: Any) -> None:  # noqa: ANN401
        """Write a value, words or number."""
        if isinstance(x, str):
            self.to.write_string(row, column, x, look)
        else:
            self.to.write_number(row, column, x, look)

    def computed(self, row: int, column: int, template: str, x: Number, look: Any) -> None:  # noqa: ANN401
        """Write a formula with its value."""
        formula = self.resolver.formula(template, column)
        self.to.write_formula(row, column, formula, look, x)

    def item(self, row: int, item: Item) -> None:
        """Write one item."""
        writers: dict[type, Callable[[int, Any], None]] = {
            Heading: self.heading,
            Words: self.words,
            Line: self.line,
            Given: self.given,
            Scalar: self.scalar,
            GivenScalar: self.given_scalar,
            Check: self.check,
            Table: self.table,
            Chart: self.chart,
        }
        writers[type(item)](row, item)

    def heading(self, row: int, item: Heading) -> None:
        """Write a heading beneath a blank row."""
        for column in range(VALUE + 1):
            self.to.write_blank(row + 1, column, None, self.book.look("heading"))
        self.text(row + 1, LABEL, item.text, "heading")
        self.text(row + 2, LABEL, item.note, "note")

    def words(self, row: int, item: Words) -> None:
        """Write a sentence, wrapped in the label's column where the sheet has wide ones."""
        self.text(row, LABEL, item.text, "caution" if item.strong else "paragraph")

    def label(self, row: int, item: Line | Given | Scalar | GivenScalar | Check) -> None:
        """Write label, unit and key of an item, and its note."""
        strong = getattr(item, "strong", False)
        self.text(row, LABEL, item.label, "strong" if strong else "plain")
        self.text(row, UNIT, item.unit, "unit")
        self.text(row, KEY, item.key, "key")
        if not item.note:
            return
        if self.sheet.axis:
            size = {"x_scale": 2.2, "y_scale": 1.0 + len(item.note) / 200.0}
            self.to.write_comment(row, LABEL, item.note, size)
        else:
            self.text(row, FIRST + 2 if isinstance(item, Check) else NOTE, item.note, "lead")

    def line(self, row: int, item: Line) -> None:
        """Write a computed row."""
        self.label(row, item)
        look = self.book.look("plain", item.kind, strong=item.strong)
        values = row_values(item.values, self.columns, item.key)
        for n, x in enumerate(values):
            template = item.first if n == 0 and item.first else item.formula
            self.computed(row, FIRST + n, template, x, look)
        self.total(row, item, values)

    def given(self, row: int, item: Given) -> None:
        """Write a row of values from the model."""
        self.label(row, item)
        look = self.book.look("given", item.kind)
        values = row_values(item.values, self.columns, item.key, GIVEN_DIGITS)
        for n, x in enumerate(values):
            self.number(row, FIRST + n, x, look)
        self.total(row, item, values)

    def total(self, row: int, item: Line | Given, values: Sequence[Number]) -> None:
        """Write the sum of a row in column D, where it has one."""
        if item.total:
            ends = (address(row, FIRST), address(row, FIRST + self.columns - 1))
            whole = round(math.fsum(x for x in values if not isinstance(x, str)), PLACES) + 0.0
            look = self.book.look("plain", item.kind, strong=True)
            self.to.write_formula(
                row, VALUE, f"=ROUND(SUM({ends[0]}:{ends[1]}),{PLACES})", look, whole
            )

    def scalar(self, row: int, item: Scalar) -> None:
        """Write a computed cell."""
        self.label(row, item)
        look = self.book.look("plain", item.kind, strong=item.strong)
        self.computed(row, VALUE, item.formula, finite(item.value, item.key), look)
        self.ends(row, item)

    def ends(self, row: int, item: Scalar | GivenScalar) -> None:
        """Write the low and high of draws beside a value."""
        for column, x in zip((OPENING, FIRST), item.ends or (), strict=False):
            if x is not None and math.isfinite(x):
                look = self.book.look("given", item.kind)
                self.to.write_number(row, column, short(x, CACHED_DIGITS), look)

    def given_scalar(self, row: int, item: GivenScalar) -> None:
        """Write a value from the model."""
        self.label(row, item)
        self.number(row, VALUE, finite(item.value, item.key), self.book.look("given", item.kind))
        self.ends(row, item)

    def check(self, row: int, item: Check) -> None:
        """Write a check: value, tolerance, and whether it holds."""
        self.label(row, item)
        value = finite(item.value, item.key)
        self.computed(row, VALUE, item.formula, value, self.book.look("plain", "number"))
        self.to.write_number(row, FIRST, item.tolerance, self.book.look("unit"))
        cell, most = address(row, VALUE), address(row, FIRST)
        holds = "OK" if abs(item.value) <= item.tolerance else "look"
        formula = f'=IF(ABS({cell})<={most},"OK","look")'
        self.to.write_formula(row, FIRST + 1, formula, self.book.look("holds"), holds)
        rule = {
            "type": "cell",
            "criteria": "!=",
            "value": '"OK"',
            "format": self.book.look("fails"),
        }
        self.to.conditional_format(row, FIRST + 1, row, FIRST + 1, rule)

    def _all_checks(self) -> None:
        """Say at the head of a sheet with checks whether all hold."""
        rows = [row for row, item in resolve.rows_of(self.sheet) if isinstance(item, Check)]
        if not rows:
            return
        checks = [item for item in self.sheet.items if isinstance(item, Check)]
        bad = sum(abs(item.value) > item.tolerance for item in checks)
        where = f"{address(rows[0], FIRST + 1)}:{address(rows[-1], FIRST + 1)}"
        formula = f'=IF(COUNTIF({where},"OK")={len(rows)},"all OK","look below")'
        self.text(ALL_CHECKS, LABEL, "All checks", "strong")
        found = "look below" if bad else "all OK"
        self.to.write_formula(ALL_CHECKS, VALUE, formula, self.book.look("holds"), found)
        rule = {"type": "cell", "criteria": "!=", "value": '"all OK"',
                "format": self.book.look("fails")}  # fmt: skip
        self.to.conditional_format(ALL_CHECKS, VALUE, ALL_CHECKS, VALUE, rule)

    def table(self, row: int, table: Table) -> None:
        """Write a table."""
        self.text(row, LABEL, table.title, "strong")
        top = resolve.table_top(row, table)
        for column, title in enumerate(table.columns):
            self.to.write_string(top, column, title, self.book.look("head_left"))
        for n, cells in enumerate(table.rows):
            for column, cell in resolve.spread(cells):
                self.cell(top + 1 + n, column, cell)

    def cell(self, row: int, column: int, cell: TableCell) -> None:
        """Write one cell of a table."""
        if cell is None:
            return
        if isinstance(cell, str):
            self.text(row, column, cell, "plain")
            return
        if not isinstance(cell, Cell):
            self.to.write_number(row, column, float(cell), self.book.look("plain", "number"))
            return
        if cell.link:
            look = self.book.look("link")
            self.to.write_url(row, column, f"internal:{cell.link}!A1", look, str(cell.value))
        elif cell.style:
            assert not isinstance(cell.value, tuple)  # noqa: S101
            self.number(row, column, cell.value, self.book.look(cell.style))
        elif cell.row:
            self.input(row, column, cell)
        elif cell.formula:
            assert not isinstance(cell.value, tuple)  # noqa: S101
            look = self.book.look("plain", cell.kind, strong=cell.strong)
            self.computed(row, column, cell.formula, finite(cell.value, cell.key), look)
        else:
            assert not isinstance(cell.value, tuple)  # noqa: S101
            look = self.book.look("given" if cell.key else "plain", cell.kind, strong=cell.strong)
            self.number(row, column, finite(cell.value, cell.key), look)

    def input(self, row: int, column: int, cell: Cell) -> None:
        """Write the cells of an input row, unlocked where formulas follow it."""
        free = cell.row in self.book.unlocked
        look = self.book.look("input" if free else "plain", cell.kind)
        values = cell.value if isinstance(cell.value, tuple) else (cell.value,)
        for n, x in enumerate(values):
            self.number(row, column + n, finite(x, cell.row), look)
        if free and not isinstance(values[0], str):
            self.to.data_validation(row, column, row, column + len(values) - 1, _bounds(cell))

    def chart(self, row: int, item: Chart) -> None:
        """Draw a chart of lines of a sheet of years."""
        chart = draw(self.book, item)
        options = {"description": item.alt, "object_position": 2, "x_offset": 4, "y_offset": 6}
        self.to.insert_chart(row, LABEL, chart, options)


def _bounds(cell: Cell) -> dict[str, Any]:
    """Return what may be typed in an input cell."""
    low, high = max(cell.low, -1e15), min(cell.high, 1e15)
    return {
        "validate": "decimal",
        "criteria": "between",
        "minimum": low,
        "maximum": high,
        "error_title": "Outside what this row accepts",
        "error_message": f"{low:g} to {high:g}"[:250],
    }


def written_book(
    sheets: Sequence[Sheet], heads: Heads, never: frozenset[str], properties: Mapping[str, Any]
) -> bytes:
    """Return the .xlsx file of sheets.

    Parameters
    ----------
    heads : Heads
        What stands at the head of columns.
    never : frozenset of str
        Input rows that stay locked though formulas read them: the farm reads them too.
    properties : mapping
        Title, subject, creation date and the like.
    """
    lengths = {axis: len(numbers) for axis, numbers in heads.number.items()}
    places = resolve.place_all(sheets, lengths)
    for sheet in sheets:
        _resolve_once(places, sheet)
    locked = never.union(*(sheet.locked for sheet in sheets))
    out = io.BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_numbers": False,
        "strings_to_urls": False,
    }
    with xlsxwriter.Workbook(out, options) as file:
        file.set_properties(dict(properties))
        file.set_calc_mode("auto")
        book = Book(file, places, heads, frozenset(places.used) - locked)
        tabs = [(sheet, file.add_worksheet(sheet.name, PlainWorksheet)) for sheet in sheets]
        for sheet, tab in tabs:
            SheetWriter(book, sheet, tab).write()
        for name, where in names(places).items():
            file.define_name(name, f"={where}")
    return out.getvalue()


def _resolve_once(places: Places, sheet: Sheet) -> None:
    """Find which inputs a sheet's formulas read, before any cell is written."""
    resolver = Resolver(places, sheet)
    for item in sheet.items:
        if isinstance(item, Line):
            resolver.formula(item.formula, FIRST)
        elif isinstance(item, Scalar | Check):
            resolver.formula(item.formula)
        elif isinstance(item, Table):
            for cell in (c for cells in item.rows for c in cells if isinstance(c, Cell)):
                resolver.formula(cell.formula)


def names(places: Places) -> dict[str, str]:
    """Return every defined name and its cells: `in_…` for inputs, `out_…` for indicators."""
    found = {
        resolve.input_name(row): f"{sheet}!{where}" for row, (sheet, where) in places.inputs.items()
    }
    for key, place in places.found.items():
        if key.startswith("out."):
            where = address(place.row, place.column, fixed=True)
            found[resolve.output_name(key)] = f"{place.sheet}!{where}"
    return found


def appraisal_date(label: str) -> datetime.datetime:
    """Return the date that the file carries: the first of the appraisal month."""
    year, _, month = label.partition("-")
    return datetime.datetime(int(year), int(month), 1)  # noqa: DTZ001 -- a calendar date
