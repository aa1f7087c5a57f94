"""The proposal as a tagged PDF, through Typst.

The compiler's own refusal of what is not PDF/UA-1 is the gate. Only our fonts are used, the date
is the document's, and the same document gives the same bytes.
"""

import datetime as dt
import re

import typst

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.document import Document
from sitefare.outputs.drawn import fonts
from sitefare.outputs.fragments import TEMPLATES
from sitefare.outputs.imprint import draft_line, foot, imprint
from sitefare.outputs.typst_source import body, said, string
from sitefare.outputs.words import direction, words


def pdf(document: Document) -> bytes:
    """Return the document as PDF/UA-1.

    Raises
    ------
    RunError
        If Typst refuses the document; the message is Typst's own.
    """
    try:
        compiled: bytes = typst.compile(
            source(document).encode(),
            font_paths=fonts(),
            ignore_system_fonts=True,
            pdf_standards="ua-1",
            timestamp=_day(document.metadata.date),
        )
    except typst.TypstError as error:
        msg = f"the PDF of '{document.metadata.title}' was refused: {error}"
        raise RunError(msg) from error
    return compiled


def source(document: Document) -> str:
    """Return the Typst source of a document, our template first."""
    template = (TEMPLATES / "document.typ").read_text(encoding="utf-8")
    mirrored = str(direction(document.metadata.language) == "rtl").lower()
    opening = f"#let mirrored = {mirrored}\n{template}"
    return f"{opening}\n#show: proposal.with({_settings(document)})\n\n{body(document)}\n"


def _settings(document: Document) -> str:
    """Return what the template asks of the document, as a Typst dictionary."""
    meta, own = document.metadata, words(document.metadata.language)
    day = _day(meta.date)
    before, between, after = re.split(r"\{number\}|\{total\}", own["page"])
    pages = f"(n, m) => {string(before)} + str(n) + {string(between)} + str(m) + {string(after)}"
    texts = {
        "title": meta.title,
        "site": meta.site,
        "subtitle": meta.subtitle,
        "language": meta.language.split("-", maxsplit=1)[0],
        "family": theme.FAMILY,
        "imprint": "   ".join(imprint(meta)),
        "draft-line": draft_line(meta),
        "foot": foot(meta),
    }
    return (
        "("
        + ", ".join(f"{key}: {string(text)}" for key, text in texts.items())
        + f", draft: {str(meta.draft).lower()}, direction: {direction(meta.language)}"
        + f", cover: ({_cover(document)})"
        + f", day: datetime(year: {day.year}, month: {day.month}, day: {day.day})"
        + f", keywords: ({string(meta.scenario)}, {string(meta.input_hash)})"
        + f", numbering: {pages}, words: (draft: {string(own['draft'])}))"
    )


def _cover(document: Document) -> str:
    """Return the facts of the cover as the items of a Typst array."""
    facts = document.metadata.cover
    return "".join(
        f"({said(label, document)}, {said(value, document)}), " for label, value in facts
    )


def _day(date: str) -> dt.datetime:
    """Return the document's day, the first of its month where no day is given."""
    year, month, day = (int(part) for part in f"{date}-01".split("-")[:3])
    return dt.datetime(year, month, day, tzinfo=dt.UTC)
