"""Is it reasonable, risks and cautions, the plan, the evidence, the annexes."""

import numpy as np
import pandas as pd

from sitefare.assumptions.declaration import build, build_all
from sitefare.farm.climate import PlaceInputs
from sitefare.farm.enclosure import EnclosureInputs
from sitefare.farm.events import EventInputs, effective_losses
from sitefare.outputs import charts
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Column,
    Figure,
    Heading,
    PageBreak,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.proposal.gathered import gathered, printed
from sitefare.outputs.proposal.made import letters, row_anchor
from sitefare.outputs.proposal.view import View, printed_unit
from sitefare.outputs.register import register


def reasonableness(view: View) -> list[Block]:
    """Return the table of figures against published bands."""
    f = view.formats
    found = view.bands
    lines = tuple(
        (
            b.title,
            f.number(b.figure, 2, b.unit) if b.applies else "does not apply",
            b.band,
            b.verdict,
            b.why,
        )
        for b in found
    )
    outside = [b for b in found if b.outside]
    words = (
        f"Outside their band: {len(outside)} of {len(found)} figures; each is a reason to look again."
        if outside
        else "No figure that applies lies outside its band."
    )
    columns = (
        Column("Figure", weight=2.2),
        Column("Here", align="right", weight=1.5),
        Column("Band", weight=1.8),
        Column("Verdict", weight=0.9),
        Column("Why it matters", weight=3),
    )
    return [
        Heading(1, "Is it reasonable?", "reasonableness"),
        Paragraph(words),
        Table(
            columns,
            lines,
            "Figures against bands of published farms and of judgement",
            anchor="bands-table",
        ),
    ]


def _losses(view: View) -> dict[str, float]:
    """Return by event the share of a year's output it takes at this place and house. [1]"""
    house = build(EnclosureInputs, view.base, view.appraisal.design.enclosure)
    gust = build(PlaceInputs, view.base).design_wind
    return effective_losses(view.base, gust, house.storm_share)


def risks(view: View) -> list[Block]:
    """Return risks with their yearly chance, and the cautions."""
    f = view.formats
    hits = {"fish": "fish", "crops": "crops", "both": "fish and crops"}
    lost = _losses(view)
    lines = tuple(
        (
            str(event.title),
            f.share(float(event.chance[0, 0])),
            hits[event.hits],
            f.share(lost[key]),
        )
        for key, event in build_all(EventInputs, view.base).items()
    )
    columns = (
        Column("Event"),
        Column("Chance a year", align="right"),
        Column("Takes"),
        Column("Lost", "of a year's output", "right"),
    )
    return [
        Heading(1, "Risks and cautions", "risks"),
        Paragraph(
            "The base case carries each event's expected loss; the draws let it happen or not, year by year."
        ),
        *_events(view, lost),
        Table(columns, lines, "Events that the appraisal carries", anchor="events-table"),
        Caution(
            "This appraisal is not investment advice. Get quotes, a site survey and a licensed engineer "
            "before building. Local codes and licensed practice stand above this document.",
            "caution",
            "Before money is spent",
        ),
        Bullets(
            (
                "**Life support.** Fish can die within minutes without air; see [the farm](#farm).",
                "**Species.** The fish may be restricted here: confirm the permit with the local authority before any fingerling is bought.",
                "**Food safety.** Produce from fish water needs a food-safety plan, hand-washing, wash water of drinking quality and monthly E. coli tests.",
                "**Discharge and sludge.** Both need a route and, in most places, a permit.",
                "**People.** Fish need care 365 days a year; two trained people are the least, and somebody on call.",
            )
        ),
    ]


def _events(view: View, lost: dict[str, float]) -> list[Block]:
    """Draw what events take in an average year; nothing where there is none."""
    hits = {"fish": "fish", "crops": "crops", "both": "fish and crops"}
    frame = pd.DataFrame(
        [
            (str(event.title), float(event.chance[0, 0]), lost[key], hits[event.hits])
            for key, event in build_all(EventInputs, view.base).items()
        ],
        columns=["event", "chance", "lost", "takes"],
    )
    if frame.empty:
        return []
    words = (
        "Chance in a year times the share of the year's output taken when the event comes. A rare "
        "event that takes much weighs little here and can still end a farm."
    )
    return [Figure(charts.events(frame, view.formats), words, anchor="events-figure")]


def plan(view: View) -> list[Block]:
    """Return the plan by quarter."""
    timeline, flows = view.appraisal.case.timeline, view.appraisal.flows
    build = max(timeline.construction, 1)
    crop = int(np.argmax(sum(x[0] for x in flows.crop_kg.values()) > 0))
    fish = int(np.argmax(flows.fish_live_kg[0] > 0))
    stocked = int(np.argmax(flows.fingerlings[0] > 0))
    full = 12 * (view.full.start - 1) + 1
    permits, works = "Permits, tenure, water test, quotes", "Site works and structure"
    fitting, air = "Beds, tanks, water and power", "Commission air, back-up and alarms"
    filters, learning = "Biofilter matures, staff trained", "Learning, to full production"
    stocking = "First fish stocked to first fish sold"
    planting, reached = "First planting to first crop", max(full, crop)
    tasks = [
        ("Prepare", permits, 0, min(3, build), "", False),
        ("Build", works, 0, max(build * 2 // 3, 1), "", False),
        ("Build", fitting, build // 3, build, "", False),
        ("Build", air, max(build - 1, 0), build, "", False),
        ("Build", "Farm built", build, build, air, True),
        ("Start", filters, build, max(stocked, build), "", False),
        ("Start", stocking, stocked, max(fish, stocked), "", False),
        ("Start", planting, build, max(crop, build), "", False),
        ("Start", "First crop", max(crop, build), max(crop, build), planting, True),
        ("Start", "First fish sold", max(fish, stocked), max(fish, stocked), stocking, True),
        ("Grow", learning, min(crop + 1, reached), reached, "First crop", False),
        ("Grow", "Full production", reached, reached, learning, True),
        ("Hand over", "Owner runs alone, with support on call", full, full + 6, "", False),
    ]
    frame = pd.DataFrame(tasks, columns=["phase", "task", "first", "last", "after", "milestone"])
    lines = tuple(
        (phase, task, timeline.label(first), timeline.label(last))
        for phase, task, first, last, _, milestone in tasks
        if not milestone
    )
    columns = (
        Column("Phase", weight=1),
        Column("Task", weight=3),
        Column("From", weight=1),
        Column("To", weight=1),
    )
    return [
        Heading(1, "Plan", "plan"),
        Figure(
            charts.plan(frame, timeline.label(0), view.formats),
            "Tasks under their phases from the appraisal date to hand-over; a diamond is a milestone, a thin "
            "line leads from a task to what waits for its end.",
        ),
        Table(columns, lines, "Tasks and months", anchor="plan-table"),
    ]


def proof(view: View) -> list[Block]:
    """Return the evidence annex."""
    lines = tuple(
        (
            item.supports,
            item.title,
            item.status,
            item.document or "–",
            item.date or "–",
            item.expiry or "–",
        )
        for item in view.evidence.items.values()
    )
    columns = (
        Column("Headline assumption", weight=2),
        Column("Document", weight=2),
        Column("Status", weight=1),
        Column("Reference", weight=1.6),
        Column("Date", weight=0.9),
        Column("Expiry", weight=0.9),
    )
    return [
        PageBreak(),
        Heading(1, "Annex: evidence", "evidence"),
        *_lapsing(view),
        Table(columns, lines, "Evidence held, requested and missing", anchor="evidence-table"),
    ]


def _lapsing(view: View) -> list[Block]:
    """Warn of documents that lapse before the farm runs."""
    timeline = view.appraisal.case.timeline
    opening = timeline.label(min(timeline.construction + 1, timeline.months))
    titles = view.evidence.lapsed_before(opening)
    if not titles:
        return []
    words = "; ".join(plain(title) for title in titles)
    return [
        Caution(
            f"Held but lapsing before the farm opens in {opening}: {words}.", "caution", "Renew"
        )
    ]


def bill(view: View) -> list[Block]:
    """Return the bill of quantities."""
    f = view.formats
    lines = tuple(
        (
            item.item + (" (essential)" if item.essential else ""),
            f.number(item.quantity),
            printed_unit(item.per),
            item.unit_price,
            item.landed_cost,
            f.number(item.life) if item.life else "–",
            item.origin,
        )
        for item in view.appraisal.finances.capital_items
        if item.landed_cost != 0
    )
    columns = (
        Column("Item"),
        Column("Quantity", align="right"),
        Column("Unit"),
        Column("Unit cost", f.currency, "right", f.amount),
        Column("Cost", f.currency, "right", f.amount),
        Column("Life", "years", "right"),
        Column("Origin"),
    )
    return [
        Heading(1, "Annex: bill of quantities", "bill"),
        Table(
            columns,
            lines,
            f"Bill of quantities, delivered and installed, {view.price_date} prices",
            "Essential items cannot be removed by a budget, a scenario or a setting.",
            wide=True,
            anchor="bill-table",
        ),
    ]


def months_words(months: str) -> str:
    """Shorten twelve months to their least and greatest; words stay as they are."""
    parts = months.split()
    if len(parts) != 24 or parts[0] != "jan":  # noqa: PLR2004
        return months
    numbers = sorted(parts[1::2], key=float)
    return f"{numbers[0]} to {numbers[-1]} by month"


def assumptions(view: View) -> list[Block]:
    """Return the register and its sources."""
    case = view.appraisal.case
    entries = [e for e in register(case) if printed(e.name)]
    moves = letters(view)
    lines = tuple(
        (name, low, months_words(base), high, printed_unit(unit), *rest, moves.get(name, ""))
        for name, low, base, high, unit, *rest in gathered(entries)
    )
    columns = (
        Column("Name", weight=3),
        Column("Low", align="right", weight=1),
        Column("Base", align="right", weight=1.6),
        Column("High", align="right", weight=1),
        Column("Unit", weight=1.3),
        Column("Layer", weight=1.5),
        Column("Source", weight=2.2),
        Column("Basis", weight=1.2),
        Column("Moves", weight=0.9),
    )
    used = sorted({e.source for e in entries})
    sources = tuple(
        (key, case.library.sources[key].citation, case.library.sources[key].status) for key in used
    )
    judged = sum(e.basis in ("judgement", "invented") for e in entries)
    return [
        Heading(1, "Annex: register of assumptions", "register"),
        Paragraph(
            f"{len(entries)} values stand here in {len(lines)} lines, of an item table the one with a range; fixed "
            f"values of one table and source share a line, from least to greatest; {judged} of them are judgement or invented. Prices stand in "
            "the currency and at the date of their source; the appraisal moves them to "
            f"{view.price_date}. The rest stand in the tables behind this document, where any of them can be changed."
        ),
        Table(
            columns,
            lines,
            "Every value in force, with the layer and source that gave it",
            "Moves: the letters of the [headline figures](#made) that the row moves most.",
            wide=True,
            sortable=True,
            anchor="register-table",
            row_anchors=tuple(
                row_anchor(n) if low and high else "" for n, low, _, high, *_ in lines
            ),
            rich=(len(columns) - 1,),
        ),
        Heading(2, "Sources", "sources"),
        Table(
            (Column("Key"), Column("Citation"), Column("How well known")),
            sources,
            "Sources cited in the register",
            anchor="citations-table",
        ),
    ]
