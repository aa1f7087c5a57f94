"""The plan by phase with who and milestones, and what must be bought first."""

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from sitefare.assumptions.declaration import build_all
from sitefare.assumptions.steps import StepInputs
from sitefare.money.result import CapitalItem
from sitefare.outputs import charts
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table
from sitefare.outputs.lines import printed_line
from sitefare.outputs.proposal.view import View, printed_unit

#: Items of the procurement table, and quotes that each must have.
LARGEST, QUOTES = 10, 2

#: Moments that the chart marks, and what has come about then.
MILESTONES = {
    "built": "Farm built",
    "first_crop": "First crop",
    "first_fish": "First fish sold",
    "full": "Full production",
}

#: Months that the papers take at least, and that hand-over takes. [month]
PAPERS, HANDING = 3, 6


def moments(view: View) -> dict[str, int]:
    """Return the month of each moment that steps lie between, from the appraisal's own flows."""
    timeline, flows = view.appraisal.case.timeline, view.appraisal.flows
    build = max(timeline.construction, 1)
    crop = int(np.argmax(sum(x[0] for x in flows.crop_kg.values()) > 0))
    fish = int(np.argmax(flows.fish_live_kg[0] > 0))
    stocked = int(np.argmax(flows.fingerlings[0] > 0))
    full = 12 * (view.full.start - 1) + 1
    return {
        "decision": 0,
        "prepared": min(PAPERS, build),
        "third_of_building": build // 3,
        "two_thirds_of_building": max(build * 2 // 3, 1),
        "last_of_building": max(build - 1, 0),
        "built": build,
        "stocked": max(stocked, build),
        "first_crop": max(crop, build),
        "first_fish": max(fish, stocked, build),
        "full": max(full, crop),
        "handed_over": max(full, crop) + HANDING,
    }


def plan(view: View) -> list[Block]:
    """Return the plan by quarter, the steps, and what is bought first."""
    timeline, when = view.appraisal.case.timeline, moments(view)
    steps = list(build_all(StepInputs, view.base).values())
    tasks = [(s.phase, s.title, when[s.starts], max(when[s.ends], when[s.starts])) for s in steps]
    frame = pd.DataFrame(
        [*((*task, "", False) for task in tasks), *_milestones(steps, when)],
        columns=["phase", "task", "first", "last", "after", "milestone"],
    )
    lines = tuple(
        (
            step.phase,
            step.title,
            f"{timeline.label(first)} to {timeline.label(last)}",
            step.who,
            step.milestone,
        )
        for step, (_, _, first, last) in zip(steps, tasks, strict=True)
    )
    columns = (
        Column("Phase", weight=0.8),
        Column("Step", weight=2.4),
        Column("When", weight=1.6),
        Column("Who", weight=1.3),
        Column("Done when", weight=3),
    )
    caption = "Steps, who takes them, and what shows that they are done"
    return [
        Heading(1, "Plan", "plan"),
        Figure(
            charts.plan(frame, timeline.label(0), view.formats),
            "Steps under their phases from the appraisal date to hand-over; a diamond is a milestone, a thin "
            "line leads from a step to what waits for its end.",
        ),
        Table(columns, lines, caption, wide=True, anchor="plan-table"),
        Heading(2, "What is bought first", "procurement"),
        *_procurement(view),
    ]


def _milestones(
    steps: Sequence[StepInputs], when: Mapping[str, int]
) -> list[tuple[str, str, int, int, str, bool]]:
    """Return the milestones, each at the end of the last step that leads to it."""
    found = []
    for moment, title in MILESTONES.items():
        leading = [step for step in steps if step.ends == moment]
        if leading:
            last, month = leading[-1], when[moment]
            found.append((last.phase, title, month, month, last.title, True))
    return found


def bought(view: View) -> list[CapitalItem]:
    """Return what is bought of the bill, the dearest first; reserves and fees are no purchase."""
    items = view.appraisal.finances.capital_items
    priced = [item for item in items if _price(item) in view.appraisal.case.rows]
    return sorted(priced, key=lambda item: -item.landed_cost)


def _price(item: CapitalItem) -> str:
    """Name the row of an item's price."""
    return f"bill.{item.key}.price"


def _procurement(view: View) -> list[Block]:
    """Return the largest items of the bill, with their quotes held or missing."""
    f, case = view.formats, view.appraisal.case
    largest = bought(view)[:LARGEST]
    rows, quoted = [], 0
    for item in largest:
        row = case.rows[_price(item)]
        has = row.basis == "quote"
        quoted += has
        rows.append(
            (
                item.item,
                printed_line(item.category),
                f"{f.number(item.quantity)} {printed_unit(item.per)}",
                item.landed_cost,
                f.share(item.share),
                item.origin,
                "quoted" if has else f"missing; price is {row.basis}",
            )
        )
    paper = view.evidence.items.get("quotes")
    state = paper.status if paper else "missing"
    part = f.share(sum(item.share for item in largest))
    columns = (
        Column("Item", weight=2.6),
        Column("Part", weight=1.4),
        Column("Quantity", align="right", weight=1.1),
        Column("Cost", f.currency, "right", f.amount, weight=1),
        Column("Share", "of all", "right", weight=0.7),
        Column("Origin", weight=0.9),
        Column("Quotes", weight=1.7),
    )
    return [
        Paragraph(
            f"The ten largest items make {part} of the capital cost; {quoted or 'none'} of them stand on a quote, "
            f"and {'two' if QUOTES == 2 else QUOTES} quotes for each are {state}. Imported items with long "  # noqa: PLR2004
            "delivery are ordered first, against the design that the engineer has signed."
        ),
        Table(
            columns,
            tuple(rows),
            f"The ten largest items, delivered and installed, {view.price_date} prices",
            wide=True,
            anchor="procurement-table",
        ),
    ]
