"""The sections on who is reached and on results say what the model found, on narrow paper too."""

import pandas as pd
import pytest

from sitefare.appraisal import appraise
from sitefare.outputs.charts_reach import people_by_model
from sitefare.outputs.citations import cited
from sitefare.outputs.document import Caution, Document, Metadata, Paragraph, Table
from sitefare.outputs.numbers import Formats
from sitefare.outputs.proposal.people_annex import people_annex
from sitefare.outputs.proposal.reach import group_words, reach
from sitefare.outputs.proposal.results_table import results_table
from sitefare.outputs.proposal.view import View
from sitefare.people.need import GROUPS
from sitefare.questions.uncertainty import uncertainty


@pytest.fixture(scope="module")
def shown(plan):
    """Make the view of a site with few draws."""

    def make(site, *settings):
        sized = plan(site, "as_planned", *settings)
        return View(
            appraise(sized), uncertainty(sized, 256, 1), {}, Formats("en", sized.case.currency)
        )

    return make


def words(blocks):
    return " ".join(b.text for b in blocks if isinstance(b, Paragraph | Caution))


def table(blocks, anchor):
    return next(b for b in blocks if isinstance(b, Table) and b.anchor == anchor)


@pytest.mark.parametrize("site", ["kaldre", "norhaven", "port_anui", "qasr_adhra"])
def test_both_sections_make_a_document_of_few_columns(shown, site, library):
    view = shown(site)
    blocks = (*reach(view), *results_table(view), *people_annex(view))
    metadata = Metadata("x", "x", "x", "2027-01", "0", "0")
    assert Document(metadata, cited(blocks, library.sources)).contents
    for block in blocks:
        if isinstance(block, Table):
            assert len(block.columns) <= 5
            assert all(block.cell(r, 0) for r in range(len(block.rows)))


def test_the_planned_model_is_bold_in_every_table_of_models(shown):
    blocks = reach(shown("qasr_adhra"))
    for anchor in ("reach-people", "reach-money", "reach-aim"):
        found = table(blocks, anchor)
        assert [found.rows[r][0] for r in found.strong_rows] == ["Meals in community kitchens"]


def test_holidays_are_told_only_where_there_are_some(shown):
    assert "holiday months the food goes home" in words(reach(shown("kaldre")))
    assert "holiday" not in words(reach(shown("qasr_adhra")))
    setting = "distribution_model.school_meals.holiday_food=sold"
    assert "counts nobody" in words(reach(shown("kaldre", setting)))


def test_diets_are_left_blank_to_measure(shown):
    blocks = results_table(shown("kaldre"))
    found = table(blocks, "full-targets")
    row = next(r for r in found.rows if str(r[0]).startswith("Food consumption"))
    assert row[1:] == ("survey", "", "")
    assert "never modelled" in words(blocks)
    early = table(blocks, "early-targets")
    assert not any("consumption" in str(r[0]) for r in early.rows)


def test_monitoring_that_costs_more_than_its_line_is_a_caution(shown):
    assert any(isinstance(b, Caution) for b in results_table(shown("kaldre")))
    setting = "overhead.monitoring.cost=20000 USD/year"
    assert not any(isinstance(b, Caution) for b in results_table(shown("kaldre", setting)))


def test_every_group_has_words_without_underscores():
    named = [group_words(group) for group in GROUPS]
    assert not any("_" in name for name in named)
    assert "children of 4 to 6" in named
    assert "pregnant women" in named
    assert "nursing mothers" in named
    assert "women over 65" in named


def test_the_chart_tells_its_finding_from_the_data():
    frame = pd.DataFrame(
        [("Kitchens", 120.0, 365.0, True), ("Stall", 300.0, 190.0, False)],
        columns=["model", "people", "days", "planned"],
    )
    picture = people_by_model(frame, Formats("en", "USD"))
    assert "300" in picture.title
    assert "Stall" in picture.title
    assert "190 days" in picture.title
    assert "Kitchens: 120" in picture.alt
    assert picture.wide["datasets"]
    assert picture.narrow["datasets"]


def test_where_nobody_is_reached_no_model_is_praised_and_no_cost_is_told(shown):
    view = shown("kaldre", "storage.fish_window=1", "size.bed_area=150 m2")
    blocks = reach(view)
    assert "No model reaches anybody" in words(blocks)
    anchors = {b.anchor for b in blocks if isinstance(b, Table)}
    assert "reach-people" in anchors
    assert not anchors & {"reach-money", "reach-aim"}
    annex = {b.anchor for b in people_annex(view) if isinstance(b, Table)}
    assert "reach-groups" not in annex
    assert "kilograms-table" in annex


def test_results_name_the_ration_that_people_are_fed_by(shown):
    view = shown("kaldre")
    assert view.appraisal.fed.rations[view.appraisal.fed.headline].title in words(
        results_table(view)
    )


def test_people_reached_stand_to_people_fed_as_the_portion_stands_to_the_ration(shown):
    assert "the portion is the headline ration" in words(reach(shown("port_anui")))
    assert "people reached is not people fed" in words(reach(shown("kaldre")))
