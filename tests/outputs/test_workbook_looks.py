"""Can a reviewer read the workbook, on the screen and printed?

Widths, heads, colours and pages are read back from the file with openpyxl.
"""

import io
from functools import cache

import openpyxl
import pytest
from openpyxl.utils import get_column_letter
from spreadsheets import cells

from sitefare.outputs.workbook.about import FIRST_ANSWERS
from sitefare.outputs.workbook.book import workbook
from sitefare.outputs.workbook.looks import TABS
from sitefare.outputs.workbook.made import made_of

PAIR = ("kaldre", "grant_and_soft_loan")

#: Sheets without months whose words and figures stand in many columns.
WIDE = ("Inputs", "Items", "Bill", "Results", "Checks")


@cache
def data(plan):
    return workbook(made_of(plan(*PAIR)))


@cache
def opened(plan):
    return openpyxl.load_workbook(io.BytesIO(data(plan)), data_only=True)


def width(sheet, column):
    return sheet.column_dimensions[get_column_letter(column)].width


def shown(cell):
    """Return a number about as its format shows it."""
    x, code = cell.value, cell.number_format
    if "%" in code:
        return f"{x:.2%}"
    if code.startswith("#,##0;"):
        return f"{x:,.0f}"
    decimals = code.split(";")[0].partition(".")[2]
    words = f"{x:,.{len(decimals)}f}" if decimals else f"{x:g}"
    return words.rstrip("0") if "#" in decimals else words


@pytest.mark.parametrize("name", WIDE)
def test_every_figure_fits_its_column(plan, name):
    sheet = opened(plan)[name]
    for row in sheet.iter_rows():
        for cell in row:
            if isinstance(cell.value, int | float):
                # A bold letter takes a tenth more than a plain one.
                needed = len(shown(cell)) * (1.1 if cell.font.b else 1.0)
                assert needed <= width(sheet, cell.column), f"{name}!{cell.coordinate}"


def test_no_column_of_figures_is_as_wide_as_a_note(plan):
    for name in WIDE:
        sheet = opened(plan)[name]
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, int | float):
                    assert width(sheet, cell.column) < 50, f"{name}!{cell.coordinate}"


def test_the_cover_repeats_first_answers_live(plan):
    book = cells(data(plan))
    formulas = book.formulas["About"]
    for at, formula in formulas.items():
        sheet, _, there = formula.partition("!")
        assert book.values["About"][at] == book.values[sheet][there.replace("$", "")], at
    read = {formula.replace("$", "") for formula in formulas.values()}
    for name in FIRST_ANSWERS:
        assert book.names[f"out_{name}"].replace("$", "") in read, name
    assert "Checks!D3" in read
    assert book.values["Checks"]["D3"] == "all OK"


def test_tabs_say_what_a_sheet_is(plan):
    tabs = {sheet.title: sheet.sheet_properties.tabColor.rgb[-6:] for sheet in opened(plan)}
    said = {part: colour.lstrip("#").upper() for part, colour in TABS.items()}
    assert len(set(said.values())) == len(said)
    for sheet in opened(plan):
        free = any(not cell.protection.locked for row in sheet.iter_rows() for cell in row)
        assert (tabs[sheet.title] == said["inputs"]) == free, sheet.title
    for answers in ("Years", "Results", "Checks", "Charts"):
        assert tabs[answers] == said["answers"]
    assert tabs["Running"] == said["workings"]


def test_months_print_a_project_year_a_page(plan):
    sheet = opened(plan)["Statements"]
    assert sheet.page_setup.orientation == "landscape"
    assert (sheet.print_title_rows, sheet.print_title_cols) == ("$1:$6", "$A:$B")
    for found in sheet.col_breaks.brk:
        # A break stands after the column of its number: the last month of a year.
        year, following = (sheet.cell(6, found.id + n).value for n in (0, 1))
        assert following == year + 1
    assert len(sheet.col_breaks.brk) == 14


@pytest.mark.parametrize("name", ["About", "Inputs", "Bill", "Results", "Checks", "Years"])
def test_tables_print_one_page_wide_with_their_heads(plan, name):
    sheet = opened(plan)[name]
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.page_setup.fitToWidth in (1, None)
    assert sheet.print_title_rows.startswith("$1:$")
    frozen = int("".join(x for x in sheet.freeze_panes if x.isdigit()))
    assert frozen == int(sheet.print_title_rows.rpartition("$")[2]) + 1


def test_titles_stand_over_their_figures(plan):
    for name, row, columns in (("Inputs", 4, (4, 5, 6)), ("Results", 3, (4, 5, 6)),
                               ("Checks", 4, (4, 6)), ("Statements", 4, (4,))):  # fmt: skip
        for column in columns:
            cell = opened(plan)[name].cell(row, column)
            assert cell.alignment.horizontal == "right", f"{name}!{cell.coordinate}"


def test_results_tell_the_names_of_their_cells(plan):
    book, sheet = cells(data(plan)), opened(plan)["Results"]
    told = {x.value for x in sheet["C"] if str(x.value).startswith("out_")}
    assert told == {name for name in book.names if name.startswith("out_")}
