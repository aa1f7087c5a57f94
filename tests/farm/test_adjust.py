"""Do multipliers move their own flow and nothing else, and leave all as it is at 1?"""

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.assumptions.case import base_values, moved_values
from sitefare.farm.adjust import MOVES, AdjustInputs, adjusted
from sitefare.farm.flows import farm_flows

#: Multipliers of what the farm takes, each with a site that pays for it by the measure.
DEARER = {
    "feed": "qasr_adhra",
    "fingerlings": "qasr_adhra",
    "plants": "qasr_adhra",
    "dosing": "qasr_adhra",
    "electricity": "norhaven",
    "generator_fuel": "qasr_adhra",
    "heating_fuel": "kaldre",
    "water": "qasr_adhra",
    "discharge": "norhaven",
    "sludge": "qasr_adhra",
    "labour": "qasr_adhra",
}


@pytest.fixture(scope="module")
def case(plan):
    return plan("qasr_adhra", "as_planned")


def moved(plan, **multipliers):
    move = {f"adjust.{name}": x for name, x in multipliers.items()}
    return appraise(plan, moved_values(plan.case, [move]))


def test_at_one_the_flows_are_the_very_same(case):
    values = base_values(case.case)
    flows = farm_flows(values, case.design, case.case.timeline)
    assert adjusted(flows, values, case.case.timeline) is flows


def test_a_multiplier_moves_its_own_flows_alone(case):
    values = base_values(case.case)
    flows = farm_flows(values, case.design, case.case.timeline)
    of = {field: name for name, fields in MOVES.items() for field in fields}
    assert set(MOVES) == set(AdjustInputs.__dataclass_fields__)
    for name, fields in MOVES.items():
        moved_one = moved_values(case.case, [{f"adjust.{name}": 1.1}])
        found = adjusted(flows, moved_one, case.case.timeline)
        for field in of:
            before, after = getattr(flows, field), getattr(found, field)
            pairs = [(before, after)] if isinstance(before, np.ndarray) else [
                (x, after[key]) for key, x in before.items()
            ]  # fmt: skip
            for x, y in pairs:
                np.testing.assert_allclose(y, 1.1 * x if field in fields else x, rtol=1e-15)


def test_whole_people_follow_hours_and_never_fall_below_the_fewest(case):
    base, twice, none = appraise(case), moved(case, labour=2.0), moved(case, labour=0.0)
    for role, posts in base.flows.workers.items():
        assert np.all(twice.flows.workers[role] >= posts)
        least = case.case.rows[f"labour.least_{role}"].base
        running = base.flows.workers[role][0] > 0
        assert np.all(none.flows.workers[role][0][running] == least)
        assert np.array_equal(twice.flows.workers[role] % 1.0, np.zeros_like(posts))


def test_emissions_follow_power_and_fuel(plan):
    case = plan("norhaven", "as_planned")
    base = appraise(case)
    found = moved(case, electricity=1.5)
    factor = case.case.rows["supply.grid_emissions"].base
    np.testing.assert_allclose(
        found.flows.emissions_kg - base.flows.emissions_kg,
        0.5 * base.flows.grid_kwh * factor,
        rtol=1e-9,
        atol=1e-9,
    )


def test_people_follow_the_harvest_and_hours_do_not(case):
    base, more = appraise(case), moved(case, vegetables=1.2, fish=1.2)
    assert more.indicators["people_fed"] > base.indicators["people_fed"]
    assert more.indicators["cost_per_person_day"] < base.indicators["cost_per_person_day"]
    assert more.indicators["jobs_fte"] == base.indicators["jobs_fte"]


@pytest.mark.parametrize(("name", "site"), DEARER.items())
def test_more_of_an_input_makes_a_person_day_dearer(plan, name, site):
    case = plan(site, "as_planned")
    base = appraise(case).indicators["cost_per_person_day"]
    assert moved(case, **{name: 1.2}).indicators["cost_per_person_day"] > base
