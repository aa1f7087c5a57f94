"""How is a sheet printed: on which paper, what repeats on each page, where do pages break?

Months print a project year a page; other sheets print one page wide, item tables a few. Wide sheets stand on
A3, so that they can be read.
"""

import math
from typing import Any

from sitefare.outputs.workbook import resolve
from sitefare.outputs.workbook.frame import Chart, Sheet, Table
from sitefare.outputs.workbook.resolve import FIRST, HEAD, LABEL, TITLE, TOP, UNIT, VALUE

#: Paper by its number in the file format: A4, A3.
A4, A3 = 9, 8

#: Sheets wider than this stand on A3. [character]
WIDE = 190.0

#: Sheets wider than this print several pages wide. [character]
WIDEST = 300.0

#: Charts on a page.
CHARTS = 3

#: Scale at which twelve months and what stands left of them fill an A3 page, and at which charts
#: fill an A4 page. [%]
SCALE, CHART_SCALE = 68, 58

#: Margins left and right, and top and bottom. [inch]
SIDES, ENDS = 0.4, 0.6


def set_page(to: Any, sheet: Sheet, columns: int, width: float) -> None:  # noqa: ANN401
    """Set paper, repeated heads and page breaks of a sheet.

    Parameters
    ----------
    to : xlsxwriter worksheet
        The sheet written.
    columns : int
        Columns of its axis, 0 without one.
    width : float
        Width of a sheet without an axis. [character]
    """
    to.set_landscape()
    to.set_paper(A3 if sheet.axis or width > WIDE else A4)
    to.set_margins(SIDES, SIDES, ENDS, ENDS)
    to.set_footer("&L&F&C&A&R&P / &N")
    if sheet.axis:
        to.repeat_columns(LABEL, UNIT)
        to.repeat_rows(TITLE, TOP - 2)
    if sheet.axis in ("months", "steps"):
        to.set_print_scale(SCALE)
        to.set_v_pagebreaks([FIRST + 1 + n for n in range(12, columns - 1, 12)])
    elif any(isinstance(item, Chart) for item in sheet.items):
        last = max(row for row, _ in resolve.rows_of(sheet)) + resolve.CHART_ROWS
        to.set_portrait()
        to.print_area(TITLE, LABEL, last, VALUE)
        to.set_print_scale(CHART_SCALE)
        to.set_h_pagebreaks([HEAD + CHARTS * resolve.CHART_ROWS])
    else:
        to.fit_to_pages(max(math.ceil(width / WIDEST), 1), 0)
        if width > WIDEST:
            to.repeat_columns(LABEL, UNIT)
        if not sheet.axis:
            to.repeat_rows(TITLE, heads_until(sheet))


def heads_until(sheet: Sheet) -> int:
    """Return the last row of a sheet without an axis that stays in sight and repeats in print."""
    first = sheet.items[0] if sheet.items else None
    headed = isinstance(first, Table) and bool(first.columns) and not first.title
    return HEAD if headed else HEAD - 1
