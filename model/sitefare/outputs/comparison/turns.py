"""What would change the order: which assumption alone puts another alternative first?"""

from sitefare.outputs.comparison.naming import listed
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.document import Block, Bullets, Column, Heading, Paragraph, Table, plain
from sitefare.outputs.drawing import lowered
from sitefare.outputs.proposal.view import row_value, row_words
from sitefare.questions.lines import Line
from sitefare.questions.turning import Against, Turn

#: Turns of one pair that the table holds.
MOST = 5

#: Turns that the first page names.
NAMED = 2


def turns(seen: Seen) -> list[Block]:
    """Return what would put each of the next alternatives first, as a list and a table."""
    heading = Heading(1, "What would change the order", "turning")
    if not seen.turned:
        words = "No alternative that is ranked stands behind the first with another figure."
        return [heading, Paragraph(words)]
    first = plain(seen.name(seen.turned[0].first))
    blocks: list[Block] = [
        heading,
        Paragraph(
            f"**{first}** is held against each of the next {len(seen.turned)}. An assumption counts where its "
            "1-in-10 low or high, all others as planned, puts the other first. One that both share moves in both, so that "
            "what only lifts or lowers both alike changes no order."
        ),
        Bullets(tuple(_item(seen, one) for one in seen.turned)),
    ]
    rows = [_row(seen, one, turn) for one in seen.turned for turn in one.turns[:MOST]]
    return [*blocks, _table(tuple(rows))] if rows else blocks


def _item(seen: Seen, one: Against) -> str:
    """Say in a sentence what puts one alternative before the first."""
    who = f"**{plain(seen.mark(one.other))}. {plain(seen.name(one.other))}**"
    if one.turns:
        named = [lowered(plain(row_words(turn.row))) for turn in one.turns[:MOST]]
        more = one.many - len(one.turns[:MOST])
        rest = f", and {more} more" if more > 0 else ""
        count = "One assumption" if one.many == 1 else f"{one.many} assumptions, each"
        return f"{who}: {count} alone, would put it first: {listed(named, MOST)}{rest}."
    if one.closest is None:
        return f"{who}: no uncertain assumption moves the two apart."
    return f"{who}: no assumption alone puts it first. {_nearest(seen, one)}"


def _nearest(seen: Seen, one: Against) -> str:
    """Say which assumption comes nearest, and how near."""
    if one.closest is None:
        return ""
    words = lowered(plain(row_words(one.closest)))
    return f"Nearest comes {words}, which closes {seen.share(one.closed)} of the gap."


def _table(rows: tuple[tuple[str, ...], ...]) -> Table:
    """Return the table of turns."""
    columns = (
        Column("Would come first", weight=2),
        Column("Assumption", weight=2.6),
        Column("Planned", align="right", weight=1.1),
        Column("Equal at", align="right", weight=1.1),
        Column("Moves", weight=1.2),
        Column("Chance of lying beyond", align="right", weight=1),
    )
    note = (
        "Beyond the value at which the two are equal the other comes first. * The two leap past each other there, "
        "as whole workers or machines do."
    )
    return Table(
        columns, rows, "Values at which the order turns", note, wide=True, anchor="turns-table"
    )


def _row(seen: Seen, one: Against, turn: Turn) -> tuple[str, ...]:
    """Write one turn."""
    owner = _owner(one, turn)
    moves = "both" if turn.shared else f"{seen.mark(owner)}. {seen.name(owner)}"
    jump = " *" if turn.jump else ""
    value = row_value(turn.row, turn.value, owner.currency, seen.formats)
    return (
        f"{seen.mark(one.other)}. {seen.name(one.other)}",
        row_words(turn.row),
        row_value(turn.row, turn.row.base, owner.currency, seen.formats),
        f"{value}{jump}",
        moves,
        seen.share(turn.beyond),
    )


def _owner(one: Against, turn: Turn) -> Line:
    """Return the alternative whose row a turn tells: the other's where it moves that alone."""
    return one.other if turn.moves == "other" else one.first


def change_words(seen: Seen) -> str:
    """Say on the first page what would change the first place; empty with nothing to say."""
    found = [(one, turn) for one in seen.turned for turn in one.turns]
    if not seen.turned:
        return ""
    if not found:
        nearest = max(seen.turned, key=lambda one: one.closed)
        if nearest.closest is None:
            return "No single assumption does, within its range."
        return (
            "No single assumption within its range puts any of the next "
            f"{len(seen.turned)} first. {_nearest(seen, nearest)[:-1]} to {plain(seen.name(nearest.other))}."
        )
    likely = sorted(found, key=lambda pair: -pair[1].beyond)[:NAMED]
    parts = [_said(seen, one, turn) for one, turn in likely]
    total = sum(one.many for one in seen.turned)
    rest = f" {total} such assumptions stand in [](#turns-table)." if total > len(parts) else ""
    return f"{'; '.join(parts)}.{rest}"


def _said(seen: Seen, one: Against, turn: Turn) -> str:
    """Say in one clause what one assumption would do."""
    owner = _owner(one, turn)
    value, planned = (
        plain(row_value(turn.row, x, owner.currency, seen.formats))
        for x in (turn.value, turn.row.base)
    )
    side = "above" if turn.rises else "below"
    where = "" if turn.shared else f" at {plain(owner.place)}"
    return (
        f"{plain(row_words(turn.row))}{where} {side} {value} (planned {planned}) would put "
        f"{plain(seen.name(one.other))} first, a chance of {seen.share(turn.beyond)}"
    )
