"""Who is reached and at what cost, against examples their sources print.

`validation` marks a printed figure that set no row, `identity` arithmetic that must hold.
"""

import numpy as np
import pytest

from sitefare.appraisal import FULL_TIME
from sitefare.arrays import value
from sitefare.assumptions.case import base_values
from sitefare.people.handover import model_of
from sitefare.people.reach import (
    exclusion_error,
    households_within,
    inclusion_error,
    people_within,
    targeting_performance,
)


def of(x):
    return float(x[0, 0])


# Margolies and Hoddinott 2014, Costing Alternative Transfer Modalities, IFPRI Discussion Paper
# 01375, table 6.1: cost of one transfer, transfers, cost of a household, households that a budget
# of USD 2 million reaches, people in a household, people reached. Households are printed whole,
# household sizes to one decimal and from unrounded ones: people to half a household's size.
@pytest.mark.validation
@pytest.mark.parametrize(
    ("transfer", "times", "printed_cost", "printed_households", "size", "printed_people"),
    [
        pytest.param(
            (42.99, 51.46), 6, (257.94, 308.76), (7753, 6477), 3.8, (29461, 24613), id="Ecuador"
        ),
        pytest.param(
            (13.49, 16.66), 7, (94.43, 116.62), (21179, 17149), 6.2, (131309, 106323), id="Niger"
        ),
        pytest.param(
            (52.04, 58.84), 3, (156.12, 176.52), (12810, 11330), 7.1, (90951, 80443), id="Uganda"
        ),
        pytest.param(
            (57.89, 65.27), 6, (347.34, 391.62), (5758, 5107), 6.8, (39154, 34728), id="Yemen"
        ),
    ],
)
def test_people_that_a_budget_reaches_by_cash_and_by_food(
    transfer, times, printed_cost, printed_households, size, printed_people
):
    printed = zip(transfer, printed_cost, printed_households, printed_people, strict=True)
    for one, cost, households, people in printed:
        assert one * times == pytest.approx(cost, abs=0.005)
        found = households_within(value(2e6), value(one * times))
        assert of(found) == pytest.approx(households, abs=1.0)
        assert of(people_within(value(2e6), value(one * times), value(size))) == pytest.approx(
            people, abs=size
        )
    # Row 10: more people by cash than by food.
    more = printed_people[0] - printed_people[1]
    cash, food = (people_within(value(2e6), value(x * times), value(size)) for x in transfer)
    assert of(cash - food) == pytest.approx(more, abs=size)


# Revisiting Targeting in Social Assistance, World Bank 2022, table 7.3: ten people, the first
# four poor, the first two the poorest 20 %; who is served in four scenarios, and errors against
# both lines. Exact. The excerpt held breaks off after scenario 3; scenario 4 serves all.
TEN = {
    "1": ((1, 1, 0, 0), (0.50, 0.0), (0.0, 0.0)),
    "2": ((0, 1, 1, 0), (0.50, 0.0), (0.50, 0.50)),
    "3": ((0, 0, 1, 1), (0.50, 0.0), (1.0, 1.0)),
}


@pytest.mark.validation
def test_errors_of_exclusion_and_inclusion_of_ten_people():
    for served, poor, poorest in TEN.values():
        for meant, (exclusion, inclusion) in ((4, poor), (2, poorest)):
            inside = sum(served[:meant])
            all_served = sum(served)
            assert of(exclusion_error(value(inside), value(meant))) == exclusion
            outside = value(all_served - inside)
            assert of(inclusion_error(outside, value(all_served))) == inclusion


# Grosh, Coady and Hoddinott 2003, Targeting Methods for Transfers, Social Safety Nets Primer
# Notes 10, World Bank: 60 % of benefits to the bottom 40 % is 1.5. Exact.
@pytest.mark.validation
def test_performance_of_targeting():
    assert of(targeting_performance(value(0.6), value(0.4))) == pytest.approx(1.5)


# Internal Revenue Service, questions and answers on the small business health care credit, and
# Instructions for Form 8941: 5 people of 2,080 h, 3 of 1,040 h and one capped at 2,080 h are
# 15,600 h and 7.5 posts before rounding down. Exact.
@pytest.mark.validation
def test_hours_of_a_full_time_post():
    hours = 5 * 2080 + 3 * 1040 + min(2300, 2080)
    assert hours / FULL_TIME == 7.5


# World Food Programme, school feeding about 2000 to 2006: 19 US cents a child and day over 180
# school days, told as USD 34 a child and year (USD 34 from memory). Half a dollar of rounding.
@pytest.mark.validation
def test_a_school_meal_a_day_and_a_year(plan):
    days = 180.0
    assert 0.19 * _days_of_a_model(plan, days) == pytest.approx(34.0, abs=0.5)


def _days_of_a_model(plan, days):
    """Days of handing over that the model lays out for a school year of so many days."""
    name = "distribution_model.school_meals.days"
    values = base_values(plan("kaldre").case) | {name: value(days)}
    return float(model_of(values, "school_meals").feeding_days.sum())


# Drake et al. 2020, Frontiers in Public Health 8:530176, abstract: USD 4.7 billion a year feeds
# 73 million children; USD 64 a child (from memory: State of School Feeding Worldwide 2020). Both
# are rounded: half a million children and USD 0.05 billion are 1 dollar.
@pytest.mark.validation
def test_children_that_the_worlds_school_meals_would_reach():
    found = people_within(value(4.7e9), value(64.0), value(1.0))
    assert of(found) / 1e6 == pytest.approx(73.0, abs=1.0)


@pytest.mark.identity
def test_random_hand_outs_perform_as_one():
    share = np.array([[0.25]])
    assert of(targeting_performance(share, share)) == 1.0
