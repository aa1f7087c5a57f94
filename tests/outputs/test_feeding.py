"""Whom it feeds, in every output: rations side by side, what binds, and nobody told as nobody."""

import json
import math

import pandas as pd
import pytest

from sitefare.appraisal import appraise
from sitefare.assumptions.case import make_case
from sitefare.outputs import charts
from sitefare.outputs.comparison import make_comparison
from sitefare.outputs.document import Document, Table
from sitefare.outputs.numbers import Formats
from sitefare.outputs.page import page
from sitefare.outputs.proposal import document
from sitefare.outputs.proposal.feeding import people
from sitefare.outputs.proposal.view import View
from sitefare.outputs.results import as_json, results
from sitefare.outputs.terminal import binding_words, rations_table
from sitefare.questions.tornado import swings
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import beyond_words, plan_for

SMALL = ("size.bed_area=150 m2",)


def view_of(library, settings=(), site="kaldre", draws=0):
    plan = plan_for(make_case(library, site, "as_planned", settings))
    drawn = uncertainty(plan, draws, 1)
    return View(appraise(plan), drawn, swings(plan), Formats("en", plan.case.currency))


@pytest.fixture(scope="module")
def fed_view(library):
    return view_of(library, draws=64)


@pytest.fixture(scope="module")
def empty_view(library):
    return view_of(library, SMALL, draws=64)


def words_of(blocks):
    found = []
    for block in blocks:
        found.append(str(getattr(block, "text", "")))
        found += list(getattr(block, "items", ()))
        if isinstance(block, Table):
            found += [str(cell) for row in block.rows for cell in row] + [block.note]
    return " ".join(found)


def test_every_ration_stands_in_the_section_with_what_binds(fed_view):
    text = words_of(people(fed_view))
    for ration in fed_view.appraisal.fed.rations.values():
        assert ration.title in text
    assert "vegetables in December" in text
    assert "the mean of the year would hold 75 in place of 42" in text
    assert "Beyond the ration, feeding nobody in the count" in text
    assert "A full ration of staple, pulse and oil without the farm costs" in text


def test_where_nobody_is_fed_nothing_absurd_is_said(empty_view):
    text = words_of(people(empty_view))
    assert "so it counts nobody" in text
    assert "fish kept frozen for 6 months" in text
    assert "covers nobody's need" in text
    assert "the farm gives nothing by the headline ration" in text
    assert "inf" not in text.split()
    assert "nan" not in text.lower().replace("finance", "")


def test_a_document_is_made_where_nobody_is_fed(empty_view):
    made = document(empty_view)
    assert isinstance(made, Document)
    text = page(made)
    assert "No cost per person-day can be given" in text
    assert "nobody in every month" in text


def test_results_say_null_with_a_reason_and_never_more_than_draws_gave(empty_view, fed_view):
    found = json.loads(as_json(results(empty_view.appraisal, empty_view.drawn)))
    entry = found["rations"]["vegetables_and_fish"]
    assert entry["people_fed"] == 0.0
    assert entry["cost_per_person_day"] is None
    assert "nobody is fed" in entry["reason"]
    assert entry["binding_part"] == "fish"
    assert found["indicators"]["cost_per_person_day"]["value"] is None
    other = results(fed_view.appraisal, fed_view.drawn)["rations"]["vegetables_and_fish"]
    assert other["people_fed_low"] <= other["people_fed_high"]
    assert other["binding_months"] == ["December"]
    assert other["people_fed_year_mean"] > other["people_fed"]
    plain = results(fed_view.appraisal, uncertainty(fed_view.appraisal.plan, 0, 1))
    assert "people_fed_low" not in plain["rations"]["vegetables_and_fish"]


def test_the_terminal_shows_every_ration_and_why_there_is_no_cost(empty_view):
    found = results(empty_view.appraisal, empty_view.drawn)
    table = rations_table(found)
    assert table.row_count == len(found["rations"])
    words = binding_words(found["rations"]["vegetables_and_fish"])
    assert words.startswith("fish in several months; the year's mean holds 22.4")
    assert "nobody is fed" in words


def test_sites_are_compared_by_every_ration(root):
    made = make_comparison(["kaldre", "qasr_adhra"], "as_planned", SMALL, 0, 1, "en", root)
    table = next(
        b for b in made.document.blocks if isinstance(b, Table) and b.anchor == "rations-table"
    )
    assert len(table.columns) == 1 + 7
    assert any(cell == "0; –" for row in table.rows for cell in row)
    assert "Last, with no answer by this ration.** Kaldre" in words_of(made.document.blocks)


def test_a_farm_that_must_feed_more_than_asked_says_so():
    assert beyond_words(1.05, 1.0, 285) == ""
    assert "That is more than asked" in beyond_words(25.1, 1.0, 285)
    assert "10 m² is the smallest searched" in beyond_words(25.1, 1.0, 10)


def test_the_chart_of_months_carries_parts_and_the_number_counted(fed_view):
    frame = pd.DataFrame(
        [
            {"month": m, "what": w, "people": 10.0 + m}
            for w in ("Vegetables", "Fish")
            for m in range(1, 13)
        ]
    )
    picture = charts.people_by_month(frame, 11.0, fed_view.formats)
    assert "Vegetables of Jan would feed 11" in picture.title
    assert "11 counted" in json.dumps(picture.wide)
    assert picture.narrow


def test_the_diet_chart_draws_the_band_of_months():
    frame = pd.DataFrame([{"what": "Iron", "share": 0.2, "low": 0.1, "high": 0.4}])
    spec = json.dumps(charts.diet(frame, Formats("en", "USD")).wide)
    assert "high_drawn" in spec
    bare = frame.drop(columns=["low", "high"])
    assert "high_drawn" not in json.dumps(charts.diet(bare, Formats("en", "USD")).wide)


def test_cost_is_never_finite_where_nobody_is_fed(empty_view):
    for name in empty_view.appraisal.fed.rations:
        people_fed = empty_view.value(f"people_fed.{name}")
        assert math.isfinite(empty_view.value(f"cost_per_person_day.{name}")) == (people_fed > 0)
