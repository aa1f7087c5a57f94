"""Sections, charts and commands on sensitivity and stress say what the questions found."""

import json

import numpy as np
import pandas as pd
import pytest
from typer.testing import CliRunner

from sitefare.appraisal import appraise
from sitefare.cli import app
from sitefare.errors import RunError, SitefareError
from sitefare.outputs.charts_sensitivity import field, group_bars, run
from sitefare.outputs.charts_stress import stressed_cash
from sitefare.outputs.document import Figure, Heading, Table
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import ROWS
from sitefare.outputs.proposal.sensitivity import distinct, likelihood, sensitivity
from sitefare.outputs.proposal.stress import stress
from sitefare.outputs.proposal.view import View
from sitefare.questions.curves import curve, isoline, surface
from sitefare.questions.switching import decision, switching
from sitefare.questions.tornado import Bar, swings
from sitefare.questions.uncertainty import uncertainty


@pytest.fixture(scope="module")
def view(plan):
    sized = plan("norhaven")
    formats = Formats("en", sized.case.currency)
    return View(appraise(sized), uncertainty(sized, 0, 1), swings(sized), formats)


@pytest.fixture(scope="module")
def blocks(view):
    return sensitivity(view)


def drawn(picture):
    for spec in (picture.wide, picture.narrow):
        assert 0 < sum(len(rows) for rows in spec["datasets"].values()) <= ROWS
    assert len(picture.alt) > 40


def test_the_section_holds_bars_groups_and_switching_values(blocks):
    assert [b.anchor for b in blocks if isinstance(b, Heading)] == [
        "sensitivity", "sensitivity-groups", "switching",
    ]  # fmt: skip
    figures = [b for b in blocks if isinstance(b, Figure)]
    assert len(figures) == 4
    for figure in figures:
        drawn(figure.picture)
    swings_table, switches = (b for b in blocks if isinstance(b, Table))
    assert len(swings_table.rows) == 12
    assert len(switches.head_rows) == 3
    assert len(switches.columns) == 5
    none = [row for row in switches.rows if row[0] == "No assumption alone"]
    assert none, "at this site no row alone makes the project pay"


def test_steps_are_marked_once_and_explained(blocks):
    npv = [b for b in blocks if isinstance(b, Figure)][1].picture
    assert "(a step)" in npv.alt
    assert "acts by whole people" not in npv.alt
    assert any("marked as a step" in getattr(b, "text", "") for b in blocks)


def test_names_that_read_alike_are_told_apart(plan):
    rows = plan("norhaven").case.rows
    bars = [Bar(rows["wage.worker"], 0.0, 1.0), Bar(rows["price.feed"], 0.0, 1.0)]
    assert distinct(["Same", "Same"], bars) == ["Same [wage.worker]", "Same [price.feed]"]
    assert distinct(["One", "Two"], bars) == ["One", "Two"]


def test_likelihood_is_of_a_value_as_far_out_or_farther(plan):
    sized = plan("norhaven")
    found = switching(sized, decision(sized, "people_fed"), ["crop.lettuce.yield_year"]).rows[0]
    assert found.value < found.row.base
    assert likelihood(found, Formats().share) == Formats().share(found.place)


def test_the_stress_section_tells_every_event(view):
    made = stress(view)
    table = next(b for b in made if isinstance(b, Table))
    assert len(table.rows) == 10
    assert table.rows[-1][0] == "Bad year"
    kill = next(row for row in table.rows if "fish tanks" in row[0])
    assert float(kill[5]) > 0
    drawn(next(b for b in made if isinstance(b, Figure)).picture)


def test_charts_of_curve_and_field(plan):
    sized, f = plan("norhaven"), Formats("en", "EUR")
    units = ("EUR/h", "EUR")
    found = curve(sized, "wage.worker", "npv", points=9)
    picture = run(found, f, name="Wage", quantity="Net present value", units=units, target=0.0)
    drawn(picture)
    assert "along wage" in picture.title
    over = surface(sized, ("wage.worker", "land.rent"), "npv")
    target = float(np.median(over.answers))
    pieces = isoline(over.first_values, over.second_values, over.answers, target)
    names, three = ("Wage", "Rent"), ("EUR/h", "EUR/m²/year", "EUR")
    picture = field(
        over, pieces, f, names=names, quantity="Net present value", units=three, target=target
    )
    drawn(picture)
    assert "meets" in picture.title


def test_group_bars_and_stressed_cash_refuse_what_cannot_be_drawn():
    f = Formats("en", "EUR")
    empty = pd.DataFrame({"name": ["A"], "low": [np.nan], "high": [1.0]})
    with pytest.raises(RunError, match="bars of groups"):
        group_bars(empty, 1.0, f, quantity="Cost")
    with pytest.raises(RunError, match="one or two events"):
        stressed_cash({"Base": [0.0, 1.0]}, f)
    drawn(stressed_cash({"Base": [0.0] * 721, "Storm": [-1.0] * 721}, f))


def printed(*words):
    found = CliRunner().invoke(app, list(words))
    assert found.exit_code == 0, found.output
    return found.output


def test_commands_print_tables_and_json():
    assert "wage.worker" in printed("tornado", "norhaven", "npv", "--top", "8")
    assert "Labour" in printed("tornado", "norhaven", "npv", "--groups")
    bars = json.loads(printed("tornado", "norhaven", "npv", "--json"))
    assert len(bars["bars"]) > 400
    assert any(bar["step"] for bar in bars["bars"])
    made = json.loads(
        printed("goal", "norhaven", "wage.worker", "npv", "--to", "-5500000", "--json")
    )
    assert made["answer"] == pytest.approx(-5.5e6, rel=1e-6)
    assert made["unit"] == "EUR/h"
    assert "gives npv" in printed("goal", "norhaven", "wage.worker", "npv", "--to", "-5500000")
    events = json.loads(printed("stress", "norhaven", "--event", "fish_kill", "--json"))
    assert events["events"][0]["recovery"] > 0
    assert "Never alone" in printed("switch", "norhaven", "npv", "--top", "3")


@pytest.mark.parametrize(
    "words", [("stress", "qasr_adhra"), ("switch", "kaldre"), ("tornado", "kaldre")], ids=str
)
def test_tables_fit_eighty_columns_and_cut_nothing(words, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    text = printed(*words)
    assert max(map(len, text.splitlines())) <= 80
    assert "…" not in text


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("goal", "kaldre", "wage.worker", "npv", "--to", "nan"), "--to takes a number"),
        (("goal", "kaldre", "wage.worker", "npv", "--to", "1e12"), "it reaches"),
        (("switch", "kaldre", "--target", "inf"), "--target takes a number"),
        (("influence", "kaldre", "--draws", "64"), "64 draws are too few: give 256 or more"),
        (("influence", "kaldre", "--chart", "no/such.svg"), "the folder no is not there"),
        (("explain", "kaldre", "npv", "--chart", "npv.png"), "written as a .svg file"),
    ],
    ids=lambda x: x if isinstance(x, str) else " ".join(x[:2]),
)
def test_questions_refuse_in_a_sentence(words, sentence):
    found = CliRunner().invoke(app, list(words))
    assert isinstance(found.exception, SitefareError)
    assert sentence in str(found.exception)
    assert "e+" not in str(found.exception)
