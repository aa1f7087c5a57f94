"""Whom the farm feeds, by which ration, and at what cost beside the alternative."""

import numpy as np
import pandas as pd

from sitefare.arrays import day_mean
from sitefare.outputs import charts
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Column,
    Figure,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.proposal.cover import cover_words
from sitefare.outputs.proposal.lacking import lacking
from sitefare.outputs.proposal.view import View, sentence
from sitefare.people.adequacy import ASKED_FIRST
from sitefare.people.holding import Holding, holding, poorest_year
from sitefare.people.lifting import lifts
from sitefare.people.need import basis_notes
from sitefare.people.surplus import surplus
from sitefare.people.words import (
    BASES,
    COUNTED_BY,
    SUPPLEMENT,
    bound_words,
    nutrient_name,
    when,
)

#: Groups shown each in its own column, and their names; the rest are told by least and most.
SHOWN_GROUPS = dict(zip(ASKED_FIRST, ("Child of two", "Pregnant woman", "Man"), strict=True))

#: Surplus that is worth a sentence. [kg/year]
TOLD_KG = 1.0


def people(view: View) -> list[Block]:
    """Return the section on whom the farm feeds."""
    return [
        Heading(1, "Whom it feeds", "people"),
        Paragraph(
            f"'Fed' always means by a named ration. The headline counts {plain(view.ration)}. A person "
            "counts only for food that reaches the people served, given or sold to them, never for "
            "food sold elsewhere, and food beyond the ration feeds nobody in the count. Requirements are "
            f"those of age and sex, women who expect or nurse a child apart{view.behind('need.*', 'diet.*')}; what foods hold and "
            f"lose in cooking is as printed{view.behind('food.*', 'cooking.*')}."
        ),
        Paragraph(f"**{_headline(view)}**"),
        _rations(view),
        _months(view),
        *_lifts(view),
        *_surplus(view),
        Paragraph("[The annex](#crop-mix) tells whether another mix of crops would feed more."),
        Heading(2, "What the ration covers", "coverage"),
        *_coverage(view),
        *lacking(view),
        Heading(2, "How people are counted", "people-notes"),
        Bullets(tuple(sentence(note) for note in counting(view))),
        Caution(
            f"{SUPPLEMENT} Produce from fish water needs a food-safety plan.",
            "caution",
            "Diet and food safety",
        ),
    ]


def counting(view: View) -> list[str]:
    """Return how people are counted, less what the section says elsewhere and the annex holds."""
    elsewhere = (SUPPLEMENT, *basis_notes(view.base))
    notes = view.appraisal.fed.notes
    return [n for n in notes if n not in elsewhere and not n.startswith(COUNTED_BY)]


def bound(view: View, ration: str = "") -> Holding:
    """Return what holds a ration's people down, the headline's unless named."""
    fed = view.appraisal.fed
    key = ration or fed.headline
    return holding(fed.rations[key], fed.full, view.appraisal.case.timeline)


def nutrient_words(name: str) -> str:
    """Name a nutrient as printed: 'Vitamin B12', 'Energy'."""
    words = nutrient_name(name)
    return words[:1].upper() + words[1:]


def _headline(view: View) -> str:
    """Say in a sentence or two who is fed and what binds."""
    fed, count = view.appraisal.fed, view.value("people_fed")
    basis = BASES[fed.rations[fed.headline].basis]
    start = f"{view.people(count)} people are fed, counted by {basis}. " if count > 0 else ""
    return f"{start}{plain(bound_words(bound(view)))}"


def _rations(view: View) -> Table:
    """Return people fed and cost by every ration."""
    f, fed = view.formats, view.appraisal.fed
    lines, marked = [], 0
    for number, (name, ration) in enumerate(fed.rations.items()):
        people, cost = f"people_fed.{name}", f"cost_per_person_day.{name}"
        marked = number if name == fed.headline else marked
        lines.append(
            (
                f"{ration.title} ({ration.basis.replace('_', ' ')}; {_binds(bound(view, name))})",
                f"{view.people(view.value(people))}{_range(view, people)}",
                f.amount(view.value(cost)),
            )
        )
    columns = (
        Column("Ration (months counted; what binds)", weight=3.4),
        Column("People fed", "P10–P90" if view.drawn.count else "", "right", weight=1.2),
        Column("Cost", f"{f.currency} a person-day", "right", weight=1.1),
    )
    note = (
        f"The headline stands in bold. The same food as the headline ration bought locally costs "
        f"{f.money(view.value('alternative_cost_person_day'))} a person-day. The cost of each ration "
        "carries the whole farm, so the rations' people are not to be added."
    )
    if any(view.value(f"people_fed.{name}") <= 0 for name in fed.rations):
        note += " A ration that feeds nobody has no cost a person-day."
    return Table(
        columns,
        tuple(lines),
        "People fed by each ration",
        note,
        wide=True,
        anchor="rations-table",
        strong_rows=(marked,),
    )


def _range(view: View, name: str) -> str:
    """Write P10–P90 of people in brackets; nothing without draws or without a spread."""
    spread = view.drawn.spreads.get(name)
    if spread is None or spread.low == spread.high:
        return ""
    return f" ({view.formats.span(spread.low, spread.high, view.people)})"


def _binds(found: Holding) -> str:
    """Name the part that binds and its months."""
    part = nutrient_name(found.part)
    return part if found.basis == "year_mean" else f"{part} {when(found)}"


def _months(view: View) -> Figure:
    """Draw the people that each part of the headline ration could feed, month by month."""
    fed, line = view.appraisal.fed, view.appraisal.case.timeline
    ration, counted = fed.rations[fed.headline], view.value("people_fed")
    year, parts = poorest_year(ration, fed.full)
    calendar = line.calendar[1:13]
    frame = pd.DataFrame(
        [
            {"month": int(month) + 1, "what": nutrient_words(part), "people": float(x)}
            for part, season in parts.items()
            for month, x in sorted(zip(calendar, season, strict=True))
        ]
    )
    return Figure(
        charts.people_by_month(
            frame, counted, view.formats, ration=view.ration, title=_months_title(view)
        ),
        "People that each part of the headline ration alone would feed by month in the poorest full "
        f"year (project year {year}), carry-over included; the dashed line is the number counted, "
        "the mean of all full years.",
    )


def _months_title(view: View) -> str:
    """State what the chart of months shows."""
    found = bound(view)
    part, mean = nutrient_words(found.part), view.people(found.mean)
    holds = "hold" if found.part in ("vegetables", "fish") else "holds"
    if found.basis == "year_mean":
        return f"{part} {holds} the year's mean at {mean}"
    if found.least <= 0:
        return f"{part} {holds} the count at nobody; the year's mean would hold {mean}"
    return (
        f"{part} {holds} the count at {view.people(found.least)}; the year's mean would hold {mean}"
    )


def _lifts(view: View) -> list[Block]:
    """Say what would feed more from the same harvest, worked out for this farm."""
    made = view.appraisal
    found = lifts(view.base, made.flows, made.case.timeline, made.design.bed_area)
    if not found:
        return [
            Paragraph(
                "Keeping fish or vegetables longer, or harvesting fish more evenly, would feed no more: "
                "the short months ask for more growing (light, heat, other crops) or for food from "
                "elsewhere."
            )
        ]
    items = (f"{lift.words}: **{view.people(lift.people)} people**." for lift in found)
    return [
        Paragraph("What would feed more by this ration, each change alone:"),
        Bullets((*items,)),
    ]


def _surplus(view: View) -> list[Block]:
    """Say what reaches people beyond the ration, and what it could do."""
    made = view.appraisal
    found, f = surplus(view.base, made.fed), view.formats
    species = made.design.species
    words = []
    for name, fish in (("vegetables", False), ("fish", True)):
        kg = found.total(fish, species)
        if kg < TOLD_KG:
            continue
        weight = "live weight" if fish else "fresh weight"
        mean, worst = found.portions.get(name, (0.0, 0.0))
        portions = (
            f", the ration's {name} for {view.people(mean)} more people on the mean day and "
            f"{view.people(worst)} in the leanest month, full years averaged"
            if mean > 0
            else ""
        )
        words.append(f"{f.number(kg, 2, 'kg')} of {name} a year ({weight}){portions}")
    if not words:
        return []
    alone = ""
    if found.more[0] > 0:
        title = made.fed.rations[found.alone].title
        alone = (
            f" By a ration of vegetables alone ({plain(title)}) the vegetables beyond it would feed "
            f"{view.people(found.more[0])} more on the mean day, {view.people(found.more[1])} in the leanest month."
        )
    return [
        Paragraph(
            f"Beyond the ration, feeding nobody in the count: {'; '.join(words)}.{alone} It may be sold "
            "elsewhere, given as a larger ration, or put by."
        )
    ]


def _coverage(view: View) -> list[Block]:
    """Return what the ration covers of the mean need, by month, and of each group's own need."""
    fed = view.appraisal.fed
    if view.value("people_fed") <= 0:
        return [Paragraph("Nobody is fed by the headline ration, so it covers nobody's need.")]
    frame = pd.DataFrame(
        [
            {
                "what": nutrient_words(name),
                "share": float(day_mean(share)[0, 0]),
                "low": float(share[0].min()),
                "high": float(share[0].max()),
            }
            for name, share in fed.coverage.items()
        ]
    )
    return [
        Figure(
            charts.diet(frame, view.formats, ration=view.ration),
            "Share of the population's mean daily requirement that the headline ration covers for the "
            "people fed: bar, mean of the year; line across its end, least and most of any month. "
            "Only what the ration gives is counted.",
        ),
        _groups(view),
        cover_words(view),
    ]


def _groups(view: View) -> Table:
    """Return the share of each group's own need that an equal ration covers."""
    f, cover = view.formats, view.appraisal.fed.group_coverage
    shown = [name for name in SHOWN_GROUPS if name in cover]
    others = [name for name in cover if name not in shown]
    rows = []
    for nutrient in view.appraisal.fed.coverage:
        cells = [f.share(_one(cover[group][nutrient])) for group in shown]
        span = [_one(cover[group][nutrient]) for group in others]
        rest = f.span(min(span), max(span), f.share) if span else ""
        rows.append((nutrient_words(nutrient), *cells, rest))
    columns = (
        Column("Nutrient", weight=1.4),
        *(Column(SHOWN_GROUPS[name], align="right") for name in shown),
        Column("Others", align="right", weight=1.3),
    )
    note = (
        "Each is given the same ration, mean of the year. Others are from the least to the most of the "
        "remaining groups of the population. A share above 100 % of one nutrient makes "
        "up for no other."
    )
    return Table(
        columns,
        tuple(rows),
        "Share of each group's own need",
        note,
        wide=True,
        anchor="groups-table",
    )


def _one(x: np.ndarray) -> float:
    """Return the first draw's number. [same unit]"""
    return float(x[0, 0])
