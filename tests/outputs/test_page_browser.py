"""A browser reads back from the page what the document and the results hold, for a small set."""

import json
import re

import pytest

from sitefare.outputs.document import Bullets, Facts, Figure, Heading, Table, spans
from sitefare.outputs.fragments import label
from sitefare.outputs.numbers import Formats
from sitefare.outputs.page import page
from sitefare.outputs.proposal.made import HEADLINES, made_anchor
from sitefare.outputs.readings import data_table
from sitefare.outputs.results import write_results

from .conftest import SMALL_SET

#: A page may be no larger. [bytes]
LARGEST = 4_000_000

TABLES = """selector => [...document.querySelectorAll(selector)].map(table =>
    [...table.tBodies[0].rows].map(row => [...row.cells].map(cell => cell.textContent)))"""
TEXTS = "selector => [...document.querySelectorAll(selector)].map(one => one.textContent)"


def one_line(text):
    return " ".join(text.split())


def read_as(text, document):
    """Text with the tiny markup as it reads."""
    shown = (s.text or label(s.target, document.labels, "en") for s in spans(text))
    return one_line("".join(shown))


@pytest.fixture(params=SMALL_SET, ids=lambda pair: pair[0])
def proposal(request, proposals):
    return proposals(*request.param)


@pytest.fixture
def html(proposal):
    return page(proposal.document)


def test_structure_and_numbers_read_back(proposal, html, visit):
    document, reader = proposal.document, visit(html)
    assert len(html.encode()) < LARGEST
    headings = [b for b in document.blocks if isinstance(b, Heading)]
    shown = reader.evaluate(TEXTS, "main h2, main h3, main h4")
    assert [one_line(t) for t in shown] == [one_line(b.text) for b in headings]
    levels = reader.evaluate(
        "[...document.querySelectorAll('main h2, main h3, main h4')].map(h => Number(h.tagName[1]))"
    )
    assert levels == [b.level + 1 for b in headings]

    figures = [b for b in document.blocks if isinstance(b, Figure)]
    captions = reader.evaluate(TEXTS, "figcaption")
    assert len(captions) == len(figures)
    for number, (caption, block) in enumerate(zip(captions, figures, strict=True), 1):
        assert one_line(caption) == one_line(f"Figure {number}. {read_as(block.caption, document)}")
    assert reader.evaluate(TEXTS, "figure .finding") == [b.picture.title for b in figures]

    tables = [b for b in document.blocks if isinstance(b, Table)]
    cells = reader.evaluate(TABLES, ".table-block table")
    assert len(cells) == len(tables)
    for block, rows in zip(tables, cells, strict=True):
        expected = [
            [
                read_as(block.cell(r, c), document)
                if c in block.rich
                else one_line(block.cell(r, c))
                for c in range(len(block.columns))
            ]
            for r in range(len(block.rows))
        ]
        assert [[one_line(x) for x in row] for row in rows] == expected, block.caption

    drawn = [found for b in figures if (found := data_table(b.picture))]
    data = reader.evaluate(TABLES, "details.data table")
    assert [[[one_line(x) for x in r] for r in t] for t in data] == [
        [[one_line(x) for x in line] for line in found.lines] for found in drawn
    ]


def test_key_figures_are_those_of_the_results(proposal, html, visit, tmp_path):
    reader, found = visit(html), tmp_path / "results.json"
    write_results(proposal.results, found)
    held = json.loads(found.read_text())["indicators"]
    formats = Formats("en", proposal.view.formats.currency)
    cards = dict(
        zip(
            reader.evaluate(TEXTS, ".facts dt"),
            reader.evaluate(TEXTS, ".facts .value"),
            strict=True,
        )
    )
    people = held["people_fed"]["value"]
    assert cards["People fed"] == formats.number(people, 3 if people >= 100 else 2)
    assert cards["Capital cost"] == formats.money(held["capex"]["value"])
    cost = held["cost_per_person_day"]
    if cost["value"] is None:
        assert cost["reason"] in cards["Cost per person-day"]
    else:
        assert cards["Cost per person-day"] == formats.money(cost["value"])
    answers = reader.evaluate(TABLES, "#first-table table")[0]
    worth = next(row for row in answers if row[0] == "Net present value")
    assert one_line(worth[1]) == one_line(formats.money(held["npv"]["value"]))


def test_each_headline_leads_to_its_making_and_rows_lead_back(proposal, html, visit):
    reader, document = visit(html), proposal.document
    facts = next(b for b in document.blocks if isinstance(b, Facts)).facts
    for place, fact in enumerate(facts):
        reader.locator(".facts .made a").nth(place).click()
        target = reader.evaluate("document.querySelector(':target').textContent")
        assert target.endswith(fact.value)
        assert fact.label in target
    told = {
        span.target
        for block in document.blocks
        if isinstance(block, Bullets)
        for item in block.items
        for span in spans(item)
        if span.target.startswith("row-")
    }
    assert len(told) >= 10
    back = reader.evaluate(
        """rows => rows.map(id => [...document.getElementById(id).lastElementChild
            .querySelectorAll('a')].map(a => a.getAttribute('href')))""",
        sorted(told),
    )
    assert all(back)
    assert {href for links in back for href in links} <= {f"#{made_anchor(n)}" for n in HEADLINES}


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_no_page_scrolls_sideways(html, visit, width):
    reader = visit(html, width)
    reader.evaluate("document.querySelectorAll('main details').forEach(d => d.open = true)")
    assert reader.evaluate("document.documentElement.scrollWidth") <= width


def test_it_prints_with_every_heading_and_no_controls(proposals, visit, tmp_path):
    pypdf = pytest.importorskip("pypdf")
    document = proposals(*SMALL_SET[0]).document
    visit(page(document)).pdf(path=tmp_path / "printed.pdf", prefer_css_page_size=True)
    paper = pypdf.PdfReader(tmp_path / "printed.pdf")
    text = re.sub(r"\s+", "", "".join(sheet.extract_text() for sheet in paper.pages))
    for _, words, _ in document.contents:
        assert re.sub(r"\s+", "", words) in text
    assert f"1/{len(paper.pages)}" in text
    for control in ("Showonlyrowswith", "Thefiguresofthischart", "Asthedevice", "Backtothetop"):
        assert control not in text
