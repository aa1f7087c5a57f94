"""The section and the commands on evidence say what the questions found, at any result."""

import re

import pandas as pd
import pytest
import typer
from typer.testing import CliRunner

from sitefare.appraisal import appraise
from sitefare.commands import evidence
from sitefare.outputs import charts_influence
from sitefare.outputs.checks import decision_words, listed, order_words, spread_words
from sitefare.outputs.citations import cited
from sitefare.outputs.document import Document, Figure, Heading, Metadata, Paragraph, Table
from sitefare.outputs.numbers import Formats
from sitefare.outputs.page import page
from sitefare.outputs.proposal.check_first import check_first
from sitefare.outputs.proposal.view import View
from sitefare.questions.check_first import check_first as found_checks
from sitefare.questions.tornado import swings
from sitefare.questions.uncertainty import uncertainty


@pytest.fixture(scope="module")
def view(plan):
    """Make the view of a site with some draws, once each."""
    kept = {}

    def make(*settings, draws=512):
        if (settings, draws) not in kept:
            sized = plan("qasr_adhra", "as_planned", *settings)
            drawn = uncertainty(sized, draws, 1)
            formats = Formats("en", sized.case.currency)
            kept[settings, draws] = View(appraise(sized), drawn, swings(sized), formats)
        return kept[settings, draws]

    return make


def words_of(blocks):
    return " ".join(block.text for block in blocks if isinstance(block, Paragraph))


def table_of(blocks):
    return next(block for block in blocks if isinstance(block, Table))


def test_a_decision_that_no_draw_changes_is_told_plainly(view):
    blocks = check_first(view())
    words = words_of(blocks)
    assert "no evidence about these rows would change it" in words
    assert "On average the decision turns at" in words
    assert "second measure" in words
    table = table_of(blocks)
    assert table.columns[-1].header == "Share"
    shares = [row[-1] for row in table.rows]
    assert shares == sorted(shares, reverse=True)
    assert len(table.columns) <= 5


def test_near_the_turn_the_table_holds_worths(view):
    near = view("decision.worth=14")
    blocks = check_first(near)
    assert "Knowing every row beforehand would be worth at most" in words_of(blocks)
    table = table_of(blocks)
    assert table.columns[-1].header == "Worth"
    assert all(row[-1] > row[2] for row in table.rows)
    found = found_checks(near.appraisal, near.drawn)
    assert [row[0] for row in table.rows] == [check.title for check in listed(found, 8)]


def test_funding_that_every_draw_favours_is_told_too(view):
    words = words_of(check_first(view("decision.worth=5000")))
    assert "on average, to fund." in words
    assert "no evidence about these rows would change it" in words


def test_money_decides_where_asked(view):
    words = words_of(check_first(view("decision.payoff=npv")))
    assert "net present value" in words
    assert "times the planned capital cost" in words


def test_few_draws_are_told(view):
    blocks = check_first(view(draws=64))
    assert isinstance(blocks[0], Heading)
    assert "at least 256 draws" in words_of(blocks)


def test_the_chart_states_its_finding_and_its_errors(view):
    figure = next(b for b in check_first(view()) if isinstance(b, Figure))
    title = r"% of the spread of cost per person-day .* comes from .* alone"
    assert re.search(title, figure.picture.title)
    assert "±" in figure.alt_text
    frame = pd.DataFrame(
        {"name": ["One", "Two"], "first": [0.4, -0.01], "error": [0.05, 0.02], "total": [0.6, 0.1]}
    )
    picture = charts_influence.influence(frame, "Net present value", Formats("en", "USD"))
    for spec in (picture.wide, picture.narrow):
        rows = next(iter(spec["datasets"].values()))
        assert {row["which"] for row in rows} == {
            charts_influence.ALONE, charts_influence.WITH_OTHERS,
        }  # fmt: skip
        assert min(row["share"] for row in rows) >= 0


def test_the_section_stands_in_a_document(view, library):
    metadata = Metadata("A farm", "site", "scenario", "2027-01", "0" * 8, "0.1")
    blocks = check_first(view("decision.worth=14"))
    document = Document(metadata, cited(blocks, library.sources))
    text = page(document)
    assert "What to check first" in text
    assert "Market price survey over a season" in text
    assert "local_price." not in text


@pytest.fixture(scope="module")
def run(root):
    """Run a command of the module and return its words."""
    app = typer.Typer()
    evidence.add(app)
    folder = str(root / "assumptions")

    def invoke(*words):
        return CliRunner().invoke(app, [*words, "--assumptions", folder])

    return invoke


def test_the_list_is_printed_with_bases_and_sources(run, view):
    done = run("check-first", "qasr_adhra", "--draws", "512")
    assert done.exit_code == 0, done.output
    found = found_checks(view().appraisal, view().drawn)
    f = Formats("en", view().appraisal.case.currency)
    said = " ".join(done.output.split())
    for words in (decision_words(found, f), spread_words(found, f), order_words(found)):
        assert " ".join(words.split()) in said
    assert found.checks[0].rows[0].name in said
    assert "What these rows rest on" in said


def test_influence_is_printed_from_draws_and_by_design(run, tmp_path):
    chart = tmp_path / "shares.svg"
    done = run("influence", "qasr_adhra", "npv", "--draws", "256", "--chart", str(chart))
    assert done.exit_code == 0, done.output
    assert "Strongest rows" in done.output
    assert chart.read_text(encoding="utf-8").startswith("<svg")
    designed = run("influence", "qasr_adhra", "cost_over_alternative", "--totals", "64")
    assert designed.exit_code == 0, designed.output
    assert "Total" in designed.output


def test_an_unknown_indicator_or_a_still_one_is_refused(run):
    for words in (("influence", "kaldre", "charm"), ("influence", "kaldre", "payback_years")):
        done = run(*words, "--draws", "256")
        assert done.exit_code != 0
        assert done.exception is not None


def test_sites_are_weighed_together(run):
    done = run(
        "which-site", "port_anui", "qasr_adhra", "--draws", "256", "--set", "decision.worth=14"
    )
    assert done.exit_code == 0, done.output
    assert "one of them, or none" in done.output
