"""Distribution models side by side, other results, and the results table, on shipped sites."""

import numpy as np
import pytest

from sitefare.appraisal import appraise, sampled_values
from sitefare.arrays import value
from sitefare.assumptions.case import base_values, block_of
from sitefare.assumptions.declaration import build
from sitefare.errors import AssumptionError
from sitefare.money.income import farm_gate
from sitefare.money.market import SalesInputs
from sitefare.people.handover import models
from sitefare.people.holding import counted
from sitefare.people.replaced import replaced_emissions_kg_per_kg
from sitefare.questions.logged import logged, nutrient_costs, wages_paid
from sitefare.questions.reaching import gate_value, handed, side_by_side
from sitefare.questions.results_frame import results_frame, yearly_figures, years_shown

SITES = ["kaldre", "norhaven", "port_anui", "qasr_adhra"]
PLANNED = {
    "kaldre": "school_meals",
    "norhaven": "sale_free_share",
    "port_anui": "sale_free_share",
    "qasr_adhra": "kitchens",
}
FIGURES = (
    "persons", "indirect", "person_days", "cash_recovered", "programme_pays", "delivery_cost",
    "delivery_posts", "per_person", "per_person_net", "per_day", "per_day_net", "per_ration_day",
    "rest", "exclusion", "inclusion", "performance",
)  # fmt: skip


@pytest.fixture(scope="module")
def seen(plan):
    """Appraise each site once, with its models side by side."""
    return {site: (found := appraise(plan(site)), side_by_side(found)) for site in SITES}


def one(x):
    return float(x[0, 0])


@pytest.mark.parametrize("site", SITES)
def test_the_model_in_force_shows_the_appraisals_own_figures(seen, site):
    appraisal, ways = seen[site]
    planned = [way for way in ways if way.in_force]
    assert [way.model.key for way in planned] == [PLANNED[site]]
    ration_day = appraisal.indicators["cost_per_person_day"]
    assert planned[0].per_ration_day == pytest.approx(ration_day, rel=1e-12)


@pytest.mark.parametrize("site", SITES)
def test_a_model_taken_in_turn_is_that_model_put_in_force(plan, seen, site):
    key = "voucher"
    turned = next(way for way in seen[site][1] if way.model.key == key)
    again = appraise(plan(site, "as_planned", f"distribution.model={key}"))
    # Contingency and design do not depend on the model.
    found = again.indicators["cost_per_person_day"]
    assert turned.per_ration_day == pytest.approx(found, rel=1e-9)


@pytest.mark.parametrize("site", SITES)
def test_cash_recovered_is_the_paid_share_of_the_food_at_the_price_asked(seen, site):
    appraisal, ways = seen[site]
    values = base_values(appraisal.case)
    asked = build(SalesInputs, values).served_price_share
    timeline, crops = appraisal.case.timeline, appraisal.flows.crop_kg
    for way in ways:
        paid = way.model.inputs.paid_share * asked
        worth = way.money.figures.yearly_mean(gate_value(values, way.fed, crops, timeline))
        assert way.cash_recovered == pytest.approx(paid * worth, abs=1e-6), way.model.key


def test_food_is_worth_its_price_at_the_farm(seen):
    appraisal, ways = seen["qasr_adhra"]
    values, way = base_values(appraisal.case), ways[0]
    found = gate_value(values, way.fed, appraisal.flows.crop_kg, appraisal.case.timeline)
    by_food = (kg.sum() * one(farm_gate(values, key)) for key, kg in way.fed.served_kg.items())
    assert found.sum() == pytest.approx(sum(by_food), rel=1e-9)


@pytest.mark.parametrize("site", SITES)
def test_costs_a_day_and_a_person_agree(seen, site):
    for way in seen[site][1]:
        # Persons are counted by the month, days by the day: a whole year lies between.
        days = one(way.person_days) / one(way.persons)
        assert one(way.per_person) / one(way.per_day) == pytest.approx(days, rel=0.02)
        assert one(way.per_day_net) <= one(way.per_day)
        assert 0.0 <= one(way.rest) < 1.0
        assert one(way.exclusion) + 1e-12 >= 1.0 - one(way.model.inputs.coverage)


@pytest.mark.parametrize("site", SITES)
def test_the_ration_handed_out_every_day_costs_what_the_ration_costs(seen, site):
    """A household ration is the headline ration on every day: one cost, not two."""
    appraisal, ways = seen[site]
    way = next(way for way in ways if way.model.key == "household_ration")
    terms = way.model.inputs
    assert (one(terms.vegetables), one(terms.fish), one(terms.days)) == (200.0, 30.0, 365.0)
    assert appraisal.fed.headline == "vegetables_and_fish"
    # Days count the month's own days, rations a mean month.
    assert one(way.per_day) == pytest.approx(one(way.per_ration_day), rel=1e-3)
    assert one(way.persons) == pytest.approx(counted(way.fed), rel=1e-9)


@pytest.mark.parametrize("site", SITES)
def test_no_month_of_start_up_reaches_more_than_the_full_years(seen, site):
    for way in seen[site][1]:
        assert np.all(way.reach.persons[:, :37] <= way.persons * (1.0 + 1e-9))


def test_a_voucher_is_a_transfer_and_no_cash_from_the_people(seen):
    for _, ways in seen.values():
        voucher = next(way for way in ways if way.model.key == "voucher")
        assert one(voucher.programme_pays) > 0.0
        assert one(voucher.cash_recovered) == 0.0
        assert all(one(w.programme_pays) == 0.0 for w in ways if w.model.inputs.voucher == "no")


def test_a_paid_share_brings_cash_and_moves_no_cost(plan):
    name = "distribution_model.kitchens.paid_share"
    free, paid = (appraise(plan("qasr_adhra", "as_planned", f"{name}={x}")) for x in (0, 0.5))
    assert one(paid.indicators["sales_year"]) > one(free.indicators["sales_year"])
    # Income tax is nil there: the cost of a person-day stays, and the net figure too.
    for figure in ("cost_per_person_day", "cost_per_person_day_net"):
        assert one(paid.indicators[figure]) == pytest.approx(one(free.indicators[figure]))


def test_dearer_cooking_makes_the_person_day_dearer(plan):
    name = "reach_staff.kitchen_cooks.hours"
    cheap, dear = (appraise(plan("qasr_adhra", "as_planned", f"{name}={x}")) for x in (0, 0.05))
    figure = "cost_per_person_day"
    assert one(dear.indicators[figure]) > one(cheap.indicators[figure])


@pytest.mark.parametrize("draws", [1, 7, 12, 24, 181])
def test_scalar_equals_vector(plan, draws):
    sized = plan("kaldre")
    values = block_of(sampled_values(sized, 256, 5), slice(0, draws))
    model = models(values)["school_meals"]
    many = handed(appraise(sized, values), values, model)
    for i in sorted({0, draws // 2, draws - 1}):
        row = block_of(values, slice(i, i + 1))
        single = handed(appraise(sized, row), row, model)
        for name in FIGURES:
            found = np.broadcast_to(getattr(many, name), (draws, 1))[i]
            assert found == pytest.approx(getattr(single, name)[0], rel=1e-12), name


def test_what_the_site_does_not_say_is_not_guessed(seen):
    appraisal, ways = seen["norhaven"]
    told = {x.title: x for x in logged(appraisal, next(w for w in ways if w.in_force))}
    assert np.isnan(told["Share of hours worked by women"].figure)
    assert "not supplied" in told["Share of hours worked by women"].said
    assert "not supplied" in told["Wages paid into the community"].said


def test_emissions_avoided_are_those_replaced_less_the_farm_s_own(seen, plan):
    appraisal, ways = seen["qasr_adhra"]
    way = next(w for w in ways if w.in_force)
    each = replaced_emissions_kg_per_kg(base_values(appraisal.case))
    kilograms = {
        "vegetables": one(appraisal.indicators["vegetables_marketable_kg_year"]),
        "fish": one(appraisal.indicators["fish_live_kg_year"]),
    }
    replaced = sum(one(each[group]) * kg for group, kg in kilograms.items()) / 1000.0
    own = one(appraisal.indicators["emissions_tco2e_year"])
    assert logged(appraisal, way)[-1].figure == pytest.approx(replaced - own)
    nearby = appraise(plan("qasr_adhra", "as_planned", "replaced.way=local"))
    assert logged(nearby, way)[-1].figure < replaced - own


def test_wages_leave_out_hours_given_unpaid(plan):
    whole, given = (
        appraise(plan("qasr_adhra", "as_planned", f"operations.unpaid_share={x}")) for x in (0, 0.5)
    )
    month = -1
    a, b = (wages_paid(x, base_values(x.case))[0, month] for x in (whole, given))
    assert a - b == pytest.approx(-0.5 * whole.finances.at_date("wages_worker")[0, month])


@pytest.mark.parametrize("site", SITES)
def test_nutrients_cost_alike_against_the_same_food_bought(seen, site):
    found = nutrient_costs(seen[site][0])
    ratios = [x.farm / x.basket for x in found]
    assert ratios == pytest.approx([ratios[0]] * len(ratios))
    # The cheapest source is never dearer than the mix of which it may be a part.
    assert all(x.cheapest <= x.basket + 1e-9 for x in found)


@pytest.mark.parametrize("site", SITES)
def test_targets_are_the_appraisals_own_years(seen, site):
    appraisal, ways = seen[site]
    frame = results_frame(appraisal, next(w for w in ways if w.in_force))
    years, first = years_shown(appraisal)
    assert frame.years == years
    assert {1, 2, 3, first, appraisal.case.timeline.years} == set(years)
    full = {x.row.indicator: x.targets[years.index(first)] for x in frame.results if x.modelled}
    full_years = slice(first - 1, None)
    values = base_values(appraisal.case)
    yearly = yearly_figures(appraisal, values, frame.handed)
    for name, indicator in (
        ("vegetables_kg", "vegetables_marketable_kg_year"),
        ("fish_kg", "fish_live_kg_year"),
        ("jobs_fte", "jobs_fte"),
        ("sales", "sales_year"),
        ("people_fed", "people_fed"),
        ("water_m3", "water_makeup_m3_year"),
    ):
        mean = yearly[name][0, full_years].mean()
        assert mean == pytest.approx(one(appraisal.indicators[indicator])), name
    assert full["people_reached"] == pytest.approx(yearly["people_reached"][0, first - 1])
    assert frame.cost > 0.0


def test_outcomes_in_diets_are_never_modelled(seen):
    frame = results_frame(seen["kaldre"][0])
    blank = [x for x in frame.results if not x.modelled]
    keys = {x.key for x in blank}
    assert {"consumption_score", "women_diversity", "household_diversity"} <= keys
    assert all(np.isnan(x.targets).all() for x in blank)
    levels = [x.row.level for x in frame.results]
    assert levels == sorted(levels, key=["output", "outcome", "impact"].index)


def test_a_result_that_names_no_figure_is_refused(plan, monkeypatch):
    found = appraise(plan("kaldre"))
    values = base_values(found.case) | {"results.fish.indicator": "fish_kgs"}
    monkeypatch.setattr("sitefare.questions.results_frame.base_values", lambda _: values)
    with pytest.raises(AssumptionError, match="nearest known name is 'fish_kg'"):
        results_frame(found)


def test_the_value_of_a_voucher_is_that_of_the_food(seen):
    appraisal, ways = seen["port_anui"]
    values = base_values(appraisal.case)
    way = next(w for w in ways if w.model.key == "voucher")
    dear = values | {"sales.price_level": value(2.0 * one(values["sales.price_level"]))}
    again = handed(appraisal, dear, way.model)
    assert one(again.programme_pays) == pytest.approx(2.0 * one(way.programme_pays))
