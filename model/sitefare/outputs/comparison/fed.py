"""How many would each alternative feed by every ration, and at what cost?"""

import math

from sitefare.outputs.comparison.measure import people
from sitefare.outputs.comparison.naming import listed
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
        *_cheapest(seen, letters),
        Table(columns, rows, "People fed and cost by ration", note, wide=True,
              anchor="rations-table"),
    ]  # fmt: skip


def _cheapest(seen: Seen, letters: dict[str, str]) -> list[Block]:
    """Say which alternative is cheapest a person-day by each ration: whether the choice hangs on it."""
    by: dict[str, list[str]] = {}
    for name, letter in letters.items():
        costs = {
            line.name: line.rations[name].cost_day / line.exchange_rate
            for line in seen.compared.ranked
            if name in line.rations and math.isfinite(line.rations[name].cost_day)
        }
        if costs:
            best = min(costs, key=lambda key: (costs[key], key))
            by.setdefault(seen.names[best], []).append(letter)
    if not by:
        return []
    told = "; ".join(
        f"**{plain(name)}** by {listed(which, len(which))}" for name, which in by.items()
    )
    hangs = (
        "One alternative is cheapest whichever ration counts"
        if len(by) == 1
        else "Which alternative is cheapest hangs on the ration"
    )
    whole = len(seen.compared.ranked) == len(seen.compared.lines)
    which = "" if whole else " of those ranked"
    return [Paragraph(f"{hangs}. Least cost of a person-day{which}: {told}.")]


def _cell(seen: Seen, line: Line, name: str) -> str:
    """Write people and cost of one ration; an en dash where there is none."""
    ration = line.rations.get(name)
    if ration is None:
        return "–"
    cost = ration.cost_day / line.exchange_rate
    told = seen.formats.amount(cost) if math.isfinite(cost) else "–"
    return f"{people(ration.people, seen.formats)}; {told}"
