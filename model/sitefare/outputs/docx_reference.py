"""What house style does a Word document wear, and may an agency's own file stand in for it?

`reference()` makes the file that is shipped as `templates/house_style.docx`: named styles, a page,
a running head and foot. An agency restyles that file in Word and gives it back; whatever carries
our style names is accepted. In the running head and foot `{title}`, `{draft}`, `{foot}` and `{page}` are
filled when a document is written.

The order of elements follows the schema of ISO/IEC 29500-1 (WordprocessingML, transitional).
"""

import io
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import docx
from docx.opc.exceptions import OpcError

from sitefare.errors import RunError
from sitefare.outputs import theme
from sitefare.outputs.docx_parts import PARTS, RELATIONS, TYPES
from sitefare.outputs.fragments import TEMPLATES

#: The house style that is shipped.
SHIPPED = TEMPLATES / "house_style.docx"

#: Every entry of our zips carries this time, the earliest that a zip can hold.
ZIP_TIME = (1980, 1, 1, 0, 0, 0)

#: Colours of cautions and their washes, and of links; as in the PDF. [sRGB]
DEEP, OCHRE, BRICK, LINK = theme.PALETTE["deep"], "#8a5b06", theme.PALETTE["brick"], "#0d5871"
WASHES = {"Note": "#f3f6f5", "Caution": "#fbf5e6", "Stop": "#fbf0ea"}


@dataclass(frozen=True)
class Style:
    """A paragraph style: sizes in points, colours as #rrggbb, `shown` is what the sample says."""

    name: str
    shown: str
    base: str = "Body Text"
    size: float = 0.0
    colour: str = ""
    bold: bool = False
    before: float = 0.0
    after: float = 6.0
    line: int = 252
    keep: bool = False
    outline: int = 0
    wash: str = ""
    number: int = 0
    after_it: str = ""

    @property
    def id(self) -> str:
        """The style's key inside the file."""
        return self.name.replace(" ", "")

    @property
    def kept_name(self) -> str:
        """The name inside the file: Word writes its own in lower case."""
        lower = self.name.startswith(("Heading", "Header", "Footer", "Caption", "TOC 1"))
        return self.name.lower() if lower else self.name


PARAGRAPHS = (
    Style("Body Text", "Running text.", "Normal"),
    Style("Title", "The title.", size=20, colour=DEEP, bold=True, after=4, line=228),
    Style("Subtitle", "One line under the title.", size=11, after=6),
    Style("Imprint", "Scenario, date, version.", size=8, colour=theme.MUTED, after=8),
    Style("Heading 1", "A section.", size=17, colour=DEEP, bold=True, before=24, after=8, keep=True,
          outline=1, line=228, after_it="Body Text"),
    Style("Heading 2", "A part of a section.", size=12, colour=DEEP, bold=True, before=14, after=5,
          keep=True, outline=2, after_it="Body Text"),
    Style("Heading 3", "A part of a part.", size=9.5, colour=DEEP, bold=True, before=12, after=4,
          keep=True, outline=3, after_it="Body Text"),
    Style("Lead", "The paragraph that opens.", size=11, after=8),
    Style("Small Print", "A note.", size=8, colour=theme.MUTED),
    Style("List Bullet", "One of several.", after=3, number=1),
    Style("List Number", "One of several in order.", after=3, number=2),
    Style("TOC Heading", "Head of the contents.", size=12, colour=DEEP, bold=True, before=20, after=6,
          keep=True),
    Style("TOC 1", "A line of the contents.", after=1.5),
    Style("Finding", "What a chart finds.", size=10, bold=True, before=12, after=4, keep=True),
    Style("Figure", "Where a chart stands.", after=3, keep=True, line=240),
    Style("Caption", "Under a chart.", size=8.5, colour=theme.MUTED, after=12),
    Style("Table Caption", "Over a table.", "Caption", before=12, after=4, keep=True),
    Style("Table Text", "A cell.", size=8.5, after=0, line=235),
    Style("Table Text Small", "A cell of a wide table.", size=7, after=0, line=235),
    Style("Table Head", "The head of a column.", "Table Text", bold=True, after=0, line=235, keep=True),
    Style("Table Head Small", "The head of a column, wide table.", "Table Text Small", bold=True,
          after=0, line=235, keep=True),
    Style("Card Label", "What a card is about.", size=8, colour=theme.MUTED, before=3, after=1, keep=True),
    Style("Card Lead", "A leading figure.", size=16, colour=DEEP, bold=True, after=1, line=228),
    Style("Card Value", "A figure.", size=12, colour=DEEP, bold=True, after=1, line=228),
    Style("Card Note", "A card's range and note.", size=8, after=2, line=235),
    *(
        style
        for name, colour in (("Note", DEEP), ("Caution", OCHRE), ("Stop", BRICK))
        for style in (
            Style(f"{name} Title", f"Head of a {name.lower()}.", colour=colour, bold=True, before=8, after=0,
                  keep=True, wash=WASHES[name]),
            Style(name, f"Text of a {name.lower()}.", after=10, wash=WASHES[name]),
        )
    ),
    Style("Draft Notice", "What is still missing.", size=8.5, after=12, wash=WASHES["Stop"]),
    Style("Section End", "Where a page is turned round.", "Normal", size=1, after=0, line=240),
    Style("Header", "The running head.", "Normal", size=7.5, colour=theme.MUTED, after=0, line=240),
    Style("Footer", "The running foot.", "Normal", size=7.5, colour=theme.MUTED, after=0, line=240),
)  # fmt: skip

#: Styles of words within a paragraph: name, colour, bold.
CHARACTERS = (
    ("Hyperlink", LINK, False),
    ("Strong", "", True),
    ("Unit", theme.MUTED, False),
    ("Draft Mark", BRICK, True),
    ("Caption Number", theme.INK, True),
)

#: Styles of tables: figures in rows, and cards side by side.
TABLE, CARDS = "Appraisal Table", "Appraisal Cards"

#: Missing styles that a refusal names.
TOLD = 5

#: Every style name that a house style must hold.
NAMES = (*(s.name for s in PARAGRAPHS), *(name for name, *_ in CHARACTERS), TABLE, CARDS)


def reference() -> bytes:
    """Return the shipped house style as a DOCX; the same bytes each time."""
    parts = {
        "[Content_Types].xml": TYPES,
        **RELATIONS,
        **PARTS,
        "word/styles.xml": _styles(),
        "word/document.xml": _sample(),
    }
    return zipped({name: text.encode() for name, text in parts.items()})


def zipped(parts: Mapping[str, bytes]) -> bytes:
    """Return parts as a zip whose bytes depend on nothing but the parts."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts.items():
            entry = zipfile.ZipInfo(name, ZIP_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 0
            package.writestr(entry, content)
    return buffer.getvalue()


def opened(path: Path | None = None) -> Any:  # noqa: ANN401
    """Open a house style, the shipped one where none is given.

    Raises
    ------
    RunError
        If the file is no DOCX, or lacks one of our style names.
    """
    if path is None:
        return docx.Document(str(SHIPPED))
    if not path.is_file():
        msg = f"the house style {path} is not there; give a .docx file"
        raise RunError(msg)
    try:
        package = docx.Document(str(path))
        lacking = [name for name in NAMES if name not in style_ids(package)]
    except (OpcError, KeyError, ValueError, OSError, SyntaxError, zipfile.BadZipFile) as error:
        msg = f"the house style {path.name} is not a Word document (.docx)"
        raise RunError(msg) from error
    if lacking:
        more = f" and {len(lacking) - TOLD} more" if len(lacking) > TOLD else ""
        msg = (
            f"the house style {path.name} lacks the {'style' if len(lacking) == 1 else 'styles'} "
            f"{', '.join(lacking[:TOLD])}{more}; start from the file that 'sitefare house-style' writes"
        )
        raise RunError(msg)
    return package


def style_ids(package: Any) -> dict[str, str]:  # noqa: ANN401
    """Return the key of each style by its name; Word may keep keys in the user's language."""
    return {
        "TOC 1" if style.name == "toc 1" else style.name: style.style_id
        for style in package.styles
        if style.name
    }


def _styles() -> str:
    """Return styles.xml."""
    normal = (
        '<w:style w:type="paragraph" w:default="1" w:styleId="Normal"><w:name w:val="Normal"/>'
        '<w:qFormat/></w:style><w:style w:type="character" w:default="1" w:styleId="Plain">'
        '<w:name w:val="Default Paragraph Font"/><w:uiPriority w:val="1"/><w:semiHidden/></w:style>'
        '<w:style w:type="table" w:default="1" w:styleId="TableNormal">'
        '<w:name w:val="Normal Table"/><w:uiPriority w:val="99"/><w:semiHidden/><w:tblPr>'
        '<w:tblInd w:w="0" w:type="dxa"/><w:tblCellMar><w:top w:w="0" w:type="dxa"/>'
        '<w:left w:w="0" w:type="dxa"/><w:bottom w:w="0" w:type="dxa"/><w:right w:w="0" w:type="dxa"/>'
        "</w:tblCellMar></w:tblPr></w:style>"
    )
    fonts = " ".join(f'w:{kind}="{theme.FAMILY}"' for kind in ("ascii", "hAnsi", "eastAsia", "cs"))
    defaults = (
        f"<w:docDefaults><w:rPrDefault><w:rPr><w:rFonts {fonts}/>"
        f'<w:color w:val="{theme.INK[1:]}"/><w:sz w:val="19"/><w:szCs w:val="19"/>'
        '<w:lang w:val="en-GB" w:eastAsia="en-GB" w:bidi="ar-SA"/></w:rPr></w:rPrDefault>'
        '<w:pPrDefault><w:pPr><w:spacing w:after="120" w:line="252" w:lineRule="auto"/></w:pPr>'
        "</w:pPrDefault></w:docDefaults>"
    )
    parts = [defaults, normal, *map(_paragraph_style, PARAGRAPHS)]
    parts += [_character_style(*style) for style in CHARACTERS]
    parts += [_table_style(), _cards_style()]
    return f'{HEAD}<w:styles xmlns:w="{SPACE}">{"".join(parts)}</w:styles>'


#: What the file says to whoever opens it.
ADVICE = (
    "House style of Sitefare's Word files. Change the styles, the page, the running head and foot in "
    "Word, save under another name, and give that file to --house-style. The words in braces are "
    "filled; the text of this page is not used."
)

HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
SPACE = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"


def _paragraph_style(style: Style) -> str:
    base = next((s.id for s in PARAGRAPHS if s.name == style.base), "Normal")
    follows = style.after_it or ("Body Text" if style.outline else "")
    after = f'<w:next w:val="{follows.replace(" ", "")}"/>' if follows else ""
    paragraph = "<w:keepNext/><w:keepLines/>" if style.keep else ""
    if style.number:
        paragraph += f'<w:numPr><w:numId w:val="{style.number}"/></w:numPr>'
    if style.wash:
        sides = "".join(
            f'<w:{side} w:val="single" w:sz="4" w:space="5" w:color="{style.wash[1:]}"/>'
            for side in ("top", "left", "bottom", "right")
        )
        fill = f'<w:shd w:val="clear" w:color="auto" w:fill="{style.wash[1:]}"/>'
        paragraph += f"<w:pBdr>{sides}</w:pBdr>{fill}"
    paragraph += (
        f'<w:spacing w:before="{_twips(style.before)}" w:after="{_twips(style.after)}" '
        f'w:line="{style.line}" w:lineRule="auto"/>'
    )
    if style.wash:
        paragraph += '<w:ind w:left="120" w:right="120"/>'
    if style.outline:
        paragraph += f'<w:outlineLvl w:val="{style.outline - 1}"/>'
    words = _words(style.colour, style.size, bold=style.bold)
    return (
        f'<w:style w:type="paragraph"{_own(style.name)} w:styleId="{style.id}">'
        f'<w:name w:val="{style.kept_name}"/><w:basedOn w:val="{base}"/>{after}'
        f"<w:qFormat/><w:pPr>{paragraph}</w:pPr><w:rPr>{words}</w:rPr></w:style>"
    )


def _words(colour: str, size: float = 0.0, *, bold: bool = False) -> str:
    """Return the properties of a style's words."""
    parts = "<w:b/><w:bCs/>" if bold else ""
    parts += f'<w:color w:val="{colour[1:]}"/>' if colour else ""
    half = round(2 * size)
    return parts + (f'<w:sz w:val="{half}"/><w:szCs w:val="{half}"/>' if size else "")


def _twips(points: float) -> int:
    return round(20 * points)


#: Names that Word knows; every other style is marked as our own.
BUILT_IN = ("Body Text", "Title", "Subtitle", "Heading", "List", "TOC", "Caption", "Header", "Footer",
            "Hyperlink", "Strong")  # fmt: skip


def _own(name: str) -> str:
    known = name.startswith(BUILT_IN) and name != "Caption Number"
    return "" if known else ' w:customStyle="1"'


def _character_style(name: str, colour: str, bold: bool) -> str:  # noqa: FBT001
    return (
        f'<w:style w:type="character"{_own(name)} w:styleId="{name.replace(" ", "")}">'
        f'<w:name w:val="{name}"/><w:basedOn w:val="Plain"/><w:qFormat/>'
        f"<w:rPr>{_words(colour, bold=bold)}</w:rPr></w:style>"
    )


def _table_style() -> str:
    """Return the style of tables: hairlines, a strong line under the head, no vertical rules."""
    hair = f'w:val="single" w:sz="4" w:space="0" w:color="{theme.LINE[1:]}"'
    firm = f'w:val="single" w:sz="8" w:space="0" w:color="{DEEP[1:]}"'
    return (
        f'<w:style w:type="table" w:customStyle="1" w:styleId="{TABLE.replace(" ", "")}">'
        f'<w:name w:val="{TABLE}"/><w:basedOn w:val="TableNormal"/><w:qFormat/>'
        f"<w:tblPr><w:tblBorders><w:bottom {hair}/><w:insideH {hair}/></w:tblBorders>"
        '<w:tblCellMar><w:top w:w="45" w:type="dxa"/><w:left w:w="90" w:type="dxa"/>'
        '<w:bottom w:w="45" w:type="dxa"/><w:right w:w="90" w:type="dxa"/></w:tblCellMar></w:tblPr>'
        '<w:tblStylePr w:type="firstRow"><w:rPr><w:b/><w:bCs/></w:rPr><w:tcPr><w:tcBorders>'
        f'<w:bottom {firm}/></w:tcBorders><w:vAlign w:val="bottom"/></w:tcPr></w:tblStylePr></w:style>'
    )


def _cards_style() -> str:
    """Return the style of cards: a line over each, air between them."""
    firm = f'w:val="single" w:sz="8" w:space="0" w:color="{DEEP[1:]}"'
    return (
        f'<w:style w:type="table" w:customStyle="1" w:styleId="{CARDS.replace(" ", "")}">'
        f'<w:name w:val="{CARDS}"/><w:basedOn w:val="TableNormal"/><w:qFormat/>'
        f"<w:tblPr><w:tblBorders><w:top {firm}/><w:insideH {firm}/></w:tblBorders>"
        '<w:tblCellMar><w:top w:w="0" w:type="dxa"/><w:left w:w="0" w:type="dxa"/>'
        '<w:bottom w:w="120" w:type="dxa"/><w:right w:w="240" w:type="dxa"/></w:tblCellMar></w:tblPr>'
        "</w:style>"
    )


def _sample() -> str:
    """Return document.xml: one line in each style, so that whoever restyles sees them all."""
    lines = [f"<w:p><w:r><w:t>{escape(ADVICE)}</w:t></w:r></w:p>"]
    lines += [
        f'<w:p><w:pPr><w:pStyle w:val="{s.id}"/></w:pPr><w:r><w:t>{escape(s.name)}: '
        f"{escape(s.shown)}</w:t></w:r></w:p>"
        for s in PARAGRAPHS
        if s.name not in ("Header", "Footer")
    ]
    cell = (
        '<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/></w:tcPr><w:p><w:pPr><w:pStyle w:val="{style}"/>'
        "</w:pPr><w:r><w:t>{text}</w:t></w:r></w:p></w:tc>"
    )
    for name, styles in ((TABLE, ("TableHead", "TableText")), (CARDS, ("CardLabel",))):
        rows = "".join(
            f"<w:tr>{cell.format(width=4700, style=style, text=name) * 2}</w:tr>"
            for style in styles
        )
        lines.append(
            f'<w:tbl><w:tblPr><w:tblStyle w:val="{name.replace(" ", "")}"/><w:tblW w:w="9400" w:type="dxa"/>'
            f'<w:tblLayout w:type="fixed"/><w:tblLook w:val="0020" w:firstRow="1" w:lastRow="0" '
            f'w:firstColumn="0" w:lastColumn="0" w:noHBand="1" w:noVBand="1"/></w:tblPr><w:tblGrid>'
            f'<w:gridCol w:w="4700"/><w:gridCol w:w="4700"/></w:tblGrid>{rows}</w:tbl><w:p/>'
        )
    section = (
        '<w:sectPr><w:headerReference w:type="default" r:id="rId4"/>'
        '<w:footerReference w:type="default" r:id="rId5"/><w:pgSz w:w="11906" w:h="16838"/>'
        '<w:pgMar w:top="1304" w:right="1247" w:bottom="1134" w:left="1247" w:header="567" w:footer="510" '
        'w:gutter="0"/></w:sectPr>'
    )
    spaces = (
        f'xmlns:w="{SPACE}" '
        'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"'
    )
    return f"{HEAD}<w:document {spaces}><w:body>{''.join(lines)}{section}</w:body></w:document>"
