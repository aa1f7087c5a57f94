"""The PDF reads back: tagged, dated by the document, marked on every page, text as text."""

import io
import re
from collections import Counter
from dataclasses import replace

import pdfua
import pikepdf
import pytest
from pypdf import PdfReader

from sitefare.errors import RunError
from sitefare.outputs.document import (
    Column,
    Document,
    Figure,
    Heading,
    Paragraph,
    Table,
    spans,
    texts,
)
from sitefare.outputs.pdf import pdf

#: Pages of the body at most, cover, contents and risk register included.
BODY = 29


@pytest.fixture(scope="module")
def made(document):
    return pdf(document)


@pytest.fixture(scope="module")
def read(made):
    return PdfReader(io.BytesIO(made))


def words(reader):
    text = " ".join(page.extract_text() for page in reader.pages)
    return re.sub(r"\s+", " ", text.replace("\u200b", ""))


def test_it_is_tagged_and_names_its_language(read):
    root = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert read.metadata.title == "A farm for Demo site"


def test_it_carries_the_date_of_the_document(read):
    assert read.metadata["/CreationDate"].startswith("D:20270201")


def test_every_page_is_marked_and_numbered(read):
    for number, page in enumerate(read.pages, start=1):
        text = page.extract_text()
        assert "DRAFT" in text
        assert f"page {number} of {len(read.pages)}" in text
        assert "0123abcd" in text


def test_a_final_document_is_not_marked(final_document):
    assert "DRAFT" not in words(PdfReader(io.BytesIO(pdf(final_document))))


def test_the_head_of_a_long_table_repeats(read):
    pages = [page.extract_text() for page in read.pages]
    rows = [text for text in pages if "row.\u200bnumber_" in text or "number_" in text]
    assert len(rows) >= 2
    assert all("Amount" in text for text in rows)


def test_references_are_numbered_as_on_the_page(read):
    assert "in Figure 1 and Table 1" in words(read)
    assert "Table 1. All rows" in words(read)


def test_only_our_fonts_are_embedded(read):
    names = {
        font.get_object()["/BaseFont"].split("+")[-1]
        for page in read.pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert names
    assert all(name.startswith("NotoSans") for name in names)


def test_drawings_are_vector(read):
    assert not any(page.images for page in read.pages)


def test_alt_text_is_in_the_file(read, pictures):
    alts = set()

    def walk(node):
        node = node.get_object()
        if isinstance(node, list):
            for child in node:
                walk(child)
        elif isinstance(node, dict):
            if "/Alt" in node:
                alts.add(str(node["/Alt"]))
            walk(node["/K"]) if "/K" in node else None

    walk(read.trailer["/Root"]["/StructTreeRoot"])
    assert pictures["diet"].alt in alts


def test_awkward_text_comes_out_as_text(awkward_document, awkward):
    text = words(PdfReader(io.BytesIO(pdf(awkward_document)))).replace(" ", "")
    assert text.count(awkward.replace(" ", "")) >= 10


def test_the_same_document_gives_the_same_bytes(document, made):
    assert pdf(document) == made


def test_a_refusal_is_one_sentence(document):
    unprintable = Document(document.metadata, (Paragraph("\u4e00"),))
    with pytest.raises(RunError, match="the PDF of 'A farm for Demo site' was refused"):
        pdf(unprintable)


@pytest.fixture(scope="module")
def paper(small_pair, proposals, written_proposal):
    """A proposal of the small set: its document, and its PDF's file."""
    return proposals(*small_pair), written_proposal(*small_pair) / "proposal.pdf"


def squeezed(text):
    """Drop what line breaks and hyphens of layout may change."""
    return re.sub(r"[\s\u200b\u00ad]+", "", text)


def test_the_text_holds_every_heading_caption_and_key_figure(paper):
    made, file = paper
    text = squeezed(" ".join(page.extract_text() for page in PdfReader(file).pages))
    for block in made.document.blocks:
        shown = ""
        if isinstance(block, Heading):
            shown = block.text
        elif isinstance(block, Table):
            shown = block.caption
        elif isinstance(block, Figure):
            shown = block.picture.title
        assert squeezed(shown) in text, shown
    view, f = made.view, made.view.formats
    for name, how in (
        ("people_fed", view.people),
        ("cost_per_person_day", f.money),
        ("capex", f.money),
        ("npv", f.money),
        ("operating_cost_year", f.money),
    ):
        assert squeezed(view.shown(name, how)) in text, name


def test_the_cover_holds_what_a_funder_looks_for(paper):
    made, file = paper
    page = PdfReader(file).pages[0].extract_text()
    text = squeezed(page)
    meta = made.document.metadata
    for shown in (meta.title, meta.input_hash, made.view.price_date, "DRAFT", "page 1 of"):
        assert squeezed(shown) in text, shown
    labels = [label for label, _ in meta.cover]
    for asked in ("Place", "Who asks", "Amount", "Status and estimate class", "In money alone"):
        assert any(label.startswith(asked) for label in labels), asked
    for _, value in meta.cover:
        assert squeezed(value) in text, value
    pays = "it pays" if made.view.pays else "it does not pay back"
    assert squeezed(pays) in text


def test_the_summary_is_one_page_and_the_contents_follow(paper):
    _, file = paper
    pages = [page.extract_text() for page in PdfReader(file).pages]
    assert "Summary" in pages[1]
    assert "What would make the answer no" in pages[1]
    contents = " ".join(pages[2].split())
    assert "Contents" in contents
    assert re.search(r"References ?[. ]*\d+", contents)


def test_the_body_is_short_and_bookmarks_name_every_heading(paper):
    made, file = paper
    reader = PdfReader(file)
    found = []

    def walk(items):
        for item in items:
            if isinstance(item, list):
                walk(item)
            else:
                found.append((item.title, reader.get_destination_page_number(item) + 1))

    walk(reader.outline)
    assert [title for title, _ in found] == [text for _, text, _ in made.document.contents]
    pages = dict(found)
    first = next(b.text for b in made.document.blocks if isinstance(b, Heading) and b.annex)
    assert pages[first] - 1 <= BODY
    for number, page in enumerate(reader.pages, start=1):
        if number == 1:
            continue
        text = page.extract_text()
        assert "DRAFT" in text, number
        assert f"page {number} of {len(reader.pages)}" in text
    # The running head names the section in force.
    assert "Annex: register of assumptions" in reader.pages[pages["References"] - 2].extract_text()


def test_its_tags_read_back(paper):
    """Tags, language, title, alternatives and table heads (ISO 14289-1, from memory)."""
    made, file = paper
    with pikepdf.open(file) as opened:
        root = opened.Root
        assert root.Lang == "en"
        assert root.MarkInfo.Marked
        assert root.ViewerPreferences.DisplayDocTitle
        assert str(opened.docinfo.Title) == made.document.metadata.title
        kinds, alts, heads = Counter(), [], []

        def walk(node):
            if isinstance(node, pikepdf.Array):
                for child in node:
                    walk(child)
            elif isinstance(node, pikepdf.Dictionary):
                kind = str(node.get("/S", ""))
                kinds[kind] += 1
                if kind == "/Figure":
                    alts.append(str(node.get("/Alt", "")))
                if kind == "/TH":
                    heads.append("/Column" in repr(node.get("/A")))
                if "/K" in node:
                    walk(node.K)

        walk(root.StructTreeRoot)
    blocks = made.document.blocks
    figures = [b for b in blocks if isinstance(b, Figure)]
    assert alts == [figure.alt_text for figure in figures]
    tables = [b for b in blocks if isinstance(b, Table)]
    assert kinds["/Table"] >= len(tables)
    assert kinds["/THead"] == kinds["/Table"]
    assert all(heads)
    assert len(heads) >= sum(len(table.columns) for table in tables)
    for level in (1, 2):
        asked = sum(isinstance(b, Heading) and b.level == level for b in blocks)
        assert kinds[f"/H{level}"] == asked
    assert kinds["/Caption"] == len(figures) + len(tables)


def test_fonts_are_embedded_as_subsets(paper):
    _, file = paper
    with pikepdf.open(file) as opened:
        fonts = [
            thing
            for thing in opened.objects
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/FontDescriptor"
        ]
        assert fonts
        for font in fonts:
            assert re.fullmatch(r"/[A-Z]{6}\+Noto\w+(-\w+)?", str(font.FontName)), font.FontName
            assert {"/FontFile2", "/FontFile3"} & set(font.keys())


def test_an_independent_checker_finds_nothing(paper):
    """The package pdfua decides 12 checks of ISO 14289-1; Typst's refusal is the wider gate."""
    _, file = paper
    report = pdfua.validate(str(file))
    assert [finding.message for finding in report.findings] == []
    assert report.exit_code == 0


def test_a_row_is_never_split_between_pages(document):
    words = [(f"row{n}", " ".join(f"r{n}w{k}" for k in range(n % 7 * 12 + 1))) for n in range(60)]
    table = Table((Column("Name", weight=1), Column("Words", weight=2)), tuple(words), "Rows")
    made = Document(document.metadata, (Heading(1, "Rows"), table))
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf(made))).pages]
    assert len(pages) > 2
    for n, (_, text) in enumerate(words):
        holding = {p for p, page in enumerate(pages) if re.search(rf"\br{n}w\d", page)}
        assert len(holding) == 1, (n, text)


def test_a_heading_never_stands_alone_at_the_foot(document):
    blocks = [Heading(1, "Start")]
    for n in range(1, 31):
        blocks += [Paragraph(f"filler {n} " + "word " * (9 * (n % 8) + 30))]
        blocks += [Heading(2, f"Heading number {n}x")]
        follows = Table((Column(f"Head {n}x"),), ((f"cell {n}x",), ("b",)), f"Caption {n}x")
        blocks += [follows if n % 2 else Paragraph(f"cell {n}x follows")]
    made = Document(document.metadata, tuple(blocks))
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf(made))).pages]
    assert len(pages) > 3
    for n in range(1, 31):
        (page,) = [page for page in pages if f"Heading number {n}x" in page]
        assert f"cell {n}x" in page, n


def test_halves_stand_side_by_side_and_folds_keep_every_row(document, pictures):
    column = (Column("Name"), Column("Value", align="right"))
    half = Table(column, (("left", "1"),), "Half of the page", layout="half", anchor="half")
    figure = Figure(pictures["diet"], "Beside it.", half=True, anchor="beside")
    rows = tuple((f"fold{n}", f"{n}") for n in range(25))
    folded = Table(column, rows, "Folded", layout="folded", strong_rows=(24,))
    dense = Table(
        column, tuple((f"table.key.field{n}", f"{n}") for n in range(200)), "Dense", layout="dense"
    )
    turned = Table(column, (("turned", "1"),), "Turned", layout="landscape")
    blocks = (Heading(1, "A"), half, figure, folded, dense, Heading(1, "Wide"), turned,
              Paragraph("[](#half) and [](#beside)"))  # fmt: skip
    reader = PdfReader(io.BytesIO(pdf(Document(document.metadata, blocks))))
    text = " ".join(page.extract_text() for page in reader.pages)
    assert all(re.search(rf"\bfold{n}\b", text) for n in range(25))
    assert all(re.search(rf"\bfield{n}\b", text.replace("\u200b", "")) for n in range(200))
    assert len(re.findall(r"table\.\u200b?key", text)) < 10
    wide = [page for page in reader.pages if page.mediabox.width > page.mediabox.height]
    (turned_page,) = wide
    assert "turned" in turned_page.extract_text()
    assert "Wide" in turned_page.extract_text()


def test_a_citation_is_a_number_that_links_to_its_line(proposals, written_proposal):
    """As many links lead to the list of references as the document's text cites sources."""
    made = proposals("qasr_adhra", "as_planned")
    reader = PdfReader(written_proposal("qasr_adhra", "as_planned") / "proposal.pdf")
    start = next(
        n
        for n, page in enumerate(reader.pages)
        if n > BODY and "How well known" in page.extract_text()
    )
    links = 0
    for page in reader.pages:
        for one in page.get("/Annots", ()):
            target = one.get_object()["/Dest"].get_object()
            if isinstance(target, list):
                links += reader.get_page_number(target[0].get_object()) >= start
    cited = sum(
        span.target.startswith("source-")
        for text in texts(made.document.blocks)
        for span in spans(text)
    )
    assert cited > 150
    assert links == cited


def test_a_document_without_facts_has_no_cover(document):
    assert not document.metadata.cover
    covered = Document(
        replace(document.metadata, cover=(("Who asks", "Nobody yet"),)), document.blocks
    )
    first, fronted = (
        PdfReader(io.BytesIO(pdf(one))).pages[0].extract_text() for one in (document, covered)
    )
    assert "Summary" in first
    assert "Nobody yet" not in first
    assert "Nobody yet" in fronted
    assert "Summary" not in fronted
