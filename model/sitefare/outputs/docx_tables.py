"""How do tables and cards fit the page in Word? Widths are reckoned from the words in them.

Word does not lay a table out by itself in every program that opens the file, so each column gets
a width: the longest word of every column fits where the page allows it, and what is left goes to
the columns with long text.
"""

import math
import re
from dataclasses import dataclass

from sitefare.outputs.document import Facts, Placed, Table
from sitefare.outputs.docx_reference import CARDS, TABLE
from sitefare.outputs.docx_text import (
    Writing,
    attribute,
    bookmarked,
    inline,
    link,
    paragraph,
    run,
    sequence,
    shown,
    strong,
)

#: Sizes of table text, ordinary and small, as in the house style. [pt]
ORDINARY, SMALL = 8.5, 7.0

#: Space in a cell beside its words, and a little for machines without our font. [twip]
PADDING = 140 + 30

#: Widths of signs as shares of the size, above those of the font named in theme.
NARROW, MIDDLE, WIDE = 0.33, 0.6, 0.95
NARROW_SIGNS = frozenset("ijlIftr.,:;'|!()[] \u00a0·-’‘")
WIDE_SIGNS = frozenset("mwMW%@—…ODGQHNU")

#: How much wider strong text is.
BOLDER = 1.08

#: Signs without a space from which a word may break after its dots and underscores.
UNBROKEN = 14

#: A table of so many columns whose rows take so many lines upright goes on a page turned round.
TURNED_COLUMNS, TURNED_LINES, TURNED_ROWS = 7, 2.0, 4

#: Cards side by side.
ABREAST = 3


@dataclass(frozen=True)
class Demand:
    """What a column asks: its longest word, its longest cell, and what its cells usually take.

    Widths with padding, but for `usual`. [twip]
    """

    least: int
    whole: int
    usual: int


@dataclass(frozen=True)
class Fit:
    """Widths of a table's columns and what its text is set in."""

    widths: tuple[int, ...]
    small: bool
    lines: float


def fit(table: Table, total: int) -> Fit:
    """Return how a table stands on a page whose text is `total` wide. [twip]"""
    for small in (table.wide, True):
        size = SMALL if small else ORDINARY
        columns = [_demand(table, number, size) for number in range(len(table.columns))]
        if sum(column.least for column in columns) <= total:
            break
    widths = _shared(columns, total)
    rows = [
        max(
            -(-_width(table.cell(r, c), size) // max(widths[c] - PADDING, 1))
            for c in range(len(widths))
        )
        for r in range(len(table.rows))
    ]
    return Fit(widths, small, sum(rows) / max(len(rows), 1))


def turned(table: Table, total: int) -> bool:
    """Say whether a table reads better on a page turned round."""
    if len(table.columns) < TURNED_COLUMNS or len(table.rows) < TURNED_ROWS:
        return False
    return fit(table, total).lines > TURNED_LINES


def data_table(
    table: Table, placed: Placed, writing: Writing, total: int, *, new_page: bool = False
) -> str:
    """Return a table with its caption over it and its note under it, `total` wide. [twip]"""
    fitted = fit(table, total)
    number = sequence(writing.words["table"], "Table", placed.number, writing)
    caption = bookmarked(number, placed.anchor, writing) + inline(table.caption, writing)
    columns = "".join(f'<w:gridCol w:w="{width}"/>' for width in fitted.widths)
    rows = "".join(_row(table, index, fitted, writing) for index in range(len(table.rows)))
    title = f"{writing.words['table']} {placed.number}. {shown(table.caption, writing)}"
    parts = [
        paragraph(caption, "Table Caption", writing, new_page=new_page),
        f"<w:tbl>{_properties(TABLE, total, writing, title)}<w:tblGrid>{columns}</w:tblGrid>"
        f"{_head(table, fitted, writing)}{rows}</w:tbl>",
    ]
    if table.note:
        parts.append(paragraph(inline(table.note, writing), "Small Print", writing, before=80))
    return "".join(parts)


def cards(facts: Facts, writing: Writing, total: int) -> str:
    """Return cards side by side, as a table without a head."""
    width = total // ABREAST
    rows = []
    for start in range(0, len(facts.facts), ABREAST):
        cells = []
        for index in range(start, start + ABREAST):
            inner = (
                _card(facts, index, writing)
                if index < len(facts.facts)
                else paragraph("", "Card Note", writing)
            )
            cells.append(
                f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/></w:tcPr>{inner}</w:tc>'
            )
        rows.append(f"<w:tr><w:trPr><w:cantSplit/></w:trPr>{''.join(cells)}</w:tr>")
    columns = f'<w:gridCol w:w="{width}"/>' * ABREAST
    title = "; ".join(fact.label for fact in facts.facts)
    properties = _properties(CARDS, width * ABREAST, writing, title, head=False)
    return f"<w:tbl>{properties}<w:tblGrid>{columns}</w:tblGrid>{''.join(rows)}</w:tbl>"


def _card(facts: Facts, index: int, writing: Writing) -> str:
    """Return the paragraphs of one card."""
    fact = facts.facts[index]
    value = link(fact.value, fact.target, writing, "") if fact.target else run(fact.value)
    lines = [
        paragraph(run(fact.label), "Card Label", writing),
        paragraph(
            value, "Card Lead" if index < facts.lead else "Card Value", writing, keep=bool(fact.range)
        ),
    ]
    if fact.range:
        lines.append(paragraph(run(fact.range), "Card Note", writing))
    if fact.note:
        lines.append(paragraph(run(fact.note, writing.styles["Unit"]), "Card Note", writing))
    return "".join(lines)


def _properties(style: str, total: int, writing: Writing, title: str, *, head: bool = True) -> str:
    """Return a table's properties; the title tells what it holds to those who cannot see it."""
    visual = "<w:bidiVisual/>" if writing.right_to_left else ""
    flag = int(head)
    return (
        f'<w:tblPr><w:tblStyle w:val="{writing.styles[style]}"/>{visual}<w:tblW w:w="{total}" w:type="dxa"/>'
        f'<w:tblLayout w:type="fixed"/><w:tblLook w:val="{0x0600 + 0x20 * flag + 0x80 * flag:04X}" '
        f'w:firstRow="{flag}" w:lastRow="0" w:firstColumn="{flag}" w:lastColumn="0" w:noHBand="1" '
        f'w:noVBand="1"/><w:tblCaption w:val={attribute(title)}/></w:tblPr>'
    )


def _head(table: Table, fitted: Fit, writing: Writing) -> str:
    """Return the head row, which stands again on every page."""
    style = "Table Head Small" if fitted.small else "Table Head"
    cells = []
    for column, width in zip(table.columns, fitted.widths, strict=True):
        words = run(column.header)
        if column.unit:
            unit = run(column.unit, writing.styles["Unit"])
            words += f"<w:r><w:br/></w:r>{unit}"
        cells.append(_cell(paragraph(words, style, writing, align=_align(column.align)), width))
    return f"<w:tr><w:trPr><w:cantSplit/><w:tblHeader/></w:trPr>{''.join(cells)}</w:tr>"


def _row(table: Table, index: int, fitted: Fit, writing: Writing) -> str:
    """Return one row; its anchor, if any, stands in its first cell."""
    style = "Table Text Small" if fitted.small else "Table Text"
    bold = index in table.strong_rows or index in table.head_rows
    keep = index in table.head_rows
    cells = []
    for number, column in enumerate(table.columns):
        text = table.cell(index, number)
        if number in table.rich:
            words = inline(text, writing, bold=bold)
        else:
            words = (strong if bold else run)(_loose(text))
        if number == 0 and table.row_anchors:
            words = bookmarked(words, table.row_anchors[index], writing)
        inner = paragraph(words, style, writing, keep=keep, align=_align(column.align))
        cells.append(_cell(inner, fitted.widths[number]))
    return f"<w:tr><w:trPr><w:cantSplit/></w:trPr>{''.join(cells)}</w:tr>"


def _cell(inner: str, width: int) -> str:
    return f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/></w:tcPr>{inner}</w:tc>'


def _align(side: str) -> str:
    return "right" if side == "right" else ""


def _demand(table: Table, number: int, size: float) -> Demand:
    """Return what one column asks of the page. [twip]"""
    column = table.columns[number]
    texts = [table.cell(row, number) for row in range(len(table.rows))]
    heads = [w for text in (column.header, column.unit) for w in _pieces(text)]
    words = {w for text in texts for w in _pieces(_loose(text))}
    longest = max(
        max((_width(w, size) for w in words), default=0),
        max((_width(w, size * BOLDER) for w in heads), default=0),
    )
    whole = [_width(text, size) for text in texts] or [0]
    usual = math.sqrt(sum(width**2 for width in whole) / len(whole))
    return Demand(longest + PADDING, max(longest, max(whole)) + PADDING, round(usual))


def _shared(columns: list[Demand], total: int) -> tuple[int, ...]:
    """Share a width among columns; the shares sum to it exactly. [twip]"""
    least, whole = (sum(getattr(c, kind) for c in columns) for kind in ("least", "whole"))
    usual = [max(c.usual + PADDING - c.least, 1) for c in columns]
    if least >= total:
        shares = [c.least * total / least for c in columns]
    elif whole <= total:
        shares = [c.whole * total / whole for c in columns]
    else:
        shares = [
            c.least + (total - least) * asked / sum(usual)
            for c, asked in zip(columns, usual, strict=True)
        ]
    edges = [round(sum(shares[: n + 1])) for n in range(len(shares))]
    return tuple(after - before for before, after in zip([0, *edges], edges, strict=False))


def _pieces(text: str) -> list[str]:
    """Return what stands between places where a line may break."""
    return [piece for piece in re.split("[ \n\t\u200b]+|(?<=[-–])", text) if piece]


def _width(text: str, size: float) -> int:
    """Return the width of text, a little above what the font takes. [twip]"""
    ems = sum(
        NARROW if sign in NARROW_SIGNS else WIDE if sign in WIDE_SIGNS else MIDDLE for sign in text
    )
    return round(20 * size * ems)


def _loose(text: str) -> str:
    """Let long dotted names break after their dots and underscores."""
    return re.sub(rf"\S{{{UNBROKEN},}}", lambda m: re.sub(r"([._/])", "\\1\u200b", m[0]), text)

