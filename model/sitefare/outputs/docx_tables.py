"""How do tables and cards fit the page in Word? Widths are reckoned from the words in them.

Word does not lay a table out by itself in every program that opens the file, so each column gets
a width: the longest word of every column fits where the page allows it, and what is left goes to
the columns with long text.
"""

import re
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
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
    said,
    sequence,
    shown,
    strong,
    tongued,
)

#: Sizes of table text, ordinary and small, as in the house style. [pt]
ORDINARY, SMALL = 8.5, 7.0

#: Space in a cell beside its words, and a little for machines without our font. [twip]
PADDING = 180 + 30

#: Widths of signs as shares of the size, above those of the font named in theme.
NARROW, MIDDLE, WIDE = 0.36, 0.61, 0.93
NARROW_SIGNS = frozenset("ijlIft.,:;'|!()[] \u00a0·-’‘J")
WIDE_SIGNS = frozenset("mwMW%@—…ODGQHNU")

#: How much wider strong text is.
BOLDER = 1.08

#: Signs without a space from which a word may break after its dots and underscores.
UNBROKEN = 14

#: Steps in which the width that is left is shared, and rows that it is reckoned from.
STEPS, SAMPLE = 40, 200

#: Lines of a row, on average, above which a table marked wide is set in small text.
CRAMPED = 1.25

#: A wide table of so many rows, each of so many lines upright, goes on a page turned round.
TURNED_ROWS, TURNED_LINES = 8, 2.0

#: Rows up to which a table is kept on one page.
SHORT = 8

#: Cards side by side.
ABREAST = 3


@dataclass(frozen=True)
class Fit:
    """Widths of a table's columns, how its text is set, and lines a row takes on average.

    `whole` says that no word is broken.
    """

    widths: tuple[int, ...]
    small: bool
    whole: bool
    lines: float


def fit(table: Table, total: int, *, roomy: bool = False) -> Fit:
    """Return how a table stands on a page whose text is `total` wide. [twip]

    A table marked wide stands in ordinary text where the page is roomy, or that costs hardly a line.
    """
    ordinary = fitted(table, total, ORDINARY)
    crowded = table.wide and not roomy and ordinary.lines > CRAMPED
    return fitted(table, total, SMALL) if crowded or not ordinary.whole else ordinary


def turned(table: Table, width: int) -> bool:
    """Say whether a table reads better on a page turned round; `width` is the upright page's."""
    if table.layout == "landscape":
        return True
    if not table.wide or len(table.rows) < TURNED_ROWS:
        return False
    return fit(table, width).lines > TURNED_LINES


def fitted(table: Table, total: int, size: float) -> Fit:
    """Return the fit in text of one size. [pt]"""
    cells = np.array(
        [
            [_width(table.cell(r, c), size) for c in range(len(table.columns))]
            for r in _sampled(table)
        ]
        or [[0] * len(table.columns)]
    )
    least = np.array([_longest(table, number, size) for number in range(len(table.columns))])
    whole = bool(least.sum() <= total)
    widths = least * total / least.sum()
    if whole:
        widths = _widened(least, np.maximum(cells.max(axis=0) + PADDING, least), cells, total)
    edges = np.rint(np.cumsum(widths)).astype(int)
    lines = np.ceil(cells / np.maximum(widths - PADDING, 1)).max(axis=1).mean()
    return Fit(tuple(np.diff(edges, prepend=0).tolist()), size == SMALL, whole, float(lines))


def _widened(least: Array, whole: Array, cells: Array, total: int) -> Array:
    """Share what is left of a width where it makes the rows lowest. [twip]"""
    if whole.sum() <= total:
        return np.asarray(whole * total / whole.sum())
    widths, step = least.astype(float), (total - least.sum()) / STEPS
    for _ in range(STEPS):
        tries = widths + step * np.eye(len(widths))
        heights = np.maximum(cells / (tries[:, None, :] - PADDING), 1.0).max(axis=2).sum(axis=1)
        lacking = np.maximum(whole - widths, 0.0) / total
        widths = tries[np.argmin(heights - 1e-6 * lacking)]
    return widths


def _sampled(table: Table) -> range:
    """Return the rows that widths are reckoned from: all of a short table, some of a long one."""
    return range(0, len(table.rows), 1 + len(table.rows) // SAMPLE)


def _longest(table: Table, number: int, size: float) -> int:
    """Return the least width of a column: its longest word. [twip]"""
    column = table.columns[number]
    heads = [w for text in (column.header, column.unit) for w in _pieces(text)]
    words = {w for row in range(len(table.rows)) for w in _pieces(_loose(table.cell(row, number)))}
    longest = [_width(w, size) for w in words] + [_width(w, size * BOLDER) for w in heads]
    return max(longest, default=0) + PADDING


def data_table(
    placed: Placed, table: Table, writing: Writing, fitting: Fit, *, new_page: bool = False
) -> str:
    """Return a table with its caption over it and its note under it."""
    number = sequence(writing.words["table"], "Table", placed.number, writing)
    caption = bookmarked(number, placed.anchor, writing) + inline(table.caption, writing)
    columns = "".join(f'<w:gridCol w:w="{width}"/>' for width in fitting.widths)
    rows = "".join(_row(table, index, fitting, writing) for index in range(len(table.rows)))
    title = f"{writing.words['table']} {placed.number}. {shown(table.caption, writing)}"
    properties = _properties(TABLE, sum(fitting.widths), writing, title)
    head = _head(table, fitting, writing)
    parts = [
        paragraph(caption, "Table Caption", writing, new_page=new_page),
        f"<w:tbl>{properties}<w:tblGrid>{columns}</w:tblGrid>{head}{rows}</w:tbl>",
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
    value = link(fact.value, fact.target, writing, "") if fact.target else said(fact.value, writing)
    lines = [
        paragraph(said(fact.label, writing), "Card Label", writing),
        paragraph(
            value,
            "Card Lead" if index < facts.lead else "Card Value",
            writing,
            keep=bool(fact.range),
        ),
    ]
    if fact.range:
        lines.append(paragraph(said(fact.range, writing), "Card Note", writing))
    if fact.note:
        lines.append(
            paragraph(said(fact.note, writing, writing.styles["Unit"]), "Card Note", writing)
        )
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


def _head(table: Table, fitting: Fit, writing: Writing) -> str:
    """Return the head row, which stands again on every page."""
    style = "Table Head Small" if fitting.small else "Table Head"
    cells = []
    for column, width in zip(table.columns, fitting.widths, strict=True):
        words = said(column.header, writing)
        if column.unit:
            unit = run(column.unit, writing.styles["Unit"])
            words += f"<w:r><w:br/></w:r>{unit}"
        cells.append(_cell(paragraph(words, style, writing, align=_align(column.align)), width))
    return f"<w:tr><w:trPr><w:cantSplit/><w:tblHeader/></w:trPr>{''.join(cells)}</w:tr>"


def _row(table: Table, index: int, fitting: Fit, writing: Writing) -> str:
    """Return one row; its anchor, if any, stands in its first cell."""
    style = "Table Text Small" if fitting.small else "Table Text"
    bold = index in table.strong_rows or index in table.head_rows
    keep = _kept(table, index)
    cells = []
    for number, column in enumerate(table.columns):
        text = table.cell(index, number)
        if number in table.rich:
            words = inline(text, writing, bold=bold)
        else:
            words = tongued((strong if bold else run)(_loose(text)), text, writing)
        if number == 0 and table.row_anchors:
            words = bookmarked(words, table.row_anchors[index], writing)
        inner = paragraph(words, style, writing, keep=keep, align=_align(column.align))
        cells.append(_cell(inner, fitting.widths[number]))
    return f"<w:tr><w:trPr><w:cantSplit/></w:trPr>{''.join(cells)}</w:tr>"


def _kept(table: Table, index: int) -> bool:
    """Say whether a row stays with the next: all of a short table, the ends of a long one."""
    last = len(table.rows) - 1
    if index == last:
        return False
    return last < SHORT or index in table.head_rows or index == 0 or index >= last - 2


def _cell(inner: str, width: int) -> str:
    return f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/></w:tcPr>{inner}</w:tc>'


def _align(side: str) -> str:
    return "right" if side == "right" else ""


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
