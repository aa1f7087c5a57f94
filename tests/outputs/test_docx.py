"""The Word file reads back: real styles, tables that fit, numbers of the document, text as text."""

import io
import re
import zipfile

import docx
import pytest
from docx.oxml.ns import qn
from lxml import etree

from sitefare.errors import RunError
from sitefare.outputs.document import (
    Table,
)
from sitefare.outputs.docx_document import word
from sitefare.outputs.docx_reference import (
    NAMES,
    SHIPPED,
    TABLE,
    opened,
    style_ids,
)

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


def parts(blob):
    """Return the XML parts of a DOCX as trees, by name."""
    with zipfile.ZipFile(io.BytesIO(blob)) as package:
        names = [name for name in package.namelist() if name.endswith(".xml")]
        return {name: etree.fromstring(package.read(name)) for name in names}


def read(blob):
    return docx.Document(io.BytesIO(blob))


@pytest.fixture(scope="module")
def made(document):
    return word(document)


@pytest.fixture(scope="module")
def file_of(written_proposal):
    """Return the bytes of proposal.docx as it was written, and what python-docx reads in it."""

    def found(site, scenario):
        blob = (written_proposal(site, scenario) / "proposal.docx").read_bytes()
        return blob, read(blob)

    return found


def shown(element):
    """Return the text of an element, without the instructions of fields."""
    return "".join(node.text or "" for node in element.iter(W + "t"))


def tidy(text):
    return re.sub(r"\s+", " ", text.replace("\u200b", "").replace("\u00a0", " ")).strip()


def styled(paper, *names):
    """Return the paragraphs in some styles, in order, those of tables left out."""
    return [p for p in paper.paragraphs if p.style.name in names]


def tables(paper, name=TABLE):
    return [table for table in paper.tables if table.style.name == name]


def section_widths(paper):
    """Return for each table of the body the width of text on its page. [twip]"""
    widths, waiting = [], []
    for child in paper.element.body:
        if child.tag == qn("w:tbl"):
            waiting.append(child)
        for section in child.iter(qn("w:sectPr")):
            size, margin = section.find(qn("w:pgSz")), section.find(qn("w:pgMar"))
            room = int(size.get(qn("w:w"))) - sum(
                int(margin.get(qn(f"w:{side}"))) for side in ("left", "right")
            )
            widths += [(table, room) for table in waiting]
            waiting = []
    assert not waiting
    return widths


# every proposal of the small set, as written


def test_headings_stand_in_the_document_s_order(file_of, proposals, pair):
    _, paper = file_of(*pair)
    found = [
        (int(p.style.name[-1]), p.text)
        for p in styled(paper, "Heading 1", "Heading 2", "Heading 3")
    ]
    assert found == [(level, text) for level, text, _ in proposals(*pair).document.contents]


def test_every_table_repeats_its_head_and_says_its_title(file_of, proposals, pair):
    _, paper = file_of(*pair)
    blocks = [b for b in proposals(*pair).document.blocks if isinstance(b, Table)]
    found = tables(paper)
    assert len(found) == len(blocks) > 20
    for table, block in zip(found, blocks, strict=True):
        flagged = [row._tr.trPr.find(qn("w:tblHeader")) is not None for row in table.rows]
        assert flagged == [True] + [False] * len(block.rows)
        first = [tidy(shown(cell)) for cell in table._tbl.tr_lst[0].tc_lst]
        assert first == [tidy(column.header + column.unit) for column in block.columns]
        assert table._tbl.tblPr.find(qn("w:tblLook")).get(qn("w:firstRow")) == "1"
        assert table._tbl.tblPr.find(qn("w:tblCaption")).get(qn("w:val"))


def test_every_cell_holds_the_document_s_text(file_of, proposals, pair):
    _, paper = file_of(*pair)
    blocks = [b for b in proposals(*pair).document.blocks if isinstance(b, Table)]
    for table, block in zip(tables(paper), blocks, strict=True):
        plain = [c for c in range(len(block.columns)) if c not in block.rich]
        for index, row in enumerate(table._tbl.tr_lst[1:]):
            cells = [tidy(shown(cell)) for cell in row.tc_lst]


def test_fonts_are_the_theme_s_with_another_in_reserve():
    trees = parts(SHIPPED.read_bytes())
    (font,) = trees["word/fontTable.xml"].iter(W + "font")
    assert font.get(W + "name") == "Noto Sans"
    assert font.find(W + "altName").get(W + "val") == "Segoe UI"


@pytest.fixture
def restyled(tmp_path):
    """An agency's file: other colours, letter paper, a head of its own that Word has cut up."""
    paper = docx.Document(str(SHIPPED))
    paper.styles["Heading 1"].font.size = docx.shared.Pt(30)
    section = paper.sections[0]
    section.page_width, section.page_height = docx.shared.Inches(8.5), docx.shared.Inches(11)
    line = section.header.paragraphs[-1]
    for piece in ("An agency: {ti", "tle}, ", "{draft}"):
        line.add_run(piece)
    table = section.header._element.find(qn("w:tbl"))
    section.header._element.remove(table)
    path = tmp_path / "agency.docx"
    paper.save(str(path))
    return path


def test_another_house_style_is_worn(document, restyled):
    blob = word(document, restyled)
    paper = read(blob)
    assert paper.styles["Heading 1"].font.size.pt == 30
    assert paper.sections[0].page_width.inches == 8.5
    for table, room in section_widths(paper):
        assert sum(int(c.get(qn("w:w"))) for c in table.tblGrid) <= room
    assert shown(paper.sections[0].header._element) == "An agency: A farm for Demo site, DRAFT"
    assert "House style" not in shown(paper.element.body)


def test_a_house_style_without_a_place_for_the_mark_is_marked(document, tmp_path):
    paper = docx.Document(str(SHIPPED))
    header = paper.sections[0].header._element
    header.remove(header.find(qn("w:tbl")))
    paper.save(str(tmp_path / "plain.docx"))
    made = read(word(document, tmp_path / "plain.docx"))
    assert shown(made.sections[0].header._element) == "DRAFT"


def test_style_keys_may_be_in_the_user_s_language(document, tmp_path):
    with zipfile.ZipFile(SHIPPED) as package:
        held = {name: package.read(name) for name in package.namelist()}
    held["word/styles.xml"] = held["word/styles.xml"].replace(b'"Heading1"', b'"Titre1"')
    with zipfile.ZipFile(tmp_path / "fr.docx", "w") as package:
        for name, content in held.items():
            package.writestr(name, content)
    blob = word(document, tmp_path / "fr.docx")
    assert styled(read(blob), "Heading 1")


def test_a_house_style_that_is_not_there_or_no_word_file_is_refused(document, tmp_path):
    with pytest.raises(RunError, match=r"the house style .*gone.docx is not there"):
        word(document, tmp_path / "gone.docx")
    (tmp_path / "text.docx").write_text("not a zip", encoding="utf-8")
    with zipfile.ZipFile(tmp_path / "other.docx", "w") as package:
        package.writestr("a.txt", "x")
    for name in ("text.docx", "other.docx"):
        with pytest.raises(RunError, match=f"the house style {name} is not a Word document"):
            word(document, tmp_path / name)


def test_a_house_style_that_lacks_our_styles_is_refused(document, tmp_path):
    docx.Document().save(str(tmp_path / "blank.docx"))
    with pytest.raises(
        RunError, match=r"the house style blank.docx lacks the styles .* and \d+ more; start"
    ):
        word(document, tmp_path / "blank.docx")
    paper = docx.Document(str(SHIPPED))
    gone = paper.styles["Finding"].element
    gone.getparent().remove(gone)
    paper.save(str(tmp_path / "one.docx"))
    with pytest.raises(RunError, match=r"lacks the style Finding; start from"):
        word(document, tmp_path / "one.docx")


def test_every_style_is_in_the_shipped_file():
    assert set(NAMES) <= set(style_ids(opened()))
