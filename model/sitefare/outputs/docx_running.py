"""What stands in the running head and foot of a Word document?

A house style says where: `{title}`, `{draft}`, `{foot}` and `{page}` are filled here. A draft is
marked on every page, so a head without a place for the mark gets one.
"""

import re
from collections.abc import Iterator
from typing import Any

from docx.oxml import parse_xml
from docx.oxml.ns import qn

from sitefare.outputs.docx_body import SPACES
from sitefare.outputs.docx_text import Writing, held, paragraph, run
from sitefare.outputs.imprint import foot as foot_line

PLACE = re.compile(r"\{(title|draft|foot|page)\}")


def fill(package: Any, writing: Writing) -> None:  # noqa: ANN401
    """Fill the running heads and feet of a package."""
    meta, own = writing.document.metadata, writing.words
    texts = {
        "title": meta.title,
        "draft": own["draft"].upper() if meta.draft else "",
        "foot": foot_line(meta),
        "page": own["page"],
    }
    for head in _heads(package):
        marked = False
        for line in list(head.iter(qn("w:p"))):
            marked |= "{draft}" in _text(line)
            _fill_line(line, texts)
        if meta.draft and not marked:
            mark = run(texts["draft"], writing.styles["Draft Mark"])
            made = paragraph(mark, "Header", writing, align="right")
            head.insert(0, parse_xml(made.replace("<w:p>", f"<w:p {SPACES}>", 1)))
        _turned_round(head, writing)
    for foot in _feet(package):
        for line in list(foot.iter(qn("w:p"))):
            _fill_line(line, texts)
        _turned_round(foot, writing)


def _turned_round(part: Any, writing: Writing) -> None:  # noqa: ANN401
    """Let the tables of a running head or foot begin at the right where the language does."""
    for properties in part.iter(qn("w:tblPr")):
        if writing.right_to_left and properties.find(qn("w:bidiVisual")) is None:
            first = [
                c
                for c in properties
                if c.tag in (qn("w:tblStyle"), qn("w:tblpPr"), qn("w:tblOverlap"))
            ]
            properties.insert(len(first), parse_xml(f"<w:bidiVisual {SPACES}/>"))


def _heads(package: Any) -> Iterator[Any]:  # noqa: ANN401
    """Yield each running head once; a house style without one is given one."""
    section = package.sections[-1]
    yield section.header._element  # noqa: SLF001
    if section.different_first_page_header_footer:
        yield section.first_page_header._element  # noqa: SLF001
    if package.settings.odd_and_even_pages_header_footer:
        yield section.even_page_header._element  # noqa: SLF001


def _feet(package: Any) -> Iterator[Any]:  # noqa: ANN401
    """Yield each running foot once."""
    section = package.sections[-1]
    yield section.footer._element  # noqa: SLF001
    if section.different_first_page_header_footer:
        yield section.first_page_footer._element  # noqa: SLF001
    if package.settings.odd_and_even_pages_header_footer:
        yield section.even_page_footer._element  # noqa: SLF001


def _text(line: Any) -> str:  # noqa: ANN401
    return "".join(text.text or "" for text in line.iter(qn("w:t")))


def _fill_line(line: Any, texts: dict[str, str]) -> None:  # noqa: ANN401
    """Fill the places of one line; a place that Word split over runs is joined first."""
    found = [text for text in line.iter(qn("w:t")) if text.text]
    whole = "".join(text.text for text in found)
    if not PLACE.search(whole):
        return
    if not all(PLACE.search(text.text) or "{" not in text.text for text in found):
        found[0].text = whole
        for text in found[1:]:
            text.text = ""
    for text in found:
        if PLACE.search(text.text or ""):
            _replace(text, texts)


def _replace(text: Any, texts: dict[str, str]) -> None:  # noqa: ANN401
    """Put runs in the place of one run's text; the number of a page is a field."""
    old = text.getparent()
    properties = old.find(qn("w:rPr"))
    kept = "" if properties is None else str(properties.xml)
    parts = []
    for index, piece in enumerate(PLACE.split(text.text)):
        if index % 2 == 0:
            parts.append(_words(piece, kept))
        elif piece == "page":
            parts.extend(_pages(texts["page"], kept))
        else:
            parts.append(_words(texts[piece], kept))
    for part in parts:
        if part:
            old.addprevious(parse_xml(part))
    old.getparent().remove(old)


def _pages(pattern: str, kept: str) -> Iterator[str]:
    """Yield runs of 'page {number} of {total}', whose numbers are fields."""
    for index, piece in enumerate(re.split(r"\{(number|total)\}", pattern)):
        if index % 2 == 0:
            yield _words(piece, kept)
            continue
        name = "PAGE" if piece == "number" else "NUMPAGES"
        for inner in (
            '<w:fldChar w:fldCharType="begin"/>',
            f'<w:instrText xml:space="preserve"> {name} </w:instrText>',
            '<w:fldChar w:fldCharType="separate"/>',
            "<w:t>1</w:t>",
            '<w:fldChar w:fldCharType="end"/>',
        ):
            yield f"<w:r {SPACES}>{kept}{inner}</w:r>"


def _words(words: str, kept: str) -> str:
    return (
        f'<w:r {SPACES}>{kept}<w:t xml:space="preserve">{held(words)}</w:t></w:r>' if words else ""
    )
