"""How do sheets become one .xlsx file: names, inputs unlocked, properties?

The same sheets give the same bytes: the file carries the appraisal date.
"""

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from typing import Any

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from sitefare.outputs.workbook import resolve
from sitefare.outputs.workbook.frame import Cell, Check, Line, Scalar, Sheet, Table
from sitefare.outputs.workbook.looks import Book, Heads
from sitefare.outputs.workbook.resolve import FIRST, Places, Resolver, address
from sitefare.outputs.workbook.writing import SheetWriter


class PlainWorksheet(Worksheet):  # type: ignore[misc]
    """A worksheet whose formulas are written as they are: none uses a newer function."""

    def _prepare_formula(self, formula: str, _expand: bool = False) -> str:  # noqa: FBT001, FBT002
        """Return a formula without its sign; searching each for newer functions takes most time."""
        return formula.removeprefix("=")


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


def appraisal_date(label: str) -> dt.datetime:
    """Return the date that the file carries: the first of the appraisal month."""
    year, _, month = label.partition("-")
    return dt.datetime(int(year), int(month), 1)  # noqa: DTZ001 -- a calendar date
