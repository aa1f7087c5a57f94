"""What does each alternative come to by its own indicators?"""

from sitefare.outputs.comparison.measure import Measure
from sitefare.outputs.comparison.naming import OWN
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Column, Heading, Paragraph, Table, plain
from sitefare.questions.figures import RATIO
from sitefare.questions.lines import Line

#: Characters shown of a hash of inputs.
HASH = 12

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


def made(seen: Seen) -> list[Block]:
    """Return how the comparison was made, so that it can be made again."""
    compared, f = seen.compared, seen.formats
    provenance = compared.lines[0].results["provenance"]
    versions = ", ".join(f"{name} {number}" for name, number in provenance["versions"].items())
    draws = (
        f"{f.count(compared.draws)} common draws with seed {compared.seed}"
        if compared.draws
        else "no draws"
    )
    columns = (
        Column("Alternative", weight=2.4),
        Column("Site", weight=1.2),
        Column("Design", weight=1.1),
        Column("Scenario", weight=1.3),
        Column("Settings", weight=1.6),
        Column("Hash of inputs", weight=1.2),
    )
    rows = tuple(
        (
            seen.marked(line),
            line.alternative.site,
            line.alternative.design or OWN,
            line.alternative.scenario,
            "; ".join(line.alternative.settings) or "none",
            line.input_hash[:HASH],
        )
        for line in (one.line for one in seen.shown)
    )
    words = (
        f"Made with {draws} by {plain(versions)}; assumptions version {plain(provenance['assumptions_version'])}. Each "
        "farm is sized once, as planned, and stays so in every draw; an assumption that alternatives share takes one draw "
        "for all of them. Ranks are those of the plan, chances those of the draws. The same inputs give the same files."
    )
    note = "Folders and files of the assumptions, by the names they have there."
    return [
        Heading(1, "How this was made", "made"),
        Paragraph(words),
        Table(columns, rows, "What was compared", note, wide=True, anchor="made-table"),
    ]


def _table(seen: Seen, some: list[Line]) -> Table:
    """Return indicators down and a few alternatives across."""
    measures = [Measure(name, seen.formats) for name in SHOWN if name in vars(some[0])["values"]]
    columns = (
        Column("Indicator", weight=1.6),
        *(Column(seen.marked(line), align="right", weight=1.6) for line in some),
    )
    beds = (seen.formats.number(line.results["case"].get("bed_area_m2")) for line in some)
    rows = (
        ("Bed area [m²]", *beds),
        *((_head(m), *(_cell(line, m) for line in some)) for m in measures),
    )
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
