"""The Word file reads back: real styles, tables that fit, numbers of the document, text as text."""

import datetime as dt
import io
import re
import zipfile
from dataclasses import replace

import docx
import pytest
from docx.enum.section import WD_ORIENT
from docx.enum.text import WD_ALIGN_PARAGRAPH
from docx.oxml.ns import qn
from lxml import etree
from pypdf import PdfReader

from sitefare.errors import RunError
from sitefare.outputs.document import (
    Bullets,
    Column,
    Document,
    Figure,
    Heading,
    Metadata,
    Paragraph,
    Table,
)
from sitefare.outputs.docx_document import spelling, word
from sitefare.outputs.docx_reference import (
    CARDS,
    NAMES,
    SHIPPED,
    TABLE,
    opened,
    reference,
    style_ids,
)
from sitefare.outputs.numbers import Formats

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
META = Metadata("t", "s", "c", "2027-02", "h", "v")


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
            assert [cells[c] for c in plain] == [tidy(block.cell(index, c)) for c in plain]


def test_captions_carry_the_document_s_numbers(file_of, proposals, pair):
    _, paper = file_of(*pair)
    for kind, style, name in ((Figure, "Caption", "Figure"), (Table, "Table Caption", "Table")):
        numbers = [p.number for p in proposals(*pair).document.placed if isinstance(p.block, kind)]
        captions = styled(paper, style)
        assert [tidy(shown(p._p)).split(". ")[0] for p in captions] == [
            f"{name} {n}" for n in numbers
        ]
        for caption in captions:
            assert any(f"SEQ {name}" in code.text for code in caption._p.iter(qn("w:instrText")))


def test_every_picture_has_its_alt_text_and_fits(file_of, proposals, pair):
    _, paper = file_of(*pair)
    figures = [b for b in proposals(*pair).document.blocks if isinstance(b, Figure)]
    pictures = list(paper.element.body.iter(qn("wp:docPr")))
    assert [tidy(p.get("descr")) for p in pictures] == [tidy(f.alt_text) for f in figures]
    first = paper.sections[0]
    room = first.page_width - first.left_margin - first.right_margin
    assert all(shape.width <= room for shape in paper.inline_shapes)
    for shape in paper.inline_shapes:
        image = paper.part.related_parts[shape._inline.graphic.graphicData.pic.blipFill.blip.embed]
        assert image.image.px_width / (shape.width / 914400) > 280  # dots an inch, for print


def test_no_table_is_wider_than_its_page(file_of, pair):
    _, paper = file_of(*pair)
    found = section_widths(paper)
    assert len(found) > 20
    for table, room in found:
        columns = [int(c.get(qn("w:w"))) for c in table.tblGrid]
        assert min(columns) > 0
        assert sum(columns) <= room
        for row in table.tr_lst:
            cells = [cell.tcPr.find(qn("w:tcW")).get(qn("w:w")) for cell in row.tc_lst]
            assert cells == [str(width) for width in columns]


def test_first_page_gives_the_results(file_of, proposals, pair):
    """Numbers of results.json, written by the same formatter, stand above the contents."""
    _, paper = file_of(*pair)
    found = proposals(*pair).results
    formats = Formats("en", found["case"]["currency"])
    people, cost, capital = (
        found["indicators"][name]["value"]
        for name in ("people_fed", "cost_per_person_day", "capex")
    )
    wanted = {
        formats.number(people, 3 if people >= 100 else 2),
        formats.money(cost),
        formats.money(capital),
    }
    (cards,) = tables(paper, CARDS)
    assert wanted <= {shown(p._p) for row in cards.rows for c in row.cells for p in c.paragraphs}
    body = [tidy(shown(child)) for child in paper.element.body]
    summary = " ".join(body[: body.index("The place")])
    assert all(tidy(words) in summary for words in wanted)


def test_the_same_proposal_gives_the_same_bytes(file_of, proposals, pair):
    blob, _ = file_of(*pair)
    assert word(proposals(*pair).document) == blob
    assert len(blob) < 6_000_000
    with zipfile.ZipFile(io.BytesIO(blob)) as package:
        assert {entry.date_time for entry in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_it_says_whose_and_when_it_is(file_of, proposals, pair):
    _, paper = file_of(*pair)
    meta = proposals(*pair).document.metadata
    core = paper.core_properties
    assert core.title == meta.title
    assert core.created == core.modified
    day = dt.date.fromisoformat(f"{meta.date}-01"[:10])
    assert core.created.replace(tzinfo=None) == dt.datetime.combine(day, dt.time())
    assert meta.input_hash in core.keywords
    assert core.language == "en"
    assert meta.title == styled(paper, "Title")[0].text


def test_every_printed_page_is_marked_and_numbered(
    written_proposal, proposals, office, tmp_path, pair
):
    office([written_proposal(*pair) / "proposal.docx"], "pdf", tmp_path)
    pages = [page.extract_text() for page in PdfReader(tmp_path / "proposal.pdf").pages]
    assert len(pages) > 20
    for number, text in enumerate(pages, start=1):
        assert "DRAFT" in text
        assert f"page {number} of {len(pages)}" in tidy(text)
    assert tidy(proposals(*pair).document.metadata.title) in tidy(pages[0])


# one small document


def test_contents_show_their_entries_and_lead_somewhere(document, made):
    paper = read(made)
    (contents,) = paper.element.body.findall(qn("w:sdt"))
    entries = [p for p in contents.iter(qn("w:p")) if p.pPr.pStyle.val == style_ids(paper)["TOC 1"]]
    assert [shown(p) for p in entries] == [t for level, t, _ in document.contents if level == 1]
    assert all(p.find(qn("w:hyperlink")).get(qn("w:anchor")) for p in entries)
    assert any("TOC" in code.text for code in contents.iter(qn("w:instrText")))


def test_references_lead_to_what_they_name(made):
    paper = read(made)
    (lead,) = styled(paper, "Lead")
    assert "in Figure 1 and Table 1" in tidy(shown(lead._p))
    anchors = [link.get(qn("w:anchor")) for link in lead._p.iter(qn("w:hyperlink"))]
    homes = {
        mark.get(qn("w:name")): tidy(shown(mark.getparent()))
        for mark in paper.element.body.iter(qn("w:bookmarkStart"))
    }
    assert [homes[anchor].split(". ")[0] for anchor in anchors] == ["Figure 1", "Table 1"]


def test_paragraphs_wear_named_styles(made):
    used = {p.style.name for p in read(made).paragraphs}
    assert {"Title", "Draft Notice", "Heading 1", "Heading 2", "Lead", "Stop Title", "Stop"} <= used
    assert {"List Bullet", "Finding", "Figure", "Caption", "Table Caption", "Small Print"} <= used
    assert "Normal" not in used


def test_the_draft_is_marked_in_the_head_and_a_final_is_not(made, final_document):
    def head(blob):
        return shown(read(blob).sections[0].header._element)

    assert head(made) == "A farm for Demo siteDRAFT"
    final = word(final_document)
    assert head(final) == "A farm for Demo site"
    assert "DRAFT" not in shown(read(final).element.body)
    assert read(final).core_properties.content_status == "Final"


def test_the_foot_counts_pages_by_fields(made):
    foot = read(made).sections[0].footer._element
    assert [c.text.strip() for c in foot.iter(qn("w:instrText"))] == ["PAGE", "NUMPAGES"]
    assert "0123abcd" in shown(foot)


def test_awkward_text_stays_text(awkward_document, awkward):
    paper = read(word(awkward_document))
    assert awkward in styled(paper, "Title")[0].text
    assert f"About {awkward}" in [p.text for p in styled(paper, "Heading 1")]
    assert shown(paper.element.body).replace("\u200b", "").count(awkward) >= 75
    assert awkward in shown(paper.sections[0].header._element)


def test_what_xml_cannot_hold_becomes_a_space():
    held = Document(replace(META, title="t\x00\x0b"), (Paragraph("a\x01b\ufffec\td\ud800e"),))
    assert styled(read(word(held)), "Body Text")[-1].text == "a b c d e"


def test_a_title_too_long_for_a_property_is_cut_there_alone():
    paper = read(word(Document(replace(META, title="long " * 80), (Paragraph("x"),))))
    assert len(paper.core_properties.title) == 255
    assert len(styled(paper, "Title")[0].text) == 400


def test_ordered_lists_count_from_one_each_time():
    lists = (Bullets(("a", "b"), ordered=True), Paragraph("x"), Bullets(("c",), ordered=True))
    paper = read(word(Document(META, lists)))
    keys = [p._p.pPr.numPr.numId.val for p in styled(paper, "List Number")]
    assert keys[0] == keys[1] != keys[2]
    begun = {
        n.numId: n.find(f".//{qn('w:startOverride')}")
        for n in paper.part.numbering_part.element.num_lst
    }
    assert all(begun[key].get(qn("w:val")) == "1" for key in keys)


def broad(words=4, rows=14):
    columns = tuple(Column(f"Column {n}") for n in range(6))
    cells = tuple(tuple("some words that need room " * words for _ in columns) for _ in range(rows))
    return Table(columns, cells, "Broad", wide=True)


def test_a_part_with_a_broad_table_stands_on_pages_turned_round(pictures):
    blocks = (
        Heading(1, "Before"),
        Paragraph("x"),
        Heading(1, "Broad"),
        Heading(2, "Part"),
        broad(),
        Heading(1, "After"),
        Figure(pictures["cash"], "c"),
    )
    paper = read(word(Document(META, blocks)))
    turned = [section.orientation for section in paper.sections]
    assert turned == [WD_ORIENT.PORTRAIT, WD_ORIENT.LANDSCAPE, WD_ORIENT.PORTRAIT]
    assert paper.sections[1].page_width == paper.sections[0].page_height
    ((table, room),) = section_widths(paper)
    assert sum(int(c.get(qn("w:w"))) for c in table.tblGrid) == room
    (part,) = [p for p in paper.paragraphs if p.text == "Part"]
    before = [
        p
        for p in part._p.itersiblings(preceding=True)
        if p.find(f".//{qn('w:sectPr')}") is not None
    ]
    assert len(before) == 1


@pytest.mark.parametrize("table", [broad(words=1), broad(rows=3)])
def test_a_table_that_fits_turns_no_page(table):
    paper = read(word(Document(META, (Heading(1, "Broad"), table))))
    assert [section.orientation for section in paper.sections] == [WD_ORIENT.PORTRAIT]


def test_a_table_of_many_columns_is_squeezed_onto_the_page():
    columns = tuple(Column(f"Very_long_name_of_column{n}") for n in range(24))
    table = Table(columns, (tuple("1234567890" for _ in columns),), "Many")
    ((made, room),) = section_widths(read(word(Document(META, (table,)))))
    assert sum(int(c.get(qn("w:w"))) for c in made.tblGrid) <= room


def test_a_language_from_right_to_left_turns_pages_tables_and_text(document):
    trees = parts(word(Document(replace(document.metadata, language="ar"), document.blocks)))
    body = trees["word/document.xml"]
    tables = [t for name in trees if name.startswith("word/") for t in trees[name].iter(W + "tbl")]
    assert len(tables) == 4
    assert all(t.find(f"{W}tblPr/{W}bidiVisual") is not None for t in tables)
    assert all(s.find(W + "bidi") is not None for s in body.iter(W + "sectPr"))
    styles = {s.get(W + "styleId"): s for s in trees["word/styles.xml"].iter(W + "style")}
    assert styles["Normal"].find(f"{W}pPr/{W}bidi") is not None
    assert styles["Normal"].find(f"{W}rPr/{W}rtl") is not None
    assert {e.get(W + "bidi") for e in trees["word/styles.xml"].iter(W + "lang")} == {"ar-EG"}


def test_english_left_in_french_pages_is_spelt_as_english():
    columns = (Column("Poste"), Column("Coût", "FJD", "right"))
    rows = (("A pump of some size.", "1,200 FJD"), ("janv.", "Eau"))
    blocks = (Paragraph("It needs a **pump**, 12 kW."), Table(columns, rows, "Pompes"))
    said = frozenset({"Poste", "Coût", "Pompes", "Eau"})
    paper = read(word(Document(replace(META, language="fr"), blocks, said)))

    def tongues(line):
        """The languages that the runs of a paragraph name."""
        return {tag.get(qn("w:val")) for r in line.r_lst for tag in r.iter(qn("w:lang"))}

    (sentence,) = styled(paper, "Body Text")
    assert [tongues(r.getparent()) for r in sentence._p.r_lst] == [{"en-GB"}] * 3
    assert all(r.rPr.find(qn("w:lang")) is not None for r in sentence._p.r_lst)
    (table,) = tables(paper)
    lines = [cell.paragraphs[0]._p for row in table.rows for cell in row.cells]
    assert [tongues(line) for line in lines] == [
        set(), set(), {"en-GB"}, set(), set(), set(),
    ]  # fmt: skip


@pytest.mark.parametrize(("language", "date"), [("fr", "février 2027"), ("ar", "فبراير 2027")])
def test_the_date_below_the_title_and_at_the_foot_is_in_words(language, date):
    # Unicode CLDR's pattern for month and year, as in the PDF and the page.
    paper = read(word(Document(replace(META, language=language), (Paragraph("x"),))))
    assert date in styled(paper, "Imprint")[0].text
    assert date in "".join(t.text for t in paper.sections[-1].footer._element.iter(qn("w:t")))
    assert META.date not in styled(paper, "Imprint")[0].text


def test_english_left_in_arabic_pages_reads_from_left_to_right():
    columns = (Column("اسم"), Column("قدر", align="right"))
    rows = (("ماء", "1,200 JOD"), ("A pump of some size.", "مضخة"))
    blocks = (
        Paragraph("It needs a pump, 12 kW.", "lead"),
        Paragraph("المضخة من نوع Pump (12 kW) في المكان المناسب."),
        Table(columns, rows, "مضخات"),
    )
    paper = read(word(Document(replace(META, language="ar"), blocks)))

    def turned(line):
        """Whether a line is set from left to right, on which side it stands."""
        off = line.pPr.find(qn("w:bidi")) is not None
        assert {r.rPr is not None and r.rPr.find(qn("w:rtl")) is not None for r in line.r_lst} == {
            off
        }
        return off, line.pPr.jc.val if line.pPr.jc is not None else None

    assert turned(styled(paper, "Lead")[0]._p) == (True, None)
    (spelt,) = styled(paper, "Lead")[0]._p.iter(qn("w:lang"))
    assert spelt.get(qn("w:val")) == "en-GB"
    assert turned(styled(paper, "Body Text")[0]._p) == (False, None)
    (table,) = tables(paper)
    lines = [cell.paragraphs[0]._p for row in table.rows[1:] for cell in row.cells]
    start, end = WD_ALIGN_PARAGRAPH.RIGHT, None  # the start of an Arabic line is at the right
    assert [turned(line) for line in lines] == [
        (False, None), (True, end), (True, start), (False, WD_ALIGN_PARAGRAPH.RIGHT),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("language", "expected"),
    [("en", "en-GB"), ("fr", "fr-FR"), ("ar", "ar-EG"), ("pt_BR", "pt-BR")],
)
def test_spelling_names_a_country(language, expected):
    assert spelling(language) == expected


# the house style


def test_the_shipped_house_style_is_what_the_script_makes():
    made = reference()
    with zipfile.ZipFile(io.BytesIO(made)) as a, zipfile.ZipFile(SHIPPED) as b:
        assert a.namelist() == b.namelist()
        assert all(a.read(name) == b.read(name) for name in a.namelist())
    assert reference() == made


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
