"""Sources are numbered in the order of first citation, and the list holds those cited."""

import re

import pytest

from sitefare.assumptions.library import Source
from sitefare.errors import RunError
from sitefare.outputs.citations import UNLISTED, behind, cite, cited, source_words
from sitefare.outputs.document import (
    Bullets,
    Caution,
    Column,
    Document,
    Figure,
    Heading,
    Metadata,
    Paragraph,
    Table,
    plain,
    spans,
)

SOURCES = {key: Source(f"Citation of {key}.", "from memory") for key in ("fao56", "who_1", "b")}
METADATA = Metadata("x", "x", "x", "2027-01", "0", "0")


def words(text):
    return "".join(span.text for span in spans(text))


def test_numbers_follow_first_citation_and_repeat(pictures):
    table = Table(
        (Column("a"), Column("b")), (("[@b]", "[@b]"),), "Rows", "Note [@who_1].", rich=(1,)
    )
    found = cited(
        (
            Paragraph("One [@who_1]."),
            Bullets(("two [@fao56,who_1]", "three")),
            Caution("four [@fao56]"),
            Figure(pictures["diet"], "five [@b]"),
            table,
        ),
        SOURCES,
    )
    # ISO 690, numeric system: numbers in the order of first citation, the same source the same
    # number each time (from memory).
    assert words(found[0].text) == "One [1]."
    assert words(found[1].items[0]) == "two [2, 1]"
    assert words(found[2].text) == "four [2]"
    assert words(found[3].caption) == "five [3]"
    assert words(found[4].note) == "Note [1]."
    assert found[4].rows[0][0] == "[@b]"
    assert words(found[4].rows[0][1]) == "[3]"
    listed = found[-1]
    assert [row[:2] for row in listed.rows] == [
        ("1", "Citation of who_1."), ("2", "Citation of fao56."), ("3", "Citation of b."),
    ]  # fmt: skip
    assert Document(METADATA, found).labels["source-who-1"] == ("row", 0)


def test_an_unknown_source_is_refused():
    with pytest.raises(RunError, match=r"cites 'nobody', which is not in sources\.csv"):
        cited((Paragraph("One [@nobody]."),), SOURCES)


def test_a_document_refuses_a_citation_without_a_list():
    with pytest.raises(RunError, match="cites b, and no list of references was made"):
        Document(METADATA, (Paragraph("One [@b]."),))


def test_outside_text_never_cites():
    said = plain("a name [@b] as typed")
    found = cited((Paragraph(said),), SOURCES)
    assert len(found) == 1
    assert words(found[0].text) == "a name [@b] as typed"


def test_nothing_is_listed_without_a_citation():
    assert cited((Paragraph("One."),), SOURCES) == (Paragraph("One."),)


def test_what_rests_on_no_document_is_said_in_words():
    assert cite(["judgement", "b", "invented", "b"]) == " [@b]"
    assert cite(["judgement"]) == ""
    assert source_words("judgement", "", "judgement") == "judgement"
    assert source_words("common_practice", "", "practice") == "common practice"
    assert source_words("b", "Table 4", "published") == "[@b] Table 4"
    assert source_words("b", "p. 2", "judgement") == "[@b] p. 2, judgement"


def test_a_proposal_cites_in_order_and_lists_what_it_cites(proposals):
    """Numbers in reading order rise one by one; the list holds each once, under its number."""
    view = proposals("qasr_adhra", "as_planned").view
    blocks = proposals("qasr_adhra", "as_planned").document.blocks
    listed = next(b for b in blocks if getattr(b, "anchor", "") == "citations-table")
    seen = []
    for block in blocks:
        if block is listed:
            continue
        for found in re.findall(r"\(#(source-[a-z0-9-]+)\)", _markup(block)):
            seen += [found] if found not in seen else []
    assert tuple(seen) == listed.row_anchors
    assert [row[0] for row in listed.rows] == [str(n) for n in range(1, len(seen) + 1)]
    sources = view.appraisal.case.library.sources
    used = {row.source for name, row in view.appraisal.case.given.items() if row.source}
    citations = {row[1] for row in listed.rows}
    # Every source of a printed row that is a document is in the list.
    register = next(b for b in blocks if getattr(b, "anchor", "") == "register-table")
    assert sum("(#source-" in row[6] for row in register.rows) > 100
    assert not citations & {sources[key].citation for key in UNLISTED if key in sources}
    assert {sources[key].citation for key in used - set(UNLISTED)} & citations


def test_sections_cite_what_stands_behind_them(proposals):
    """Needs, yields, standards and methods each have a source beside their statement."""
    blocks = proposals("kaldre", "solar_supply").document.blocks
    section, cites = "", {}
    for block in blocks:
        if isinstance(block, Heading) and block.level == 1:
            section = block.anchor
        cites.setdefault(section, set()).update(re.findall(r"#source-([a-z0-9-]+)", _markup(block)))
    assert "fao589" in cites["farm"]
    assert "who-fao-2004" in cites["people"]
    assert "aace-18r97" in cites["costs"]
    assert "keelin-2016" in cites["uncertainty"]
    assert "saltelli-2010" in cites["check-first"]
    assert {"sphere-2018", "fao-who-unu-energy-2004"} <= cites["annex-people"]
    assert cites["harvest"]
    assert cites["reasonableness"]


def test_the_sources_of_most_rows_are_named_first(proposals):
    given = proposals("kaldre", "solar_supply").view.appraisal.case.given
    rows = [row for name, row in given.items() if name.startswith(("need.", "sales."))]
    counted = [row.source for row in rows]
    first, second = re.fullmatch(r" \[@([a-z0-9_]+),([a-z0-9_]+)\]", behind(rows, most=2)).groups()
    assert counted.count(first) >= counted.count(second) > 0
    assert first == "who_fao_2004"


def _markup(block):
    match block:
        case Paragraph() | Caution():
            return block.text
        case Bullets():
            return " ".join(block.items)
        case Figure():
            return block.caption
        case Table():
            cells = (
                cell
                for row in block.rows
                for column, cell in enumerate(row)
                if column in block.rich and isinstance(cell, str)
            )
            return " ".join((*cells, block.note))
    return ""
