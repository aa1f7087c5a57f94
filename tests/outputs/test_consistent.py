"""Do sentences, tables and figures of one proposal say the same? A farm that feeds nobody, too."""

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.assumptions.case import make_case
from sitefare.outputs.document import Table
from sitefare.outputs.fragments import LONG, Tools
from sitefare.outputs.numbers import Formats
from sitefare.outputs.proposal.alternatives import alternatives
from sitefare.outputs.proposal.closing import reasonableness
from sitefare.outputs.proposal.feeding import people
from sitefare.outputs.proposal.lacking import lacking
from sitefare.outputs.proposal.money import costs
from sitefare.outputs.proposal.results_table import results_table
from sitefare.outputs.proposal.stress import stress
from sitefare.outputs.proposal.summary import summary
from sitefare.outputs.proposal.view import View
from sitefare.outputs.register import register
from sitefare.questions.chances import chances
from sitefare.questions.tornado import swings
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for


def view_of(library, *settings):
    plan = plan_for(make_case(library, "kaldre", "as_planned", settings))
    formats = Formats("en", plan.case.currency)
    return View(appraise(plan), uncertainty(plan, 64, 1), swings(plan), formats)


@pytest.fixture(scope="module")
def fed(library):
    return view_of(library)


@pytest.fixture(scope="module")
def empty(library):
    return view_of(library, "size.bed_area=150 m2")


def text_of(blocks):
    said = []
    for block in blocks:
        said += [str(getattr(block, "text", "")), *getattr(block, "items", ())]
        if isinstance(block, Table):
            said += [str(cell) for row in block.rows for cell in row] + [block.note]
    return " ".join(said)


def table_of(blocks, anchor):
    return next(b for b in blocks if getattr(b, "anchor", "") == anchor)


def test_the_parts_of_capital_add_up_to_the_headline(fed):
    rows = table_of(costs(fed), "capital-table").rows
    assert rows[-1][1] == pytest.approx(fed.value("capex"), rel=1e-12)
    assert sum(row[1] for row in rows[:-1]) == pytest.approx(rows[-1][1], rel=1e-9)


def test_no_event_takes_food_from_nobody(fed, empty):
    assert "None takes food from people whom the ration counts as fed" in text_of(stress(empty))
    assert "person-years by the ration, fed again after" in text_of(stress(fed))
    together = empty.stresses.combined[0]
    for key in together.events:
        title = next(e.title for e in empty.stresses.effects if e.name == key)
        assert f"“{title}”" in table_of(stress(empty), "stress-table").note


def test_figures_said_to_lie_outside_do_so_in_the_table(empty):
    blocks = reasonableness(empty)
    outside = [row for row in table_of(blocks, "bands-table").rows if row[3] == "outside"]
    assert f"Outside their band: {len(outside)} of " in text_of(blocks)
    assert any(row[1] == "no answer: nobody is fed" for row in outside)


def test_the_summary_of_a_farm_that_feeds_nobody_does_not_say_that_nothing_feeds_anybody(empty):
    said = text_of(summary(empty))
    assert "the count and net present value already do" in said
    assert "turns either" not in said
    assert any(np.isfinite([b.low_result, b.high_result]).any() for b in empty.cost_tornado.bars)


def test_fewer_than_nobody_is_no_chance(fed, empty):
    def keys(view):
        return [one.key for one in chances(view.appraisal, view.drawn)]

    assert "people" in keys(fed)
    assert "people" not in keys(empty)


def test_months_with_fish_are_those_of_one_year(empty):
    edible, full = empty.appraisal.fed.edible_g["fish"], empty.appraisal.fed.full[0] > 0
    fewest = min(int(np.sum(year > 0)) for year in edible[0, 1:].reshape(-1, 12)[full])
    assert 0 < fewest < 12
    assert f"fish in at least {fewest} months of a full year" in text_of(alternatives(empty))
    assert "in the leanest month, full years averaged" in text_of(people(empty))


def test_money_that_is_computed_stands_in_the_site_s_currency(fed):
    case = fed.appraisal.case
    line = next(e for e in register(case) if e.name == "capital.contingency")
    assert (line.unit, line.as_of) == ("GEL", case.timeline.label(0))
    assert "1,024 draws" in line.note


def test_a_full_ration_s_fat_is_not_told_as_the_planning_ration_s(fed):
    said = text_of(lacking(fed))
    assert "46.7 g of fat, 20 % of energy" in said.replace("\N{NO-BREAK SPACE}", " ")


def test_monitoring_in_the_budget_is_the_line_of_the_budget(fed):
    line = -fed.full_mean(fed.appraisal.finances.at_date("monitoring"))
    assert f"holds {fed.formats.money(line)} a year" in text_of(results_table(fed)).replace(
        "\\", ""
    )


def test_where_a_link_leads_does_not_make_a_cell_long():
    links = " ".join(f"[{x}](#made-of-some-length-{x})" for x in "ABC")
    assert len(links) > LONG
    assert not Tools.is_long(links)
    assert Tools.is_long("x" * (LONG + 1))
