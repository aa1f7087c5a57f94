"""The workbook of one appraisal: inputs, workings, answers, as live formulas.

`workbook` returns the file's bytes: the same appraisal gives the same bytes.
"""

from collections.abc import Callable

import numpy as np

from sitefare import __version__
from sitefare.money.rates import GRID
from sitefare.outputs.workbook import (
    about,
    bill,
    capital,
    charts,
    checks,
    clock,
    farm,
    funding,
    income,
    inputs,
    people,
    price_paths,
    rates,
    renewals,
    results,
    running,
    statements,
    tax,
    views,
    working,
    years,
)
from sitefare.outputs.workbook.filing import appraisal_date, written_book
from sitefare.outputs.workbook.frame import Sheet
from sitefare.outputs.workbook.looks import Heads
from sitefare.outputs.workbook.made import Made

#: The sheets in order; each makes its sheet from the appraisal.
SHEETS: tuple[Callable[[Made], Sheet], ...] = (
    about.sheet,
    inputs.inputs_sheet,
    inputs.items_sheet,
    clock.sheet,
    farm.sheet,
    price_paths.sheet,
    bill.sheet,
    capital.sheet,
    renewals.sheet,
    people.sheet,
    running.sheet,
    income.sheet,
    working.sheet,
    funding.sheet,
    tax.sheet,
    statements.sheet,
    views.sheet,
    rates.sheet,
    years.sheet,
    results.sheet,
    checks.sheet,
    charts.sheet,
)

#: Steps of the searches on sheets of steps. [1]
STEPS = GRID.size


def heads(made: Made) -> Heads:
    """Return what stands at the head of the columns."""
    time = made.timeline
    return Heads(
        number={
            "months": [float(m) for m in time.month],
            "years": [float(y) for y in range(time.years + 1)],
            "steps": [float(n) for n in range(STEPS)],
        },
        label={
            "months": [time.label(int(m)) for m in time.month],
            "years": [time.label(12 * y) for y in range(time.years + 1)],
        },
        year=[float(y) for y in np.asarray(time.year)],
    )


def sheets_of(made: Made) -> list[Sheet]:
    """Return every sheet of the workbook."""
    return [make(made) for make in SHEETS]


def workbook(made: Made, sheets: list[Sheet] | None = None) -> bytes:
    """Return the workbook of an appraisal as the bytes of an .xlsx file."""
    case = made.case
    properties = {
        "title": f"{case.site}, {case.names}: workbook of the appraisal",
        "subject": "Aquaponic farm: project appraisal",
        "keywords": f"sitefare {__version__} {case.input_hash}",
        "comments": "DRAFT" if made.draft else "",
        "created": appraisal_date(made.timeline.label(0)),
    }
    sheets = sheets_of(made) if sheets is None else sheets
    return written_book(sheets, heads(made), made.farm_rows, properties)
