"""What could happen is told the same in the document, in numbers and at the terminal."""

import json
import re

import numpy as np
import pandas as pd
import pytest
from rich.console import Console
from typer.testing import CliRunner

from sitefare.assumptions.case import make_case
from sitefare.cli import app
from sitefare.errors import RunError
from sitefare.outputs.charts_uncertainty import fan
from sitefare.outputs.document import Figure, Paragraph, Table
from sitefare.outputs.numbers import NBSP, Formats
from sitefare.outputs.page import page
from sitefare.outputs.picture import ROWS
from sitefare.outputs.results import as_json
from sitefare.outputs.runs import run_notebook
from sitefare.outputs.uncertain import print_study, study_of

from .reading import assert_reads_back


@pytest.fixture(scope="module")
def study(library):
    return study_of(make_case(library, "qasr_adhra", "grant_and_soft_loan"), 256, 1)


def table(study, anchor):
    return next(b for b in study.document.blocks if isinstance(b, Table) and b.anchor == anchor)


def words(study):
    return " ".join(b.text for b in study.document.blocks if isinstance(b, Paragraph))


def test_every_figure_stands_with_its_error(study):
    made = table(study, "outlook-table")
    assert [c.header for c in made.columns][1:] == ["Base", "P10", "P50", "P90", "Mean"]
    for row in made.rows:
        assert all("±" in cell for cell in row[2:5] if cell != "–"), row
    assert "People are counted by" in made.note


def test_chances_agree_with_the_numbers(study):
    rows = table(study, "chances-table").rows
    for row, chance in zip(rows, study.results["chances"].values(), strict=True):
        assert row[0].lower() == chance["meaning"].lower()
        assert float(re.match(r"[\d.]+", row[1])[0]) == pytest.approx(
            100 * chance["value"], abs=0.6
        )
        assert chance["low"] <= chance["value"] <= chance["high"]


def test_numbers_are_json_and_agree_with_the_draws(study):
    found = json.loads(as_json(study.results))
    cost = study.view.drawn.spreads["cost_per_person_day"]
    told = found["indicators"]["cost_per_person_day"]
    assert told["p10"]["value"] == pytest.approx(cost.low)
    assert told["p90"]["value"] == pytest.approx(cost.high)
    assert told["p10"]["low"] <= told["p10"]["value"] <= told["p10"]["high"]
    assert told["mean"]["value"] == pytest.approx(cost.mean)
    assert len(found["cash_by_year"]["p50"]) == 16
    assert found["case"]["input_hash"] == study.view.appraisal.case.input_hash


def test_the_base_case_is_explained(study):
    text = words(study)
    assert "of draws are cheaper than the base case" in text
    assert "lopsided" in text
    assert "sampling error of a chance" in text


def test_section_reads_as_a_page(study):
    html = page(study.document)
    assert "Annex: what moves together" in html
    assert html.count("<figure") >= 2
    assert "Price drift: electricity and fuels" in html


def test_figures_name_their_finding(study):
    figures = [b for b in study.document.blocks if isinstance(b, Figure)]
    assert [b.anchor for b in figures] == [
        "cost-outcome", "npv-outcome", "fan-figure", "balance-figure",
    ]  # fmt: skip
    pictures = [b.picture for b in figures[2:]]
    for picture in pictures:
        assert picture.title.endswith(" in 8 of 10 draws")
        assert picture.title.split(" ends at ")[1].removesuffix(" in 8 of 10 draws") in picture.alt
        for spec in (picture.wide, picture.narrow):
            assert sum(len(rows) for rows in spec["datasets"].values()) <= ROWS


def test_a_fan_of_a_long_life_can_be_drawn():
    years = {f"p{q}": np.linspace(0, q, 36) for q in (10, 25, 50, 75, 90)}
    frame = pd.DataFrame({"year": range(36), **years, "base": 1.0})
    assert fan(frame, Formats(), "Cash held").wide
    with pytest.raises(RunError, match="missing: base"):
        fan(frame.drop(columns="base"), Formats(), "Cash held")


def test_no_draws_are_told(library):
    study = study_of(make_case(library, "kaldre", "as_planned"), 0, 1)
    assert "tells no ranges" in words(study)
    assert study.results["draws"] == 0
    console = Console(record=True, width=100)
    print_study(console, study)
    assert "No draws were asked for" in console.export_text()


def test_terminal_shows_errors_and_chances(study):
    console = Console(record=True, width=100)
    print_study(console, study)
    text = console.export_text()
    assert "±" in text
    assert "the net present value is below zero" in text
    assert NBSP not in text
    first = next(line for line in text.splitlines() if line.startswith("People fed"))
    assert first.split()[-1] == "person"


def test_command_prints_json(library):
    done = CliRunner().invoke(
        app,
        ["uncertain", "norhaven", "--draws", "64", "--json", "--assumptions", str(library.folder)],
    )
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout)["draws"] == 64


def test_notebook_runs_with_other_parameters(root, tmp_path):
    chosen = {"site": "kaldre", "scenario": "as_planned", "draws": 64, "seed": 2}
    run_notebook(root / "notebooks" / "uncertainty.ipynb", chosen, tmp_path / "out")
    found = json.loads((tmp_path / "out" / "uncertainty.json").read_text(encoding="utf-8"))
    assert (found["case"]["site"], found["draws"], found["seed"]) == ("kaldre", 64, 2)
    assert (tmp_path / "out" / "uncertainty.html").stat().st_size > 10_000


def test_document_stands_in_a_proposal(study):
    # The proposal tells it in the same words, once.
    from sitefare.outputs.proposal import document  # noqa: PLC0415

    whole = document(study.view)
    # Each document numbers its own citations.
    told, own = (
        [re.sub(r"\[\d+\]\(#", "[n](#", b.text) for b in made.blocks if isinstance(b, Paragraph)]
        for made in (whole, study.document)
    )
    assert own
    assert [told.count(text) for text in own] == [1] * len(own)


@pytest.mark.parametrize(("width", "colours"), [(1280, "light"), (390, "dark")])
def test_its_page_reads_back_and_passes_an_audit(study, visit, audit, width, colours):
    document = study.document
    reader = visit(page(document), width, color_scheme=colours)
    assert_reads_back(document, reader)
    assert reader.evaluate("document.documentElement.scrollWidth") <= width
    assert audit(reader) == []
