"""A browser reads back from the page what the document and the results hold, for a small set."""

import json
import re

import pytest

from sitefare.outputs.document import Bullets, Facts, spans
from sitefare.outputs.numbers import Formats
from sitefare.outputs.page import page
from sitefare.outputs.proposal.made import HEADLINES, made_anchor
from sitefare.outputs.results import write_results

from .conftest import SMALL_SET
from .reading import TABLES, TEXTS, assert_reads_back, one_line

#: A page may be no larger. [bytes]
LARGEST = 4_000_000


@pytest.fixture(params=SMALL_SET, ids=lambda pair: pair[0])
def proposal(request, proposals):
    return proposals(*request.param)


@pytest.fixture
def html(proposal):
    return page(proposal.document)


def test_structure_and_numbers_read_back(proposal, html, visit):
    assert len(html.encode()) < LARGEST
    assert_reads_back(proposal.document, visit(html))


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
