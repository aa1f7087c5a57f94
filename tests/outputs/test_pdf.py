"""The PDF reads back: tagged, dated by the document, marked on every page, text as text."""

import io
import re

import pytest
from pypdf import PdfReader

from sitefare.errors import RunError
from sitefare.outputs.document import Document, Paragraph
from sitefare.outputs.pdf import pdf


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
