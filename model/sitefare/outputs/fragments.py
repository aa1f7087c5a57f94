"""Blocks as HTML, for the page and for the notebook's cells alike.

Jinja escapes every text; the only markup that passes is what the templates and the converter
of charts wrote.
"""

import re
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from sitefare.outputs.dark import turns
from sitefare.outputs.data_tables import DataTable, data_table
from sitefare.outputs.document import Document, Figure, Heading, Placed, spans
from sitefare.outputs.drawn import svg
from sitefare.outputs.marks import page_drawing
from sitefare.outputs.numbers import NBSP
from sitefare.outputs.words import caution_title, words

TEMPLATES = Path(__file__).parent / "templates"

#: Characters from which a table cell is given room to wrap.
LONG = 28

#: A link in a cell's markup, and a month or a day, which must not break at its dashes.
LINK = re.compile(r"\[([^\]]*)\]\([^)]*\)")
DATE = re.compile(r"\b\d{4}-\d{2}(?:-\d{2})?\b")


@lru_cache(maxsize=1)
def environment() -> Environment:
    """Return the templates' environment: escaping on, unknown names refused."""
    return Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
    )


def inline(text: str, document: Document) -> Markup:
    """Return text with the tiny markup as HTML."""
    labels = document.labels
    parts: list[Markup] = []
    for span in spans(text):
        body = escape(span.text or label(span.target, labels, document.metadata.language))
        if span.target:
            body = Markup('<a href="#{}">{}</a>').format(span.target, body)
        elif span.file:
            body = Markup('<a href="{}">{}</a>').format(span.file, body)
        parts.append(Markup("<strong>{}</strong>").format(body) if span.strong else body)
    return spoken(text, document, Markup("").join(parts))


def spoken(text: str, document: Document, body: Markup) -> Markup:
    """Mark what stays English in another language, and what runs left to right in Arabic."""
    lang, apart = document.tongue(text), document.apart(text)
    if not lang and not apart:
        return body
    marks = (f' lang="{lang}"' if lang else "") + (' dir="ltr"' if apart else "")
    return Markup(f"<span{marks}>{{}}</span>").format(body)  # noqa: S704


def label(target: str, labels: dict[str, tuple[str, int]], language: str) -> str:
    """Return 'Figure 3' or 'Table 2' for an anchor, the anchor itself for anything else."""
    kind, number = labels.get(target, ("", 0))
    return f"{words(language)[kind]}{NBSP}{number}" if kind in ("figure", "table") else target


def fragment(placed: Placed, document: Document, *, drawings: bool = True) -> Markup:
    """Return one block as HTML; without drawings a figure keeps its words only."""
    module = environment().get_template("blocks.html.j2").module
    kind = type(placed.block).__name__.lower()
    return Markup(getattr(module, kind)(placed, Tools(document, drawings=drawings)))  # noqa: S704


def sections(document: Document) -> list[tuple[str, list[Placed]]]:
    """Split the blocks at level-1 headings: (anchor of the heading, its blocks)."""
    found: list[tuple[str, list[Placed]]] = [("", [])]
    for placed in document.placed:
        if isinstance(placed.block, Heading) and placed.block.level == 1:
            found.append((placed.anchor, []))
        found[-1][1].append(placed)
    return [section for section in found if section[1]]


class Tools:
    """What the block templates may ask for, bound to one document."""

    def __init__(self, document: Document, *, drawings: bool) -> None:
        self.document = document
        self.drawings = drawings
        self.words = words(document.metadata.language)

    def inline(self, text: str) -> Markup:
        """Return text with the tiny markup as HTML."""
        return inline(text, self.document)

    def text(self, text: str) -> Markup:
        """Return text without markup as HTML, marked where it is of another language."""
        return spoken(text, self.document, escape(text))

    def tongue(self, items: Sequence[str]) -> Markup:
        """Return the attributes of a list whose items all stay in another language."""
        if not items or not all(self.document.tongue(item) for item in items):
            return Markup("")
        apart = ' dir="ltr"' if self.document.apart(items[0]) else ""
        return Markup(f' lang="en"{apart}')  # noqa: S704

    def caution_title(self, block: Any) -> Markup:  # noqa: ANN401
        """Return the heading of a caution."""
        own = caution_title(block.kind, block.title, self.document.metadata.language)
        return self.text(own) if block.title else escape(own)

    def drawing(self, figure: Figure, anchor: str, size: str) -> Markup:
        """Return one of a figure's drawings as an SVG that names itself and answers."""
        return Markup(page_drawing(figure, f"{anchor}-{size}", narrow=size == "narrow"))  # noqa: S704

    @staticmethod
    def turns(figure: Figure) -> bool:
        """Say whether a figure's drawings can stand on dark paper."""
        return turns(svg(figure.picture.wide))

    @staticmethod
    def data(figure: Figure) -> DataTable | None:
        """Return the table that says what a chart shows, where there is one."""
        return data_table(figure.picture)

    @staticmethod
    def is_long(text: str) -> bool:
        """Say whether a cell needs room to wrap; where its links lead is not read."""
        return len(LINK.sub(r"\1", text)) > LONG

    def breakable(self, text: str) -> Markup:
        """Let a dotted name break after its dots and underscores."""
        safe = Markup(DATE.sub(r'<span class="whole">\g<0></span>', str(escape(text))))  # noqa: S704
        if " " not in text and len(text) >= LONG // 2:
            safe = Markup(str(safe).replace(".", ".<wbr>").replace("_", "_<wbr>"))  # noqa: S704
        return spoken(text, self.document, safe)
