"""What is this workbook, what in it is live, and what must be minded?"""

from collections.abc import Iterator

from sitefare import __version__
from sitefare.outputs.workbook import checks, results
from sitefare.outputs.workbook.frame import (
    Cell,
    Heading,
    Item,
    Scalar,
    Sheet,
    Table,
    TableCell,
    Words,
)
from sitefare.outputs.workbook.made import Made

#: What each sheet holds, in the order they stand.
SHEETS = (
    ("Inputs", "Input: every value in force, one a row, with unit, range, source and note."),
    ("Items", "Input: tables of items, such as the bill of quantities, loans, prices, staff."),
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
    ("Working", "Working capital: stocks, credit, tax to be refunded."),
    ("Funding", "Grants, loans, own money, cash reserve for debt service."),
    ("Tax", "Tax as if unfunded, and of the books."),
    ("Statements", "Overdraft, income statement, cash flow and balance sheet by month."),
    ("Views", "The project, nominal, equity and economic views."),
    ("Rates", "Rates of return, step by step."),
    ("Years", "Answer: the statements by project year."),
    ("Results", "Answer: every indicator, with its low and high."),
    ("Checks", "Answer: whether everything closes."),
    ("Charts", "Answer: cash, cost, harvest and people by year."),
)

#: Indicators that stand on the first sheet, and the words for them.
FIRST_ANSWERS = (
    "people_fed", "cost_per_person_day", "alternative_cost_person_day", "capex", "npv",
    "irr", "payback_years",
    "payback_years_equity", "min_dscr",
)  # fmt: skip

LIVE = (
    (
        "Live: prices, costs, shares, lives, price drift, taxes, loans and grants, the bill of "
        "quantities, and a multiplier for each flow of the farm (the first rows of sheet Inputs; the "
        "first is the yield of crops). Change an ochre cell and everything after it moves, to the "
        "last indicator. Typing outside what a row accepts is refused."
    ),
    (
        "From the farm model, as values: kilograms, kilowatt-hours, cubic metres and hours by month, "
        "and the sizes of the farm. They do not move when a set point, a climate or a crop is changed: "
        "change those in the model and make the workbook again."
    ),
    (
        "From sampling or searching with the model, as values: contingency, low and high, the grant "
        "needed, break-evens."
    ),
    (
        "Choices of words (tenure, tax method, exchange path) are locked: the formulas are written for "
        "the choice in force."
    ),
    (
        "An ochre row may move nothing in this case: where what it multiplies is nothing here, such "
        "as the tariff of a farm without a grid, or where a threshold is not reached."
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
    yield "Site and scenario", f"{case.site}, {case.names}"
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


def answers(made: Made) -> Table:
    """Return the first answers, live, and the verdict on all checks."""
    rows: list[tuple[TableCell, ...]] = []
    for item in results.indicator_items(made):
        name = getattr(item, "key", "").removeprefix("out.")
        if isinstance(item, Scalar) and name in FIRST_ANSWERS:
            value = Cell(item.value, item.kind, formula=f"{{out.{name}}}", strong=True)
            words = item.label if item.unit in ("1", "1/year") else f"{item.label}, {item.unit}"
            rows.append((value, Cell(words, "text", style="wrapped_plain")))
    rows.append((checks.verdict(made), Cell("Checks", "text", link="Checks")))
    return Table((), tuple(rows))


def colours() -> Table:
    """Return what the colours of cells say."""
    rows: tuple[tuple[TableCell, ...], ...] = (
        (
            Cell("may be changed", "text", style="input_sample"),
            "An input that formulas follow: sheets Inputs and Items.",
        ),
        (
            Cell("from the model", "text", style="given"),
            "A value that the model gives; locked.",
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
    items += [
        Heading("What comes out", "Live: these cells follow every ochre cell."),
        answers(made),
    ]
    items += [*prose("What moves and what does not", LIVE), Heading("Colours"), colours()]
    items += [Heading("Sheets")]
    items.append(Table((), tuple((Cell(name, "text", link=name), words) for name, words in SHEETS)))
    items += [*prose("Cautions", CAUTIONS)]
    if made.missing:
        items += [*prose("Evidence that is missing", made.missing)]
    lead = "The money of one proposal as live formulas, from inputs to indicators."
    return Sheet("About", f"{title}: workbook of the appraisal", lead, tuple(items),
                 widths={0: 26.0, 1: 110.0, 2: 10.0, 3: 10.0}, part="words")  # fmt: skip
