"""How is each headline figure made, and which rows of the register stand behind it?

Each figure has a letter. Here stand what it means, the terms that add up to it, and the rows that
move it most, each with a link to its line in the register; there, the letters lead back.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from sitefare.errors import AssumptionError
from sitefare.outputs.document import Block, Bullets, Column, Heading, Paragraph, Table, plain, slug
from sitefare.outputs.lines import term_name
from sitefare.outputs.proposal.feeding import bound
from sitefare.outputs.proposal.gathered import printed
from sitefare.outputs.proposal.paying import PURPOSES
from sitefare.outputs.proposal.view import (
    View,
    printed_unit,
    raised,
    row_value,
    row_words,
    sentence,
)
from sitefare.outputs.register import register
from sitefare.outputs.results import unit_in
from sitefare.people.words import bound_words
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.explaining import found_terms
from sitefare.questions.tornado import Bar

#: The figures of the first page, in the order of their letters.
HEADLINES = (
    "people_fed",
    "cost_per_person_day",
    "alternative_cost_person_day",
    "capex",
    "npv",
    "irr",
    "payback_years",
    "subsidy_year_after_grant",
    "water_makeup_m3_year",
    "electricity_kwh_year",
)

#: Terms printed one by one, the rest as one; rows told as moving a figure most.
TERMS, ROWS = 10, 5

#: What lines are gathered into beside what charts of costs gather, by how their names start.
SALES = {"sales_": "Sales"}

#: Figures made of lines of money, which are gathered by purpose.
GATHERED = ("cost_per_person_day", "npv", "irr", "payback_years")

#: A pull too small beside the strongest row's to be told. [1]
LEAST = 0.01


#: Decimals beyond which a sum that should be nothing is nothing.
SMALLEST = 9


@dataclass(frozen=True)
class Line:
    """One term as printed: its name and its amount."""

    name: str
    amount: float


def made(view: View) -> list[Block]:
    """Return the annex on how the figures of the first page are made."""
    blocks: list[Block] = [
        Heading(1, "Annex: how each headline figure is made", "made", annex=True),
        Paragraph(
            "Each figure of the [summary](#summary) has a letter here. Its terms add up to it before "
            "rounding. The rows named are those whose own range, 1-in-10 low to 1-in-10 high with all "
            "else at base, moves it most; the [register](#register) gives source and basis of each, "
            "and the letters in its last column lead back here."
        ),
    ]
    for name in HEADLINES:
        blocks += _figure(view, name)
    return blocks


def made_anchor(name: str) -> str:
    """Return the anchor under which an indicator's making is told."""
    return f"made-{slug(name)}"


def linked(words: str, name: str) -> str:
    """Return words that link to how an indicator is made, as markup."""
    return f"[{words}](#{made_anchor(name)})"


def row_anchor(name: str) -> str:
    """Return the anchor of a row's line in the register."""
    return f"row-{slug(name)}"


def letter(name: str) -> str:
    """Return the letter of a headline figure."""
    return chr(ord("A") + HEADLINES.index(name))


def letters(view: View) -> dict[str, str]:
    """Return for each row that moves a headline figure most links to those figures, as markup."""
    found: dict[str, list[str]] = {}
    for name in HEADLINES:
        for bar in strongest(view, name):
            found.setdefault(bar.row.name, []).append(f"[{letter(name)}](#{made_anchor(name)})")
    return {row: " ".join(links) for row, links in found.items()}


def strongest(view: View, name: str) -> list[Bar]:
    """Return the bars of the rows that move an indicator most, widest first."""
    case, ends = view.appraisal.case, view.ends.get(name)
    if ends is None or (name == "irr" and view.rate(name) != view.shown(name, _how(view, name))):
        return []
    rows = [case.rows[row] for row in case.uncertain]
    bars = [
        Bar(row, float(ends[2 * n, 0]), float(ends[2 * n + 1, 0])) for n, row in enumerate(rows)
    ]
    moving = [bar for bar in bars if bar.width > 0 and _finite(bar)]
    moving.sort(key=lambda bar: (-bar.width, bar.row.name))
    return [bar for bar in moving[:ROWS] if bar.width > LEAST * moving[0].width]


def _finite(bar: Bar) -> bool:
    return math.isfinite(bar.low_result) and math.isfinite(bar.high_result)


def _figure(view: View, name: str) -> list[Block]:
    """Return the blocks of one figure: meaning, terms, rows."""
    told, how = INDICATORS[name], _how(view, name)
    lost = name == "irr" and view.rate(name) != view.shown(name, how)
    shown = view.rate(name) if lost else view.shown(name, how)
    blocks: list[Block] = [
        Heading(2, f"{letter(name)}. {told.title}: {shown}", made_anchor(name)),
        Paragraph(f"{sentence(_capital(told.meaning))}.{_more(view, name)}"),
    ]
    if lost:
        return [
            *blocks,
            Paragraph(f"[Net present value](#{made_anchor('npv')}) tells what is lost."),
        ]
    if math.isfinite(view.value(name)):
        blocks += _terms(view, name)
    bars = strongest(view, name)
    if not bars:
        return [
            *blocks,
            Paragraph("No row, moved alone across its range, gives it another answer."),
        ]
    listed = {e.name for e in register(view.appraisal.case) if printed(e.name)}
    return [
        *blocks,
        Paragraph("Rows that move it most:"),
        Bullets(tuple(_bar(view, bar, how, listed) for bar in bars)),
    ]


def _how(view: View, name: str) -> Callable[[float], str]:
    """Return how an indicator's value is written."""
    f, unit = view.formats, INDICATORS[name].unit
    if name == "people_fed":
        return view.people
    if unit.startswith("money"):
        return f.money
    if unit == "1/year":
        return f.share
    if unit == "year":
        return f.years
    return lambda x: f.number(x, 3, printed_unit(unit.removesuffix("/year")))


def _more(view: View, name: str) -> str:
    """Say what else makes a figure that is no sum."""
    f = view.formats
    if name == "people_fed":
        return f" The ration: {plain(view.ration)}. {sentence(bound_words(bound(view)))}"
    if name == "alternative_cost_person_day":
        return f" The ration: {plain(view.ration)}."
    if name == "water_makeup_m3_year":
        rain = view.full_mean(view.appraisal.flows.rain_m3)
        return f" Rain gives {f.number(rain, 3, 'm³')} a year beside it." if rain > 0 else ""
    return ""


def _terms(view: View, name: str) -> list[Block]:
    """Return the table of the terms that add up to a figure, the small ones as one."""
    try:
        found = found_terms(view.appraisal, name)
    except AssumptionError:
        return []
    told = _told({n: float(x[0, 0]) for n, x in found.terms.items()}, gather=name in GATHERED)
    if not told:
        return []
    currency, f = view.formats.currency, view.formats
    unit = unit_in(found.unit or INDICATORS[name].unit, currency)
    shares = unit == "1"
    columns = (
        Column("Term", weight=3),
        Column(
            "Amount",
            "" if shares else printed_unit(unit),
            "right",
            f.share if shares else f.amount,
            weight=1,
        ),
    )
    table = Table(
        columns,
        tuple((x.name, x.amount) for x in told),
        f"{INDICATORS[name].title}: {plain(raised(found.words))}",
        anchor=f"terms-{slug(name)}",
        strong_rows=(len(told) - 1,),
    )
    return [table]


def _told(terms: dict[str, float], *, gather: bool) -> list[Line]:
    """Return the lines of a table of terms, largest first, the small ones as one, and the sum."""
    amounts: dict[str, float] = {}
    for name, x in terms.items():
        starts = PURPOSES | SALES if gather else {}
        what = next((w for start, w in starts.items() if name.startswith(start)), term_name(name))
        amounts[what] = amounts.get(what, 0.0) + x
    lines = [Line(what, x) for what, x in amounts.items() if x != 0]
    lines.sort(key=lambda x: -abs(x.amount))
    told, small = lines[:TERMS], lines[TERMS:]
    if small:
        rest = f"{len(small)} smaller terms" if len(small) > 1 else small[0].name
        told.append(Line(rest, math.fsum(x.amount for x in small)))
    if told:
        told.append(Line("Sum", round(math.fsum(terms.values()), SMALLEST)))
    return told


def _bar(view: View, bar: Bar, how: Callable[[float], str], listed: set[str]) -> str:
    """Say what a row's ends do to a figure, with a link to its line where it has one."""
    row, f = bar.row, view.formats
    currency = view.appraisal.case.currency
    low, high = (row_value(row, x, currency, f) for x in (row.low, row.high))
    name = plain(row_words(row))
    if row.name in listed:
        name = f"[{name}](#{row_anchor(row.name)})"
    return f"{name}, {low} to {high}: {how(bar.low_result)} to {how(bar.high_result)}."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
