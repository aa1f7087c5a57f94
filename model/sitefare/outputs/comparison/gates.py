"""Which gates are open, asked for, or shut, and why?"""

from sitefare.outputs.comparison.naming import listed, place_of
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Column, Heading, Paragraph, Table, plain
from sitefare.outputs.drawing import lowered
from sitefare.questions.gates import Gate
from sitefare.questions.lines import Line

#: Columns of alternatives that a table of gates holds; more are told gate by gate.
SIDE_BY_SIDE = 4

Groups = list[tuple[list[Line], tuple[Gate, ...]]]


def gates(seen: Seen) -> list[Block]:
    """Return every gate: side by side for a few, else those that are not open."""
    groups = grouped(seen)
    heading = Heading(1, "Gates", "gates")
    first = Paragraph(
        "A gate is a condition that money cannot mend later: a document held, or a limit that the model "
        "checks. One that is asked for does not bar a rank; one that is shut does."
    )
    if len(groups) <= SIDE_BY_SIDE:
        return [heading, first, _matrix(seen, groups)]
    return [heading, first, _list(seen, groups)]


def grouped(seen: Seen) -> Groups:
    """Gather alternatives whose gates stand alike, in order."""
    groups: dict[tuple[Gate, ...], list[Line]] = {}
    for one in seen.shown:
        groups.setdefault(one.line.gates, []).append(one.line)
    return [(lines, found) for found, lines in groups.items()]


def who(seen: Seen, lines: list[Line]) -> str:
    """Name alternatives that stand alike: by the place where it says which, else one by one."""
    if len(lines) == len(seen.all):
        return "all"
    places = {line.place for line in lines}
    if len(places) == 1:
        place = next(iter(places))
        of_place = [one.line for one in seen.all if one.line.place == place]
        if len(of_place) == len(lines):
            return place_of(lines[0])
    return listed([seen.name(line) for line in lines])


def _matrix(seen: Seen, groups: Groups) -> Table:
    """Return gates down and alternatives across."""
    titles = list(dict.fromkeys(gate.title for _, found in groups for gate in found))
    states = [{gate.title: gate for gate in found} for _, found in groups]
    rows = tuple((title, *(_state(one.get(title)) for one in states)) for title in titles)
    columns = (
        Column("Gate", weight=1.6),
        *(Column(who(seen, lines), weight=1.5) for lines, _ in groups),
    )
    return Table(columns, rows, "Gates: open, asked for, or shut", wide=True, anchor="gates-table")


def _state(gate: Gate | None) -> str:
    """Write a gate's state with its reason."""
    if gate is None:
        return "–"
    return gate.state if gate.why in ("", gate.state) else f"{gate.state}: {gate.why}"


def _list(seen: Seen, groups: Groups) -> Table | Paragraph:
    """Return the gates that are not open, the shut ones first, and where."""
    found: dict[Gate, list[Line]] = {}
    for lines, own in groups:
        for gate in own:
            if gate.state != "open":
                found.setdefault(gate, []).extend(lines)
    order = sorted(found, key=lambda gate: (gate.state != "shut", gate.title))
    rows = tuple((gate.title, gate.state, gate.why, who(seen, found[gate])) for gate in order)
    if not rows:
        return Paragraph("Every gate of every alternative shown is open.")
    columns = (
        Column("Gate", weight=1.8),
        Column("State", weight=0.8),
        Column("Why", weight=2),
        Column("Where", weight=2.4),
    )
    note = "Gates that do not stand here are open."
    return Table(columns, rows, "Gates that are not open", note, wide=True, anchor="gates-table")


def reasons(seen: Seen) -> str:
    """Say in words which alternatives are not ranked, and for which gate; empty where all are."""
    shut: dict[tuple[str, ...], list[Line]] = {}
    for one in seen.all:
        if one.line.shut:
            shut.setdefault(tuple(g.title for g in one.line.shut), []).append(one.line)
    parts = [
        f"{plain(who(seen, lines))} (shut: {plain(listed([lowered(t) for t in titles]))})"
        for titles, lines in shut.items()
    ]
    return "; ".join(parts)
