"""What handing over costs follows its drivers and the model in force."""

from dataclasses import replace

import numpy as np
import pytest

from sitefare.arrays import DAYS, value
from sitefare.assumptions.declaration import build
from sitefare.errors import AssumptionError
from sitefare.money.finances import finances
from sitefare.money.labour import WageInputs, hourly_cost
from sitefare.money.prices import price_paths
from sitefare.money.reach_cost import amounts, delivery_hours, delivery_lines
from sitefare.people.handover import model_of

MODELS = ("school_meals", "household_ration", "voucher", "kitchens", "sale_free_share")


def lines_of(values, fed, timeline, key):
    turn = {**values, "distribution.model": key}
    return turn, delivery_lines(turn, fed, price_paths(turn, timeline), timeline)


@pytest.mark.parametrize("key", MODELS)
def test_every_model_has_costs_and_hours_of_its_own(base, fed, timeline, key):
    values, lines = lines_of(base, fed, timeline, key)
    assert any(name.startswith("wages_") for name in lines)
    assert any(not name.startswith("wages_") for name in lines)
    others = {n for k in MODELS if k != key for n in lines_of(base, fed, timeline, k)[1]}
    assert not others & set(lines)
    assert delivery_hours(values, fed, timeline)[0, -1] > 0.0


def test_a_card_is_paid_for_each_person_a_month(base, fed, timeline):
    values, lines = lines_of(base, fed, timeline, "household_ration")
    paths = price_paths(values, timeline)
    people = sum(fed.edible_g.values()) / 230.0
    cost = values["reach_cost.ration_lists.cost"] * people * paths["services"]
    assert lines["ration_lists"][0] == pytest.approx(cost)


def test_cooks_are_paid_for_each_portion_at_the_sites_wage(base, fed, timeline):
    values, lines = lines_of(base, fed, timeline, "school_meals")
    portions = sum(fed.edible_g.values()) * DAYS[timeline.calendar] / 115.0
    hours = values["reach_staff.school_cooks.hours"] * portions
    wage = hourly_cost(build(WageInputs, values), "worker") * price_paths(values, timeline)["wages"]
    assert lines["wages_school_cooks"][0] == pytest.approx(wage * hours)
    dear = {**base, "wage.worker": 2.0 * base["wage.worker"]}
    _, doubled = lines_of(dear, fed, timeline, "school_meals")
    assert doubled["wages_school_cooks"][0] == pytest.approx(2.0 * lines["wages_school_cooks"][0])


def test_people_a_month_are_portions_over_the_days_of_handing_over(base, fed, timeline):
    model = model_of(base, "school_meals")
    found = amounts(model, fed, timeline)
    closed = np.isin(timeline.calendar, model.closed)
    open_days = model.feeding_days[0, timeline.calendar]
    assert open_days[1:13].sum() == pytest.approx(190.0)
    people = found["portion"][0] / np.where(closed, DAYS[timeline.calendar], open_days)
    assert found["person_month"][0] == pytest.approx(people)


def test_variable_lines_follow_the_food_and_fixed_ones_stay(base, fed, timeline):
    half = replace(fed, edible_g={k: x / 2.0 for k, x in fed.edible_g.items()})
    half = replace(half, served_kg={k: x / 2.0 for k, x in fed.served_kg.items()})
    _, whole = lines_of(base, fed, timeline, "kitchens")
    _, less = lines_of(base, half, timeline, "kitchens")
    for name, (line, nature) in whole.items():
        factor = 0.5 if nature.behaviour == "variable" else 1.0
        assert less[name][0] == pytest.approx(factor * line), name


def test_the_lines_stand_in_the_farms_operating_cost(base, flows, fed, design, timeline):
    money = finances(base, design, flows, fed, timeline)
    _, lines = lines_of(base, fed, timeline, "household_ration")
    for name, (line, nature) in lines.items():
        assert money.line_group[name] == "operating"
        assert money.running.behaviour[name] == nature.behaviour
        assert (-money.lines[name] >= line - 1e-9).all()
    free = {n: value(0.0) for n in base if n.startswith(("reach_cost.", "reach_staff."))}
    free = {n: x for n, x in free.items() if n.endswith((".cost", ".hours"))}
    cheap = finances({**base, **free}, design, flows, fed, timeline)
    name = "cost_per_person_day"
    assert cheap.indicators[name][0, 0] < money.indicators[name][0, 0]


def test_who_fetch_their_food_save_its_carriage(base, flows, fed, design, timeline):
    name = "distribution_model.household_ration.carriage"
    brought = finances(base, design, flows, fed, timeline).lines["transport"].sum()
    fetched = finances({**base, name: value(0.0)}, design, flows, fed, timeline)
    assert -fetched.lines["transport"].sum() < -brought


def test_a_cost_of_an_unknown_model_is_refused(base, fed, timeline):
    values = {**base, "reach_cost.ration_lists.model": "lottery"}
    with pytest.raises(AssumptionError, match="'lottery' is not a distribution model"):
        lines_of(values, fed, timeline, "household_ration")
