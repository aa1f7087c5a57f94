"""How is a sheet written, cell by cell, with each formula's value beside it?

Every formula is written with the value the model computed, so that a viewer that never
calculates shows it. Sheets are protected without a password; only the input cells that formulas
follow are unlocked. Text is always written as text, whatever sign it starts with.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sitefare.outputs.workbook import resolve
from sitefare.outputs.workbook.charting import draw
from sitefare.outputs.workbook.frame import (
    ALL_OK,
    CACHED_DIGITS,
    GIVEN_DIGITS,
    LOOK,
    Cell,
    Chart,
    Check,
    Given,
    GivenScalar,
    Heading,
    Item,
    Line,
    Number,
    Scalar,
    Sheet,
    Table,
    TableCell,
    Words,
    finite,
    number_columns,
    row_values,
    short,
)
from sitefare.outputs.workbook.looks import (
    PROTECTION,
    TABS,
    Book,
    bounds,
    head_style,
    lines_of,
    word_style,
)
from sitefare.outputs.workbook.paper import heads_until, set_page
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
    VERDICT,
    Resolver,
    address,
)

#: Widths of label, unit, key, value and opening column. [character]
WIDTHS = {LABEL: 44.0, UNIT: 13.0, KEY: 24.0, VALUE: 15.0, OPENING: 1.5}

#: Width of a month's or year's column. [character]
COLUMN = 11.0

#: Column of notes beside single cells, and its width. [character]
NOTE, NOTES = FIRST + 1, 90.0

#: Height of a line of text [pt], letters in a unit of a column's width, and those of notes [1].
LINE_HEIGHT, FILLED, SMALLER = 12.5, 1.22, 1.4

#: Narrowest column in which notes are wrapped. [character]
WRAPPED = 30.0

#: Decimals of a row's sum: what cancels out is nothing, not the last digits of its terms.
PLACES = 4


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

    @property
    def wraps(self) -> bool:
        """Whether the column of notes is wide enough to wrap them."""
        return self.sheet.widths.get(NOTE, NOTES) >= WRAPPED

    def wrapped(self, cells: Sequence[TableCell]) -> list[tuple[int, str]]:
        """Return the words of a table's row that are wrapped, each with its column."""
        found = [(at, getattr(x, "value", x)) for at, x in resolve.spread(cells)]
        return [(at, x) for at, x in found if isinstance(x, str) and not self.runs_on(at, cells)]

    def runs_on(self, column: int, cells: Sequence[TableCell]) -> bool:
        """Say whether words at the end of a table's row run on to the right of their column."""
        last = list(resolve.spread(cells))[-1][0]
        wide = self.sheet.widths.get(column, 0.0) >= WRAPPED
        return not self.sheet.wraps or (column == last and not wide)

    def write(self) -> None:
        """Write the sheet."""
        self.to.hide_gridlines(2)
        self.to.set_row(TITLE, 24)
        self.to.set_row(LEAD, 15)
        self._widths()
        self.text(TITLE, LABEL, self.sheet.title, "title")
        self.text(LEAD, LABEL, self.sheet.lead, "lead")
        if self.sheet.axis:
            self._heads()
        else:
            self._titles()
            self.to.freeze_panes(heads_until(self.sheet) + 1, 0)
        for row, item in resolve.rows_of(self.sheet):
            self.item(row, item)
        self._all_checks()
        set_page(self.to, self.sheet, self.columns, sum(self.sheet.widths.values()))
        self.to.set_tab_color(TABS[self.sheet.part])
        self.to.protect("", PROTECTION)

    def _widths(self) -> None:
        plain = {} if self.sheet.axis else {OPENING: COLUMN, FIRST: COLUMN, NOTE: NOTES}
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
        ends = ("Low", "High") if ranged else ("", "")
        titles = ("What it is", "Unit", "Key", "Value", *ends, "Note")
        for column, title in enumerate(titles):
            look = self.book.look(head_style(number=VALUE <= column < NOTE, beyond=column >= NOTE))
            self.to.write_string(VERDICT, column, title, look)

    def _heads(self) -> None:
        """Write the numbers and labels at the head of the columns."""
        axis, heads, head = self.sheet.axis, self.book.heads, self.book.look("head")
        named = {"months": "Month", "years": "Project year", "steps": "Step"}[axis]
        left = self.book.look("head_left")
        for column, word in ((LABEL, named), (UNIT, "Unit"), (KEY, "Key")):
            self.to.write_string(HEAD, column, word, left)
        self.to.write_string(HEAD, VALUE, "Value, total", self.book.look("head_right"))
        for n in range(self.columns):
            self.to.write_number(HEAD, FIRST + n, heads.number[axis][n], head)
            if axis in heads.label:
                self.to.write_string(HEAD_LABEL, FIRST + n, heads.label[axis][n], head)
        if axis == "years":
            self.text(HEAD_LABEL, LABEL, "The year ends in", "unit")
        if axis == "months":
            self.text(HEAD_LABEL, LABEL, "Calendar month", "unit")
            self.text(HEAD_YEAR, LABEL, "Project year", "unit")
            for n, year in enumerate(heads.year):
                self.to.write_number(HEAD_YEAR, FIRST + n, year, self.book.look("unit", "count"))
        self.to.freeze_panes(TOP - 1, FIRST)

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
        style = "strong" if strong else ("plain" if self.sheet.axis else "label")
        self.text(row, LABEL, item.label, style)
        if not self.sheet.axis:
            self._wrap(row, ((LABEL, item.label), *(((NOTE, item.note),) if self.wraps else ())))
        self.text(row, UNIT, item.unit, "unit")
        named = item.key.startswith("out.")
        self.text(row, KEY, resolve.output_name(item.key) if named else item.key, "key")
        if not item.note:
            return
        if self.sheet.axis:
            size = {"x_scale": 2.2, "y_scale": 1.0 + len(item.note) / 200.0}
            self.to.write_comment(row, LABEL, item.note, size)
        else:
            column = FIRST + 2 if isinstance(item, Check) else NOTE
            self.text(row, column, item.note, "wrapped" if self.wraps else "aside")

    def _wrap(self, row: int, words: Iterable[tuple[int, str]]) -> None:
        """Make a row high enough for the words in its columns: not every program does it."""
        widths = WIDTHS | {NOTE: NOTES} | dict(self.sheet.widths)
        lines = lines_of(
            (text, (SMALLER if at == NOTE else FILLED) * widths.get(at, COLUMN))
            for at, text in words
        )
        if lines > 1:
            self.to.set_row(row, 3 + LINE_HEIGHT * lines)

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
        formula = f'=IF(COUNTIF({where},"OK")={len(rows)},"{ALL_OK}","{LOOK}")'
        self.text(VERDICT, LABEL, "All checks", "strong")
        found = LOOK if bad else ALL_OK
        self.to.write_formula(VERDICT, VALUE, formula, self.book.look("holds"), found)
        rule = {"type": "cell", "criteria": "!=", "value": f'"{ALL_OK}"',
                "format": self.book.look("fails")}  # fmt: skip
        self.to.conditional_format(VERDICT, VALUE, VERDICT, VALUE, rule)

    def table(self, row: int, table: Table) -> None:
        """Write a table."""
        self.text(row, LABEL, table.title, "strong")
        top = resolve.table_top(row, table)
        numbers = number_columns(table)
        for column, title in enumerate(table.columns):
            look = self.book.look(head_style(number=column in numbers, beyond=column > VALUE))
            self.to.write_string(top, column, title, look)
        self._wrap(top, enumerate(table.columns))
        for n, cells in enumerate(table.rows):
            for column, cell in resolve.spread(cells):
                if isinstance(cell, str):
                    plain = self.runs_on(column, cells)
                    self.text(
                        top + 1 + n, column, cell, word_style(beyond=column > VALUE, runs_on=plain)
                    )
                else:
                    self.cell(top + 1 + n, column, cell)
            self._wrap(top + 1 + n, self.wrapped(cells))

    def cell(self, row: int, column: int, cell: Cell | float | None) -> None:
        """Write one cell of a table that is not plain words."""
        if cell is None:
            return
        if not isinstance(cell, Cell):
            self.to.write_number(row, column, float(cell), self.book.look("plain", "number"))
            return
        if cell.link:
            look = self.book.look("link")
            self.to.write_url(row, column, f"internal:{cell.link}!A1", look, str(cell.value))
        elif cell.style:
            self._wrap(row, ((column, str(cell.value)),))
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
        style = "label" if self.sheet.wraps else "plain"
        look = self.book.look("input" if free else style, cell.kind)
        values = cell.value if isinstance(cell.value, tuple) else (cell.value,)
        for n, x in enumerate(values):
            self.number(row, column + n, finite(x, cell.row), look)
        if free and not isinstance(values[0], str):
            self.to.data_validation(row, column, row, column + len(values) - 1, bounds(cell))

    def chart(self, row: int, item: Chart) -> None:
        """Draw a chart of lines of a sheet of years."""
        chart = draw(self.book, item)
        options = {"description": item.alt, "object_position": 2, "x_offset": 4, "y_offset": 6}
        self.to.insert_chart(row, LABEL, chart, options)
