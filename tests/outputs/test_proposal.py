"""The proposal says what the appraisal says, in every form, and adapts to the result."""

import io
import json
import re

import numpy as np
import pypdf
import pytest

from sitefare.appraisal import appraise
from sitefare.outputs.document import Caution, Figure, Heading, Paragraph, Table
from sitefare.outputs.page import page
from sitefare.outputs.pdf import pdf
from sitefare.outputs.proposal import make_proposal
from sitefare.outputs.proposal.closing import printed
from sitefare.outputs.proposal.gathered import gathered
from sitefare.outputs.proposal.view import unnamed
from sitefare.outputs.register import register
from sitefare.questions.dictionary import INDICATORS

SECTIONS = [
    "summary", "place", "farm", "harvest", "people", "reach", "alternatives", "costs",
    "funding", "after-grant", "cash", "reasonableness", "sensitivity", "uncertainty",
    "check-first", "stress", "risks", "permits", "plan", "results-table", "risk-register",
    "evidence", "made", "annex-people", "crop-mix", "budget", "books", "bill", "design-sheet",
    "together", "register", "sources",
]  # fmt: skip


@pytest.fixture(scope="module")
def made(proposals):
    """A proposal of one site with a few draws."""
    return proposals("port_anui", "grant_and_soft_loan")


@pytest.fixture(scope="module")
def html(made):
    return page(made.document)


@pytest.fixture(scope="module")
def paper(made):
    return pypdf.PdfReader(io.BytesIO(pdf(made.document)))


def words_of(blocks):
    return " ".join(
        block.text for block in blocks if isinstance(block, Paragraph | Caution | Heading)
    )


def test_sections_stand_in_the_order_a_funder_reads(made):
    anchors = [b.anchor for b in made.document.blocks if isinstance(b, Heading) and b.level == 1]
    assert anchors == SECTIONS


def test_people_fed_never_stands_without_its_ration(made, html, paper):
    people = made.view.people(made.view.value("people_fed"))
    ration = made.view.ration
    assert ration in html
    for one in paper.pages[:2]:
        text = one.extract_text()
        assert people in text
        assert "g of vegetables" in text


def test_first_page_holds_what_a_reviewer_asks_first(paper):
    # The cover says who asks for what; the page after it answers what a reviewer asks first.
    first = " ".join(paper.pages[1].extract_text().split())
    asked = [
        "Asked of funders", "grant of", "loan of", "Who asks", "Who pays after the grant",
        "class 5",
        "Share of their need", "Full-ration equivalents", "Water and electricity a person",
        "Three weakest numbers", "Would make the answer no", "Demonstration data", "DRAFT",
        "locally", "Net present value", "Payback",
    ]  # fmt: skip
    for words in asked:
        assert words in first, words


def test_one_amount_has_one_rounding_everywhere(made, html):
    capital = made.view.formats.money(made.view.value("capex"))
    text = re.sub(r"<[^>]+>", " ", html)
    assert text.count(capital) >= 2


def test_text_adapts_to_a_farm_that_loses_money(made):
    words = words_of(made.document.blocks)
    assert made.view.value("npv") < 0
    assert "In money alone it does not pay" in words


def test_text_adapts_to_a_farm_that_pays(root):
    settings = [
        "sales.price_level=5", "distribution.vegetables_served=0.05", "wage.worker=1 FJD/h",
        "distribution.fish_served=0.05", "tariff.electricity=0.2 FJD/kWh", "size.bed_area=3000",
        "sales.market_size=100", "freight.all_imported=no", "tax.duty_exempt=yes", "vat.exempt=yes",
        "freight.imported=0.2 FJD/kg",
    ]  # fmt: skip
    rich = make_proposal("port_anui", "as_planned", settings, draws=0, root=root)
    assert rich.view.value("npv") > 0
    words = words_of(rich.document.blocks)
    assert "In money alone it pays" in words
    assert "does not pay" not in words


def test_every_figure_has_alt_text_and_a_finding(made):
    figures = [block for block in made.document.blocks if isinstance(block, Figure)]
    assert len(figures) >= 9
    for figure in figures:
        assert len(figure.alt_text) > 20
        assert len(figure.picture.title) > 5


def test_page_and_pdf_carry_the_same_tables(made, html, paper):
    text = " ".join(" ".join(p.extract_text().split()) for p in paper.pages)
    for block in made.document.blocks:
        if isinstance(block, Table):
            assert block.caption.split(",")[0] in re.sub(r"<[^>]+>", "", html).replace("&#39;", "'")
            assert block.caption.split(",")[0] in text


def test_documents_carry_scenario_hash_and_date_and_no_path(made, html, paper, root):
    hashed = made.view.appraisal.case.input_hash
    text = paper.pages[3].extract_text()
    for document in (html, text):
        assert hashed in document
    assert str(root) not in html


def test_register_shows_layer_and_source_of_rows_in_use(made):
    table = next(b for b in made.document.blocks if getattr(b, "anchor", "") == "register-table")
    names = {row[0] for row in table.rows}
    assert "price.feed" in names
    assert not any(name.startswith("species.trout") for name in names)
    feed = next(row for row in table.rows if row[0] == "price.feed")
    assert feed[5] == "site"


def test_fixed_rows_alike_share_a_line_and_nothing_else_does(made):
    entries = [e for e in register(made.view.appraisal.case) if printed(e.name)]
    lines = gathered(entries)
    assert len(lines) < 0.9 * len(entries)
    names = [line[0] for line in lines]
    assert len(set(names)) >= len(names) - 60
    ranged = {e.name for e in entries if e.low or e.high}
    assert ranged <= set(names)
    assert {e.name for e in entries if e.name.count(".") != 2} <= set(names)
    calcium = [e for e in entries if e.name.startswith("need.") and e.name.endswith(".calcium")]
    told = [line for line in lines if line[0] == "need.*.calcium"]
    assert len(calcium) >= 10
    least, most = (f"{f(float(e.base) for e in calcium):g}" for f in (min, max))
    assert told
    assert any(line[2].startswith(f"{least} to {most} ({len(calcium)}") for line in told)


def test_results_hold_every_indicator(made):
    found = json.loads(json.dumps(made.results, allow_nan=False))
    assert list(found["indicators"]) == list(INDICATORS)
    for name, entry in found["indicators"].items():
        assert {"value", "unit", "low", "high"} <= set(entry), name
        assert entry["value"] is not None or entry["reason"], name
    assert set(found["rations"]) == set(made.view.appraisal.fed.rations)


def test_statement_table_adds_up(made):
    table = next(b for b in made.document.blocks if getattr(b, "anchor", "") == "cash-table")
    numbers = np.array([row[1:] for row in table.rows], dtype=float)
    scale = np.abs(numbers).max()
    assert np.abs(numbers[:-1].sum(axis=0) - numbers[-1]).max() < 1e-9 * scale
    money = appraise(made.view.appraisal.plan).finances
    total = money.project_cash[0, 1:13].sum()
    assert numbers[-1, 1] == pytest.approx(total, rel=1e-9)


def test_a_site_name_cannot_break_a_document(root):
    name = '<script>alert(1)</script> & "Q" #x $y *z _w'
    odd = make_proposal("kaldre", "as_planned", [f"place.name={name}"], draws=0, root=root)
    html = page(odd.document)
    assert "<script>alert" not in html
    assert "alert(1)" in html
    assert "alert(1)" in pypdf.PdfReader(io.BytesIO(pdf(odd.document))).pages[0].extract_text()


def test_staff_are_whole_people_and_the_sheets(root):
    found = make_proposal("qasr_adhra", "as_planned", draws=0, root=root)
    table = next(b for b in found.document.blocks if getattr(b, "anchor", "") == "staff-table")
    people = [int(row[1]) for row in table.rows]
    posts = found.view.appraisal.flows.workers
    assert people == [int(x.max()) for x in posts.values()]
    assert sum(people) == found.view.sheet.number("Posts, whole people")
    assert any(f"{sum(people)} whole posts" in x for x in found.view.appraisal.design.limits)


def test_no_name_of_a_row_a_file_or_a_command_reaches_a_funder(root):
    for site in ("port_anui", "kaldre"):
        found = make_proposal(site, "as_planned", draws=0, root=root).document
        printed = " ".join(
            repr(b)
            for b in found.blocks
            if not isinstance(b, Figure) and getattr(b, "anchor", "") != "register-table"
        )
        for head in ("farm_design", "life_support", "species", "target", "nitrification", "gas"):
            assert not re.search(rf"\b{head}\.[a-z_]{{3,}}", printed), head
        assert not re.search(r"\w\.csv|\w\.py\b|[Tt]he command '", printed)
        assert "at most 0\\xa0min" not in printed


def test_rows_are_said_by_what_they_mean():
    said = unnamed("raise farm_design.service_share, or fewer fish (farm_design.density, gas.x).")
    assert said == "raise “packing, stores and staff rooms over covered area”, or fewer fish."
    assert unnamed("up to 8.5 (FAO 589 s.3.3)") == "up to 8.5 (FAO 589 s.3.3)"
