"""How many would each alternative feed by every ration, and at what cost?"""

import math

from sitefare.outputs.comparison.measure import people
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Column, Heading, Paragraph, Table, plain
from sitefare.questions.lines import Line, RationLine


def rations(seen: Seen) -> list[Block]:
    """Return people fed and cost by every ration, alternatives down, rations across."""
    found: dict[str, RationLine] = {}
    for one in seen.shown:
        found = {**one.line.rations, **found}
    letters = {name: chr(ord("A") + n) for n, name in enumerate(found)}
    columns = (
        Column("Alternative", weight=2.8),
        *(Column(letter, "people; USD", "right", weight=1.1) for letter in letters.values()),
    )
    rows = tuple(
        (
            seen.marked(one.line),
            *(_cell(seen, one.line, name) for name in found),
        )
        for one in seen.shown
    )
    key = "; ".join(
        f"**{letters[name]}** {plain(ration.title)} ({ration.basis.replace('_', ' ')})"
        for name, ration in found.items()
    )
    note = (
        "People, and US dollars a person-day. The cost of each ration carries the whole farm. A ration that "
        "feeds nobody in some month of a full year, and is counted by the worst month, has no cost."
    )
    return [
        Heading(1, "People fed by each ration", "rations"),
        Paragraph(f"Rations, with the months that count: {key}."),
        Table(columns, rows, "People fed and cost by ration", note, wide=True,
              anchor="rations-table"),
    ]  # fmt: skip


def _cell(seen: Seen, line: Line, name: str) -> str:
    """Write people and cost of one ration; an en dash where there is none."""
    ration = line.rations.get(name)
    if ration is None:
        return "–"
    cost = ration.cost_day / line.exchange_rate
    told = seen.formats.amount(cost) if math.isfinite(cost) else "–"
    return f"{people(ration.people, seen.formats)}; {told}"
