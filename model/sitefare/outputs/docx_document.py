"""The proposal as a Word document that an agency can edit and restyle.

The text is written straight into a house style opened by python-docx. pandoc was weighed and left:
column widths, head rows, turned pages, cards, links to rows and numbered captions would all have
travelled through it as raw Word markup, and its tables would have been rebuilt afterwards. Pictures
are PNG at print resolution: a drawing in SVG is set in fonts that the reader's machine may lack.
The same document gives the same bytes.
"""

import datetime as dt
import io
import zipfile
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

from babel.core import get_global
from docx.oxml import parse_xml
from docx.oxml.ns import qn

from sitefare.outputs.document import Document, Metadata
from sitefare.outputs.docx_body import SPACES, Page, body
from sitefare.outputs.docx_reference import opened, style_ids, zipped
from sitefare.outputs.docx_running import fill
from sitefare.outputs.docx_text import UNHELD, Writing
from sitefare.outputs.words import direction

#: Spelling of a language that names no country, where its likely country is not meant.
SPELT = {"en": "en-GB"}

#: Longest core property. [characters]
PROPERTY = 255


def word(document: Document, house_style: Path | None = None) -> bytes:
    """Return the document as DOCX in a house style, ours where none is given.

    Raises
    ------
    RunError
        If the house style is no DOCX or lacks one of our style names.
    """
    package = opened(house_style)
    writing = Writing(document, package, style_ids(package))
    _language(package, document.metadata.language)
    fill(package, writing)
    own = package.element.body.sectPr
    page = _page(package.sections[-1])
    section = _sections(own, document.metadata.language)
    numbering = _restarts(package)
    made = parse_xml(body(writing, page, section, numbering))
    old = package.element.body
    old.getparent().replace(old, made)
    _properties(package, document.metadata)
    return _packed(package)


def _page(section: Any) -> Page:  # noqa: ANN401
    """Return the text areas of a page, upright and turned round. [twip]"""
    across, down = section.page_width.twips, section.page_height.twips
    sides = section.left_margin.twips + section.right_margin.twips
    ends = section.top_margin.twips + section.bottom_margin.twips
    longer, shorter = max(across, down), min(across, down)
    return Page(across - sides, down - ends, longer - sides, shorter - ends)


def _sections(own: Any, language: str) -> Callable[[bool], str]:  # noqa: ANN401
    """Return what makes a sectPr from the house style's last one."""

    def section(turned: bool) -> str:  # noqa: FBT001
        made = deepcopy(own)
        kind = made.find(qn("w:type"))
        if kind is not None:
            made.remove(kind)
        size = made.find(qn("w:pgSz"))
        if turned:
            sides = sorted(int(size.get(qn(f"w:{side}"))) for side in ("w", "h"))
            size.set(qn("w:w"), str(sides[1]))
            size.set(qn("w:h"), str(sides[0]))
            size.set(qn("w:orient"), "landscape")
        if direction(language) == "rtl" and made.find(qn("w:bidi")) is None:
            grid = made.find(qn("w:docGrid"))
            right = parse_xml(f"<w:bidi {SPACES}/>")
            made.append(right) if grid is None else grid.addprevious(right)
        return str(made.xml)

    return section


def _restarts(package: Any) -> Callable[[], int]:  # noqa: ANN401
    """Return what gives the key of a list that counts from 1 again; 0 without numbers."""
    style = package.styles["List Number"].element
    kept = style.find(f"{qn('w:pPr')}/{qn('w:numPr')}/{qn('w:numId')}")
    if kept is None:
        return lambda: 0
    lists = package.part.numbering_part.element
    pattern = next((n for n in lists.num_lst if n.numId == kept.val), None)

    def restart() -> int:
        if pattern is None:
            return int(kept.val)
        made = lists.add_num(pattern.abstractNumId.val)
        made.add_lvlOverride(ilvl=0).add_startOverride(1)
        return int(made.numId)

    return restart


def _language(package: Any, language: str) -> None:  # noqa: ANN401
    """Tell Word the language of spelling and, where it is so, that it runs from right to left."""
    tag = spelling(language)
    right = direction(language) == "rtl"
    for found in package.styles.element.iter(qn("w:lang")):
        found.set(qn("w:val"), tag)
        if right:
            found.set(qn("w:bidi"), tag)
    if right:
        normal = package.styles["Normal"].element
        paragraph = normal.get_or_add_pPr()
        if paragraph.find(qn("w:bidi")) is None:
            paragraph.insert_element_before(
                parse_xml(f"<w:bidi {SPACES}/>"),
                *(f"w:{name}" for name in AFTER_BIDI),
            )
        words = normal.get_or_add_rPr()
        if words.find(qn("w:rtl")) is None:
            words.insert_element_before(
                parse_xml(f"<w:rtl {SPACES}/>"), "w:cs", "w:em", "w:lang", "w:eastAsianLayout"
            )


#: What stands after w:bidi in a paragraph's properties.
AFTER_BIDI = ("adjustRightInd", "snapToGrid", "spacing", "ind", "contextualSpacing", "mirrorIndents",
              "suppressOverlap", "jc", "textDirection", "textAlignment", "textboxTightWrap",
              "outlineLvl", "divId", "cnfStyle", "rPr", "sectPr", "pPrChange")  # fmt: skip


def spelling(language: str) -> str:
    """Return a language with its country, as Word's spelling asks: 'ar' is 'ar-EG'."""
    if language in SPELT:
        return SPELT[language]
    parts = language.replace("_", "-").split("-")
    if len(parts) > 1:
        return "-".join(parts)
    likely = get_global("likely_subtags").get(language, language).split("_")
    return f"{likely[0]}-{likely[-1]}" if len(likely) > 1 else language


def _properties(package: Any, meta: Metadata) -> None:  # noqa: ANN401
    """Write the core properties: the date is the appraisal's, never today's."""
    day = dt.datetime.fromisoformat(f"{meta.date}-01"[:10])
    core = package.core_properties
    core.title = _property(meta.title)
    core.subject = _property(f"{meta.site} · {meta.scenario}")
    core.author = core.last_modified_by = _property(f"Sitefare {meta.version}")
    core.keywords = _property(f"{meta.scenario}, {meta.input_hash}")
    core.comments = ""
    core.category = ""
    core.language = meta.language
    core.content_status = "Draft" if meta.draft else "Final"
    core.created = core.modified = day
    core.revision = 1


def _property(text: str) -> str:
    """Return text as a core property takes it."""
    return UNHELD.sub(" ", text)[:PROPERTY]


def _packed(package: Any) -> bytes:  # noqa: ANN401
    """Return the package as a zip whose bytes depend on the document alone."""
    buffer = io.BytesIO()
    package.save(buffer)
    with zipfile.ZipFile(buffer) as made:
        return zipped({name: made.read(name) for name in made.namelist()})
