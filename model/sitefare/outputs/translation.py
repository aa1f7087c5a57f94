"""Which words of a document are labels, and how do they read in its language?

Headings, heads of columns, units, labels of cards, titles of cautions, captions and the names in
tables are translated as far as the catalogue goes; sentences, findings and sources stay English,
which the document says. English documents pass unchanged.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from html import escape, unescape

from sitefare.outputs.catalogue import SOURCE, base, catalogue, check_language
from sitefare.outputs.document import (
    Block,
    Caution,
    Cell,
    Document,
    Facts,
    Figure,
    Heading,
    Metadata,
    Placed,
    Table,
)
from sitefare.outputs.picture import Drawing, Picture
from sitefare.outputs.words import words

#: Words inside the text elements of a drawing.
WRITTEN = re.compile(r"(?<=>)[^<>\n]+(?=</t(?:ext|span)>)")

#: Tables whose first column names rows, items or sources, which stay as the register has them.
OF_THE_REGISTER = (
    "bill-table",
    "citations-table",
    "checks-table",
    "procurement-table",
    "swings-table",
    "together-table",
    "unsupplied-table",
)

#: Columns of names and keys that users gave, which stay as they are, by the anchor of their table.
OF_THE_USER = {
    "failed-table": (0, 1),
    "places-table": (1, 2),
    "rests-table": (0,),
    "runs-table": (0, 1),
}

#: A link in a cell, which may be all of it, to an anchor or to a file beside the page.
LINK = re.compile(r"\[([^\[\]\\*]+)\]\(((?:#|\./)[^)\s]+)\)")

#: Longest text of a cell that is taken for a name; of several, for each. [characters]
NAME = 70


class Speaker:
    """Says labels in one language and remembers what it has said."""

    def __init__(self, language: str) -> None:
        self.catalogue = catalogue(language)
        self.said: set[str] = set()

    def say(self, text: str) -> str:
        """Return a label in the language, as it stands where the catalogue lacks it."""
        found = self.catalogue.said(text) if text else None
        if found is None:
            return text
        self.said.add(found)
        return found


def translated(document: Document) -> Document:
    """Return a document with its labels in its own language.

    Raises
    ------
    RunError
        If the language has no catalogue.
    """
    check_language(document.metadata.language)
    if base(document.metadata.language) == SOURCE:
        return document
    speaker = Speaker(document.metadata.language)
    blocks = [_block(placed, speaker) for placed in document.placed]
    place = next((n + 1 for n, b in enumerate(blocks) if isinstance(b, Heading)), 0)
    blocks.insert(place, _notice(document.metadata.language, speaker))
    metadata = _metadata(document.metadata, speaker)
    return Document(metadata, tuple(blocks), frozenset(speaker.said))


def labels(document: Document) -> Iterator[tuple[str, str]]:
    """Yield what a catalogue is asked for: the kind of label, and the label."""
    meta = document.metadata
    yield from (("title", text) for text in (meta.title, meta.subtitle, meta.scenario))
    yield "name", meta.site
    yield from (("document", text) for text in meta.missing)
    yield from (("cover", label) for label, _ in meta.cover)
    for block in document.blocks:
        match block:
            case Heading():
                yield "heading", block.text
            case Caution():
                yield "caution", block.title
            case Facts():
                for fact in block.facts:
                    yield "card", fact.label
                    yield "card note", fact.note
            case Figure():
                yield "caption", block.caption
            case Table():
                yield from _table_labels(block)
            case _:
                pass


def _table_labels(table: Table) -> Iterator[tuple[str, str]]:
    yield "caption", table.caption
    for column in table.columns:
        yield "column", column.header
        yield "unit", column.unit
    if not table.sortable and table.anchor not in OF_THE_REGISTER:
        for row in table.rows:
            if isinstance(row[0], str) and (link := LINK.fullmatch(row[0])):
                yield "name", link[1]
            elif isinstance(row[0], str) and 0 not in table.rich:
                yield "name", row[0]


def _block(placed: Placed, speaker: Speaker) -> Block:
    """Return a block with its labels said; its anchor stays that of the English text."""
    block, say = placed.block, speaker.say
    match block:
        case Heading():
            return replace(block, text=say(block.text), anchor=placed.anchor)
        case Figure():
            caption = say(block.caption)
            picture = _drawing(block.picture, speaker)
            return replace(block, picture=picture, caption=caption, anchor=placed.anchor)
        case Caution():
            return replace(block, title=say(block.title))
        case Facts():
            return replace(
                block,
                facts=tuple(
                    replace(
                        fact,
                        label=say(fact.label),
                        value=say(fact.value),
                        range=say(fact.range),
                        note=say(fact.note),
                    )
                    for fact in block.facts
                ),
            )
        case Table():
            return _table(block, placed.anchor, speaker)
        case _:
            return block


def _drawing(picture: Picture | Drawing, speaker: Speaker) -> Picture | Drawing:
    """Say the words of a drawing; a chart says its own when it is drawn."""
    if not isinstance(picture, Drawing):
        return picture
    wide, narrow = (
        WRITTEN.sub(lambda m: escape(speaker.say(unescape(m[0]))), svg)
        for svg in (picture.wide_svg, picture.narrow_svg)
    )
    return replace(picture, wide_svg=wide, narrow_svg=narrow)


def _table(table: Table, anchor: str, speaker: Speaker) -> Table:
    say = speaker.say

    def cell(content: Cell, column: int) -> Cell:
        if not isinstance(content, str) or column in OF_THE_USER.get(table.anchor, ()):
            return content
        if max(map(len, LINK.sub(r"\1", content).split("; "))) > NAME:
            return content
        linked = LINK.search(content) if column in table.rich else None
        if linked is None or speaker.catalogue.said(content):
            return say(content)
        made = LINK.sub(lambda link: f"[{say(link[1])}]({link[2]})", content)
        if made != content:
            speaker.said.add(made)
        return made

    return replace(
        table,
        columns=tuple(replace(c, header=say(c.header), unit=say(c.unit)) for c in table.columns),
        rows=tuple(tuple(cell(x, n) for n, x in enumerate(row)) for row in table.rows),
        caption=say(table.caption),
        note=say(table.note),
        anchor=anchor,
    )


def _metadata(meta: Metadata, speaker: Speaker) -> Metadata:
    """Return the cover's words said; the subtitle tells that no reader confirmed them."""
    own, say = words(meta.language), speaker.say
    mark = "" if speaker.catalogue.reviewed else own["unreviewed"]
    subtitle = " · ".join(part for part in (say(meta.subtitle), mark) if part)
    speaker.said.add(subtitle)
    return replace(
        meta,
        title=say(meta.title),
        site=say(meta.site),
        subtitle=subtitle,
        scenario=say(meta.scenario),
        missing=tuple(say(item) for item in meta.missing),
        cover=tuple((say(label), say(value)) for label, value in meta.cover),
    )


def _notice(language: str, speaker: Speaker) -> Caution:
    """Say which words are translated, and whether a reader has confirmed them."""
    own = words(language)
    text = own["stays_english"]
    if not speaker.catalogue.reviewed:
        text = f"{text} {own['not_reviewed_yet']}"
    speaker.said.update((text, own["about_language"]))
    return Caution(text, "note", own["about_language"])
