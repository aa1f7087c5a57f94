"""What is this workbook, what in it is live, and what must be minded?"""

from collections.abc import Iterator

from sitefare import __version__
from sitefare.outputs.workbook.frame import Cell, Heading, Item, Sheet, Table, TableCell, Words
from sitefare.outputs.workbook.made import Made

#: What each sheet holds, in the order they stand.
SHEETS = (
    ("Inputs", "Every value in force, one a row, with unit, range, source and note."),
    ("Items", "Tables of items: bill of quantities, loans, grants, prices, food, staff."),
    ("Clock", "Months, days, project years."),
    ("Farm", "What the farm gives and takes by month, from the farm model, times its multipliers."),
    ("Prices", "Inflation, real drift of each group of prices, exchange rate."),
    (
        "Bill",
        "Bill of quantities, priced, landed, carried and installed, and the life of each item.",
    ),
    ("Capital", "Capital budget, its spending by month, replacement, depreciation."),
    ("Renewals", "Replacement, overhaul and write-off, item by item."),
    ("People", "Where the harvest goes, and who is fed by which ration."),
    ("Running", "Running costs by line."),
    ("Income", "What the harvest brings."),
    ("Working", "What is tied up: stocks, credit, tax to be refunded."),
    ("Funding", "Grants, loans, own money, overdraft."),
    ("Tax", "Tax as if unfunded, and of the books."),
    ("Statements", "Income statement, cash flow and balance sheet by month."),
    ("Views", "The project, nominal, equity and economic views."),
    ("Rates", "Rates of return, step by step."),
    ("Years", "The statements by project year."),
    ("Results", "Every indicator."),
    ("Checks", "Whether everything closes."),
    ("Charts", "Cash, cost and people by year."),
)

LIVE = (
    (
        "Live: prices, costs, shares, lives, price drift, taxes, loans and grants, the bill of "
        "quantities, and a multiplier for each flow of the farm (sheet Inputs, group adjust). Change "
        "an ochre cell and everything after it moves, to the last indicator."
    ),
    (
        "From the farm model, as values: kilograms, kilowatt-hours, cubic metres and hours by month, "
        "and the sizes of the farm. They do not move when a set point, a climate or a crop is changed: "
        "change those in the model and make the workbook again."
    ),
    "Values that rest on sampling, so not live: contingency, ranges, the grant needed, break-evens.",
    (
        "Choices of words (tenure, tax method, exchange path) are locked: the formulas are written for "
        "the choice in force."
    ),
    "The calendar is locked: start, months of building, years appraised.",
)

CAUTIONS = (
    (
        "This appraisal is not investment advice. Get quotes, a site survey and a licensed engineer "
        "before building."
    ),
    (
        "Water and gravel are heavy, and electricity is near water. At commercial density fish can die "
        "within minutes without air."
    ),
    (
        "Produce from fish water needs a food-safety plan, and the fish species may be restricted: "
        "confirm permits with the local authority."
    ),
    "The farm supplements a diet; it does not replace a ration.",
)


def case_rows(made: Made) -> Iterator[tuple[str, str]]:
    """Yield what was appraised."""
    case, time = made.case, made.timeline
    title = str(made.values["place.name"])
    yield "Place", title
    yield "Site and scenario", f"{case.site}, {case.scenario}"
    if case.settings:
        yield "Settings", "; ".join(case.settings)
    yield "Currency", f"{made.currency}; all money is nominal unless a row says otherwise"
    yield "Appraisal date", f"{time.label(0)}, the end of month 0; prices are of that date"
    yield "Appraised", f"{time.years} years, {time.construction} months of building among them"
    yield "Language", "English, whatever the language of the documents; months are YYYY-MM"
    yield "Made by", f"Sitefare {__version__}"
    yield "Input hash", case.input_hash


def draft(made: Made) -> Iterator[Item]:
    """Yield what makes it a draft."""
    if made.case.demonstration:
        yield Words("DEMONSTRATION DATA: places, people and prices are invented.", strong=True)
    if made.draft:
        yield Words("DRAFT: the evidence listed at the end of this sheet is missing.", strong=True)


def prose(title: str, lines: tuple[str, ...]) -> Iterator[Item]:
    """Yield a heading and a table of sentences."""
    yield Heading(title)
    rows = tuple((None, Cell(line, "text", style="paragraph")) for line in lines)
    yield Table((), rows)


def colours() -> Table:
    """Return what the colours of cells say."""
    rows: tuple[tuple[TableCell, ...], ...] = (
        (Cell("may be changed", "text", style="input_sample"), "An input that formulas follow."),
        (
            Cell("from the model", "text", style="given"),
            "A value that the farm model gives; locked.",
        ),
        (Cell("formula", "text", style="plain"), "A formula, or an input that is locked."),
        (Cell("OK", "text", style="holds"), "A check that holds."),
        (Cell("look", "text", style="fails"), "A check that does not hold."),
    )
    return Table((), rows)


def sheet(made: Made) -> Sheet:
    """Return the sheet About."""
    title = str(made.values["place.name"])
    items: list[Item] = [*draft(made), Heading("What was appraised")]
    items.append(Table((), tuple((Cell(word, "text", style="word"), Cell(line, "text", style="paragraph"))
                                 for word, line in case_rows(made))))  # fmt: skip
    items += [*prose("What moves and what does not", LIVE), Heading("Colours"), colours()]
    items += [Heading("Sheets")]
    items.append(Table((), tuple((Cell(name, "text", link=name), words) for name, words in SHEETS)))
    items += [*prose("Cautions", CAUTIONS)]
    if made.missing:
        items += [*prose("Evidence that is missing", made.missing)]
    lead = "The money of one proposal as live formulas, from inputs to indicators."
    return Sheet("About", f"{title}: workbook of the appraisal", lead, tuple(items),
                 widths={0: 24.0, 1: 110.0, 2: 10.0, 3: 10.0})  # fmt: skip
