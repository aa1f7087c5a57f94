"""The risk register takes its numbers from the tables, the stress tests and the draws."""

import numpy as np
import pytest

from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build_all
from sitefare.errors import AssumptionError
from sitefare.farm.events import EventInputs
from sitefare.outputs.proposal.risks import losses
from sitefare.questions.risk_register import MARKED, check_risks, risk_register
from sitefare.questions.stress import StressEvent


@pytest.fixture(scope="module")
def view(proposals):
    return proposals("qasr_adhra", "as_planned").view


@pytest.fixture(scope="module")
def register(view):
    found = risk_register(view.base, losses(view), view.stresses, view.drawn)
    return {one.key: one for one in found}


def test_likelihood_is_the_tables_where_there_is_an_event(view, register):
    events, tests = build_all(EventInputs, view.base), build_all(StressEvent, view.base)
    assert register["fish_kill"].chance == events["fish_kill"].chance[0, 0]
    assert register["grant_late"].chance == tests["grant_late"].chance[0, 0]
    assert not register["fish_kill"].of_draws
    assert np.isnan(register["staff"].chance)


def test_effect_is_that_of_the_stress_test(view, register):
    effects = {effect.name: effect for effect in view.stresses.effects}
    assert register["outage"].stressed is effects["outage"]
    assert register["storm"].loss == losses(view)["storm"]


def test_a_figure_counts_draws_a_tenth_worse_than_the_base(view, register):
    base = view.value("capex")
    drawn = view.drawn.draws["capex"]
    one = register["overrun"]
    assert one.of_draws
    assert one.chance == np.mean(drawn >= base * (1 + MARKED))
    assert one.worse_end == view.drawn.spreads["capex"].high
    fewer = register["yield_low"]
    fed = view.drawn.draws["people_fed"]
    assert fewer.chance == np.mean(fed <= view.value("people_fed") * (1 - MARKED))


@pytest.mark.parametrize(
    ("field", "named", "message"),
    [
        ("event", "fish_kil", "risk.storm.event: 'fish_kil' is not known; the nearest"),
        ("stress", "nothing", "risk.storm.stress: 'nothing' is not known"),
        ("figure", "capexx", "risk.storm.figure: 'capexx' is not known; the nearest"),
    ],
)
def test_a_name_that_is_nowhere_is_refused(plan, field, named, message):
    values = {**base_values(plan("kaldre").case), f"risk.storm.{field}": named}
    with pytest.raises(AssumptionError, match=message):
        check_risks(values)


def test_every_stress_test_and_event_has_a_risk(view):
    found = check_risks(view.base).values()
    assert {risk.event for risk in found} >= set(build_all(EventInputs, view.base))
    assert {risk.stress for risk in found} >= set(build_all(StressEvent, view.base))
