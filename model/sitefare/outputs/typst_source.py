"""Blocks as Typst source.

Every text travels as a Typst string, never as markup, so only the backslash and the double quote
have to be escaped.
"""

import re

from sitefare.outputs.catalogue import END, LEFT
from sitefare.outputs.document import (
    Bullets,
    Caution,
    Document,
    Facts,
    Figure,
    Heading,
    PageBreak,
    Paragraph,
    Placed,
    Table,
    spans,
)
from sitefare.outputs.drawn import numbered, svg
from sitefare.outputs.fragments import label
from sitefare.outputs.words import caution_title, words

#: Size of table text: ordinary, wide and dense. [pt]
ORDINARY, WIDE, DENSE = "8pt", "7pt", "6.2pt"

#: A row's name: words of the field, parted by dots.
DOTTED = r"[a-z0-9_*]+(?:\.[a-z0-9_*]+)+"

#: Rows from which a table that may be folded is.
FOLDED = 8

#: Characters from which a text column shares the free width.
SHARES = 14

#: Characters without a space from which a word is let break after dots and underscores.
UNBROKEN = 14

#: Cards side by side.
CARDS = 3


def body(document: Document) -> str:
    """Return all blocks; the contents stand after the first section, so the summary leads."""
    parts: list[str] = []
    chapters, annexes = 0, False
    waiting = list(document.placed)
    while waiting:
        placed = waiting.pop(0)
        if isinstance(placed.block, Heading) and placed.block.level == 1:
            chapters += 1
            if chapters == 2:  # noqa: PLR2004
                own = words(document.metadata.language)["contents"]
                parts.append(f"#contents({string(own)}, annexed: {_boolean(_annexed(document))})")
            if placed.block.annex and not annexes:
                annexes = True
                parts.append("#annexes-start()")
        if waiting and _half(placed) and _half(waiting[0]):
            beside = waiting.pop(0)
            both = ", ".join(f"[{block(one, document, half=True)}]" for one in (placed, beside))
            parts.append(f"#pair({both})")
        elif waiting and isinstance(placed.block, Heading) and _landscape(waiting[0]):
            turned = waiting.pop(0)
            parts.append(f"#landscape[{block(placed, document)}\n\n{block(turned, document)}]")
        elif _landscape(placed):
            parts.append(f"#landscape[{block(placed, document)}]")
        else:
            parts.append(block(placed, document))
    return "\n\n".join(parts)


def _annexed(document: Document) -> bool:
    """Say whether any heading starts an annex."""
    return any(isinstance(p.block, Heading) and p.block.annex for p in document.placed)


def _half(placed: Placed) -> bool:
    """Say whether a block takes half of the page's width."""
    match placed.block:
        case Figure():
            return placed.block.half
        case Table():
            return placed.block.layout == "half"
    return False


def _landscape(placed: Placed) -> bool:
    """Say whether a block asks for a landscape page."""
    return isinstance(placed.block, Table) and placed.block.layout == "landscape"


def _boolean(truth: bool) -> str:  # noqa: FBT001
    return "true" if truth else "false"


def string(text: str) -> str:
    """Return text as a Typst string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + re.sub(r"[\r\n\t\x00-\x1f]+", " ", escaped) + '"'


def inline(text: str, document: Document, *, cell: bool = False) -> str:
    """Return text with the tiny markup as a Typst content expression; a cell keeps its side."""
    parts = []
    for span in spans(text):
        words_shown = span.text or label(span.target, document.labels, document.metadata.language)
        part = string(words_shown)
        if span.target:
            part = f"link({_label(span.target)}, {part})"
        parts.append(f"strong({part})" if span.strong else f"[#{part}]")
    return "(" + _spoken(text, document, " + ".join(parts or ["[]"]), cell=cell) + ")"


def said(text: str, document: Document) -> str:
    """Return text without markup as a Typst expression; nothing stays an empty string."""
    return _spoken(text, document, string(text), cell=True) if text else string(text)


def _spoken(text: str, document: Document, content: str, *, cell: bool) -> str:
    """Mark what stays English in another language, and what runs left to right in Arabic."""
    apart, lang = document.apart(text), document.tongue(text)
    if apart:
        content = f"{string(LEFT)} + {content} + {string(END)}"
    if not lang:
        return content
    way = "dir: ltr, " if apart and not cell else ""
    return f"text(lang: {string(lang)}, {way}{content})"


def _in_english(source: str, document: Document, *items: str) -> str:
    """Set a whole block from left to right where all of it stays English."""
    if items and all(document.tongue(item) for item in items):
        return f"#english[{source}]"
    return source


def block(placed: Placed, document: Document, *, half: bool = False) -> str:  # noqa: PLR0911
    """Return one block as Typst source."""
    content = placed.block
    match content:
        case Heading():
            return (
                f"#heading(level: {content.level}, {said(content.text, document)})"
                f"#{_label(placed.anchor)}"
            )
        case Paragraph():
            shown = inline(content.text, document)
            kind = "par" if content.kind == "body" else content.kind
            return _in_english(f"#{kind}{shown}", document, content.text)
        case Bullets():
            items = ", ".join(inline(item, document) for item in content.items)
            marked = "enum" if content.ordered else "list"
            return _in_english(f"#{marked}({items})", document, *content.items)
        case Caution():
            head = caution_title(content.kind, content.title, document.metadata.language)
            shown = inline(content.text, document)
            title = said(head, document) if content.title else string(head)
            return f"#caution(..caution-kinds.{content.kind}, {title}, {shown})"
        case PageBreak():
            return "#pagebreak(weak: true)"
        case Facts():
            return _facts(content, document)
        case Figure():
            return _figure(content, placed, document, half=half)
        case Table():
            return _table(content, placed, document)


def _facts(facts: Facts, document: Document) -> str:
    how = words(document.metadata.language)["how"]
    cards = [
        f"(label: {said(fact.label, document)}, value: {said(fact.value, document)}, "
        f"range: {said(fact.range, document)}, note: {said(fact.note, document)}, "
        f"lead: {str(index < facts.lead).lower()}, "
        f"how: {string(how)}, target: {_label(fact.target) if fact.target else 'none'})"
        for index, fact in enumerate(facts.facts)
    ]
    return f"#facts({CARDS}, ({', '.join(cards)},))"


def _figure(figure: Figure, placed: Placed, document: Document, *, half: bool) -> str:
    spec = figure.picture.narrow if half else figure.picture.wide
    drawing = numbered(svg(spec), placed.anchor)
    word = words(document.metadata.language)["figure"]
    return (
        f"#drawing({string(drawing)}, {string(figure.alt_text)}, "
        f"{said(figure.picture.title, document)}, "
        f"{inline(figure.caption, document)}, {string(word)}{', width: 90%' if half else ''})"
        f"#{_label(placed.anchor)}"
    )


def _table(table: Table, placed: Placed, document: Document) -> str:
    """Return a table; folded, its rows stand in two tables side by side under one caption."""
    word = words(document.metadata.language)["table"]
    aligns = ", ".join("right" if c.align == "right" else "start" for c in table.columns)
    head = ", ".join(
        f"({said(c.header, document)}, {said(c.unit, document)})" for c in table.columns
    )
    parts = ", ".join(_part(table, rows, document) for rows in _folds(table))
    note = inline(table.note, document) if table.note else "none"
    size = DENSE if table.layout == "dense" else WIDE if table.wide else ORDINARY
    made = (
        f"data-table({size}, ({', '.join(_widths(table))},), ({aligns},), ({head},), ({parts},), "
        f"{inline(table.caption, document)}, {string(word)}, {note})"
    )
    label = f"#metadata(none)#{_label(placed.anchor)}"
    return f"#dense[{label}#{made}]" if table.layout == "dense" else f"{label}\n#{made}"


def _folds(table: Table) -> list[range]:
    """Return the rows of each table side by side; a fold never parts a head from its rows."""
    count = len(table.rows)
    if table.layout != "folded" or count < FOLDED:
        return [range(count)]
    half = (count + 1) // 2
    if half - 1 in table.head_rows:
        half -= 1
    return [range(half), range(half, count)]


def _part(table: Table, rows: range, document: Document) -> str:
    """Return some rows with their totals and heads, as a Typst dictionary."""
    shown: list[str] = []
    totals: list[int] = []
    heads: list[int] = []
    before = ""
    for index in rows:
        stem = _stem(table, index) if table.layout == "dense" else ""
        if stem and stem != before:
            heads.append(len(shown))
            empty = ", ".join("[]" for _ in table.columns[1:])
            shown.append(f"([#{string(_loose(stem))}], {empty},)")
        before = stem
        if index in table.strong_rows:
            totals.append(len(shown))
        if index in table.head_rows:
            heads.append(len(shown))
        shown.append(_row(table, index, document, stem))
    lists = (
        f"{name}: ({''.join(f'{i}, ' for i in found)})"
        for name, found in (("totals", totals), ("heads", heads))
    )
    return f"(rows: ({', '.join(shown)},), {', '.join(lists)})"


def _stem(table: Table, index: int) -> str:
    """Return what a dotted name shares with a neighbour: all but its last part, else its first."""
    rows = range(max(index - 1, 0), min(index + 2, len(table.rows)))
    names = [table.cell(row, 0) for row in rows if row != index]
    own = table.cell(index, 0)
    if not re.fullmatch(DOTTED, own):
        return ""
    for stem in (own.rpartition(".")[0], own.partition(".")[0]):
        if any(name.startswith(f"{stem}.") for name in names):
            return stem
    return ""


def _row(table: Table, index: int, document: Document, stem: str = "") -> str:
    """Return one row; its anchor, if any, stands in its first cell, less the stem of its name."""
    cells = []
    for column in range(len(table.columns)):
        text = table.cell(index, column)
        if column == 0 and stem:
            text = text.removeprefix(f"{stem}.")
        loose = _spoken(text, document, string(_loose(text)), cell=True)
        rich = column in table.rich
        shown = inline(text, document, cell=True) if rich else f"[#({loose})]"
        if column == 0 and table.row_anchors and table.row_anchors[index]:
            shown = f"[#metadata(none)#{_label(table.row_anchors[index])}#{shown}]"
        cells.append(shown)
    return f"({', '.join(cells)},)"


def _widths(table: Table) -> list[str]:
    """Return a width for each column: numbers and short words take theirs, text shares the rest."""
    widths = []
    for number, column in enumerate(table.columns):
        longest = max((len(table.cell(r, number)) for r in range(len(table.rows))), default=0)
        if column.weight:
            widths.append(f"{column.weight:g}fr")
        elif column.align == "left" and (longest > SHARES or number == 0):
            widths.append(f"{min(max(longest, SHARES), 70) ** 0.6:.2f}fr")
        else:
            widths.append("auto")
    return widths


def _loose(text: str) -> str:
    """Let long dotted names break after their dots and underscores."""
    return re.sub(rf"\S{{{UNBROKEN},}}", lambda m: re.sub(r"([._/])", "\\1\u200b", m[0]), text)


def _label(anchor: str) -> str:
    return f"label({string(anchor)})"
