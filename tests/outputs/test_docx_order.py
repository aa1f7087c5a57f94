"""Word stumbles on nothing in a file: elements in order, keys used once, targets that exist.

Orders are of ISO/IEC 29500-1:2016, annex A (wml.xsd, dml-main.xsd, dml-picture.xsd): Word refuses a
file, or drops what it meets out of order.
"""

import io
import re
import shutil
import zipfile
from dataclasses import replace

import docx
import pytest
from lxml import etree

from sitefare.outputs.design_document import make_design
from sitefare.outputs.document import (
    Bullets,
    Column,
    Document,
    Fact,
    Facts,
    Figure,
    Heading,
    Metadata,
    PageBreak,
    Paragraph,
    Table,
)
from sitefare.outputs.docx_document import word
from sitefare.outputs.docx_reference import SHIPPED

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
R = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"
WP = "{http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing}"
PIC = "{http://schemas.openxmlformats.org/drawingml/2006/picture}"

#: Children in the order of the schema, by parent.
ORDER = {
    # CT_PPr: CT_PPrBase, then rPr, sectPr, pPrChange
    "pPr": "pStyle keepNext keepLines pageBreakBefore framePr widowControl numPr suppressLineNumbers pBdr "
    "shd tabs suppressAutoHyphens kinsoku wordWrap overflowPunct topLinePunct autoSpaceDE autoSpaceDN bidi "
    "adjustRightInd snapToGrid spacing ind contextualSpacing mirrorIndents suppressOverlap jc textDirection "
    "textAlignment textboxTightWrap outlineLvl divId cnfStyle rPr sectPr pPrChange",
    # EG_RPrBase as Word writes it
    "rPr": "rStyle rFonts b bCs i iCs caps smallCaps strike dstrike outline shadow emboss imprint noProof "
    "snapToGrid vanish webHidden color spacing w kern position sz szCs highlight u effect bdr shd fitText "
    "vertAlign rtl cs em lang eastAsianLayout specVanish oMath",
    # CT_TblPrBase
    "tblPr": "tblStyle tblpPr tblOverlap bidiVisual tblStyleRowBandSize tblStyleColBandSize tblW jc "
    "tblCellSpacing tblInd tblBorders shd tblLayout tblCellMar tblLook tblCaption tblDescription tblPrChange",
    # CT_TcPrBase
    "tcPr": "cnfStyle tcW gridSpan hMerge vMerge tcBorders shd noWrap tcMar textDirection tcFitText vAlign "
    "hideMark",
    "tbl": "tblPr tblGrid tr",
    "tr": "trPr tc",
    "tc": "tcPr p",
    # EG_SectPrContents after the references
    "sectPr": "headerReference footerReference footnotePr endnotePr type pgSz pgMar paperSrc pgBorders "
    "lnNumType pgNumType cols formProt vAlign noEndnote titlePg textDirection bidi rtlGutter docGrid",
    # CT_Style
    "style": "name aliases basedOn next link autoRedefine hidden uiPriority semiHidden unhideWhenUsed qFormat "
    "locked personal personalCompose personalReply rsid pPr rPr tblPr trPr tcPr tblStylePr",
    "tblStylePr": "pPr rPr tblPr trPr tcPr",
    "styles": "docDefaults latentStyles style",
    # CT_Lvl, CT_AbstractNum, CT_Numbering
    "lvl": "start numFmt lvlRestart pStyle isLgl suff lvlText lvlPicBulletId legacy lvlJc pPr rPr",
    "abstractNum": "nsid multiLevelType tmpl name styleLink numStyleLink lvl",
    "numbering": "numPicBullet abstractNum num numIdMacAtCleanup",
    "sdt": "sdtPr sdtEndPr sdtContent",
    "tblBorders": "top left start bottom right end insideH insideV",
    "tblCellMar": "top left start bottom right end",
    "pBdr": "top left bottom right between bar",
    # CT_Inline, CT_Picture, CT_BlipFillProperties
    "inline": "extent effectExtent docPr cNvGraphicFramePr graphic",
    "pic": "nvPicPr blipFill spPr",
    "blipFill": "blip srcRect stretch tile",
    # CT_Settings, those we write
    "settings": "writeProtection view zoom defaultTabStop autoHyphenation evenAndOddHeaders characterSpacingControl compat "
    "docVars rsids mathPr themeFontLang clrSchemeMapping decimalSymbol listSeparator",
    "font": "altName panose1 charset family notTrueType pitch sig embedRegular embedBold embedItalic "
    "embedBoldItalic",
}
ORDERS = {parent: children.split() for parent, children in ORDER.items()}

#: Children that may stand more than once.
REPEATED = {"tr", "tc", "p", "style", "tblStylePr", "lvl", "abstractNum", "num", "headerReference",
            "footerReference"}  # fmt: skip


def parts(blob):
    """Return the XML parts of a DOCX as trees, by name."""
    with zipfile.ZipFile(io.BytesIO(blob)) as package:
        return {
            name: etree.fromstring(package.read(name))
            for name in package.namelist()
            if name.endswith((".xml", ".rels"))
        }


def local(element):
    """Return an element's name without its namespace; comments have none."""
    return etree.QName(element).localname if isinstance(element.tag, str) else ""


def disorder(root):
    """Yield what stands out of order, twice where once is meant, or where it is unknown."""
    for parent in root.iter():
        order = ORDERS.get(local(parent))
        if order is None:
            continue
        names = [local(child) for child in parent]
        unknown = [name for name in names if name not in order]
        places = [order.index(name) for name in names if name in order]
        twice = [n for n in set(names) if names.count(n) > 1 and n not in REPEATED]
        if unknown or twice or places != sorted(places):
            yield f"{local(parent)}: {names}"


def faults(blob):
    """Return everything in a DOCX that Word would stumble on."""
    trees = parts(blob)
    found = [f"{name}: {fault}" for name, tree in trees.items() for fault in disorder(tree)]
    body = trees["word/document.xml"]
    styles = {s.get(W + "styleId") for s in trees["word/styles.xml"].iter(W + "style")}
    used = {
        e.get(W + "val") for kind in ("pStyle", "rStyle", "tblStyle") for e in body.iter(W + kind)
    }
    found += [f"style {name} is used and not there" for name in used - styles]
    found += _keys(body)
    for cell in body.iter(W + "tc"):
        if local(cell[-1]) != "p":
            found.append("a cell does not end with a paragraph")
    found += _fields(body)
    relations = {r.get("Id") for r in trees["word/_rels/document.xml.rels"]}
    named = {v for e in body.iter() for k, v in e.attrib.items() if k.startswith(R)}
    found += [f"relation {key} is not there" for key in named - relations]
    numbers = {n.get(W + "numId") for n in trees["word/numbering.xml"].iter(W + "num")}
    found += [
        f"list {e.get(W + 'val')} is not there"
        for e in body.iter(W + "numId")
        if e.get(W + "val") not in numbers
    ]
    return [*found, *_neighbours(body), *_listed(blob)]


def _keys(body):
    """Yield keys used twice, and links to nowhere."""
    for kind, key in ((W + "bookmarkStart", W + "id"), (WP + "docPr", "id")):
        keys = [e.get(key) for e in body.iter(kind)]
        yield from (
            f"{local(e)} repeats a key" for e in body.iter(kind) if keys.count(e.get(key)) > 1
        )
    starts = [e.get(W + "id") for e in body.iter(W + "bookmarkStart")]
    ends = [e.get(W + "id") for e in body.iter(W + "bookmarkEnd")]
    if sorted(starts) != sorted(ends):
        yield "a bookmark does not end"
    names = [e.get(W + "name") for e in body.iter(W + "bookmarkStart")]
    if len({name.lower() for name in names}) < len(names):
        yield "two bookmarks share a name"
    yield from (
        f"bookmark {n}" for n in names if not re.fullmatch(r"[A-Za-z_]\w{0,39}", n, re.ASCII)
    )
    targets = {e.get(W + "anchor") for e in body.iter(W + "hyperlink")}
    yield from (f"link to {target}, which is not there" for target in targets - set(names))


def _fields(body):
    """Yield fields that do not begin, part and end in turn."""
    depth = 0
    for sign in body.iter(W + "fldChar"):
        depth += {"begin": 1, "separate": 0, "end": -1}[sign.get(W + "fldCharType")]
        if depth not in (0, 1):
            yield "a field stands in a field"
    if depth:
        yield "a field does not end"


def _neighbours(body):
    """Yield tables that touch: Word joins them into one."""
    for table in body.iter(W + "tbl"):
        following = table.getnext()
        if following is None or local(following) == "tbl":
            yield "a table is not followed by a paragraph"


def _listed(blob):
    """Yield parts that the list of content types does not know."""
    with zipfile.ZipFile(io.BytesIO(blob)) as package:
        types = etree.fromstring(package.read("[Content_Types].xml"))
        names = package.namelist()
    known = {e.get("PartName") for e in types} | {e.get("Extension") for e in types}
    yield from (
        f"{name} has no content type"
        for name in names
        if name != "[Content_Types].xml"
        and f"/{name}" not in known
        and name.rsplit(".")[-1] not in known
    )
    if len(set(names)) < len(names):
        yield "a part stands twice"


# what is checked


def test_word_finds_nothing_to_stumble_on_in_a_proposal(written_proposal, pair):
    assert faults((written_proposal(*pair) / "proposal.docx").read_bytes()) == []


def test_nor_in_a_design_sheet(plan):
    assert faults(word(make_design(plan("port_anui")).document)) == []


def test_nor_in_a_small_document(document, final_document, awkward_document):
    for made in (document, final_document, awkward_document):
        assert faults(word(made)) == []


def test_nor_where_the_language_runs_from_right_to_left(document):
    right = Document(replace(document.metadata, language="ar"), document.blocks)
    assert faults(word(right)) == []


def test_nor_in_the_shipped_house_style():
    assert [f for tree in parts(SHIPPED.read_bytes()).values() for f in disorder(tree)] == []


def test_nor_in_one_that_python_docx_has_rewritten(document, tmp_path):
    paper = docx.Document(str(SHIPPED))
    paper.styles["Heading 1"].font.size = docx.shared.Pt(30)
    paper.styles["Title"].paragraph_format.keep_with_next = True
    paper.save(str(tmp_path / "agency.docx"))
    assert faults(word(document, tmp_path / "agency.docx")) == []


def test_nor_in_one_that_libreoffice_has_saved(document, office, tmp_path):
    """An agency may restyle the file in another program, which writes every part anew."""
    shutil.copy(SHIPPED, tmp_path / "agency.docx")
    office([tmp_path / "agency.docx"], "docx", tmp_path / "saved")
    made = word(document, tmp_path / "saved" / "agency.docx")
    assert faults(made) == []
    paper = docx.Document(io.BytesIO(made))
    head = "".join(t.text for t in paper.sections[0].header._element.iter(W + "t"))
    assert head == "A farm for Demo siteDRAFT"
    assert {p.style.name for p in paper.paragraphs} >= {"Heading 1", "Table Caption", "Finding"}


def test_nor_where_blocks_meet_in_every_order(pictures):
    broad = Table(
        tuple(Column(f"Column {n}") for n in range(6)),
        tuple(tuple("some words that need room " * 4 for _ in range(6)) for _ in range(14)),
        "Broad",
        wide=True,
    )
    small = Table((Column("a"), Column("b", "m", "right")), (("x", 1.5),), "Small")
    cards = Facts((Fact("a", "b", "c", "d", "here"),))
    figure = Figure(pictures["cash"], "c")
    listed = Bullets(("one", "two"), ordered=True)
    first = Heading(1, "Here", "here")
    some = (small, cards, figure, listed, PageBreak(), Paragraph("x"), Heading(1, "h"), broad)
    meta = Metadata("t", "s", "c", "2027-02", "h", "v")
    for left in some:
        for right in some:
            assert faults(word(Document(meta, (first, left, right)))) == [], (left, right)


BREAKS = {
    "order": ("<w:pPr><w:pStyle", "<w:pPr><w:jc w:val='left'/><w:pStyle", "pPr"),
    "key": ('<w:bookmarkStart w:id="2"', '<w:bookmarkStart w:id="1"', "bookmark"),
    "link": ('w:anchor="a_list"', 'w:anchor="a_lost"', "a_lost"),
    "style": ('w:val="Lead"', 'w:val="Led"', "style Led"),
    "relation": ('r:embed="rId', 'r:embed="rIx', "relation"),
    "field": ('w:fldCharType="end"', 'w:fldCharType="begin"', "field"),
}


@pytest.mark.parametrize("name", BREAKS)
def test_a_broken_file_is_found_out(document, name):
    old, new, said = BREAKS[name]
    with zipfile.ZipFile(io.BytesIO(word(document))) as package:
        held = {part: package.read(part).decode("latin-1") for part in package.namelist()}
    assert old in held["word/document.xml"]
    held["word/document.xml"] = held["word/document.xml"].replace(old, new, 1)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as package:
        for part, text in held.items():
            package.writestr(part, text.encode("latin-1"))
    assert any(said in fault for fault in faults(made.getvalue()))
