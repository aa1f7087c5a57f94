"""In which order, and on which pages, do blocks stand in a Word document?

The title, then the blocks; the contents follow the first section, so that the summary leads. A
part with a table too wide for the page gets a page turned round.
"""

import struct
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sitefare.outputs.catalogue import catalogue
from sitefare.outputs.document import (
    Bullets,
    Caution,
    Facts,
    Figure,
    Heading,
    PageBreak,
    Paragraph,
    Placed,
    Table,
)
from sitefare.outputs.docx_tables import cards, data_table, fit, turned
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
)
from sitefare.outputs.drawn import png
from sitefare.outputs.imprint import draft_line, imprint
from sitefare.outputs.words import caution_title

#: Units of a drawing in a twip; and the scale of pictures, for 300 dots an inch at full width.
EMU, SCALE = 635, 3.0

#: Largest share of the page's height that a picture takes.
TALLEST = 0.6

#: Space before what follows a table without a note. [twip]
AFTER_TABLE = 200

DRAWING = "http://schemas.openxmlformats.org/drawingml/2006"
SPACES = (
    'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main" '
    'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships" '
    f'xmlns:wp="{DRAWING}/wordprocessingDrawing" xmlns:a="{DRAWING}/main" xmlns:pic="{DRAWING}/picture"'
)


@dataclass(frozen=True)
class Page:
    """The text area of the upright page and of the page turned round. [twip]"""

    width: int
    height: int
    turned_width: int
    turned_height: int


@dataclass(frozen=True)
class Part:
    """Blocks from one heading to the next, and whether their page is turned round."""

    blocks: tuple[Placed, ...]
    turned: bool


def body(
    writing: Writing, page: Page, section: Callable[[bool], str], restart: Callable[[], int]
) -> str:
    """Return the document's body.

    Parameters
    ----------
    writing : Writing
        The document on its way.
    page : Page
        Text areas. [twip]
    section : callable
        Returns a sectPr, for a page turned round or not.
    restart : callable
        Returns the key of a list that counts from 1 again.
    """
    flow = Flow(writing, page, restart)
    flow.title()
    known = parts(writing.document.placed, page.width)
    chapters = 0
    for index, part in enumerate(known):
        first = part.blocks[0].block
        if isinstance(first, Heading) and first.level == 1:
            chapters += 1
            if chapters == 2:  # noqa: PLR2004
                flow.contents()
        if index and part.turned != known[index - 1].turned:
            flow.end_section(section(known[index - 1].turned))
        flow.turned = part.turned
        for placed in part.blocks:
            flow.add(placed)
    last = section(known[-1].turned) if known else section(False)  # noqa: FBT003
    if flow.after_table:
        flow.end_section("")
    return f"<w:body {SPACES}>{''.join(flow.done)}{last}</w:body>"


def parts(placed: Sequence[Placed], width: int) -> list[Part]:
    """Split blocks at headings; a part of headings alone turns with the part that follows."""
    groups: list[list[Placed]] = []
    for one in placed:
        if isinstance(one.block, Heading) or not groups:
            groups.append([])
        groups[-1].append(one)
    found: list[Part] = []
    following = False
    for group in reversed(groups):
        tables = [one.block for one in group if isinstance(one.block, Table)]
        bare = all(isinstance(one.block, Heading | PageBreak) for one in group)
        following = following if bare else any(turned(table, width) for table in tables)
        found.append(Part(tuple(group), following))
    return found[::-1]


class Flow:
    """What has been written so far, and what the next paragraph must know of it."""

    def __init__(self, writing: Writing, page: Page, restart: Callable[[], int]) -> None:
        self.writing = writing
        self.page = page
        self.restart = restart
        self.done: list[str] = []
        self.turned = False
        self.new_page = False
        self.after_table = False
        self.annexed = False

    @property
    def width(self) -> int:
        """The width of the text on the page in force. [twip]"""
        return self.page.turned_width if self.turned else self.page.width

    def add(self, placed: Placed) -> None:  # noqa: C901
        """Write one block."""
        content = placed.block
        match content:
            case Heading():
                self.new_page |= content.annex and not self.annexed
                self.annexed |= content.annex
                words = bookmarked(said(content.text, self.writing), placed.anchor, self.writing)
                self.text(words, f"Heading {content.level}")
            case Paragraph():
                style = {"body": "Body Text", "lead": "Lead", "small": "Small Print"}[content.kind]
                self.text(inline(content.text, self.writing), style)
            case Bullets():
                number = self.restart() if content.ordered else 0
                style = "List Number" if content.ordered else "List Bullet"
                for item in content.items:
                    self.text(inline(item, self.writing), style, number=number)
            case Caution():
                self.caution(content)
            case PageBreak():
                self.new_page = True
            case Facts():
                if self.new_page or self.after_table:
                    self.text("", "Small Print")
                self.done.append(cards(content, self.writing, self.width))
                self.after_table = True
            case Figure():
                self.figure(content, placed)
            case Table():
                fitting = fit(content, self.width, roomy=self.turned)
                self.done.append(
                    data_table(placed, content, self.writing, fitting, new_page=self.new_page)
                )
                self.new_page, self.after_table = False, not content.note

    def text(self, inner: str, style: str, *, keep: bool = False, number: int = 0) -> None:
        """Write a paragraph, on a new page or clear of a table where that is due."""
        before = AFTER_TABLE if self.after_table and not style.startswith("Heading") else None
        self.done.append(
            paragraph(
                inner,
                style,
                self.writing,
                keep=keep,
                new_page=self.new_page,
                before=before,
                number=number,
            )
        )
        self.new_page = self.after_table = False

    def title(self) -> None:
        """Write what stands over the summary: title, case, date, and what is still missing."""
        meta, own = self.writing.document.metadata, self.writing.words
        self.text(said(meta.title, self.writing), "Title")
        if meta.subtitle:
            self.text(run(meta.subtitle), "Subtitle")
        known = imprint(meta)
        site = catalogue(meta.language).set_apart(meta.site)
        self.text(run(" · ".join((site, *known))), "Imprint")
        if meta.draft:
            mark = run(own["draft"].upper() + " ", self.writing.styles["Draft Mark"])
            self.text(mark + run(draft_line(meta)), "Draft Notice")
        for label, value in meta.cover:
            head = run(label, self.writing.styles["Unit"])
            self.text(f"{head}<w:r><w:br/></w:r>{said(value, self.writing)}", "Body Text")
        self.new_page = bool(meta.cover)

    def caution(self, caution: Caution) -> None:
        """Write a boxed statement: its head, then its text."""
        language = self.writing.document.metadata.language
        style = caution.kind.capitalize()
        head = caution_title(caution.kind, caution.title, language)
        self.text(said(head, self.writing), f"{style} Title", keep=True)
        self.text(inline(caution.text, self.writing), style)

    def figure(self, figure: Figure, placed: Placed) -> None:
        """Write a figure: its finding, its picture, its numbered caption."""
        writing = self.writing
        self.text(said(figure.picture.title, self.writing), "Finding", keep=True)
        self.text(self.picture(figure), "Figure", keep=True)
        number = sequence(writing.words["figure"], "Figure", placed.number, writing)
        caption = bookmarked(number, placed.anchor, writing)
        self.text(caption + inline(figure.caption, writing), "Caption")

    def picture(self, figure: Figure) -> str:
        """Return a picture that fits the page, with its alt text."""
        image = png(figure.picture.wide, SCALE)
        across, down = struct.unpack(">II", image[16:24])
        tallest = TALLEST * (self.page.turned_height if self.turned else self.page.height)
        width = min(self.page.width, tallest * across / down)
        size = f'cx="{round(width * EMU)}" cy="{round(width * EMU * down / across)}"'
        relation = self.writing.image(image)
        key = next(self.writing.ids)
        alt, title = attribute(figure.alt_text), attribute(figure.picture.title)
        return (
            f'<w:r><w:drawing><wp:inline distT="0" distB="0" distL="0" distR="0"><wp:extent {size}/>'
            f'<wp:docPr id="{key}" name="Picture {key}" descr={alt} title={title}/>'
            '<wp:cNvGraphicFramePr><a:graphicFrameLocks noChangeAspect="1"/></wp:cNvGraphicFramePr>'
            f'<a:graphic><a:graphicData uri="{DRAWING}/picture"><pic:pic><pic:nvPicPr>'
            f'<pic:cNvPr id="{key}" name="Picture {key}" descr={alt}/><pic:cNvPicPr/></pic:nvPicPr>'
            f'<pic:blipFill><a:blip r:embed="{relation}"/><a:stretch><a:fillRect/></a:stretch>'
            f'</pic:blipFill><pic:spPr><a:xfrm><a:off x="0" y="0"/><a:ext {size}/></a:xfrm>'
            '<a:prstGeom prst="rect"><a:avLst/></a:prstGeom></pic:spPr></pic:pic></a:graphicData>'
            "</a:graphic></wp:inline></w:drawing></w:r>"
        )

    def contents(self) -> None:
        """Write the contents: a field that Word renews, showing its entries before that."""
        writing = self.writing
        entries = [
            (text, anchor) for level, text, anchor in writing.document.contents if level == 1
        ]
        begin = (
            '<w:r><w:fldChar w:fldCharType="begin"/></w:r><w:r><w:instrText xml:space="preserve"> '
            'TOC \\o "1-1" \\h \\z </w:instrText></w:r><w:r><w:fldChar w:fldCharType="separate"/></w:r>'
        )
        end = '<w:r><w:fldChar w:fldCharType="end"/></w:r>'
        lines = [paragraph(run(writing.words["contents"]), "TOC Heading", writing)]
        for index, (text, anchor) in enumerate(entries):
            words = link(text, anchor, writing, "")
            words = (begin if index == 0 else "") + words
            words += end if index == len(entries) - 1 else ""
            lines.append(paragraph(words, "TOC 1", writing))
        self.done.append(
            '<w:sdt><w:sdtPr><w:docPartObj><w:docPartGallery w:val="Table of Contents"/>'
            f"<w:docPartUnique/></w:docPartObj></w:sdtPr><w:sdtContent>{''.join(lines)}"
            "</w:sdtContent></w:sdt>"
        )
        self.after_table = False

    def end_section(self, section: str) -> None:
        """End a section of pages in a line too small to be seen."""
        self.done.append(paragraph("", "Section End", self.writing, section=section))
        self.after_table = self.new_page = False
