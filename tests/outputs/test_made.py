"""Each headline figure is told by its terms and rows, and the register leads back to it."""

import math
import re

import pytest

from sitefare.outputs.document import Bullets, Facts, Heading, Table, spans
from sitefare.outputs.lines import term_name
from sitefare.outputs.numbers import Formats
from sitefare.outputs.proposal.made import HEADLINES, letter, letters, made_anchor, strongest
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.explaining import found_terms
from sitefare.questions.tornado import tornado


@pytest.fixture(scope="module")
def made(proposals):
    return proposals("port_anui", "grant_and_soft_loan")


def under(document, anchor):
    """The blocks below one heading, to the next."""
    blocks = list(document.blocks)
    start = next(n for n, b in enumerate(blocks) if isinstance(b, Heading) and b.anchor == anchor)
    rest = blocks[start + 1 :]
    end = next(n for n, b in enumerate(rest) if isinstance(b, Heading))
    return blocks[start], rest[:end]


def test_every_headline_figure_has_its_meaning(made):
    for name in HEADLINES:
        head, blocks = under(made.document, made_anchor(name))
        assert head.text.startswith(f"{letter(name)}. {INDICATORS[name].title}: ")
        start = INDICATORS[name].meaning.split(";")[0].split(",")[0]
        assert start[1:].replace("m2", "m²") in blocks[0].text


def test_every_card_of_the_first_page_leads_to_its_making(made):
    facts = next(b for b in made.document.blocks if isinstance(b, Facts)).facts
    for fact in facts:
        head, _ = under(made.document, fact.target)
        assert head.text.endswith(fact.value)


def test_terms_printed_add_up_to_the_figure(made):
    for name in ("cost_per_person_day", "capex", "npv", "electricity_kwh_year"):
        _, blocks = under(made.document, made_anchor(name))
        table = next(b for b in blocks if isinstance(b, Table))
        amounts = [row[1] for row in table.rows]
        assert math.fsum(amounts[:-1]) == pytest.approx(amounts[-1], rel=1e-9)
        assert amounts[-1] == pytest.approx(made.view.value(name), rel=1e-9)
        terms = found_terms(made.view.appraisal, name).terms
        assert amounts[-1] == pytest.approx(
            math.fsum(float(x[0, 0]) for x in terms.values()), rel=1e-9
        )


def test_rows_named_are_the_widest_bars_of_the_tornado(made):
    for name in ("cost_per_person_day", "npv", "people_fed"):
        bars = tornado(made.view.appraisal.plan, name, made.view.ends).bars
        finite = [b.row.name for b in bars if 0 < b.width < math.inf]
        named = [bar.row.name for bar in strongest(made.view, name)]
        assert named == finite[: len(named)]
        assert len(named) == 5


def test_links_go_both_ways(made):
    back = letters(made.view)
    register = next(
        b for b in made.document.blocks if isinstance(b, Table) and b.anchor == "register-table"
    )
    lines = dict(zip(register.row_anchors, register.rows, strict=True))
    for name in HEADLINES:
        _, blocks = under(made.document, made_anchor(name))
        items = [item for b in blocks if isinstance(b, Bullets) for item in b.items]
        bars = strongest(made.view, name)
        assert len(items) == len(bars)
        for item, bar in zip(items, bars, strict=True):
            links = [s.target for s in spans(item) if s.target]
            assert len(links) == 1, item
            assert lines[links[0]][0] == bar.row.name
            assert f"[{letter(name)}](#{made_anchor(name)})" in lines[links[0]][-1]
            assert lines[links[0]][-1] == back[bar.row.name]


def test_what_is_lost_names_no_rate(made):
    head, blocks = under(made.document, made_anchor("irr"))
    assert "below zero" in head.text
    assert not any(isinstance(b, Table | Bullets) for b in blocks)


def test_an_amount_has_one_rounding(made):
    head, _ = under(made.document, made_anchor("capex"))
    money = Formats("en", made.view.formats.currency).money(made.view.value("capex"))
    assert head.text.endswith(money)
    assert re.search(r"\d", money)


def test_uses_of_electricity_are_told_by_their_own_names(made):
    _, blocks = under(made.document, made_anchor("electricity_kwh_year"))
    table = next(b for b in blocks if isinstance(b, Table))
    uses = found_terms(made.view.appraisal, "electricity_kwh_year").terms
    told = {row[0] for row in table.rows}
    assert {term_name(n) for n, x in uses.items() if x[0, 0] != 0} <= told
