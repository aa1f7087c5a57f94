"""What does each alternative come to by its own indicators?"""

from sitefare.outputs.comparison.measure import Measure
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Column, Heading, Paragraph, Table
from sitefare.questions.figures import RATIO
from sitefare.questions.lines import Line

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
            "Money in US dollars at each appraisal-date rate; ranges hold 8 in 10 draws. Every indicator of every "
            "alternative, in local money too, stands in the files beside this document."
        ),
    ]
    return [*blocks, *(_table(seen, one.line) for one in seen.shown)]


def _table(seen: Seen, line: Line) -> Table:
    """Return one alternative's table."""
    names = [name for name in SHOWN if name in line.values]
    columns = (
        Column("Indicator", weight=2.2),
        Column("Base", align="right", weight=1),
        Column("P10–P90", align="right", weight=1.3),
        Column("Unit", weight=1.4),
    )
    rows = tuple(_row(line, Measure(name, seen.formats)) for name in names)
    mark = seen.mark(line)
    caption = (
        f"{mark}. {seen.name(line)}" if line.rank else f"{mark}. {seen.name(line)}, not ranked"
    )
    return Table(columns, rows, caption, layout="half")


def _row(line: Line, measure: Measure) -> tuple[str, str, str, str]:
    """Write one indicator with its range and unit."""
    base = measure.number(line.usd(measure.name))
    ends = measure.span(*line.usd_ends(measure.name))
    return measure.title, base, ends or "–", measure.unit or "–"
