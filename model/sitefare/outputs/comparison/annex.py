"""What does each alternative come to by its own indicators?"""

from sitefare.outputs.comparison.measure import Measure
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Column, Heading, Paragraph, Table
from sitefare.questions.figures import RATIO
from sitefare.questions.lines import Line

#: Alternatives in one table.
ABREAST = 4

#: Indicators of an alternative's own table.
SHOWN = (
    RATIO,
    "people_fed",
    "cost_per_person_day",
    "alternative_cost_person_day",
    "capex",
    "capex_per_person",
    "npv",
    "irr",
    "payback_years",
    "benefit_cost_ratio",
    "operating_cost_year",
    "sales_year",
    "operating_cost_recovery",
    "subsidy_year_after_grant",
    "grant_needed",
    "jobs_fte",
    "vegetables_marketable_kg_year",
    "fish_live_kg_year",
    "water_makeup_m3_year",
    "electricity_kwh_year",
    "emissions_tco2e_year",
)


def indicators(seen: Seen) -> list[Block]:
    """Return a table of indicators for each alternative shown."""
    blocks: list[Block] = [
        Heading(1, "Indicators of each alternative", "indicators", annex=True),
        Paragraph(
            "Money in US dollars at each appraisal-date rate; in brackets the range that holds 8 in 10 draws. Every indicator of every "
            "alternative, in local money too, stands in the files beside this document."
        ),
    ]
    lines = [one.line for one in seen.shown]
    groups = [lines[i : i + ABREAST] for i in range(0, len(lines), ABREAST)]
    return [*blocks, *(_table(seen, some) for some in groups)]


def _table(seen: Seen, some: list[Line]) -> Table:
    """Return indicators down and a few alternatives across."""
    measures = [Measure(name, seen.formats) for name in SHOWN if name in vars(some[0])["values"]]
    columns = (
        Column("Indicator", weight=1.6),
        *(Column(seen.marked(line), align="right", weight=1.6) for line in some),
    )
    rows = tuple((_head(m), *(_cell(line, m) for line in some)) for m in measures)
    marks = [seen.mark(line) for line in some]
    which = f"{marks[0]} to {marks[-1]}" if len(marks) > 1 else marks[0]
    return Table(columns, rows, f"Indicators of alternatives {which}", wide=True)


def _head(measure: Measure) -> str:
    """Name an indicator with its unit."""
    return f"{measure.title} [{measure.unit}]" if measure.unit else measure.title


def _cell(line: Line, measure: Measure) -> str:
    """Write one indicator with its range."""
    base = measure.number(line.usd(measure.name))
    ends = measure.span(*line.usd_ends(measure.name))
    return f"{base} ({ends})" if ends else base
