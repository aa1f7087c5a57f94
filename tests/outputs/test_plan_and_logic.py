"""Plan, permits, procurement, screening and risks say what the tables and the appraisal hold."""

import pytest

from sitefare.assumptions.case import base_values, make_case
from sitefare.assumptions.permits import STEPS, permits
from sitefare.assumptions.steps import MOMENTS
from sitefare.errors import AssumptionError
from sitefare.outputs.document import Caution, Paragraph, Table
from sitefare.outputs.proposal.cashflow import rates_words
from sitefare.outputs.proposal.people_annex import people_annex
from sitefare.outputs.proposal.permits import permits_section
from sitefare.outputs.proposal.risks import register_of_risks, risks
from sitefare.outputs.proposal.steps import moments, plan

PAIRS = [("kaldre", "solar_supply"), ("port_anui", "grant_and_soft_loan")]


@pytest.fixture(scope="module", params=PAIRS, ids=[site for site, _ in PAIRS])
def view(request, proposals):
    return proposals(*request.param).view


def table(blocks, anchor):
    return next(b for b in blocks if isinstance(b, Table) and b.anchor == anchor)


def said(blocks):
    found = (
        b.text if isinstance(b, Paragraph | Caution) else " ".join(b.items)
        for b in blocks
        if isinstance(b, Paragraph | Caution) or hasattr(b, "items")
    )
    return " ".join(found)


def test_moments_follow_the_appraisal(view):
    found, flows = moments(view), view.appraisal.flows
    assert tuple(found) == MOMENTS
    assert found["built"] == max(view.appraisal.case.timeline.construction, 1)
    assert flows.fingerlings[0, found["stocked"]] > 0
    assert flows.fish_live_kg[0, found["first_fish"]] > 0
    assert found["decision"] <= found["prepared"] <= found["built"] <= found["stocked"]
    assert found["stocked"] <= found["first_fish"] <= found["full"] < found["handed_over"]


def test_every_step_has_months_somebody_and_a_milestone(view):
    steps = table(plan(view), "plan-table")
    assert len(steps.rows) >= 9
    for _, _, when, who, milestone in steps.rows:
        first, last = when.split(" to ")
        assert first <= last
        assert who
        assert milestone


def test_the_ten_largest_items_stand_with_their_quotes(view):
    found = table(plan(view), "procurement-table")
    costs = [row[3] for row in found.rows]
    items = [i for i in view.appraisal.finances.capital_items if i.per]
    reserves = {"Contingency", "Items not listed", "Overrun of the reference class"}
    dearest = sorted((i.landed_cost for i in items if i.item not in reserves), reverse=True)
    assert set(costs) <= set(dearest)
    assert costs == sorted(costs, reverse=True)
    assert len(costs) == 10
    assert not reserves & {row[0] for row in found.rows}
    assert all(row[6] == "quoted" or row[6].startswith("missing") for row in found.rows)
    assert "quotes for each are missing" in said(plan(view))


def test_permits_stand_in_the_order_of_the_steps_with_what_is_held(view):
    found = permits(view.base)
    assert [STEPS.index(one.inputs.before) for one in found] == sorted(
        STEPS.index(one.inputs.before) for one in found
    )
    printed = {row[0]: row for row in table(permits_section(view), "permit-table").rows}
    assert len(printed) == len(found)
    # The subjects that PRACTICE and the trade ask for (common practice, no source).
    for subject in ("species", "water", "Discharge", "food", "Building", "Grid", "Import"):
        assert any(subject in title or subject in row[4] for title, row in printed.items()), subject
    species = next(row for title, row in printed.items() if "species" in title)
    assert species[2].startswith(view.evidence.items["species_permit"].status)


def test_a_permit_of_a_document_nobody_lists_is_refused(library):
    values = {
        **base_values(make_case(library, "kaldre", "as_planned", [])),
        "permit.species.evidence": "species_permits",
    }
    with pytest.raises(
        AssumptionError, match=r"permit\.species\.evidence: 'species_permits' is not"
    ):
        permits(values)


def test_the_screening_carries_this_farms_figures(view):
    rows = {row[0]: row for row in table(permits_section(view), "screening-table").rows}
    water = view.formats.number(view.value("water_makeup_m3_year"), 3, "m³ a year")
    assert f"Here {water}" in rows["Water taken"][1]
    assert all(row[2] in ("low", "medium", "high") and row[3] and row[4] for row in rows.values())


def test_the_risk_register_is_whole(view):
    (_, found) = register_of_risks(view)
    assert found.layout == "landscape"
    assert len(found.rows) >= 12
    for row in found.rows:
        assert all(row)
    likelihood = {row[0].partition(".")[0].strip("*"): row[1] for row in found.rows}
    yearly = float(view.base["event.fish_kill.chance"][0, 0])
    assert likelihood["Fish die at once"] == f"{view.formats.share(yearly)} a year"
    assert likelihood["Building costs more than planned"].endswith("% of draws")


def test_every_caution_that_outputs_carry_is_there(view):
    """The list of DESIGN, 'Cautions the outputs carry'."""
    words = said(risks(view))
    minutes = view.formats.number(view.appraisal.design.life_support_minutes, 2)
    for part in (
        "not investment advice", "licensed engineer", "Water and gravel are heavy",
        "electricity stands near water", "within ten minutes without air", f"{minutes} minutes",
        "food-safety plan", "fish may be restricted", "local authority", "not replace a ration",
    ):  # fmt: skip
        assert part in words, part


def test_the_planning_ration_stands_beside_the_requirements(view):
    words = said(people_annex(view))
    assert "The planning ration is 2,100 kcal, 53 g of protein" in words
    assert "degC" not in words
    shares = table(people_annex(view), "planning-table")
    assert shares.rows[0][0] == "Energy"
    assert shares.rows[0][1].startswith("2,100")


def test_every_rate_of_return_is_listed(view):
    found = view.appraisal.finances.rates_roots
    words = rates_words(view)
    assert words.count("%") == len(found) + 2
    for rate in found:
        assert view.formats.decimal(100 * rate, 0, "%") in words
