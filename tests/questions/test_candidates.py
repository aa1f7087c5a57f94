"""Candidates are whole appraisals, each of its own size, counted as asked."""

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.assumptions.case import make_case
from sitefare.questions.candidates import offer
from sitefare.questions.uncertainty import uncertainty
from sitefare.workers import Processes


@pytest.fixture(scope="module")
def cases(library):
    return [(make_case(library, site, "as_planned"), site[0]) for site in ("kaldre", "qasr_adhra")]


def test_base_figures_are_those_of_the_appraisal(cases, plan):
    found = offer(cases, [], "base", 0, 1)
    assert found.refused == ()
    for one, (case, region) in zip(found.candidates, cases, strict=True):
        made = appraise(plan(case.site)).indicators
        assert (one.site, one.region, one.bed_area) == (case.site, region, 500)
        assert one.people == made["people_fed"][0, 0]
        assert one.capital == pytest.approx(made["capex"][0, 0] / case.exchange_rate)
        annual = made["equivalent_annual_cost"][0, 0]
        assert one.cost == pytest.approx(annual / case.exchange_rate)


def test_mean_and_careful_are_of_the_draws(cases, plan):
    case, _ = cases[1]
    drawn = uncertainty(plan("qasr_adhra"), 64, 3).draws
    mean, careful = (
        offer(cases[1:], [], basis, 64, 3).candidates[0] for basis in ("mean", "careful")
    )
    assert mean.people == pytest.approx(drawn["people_fed"].mean())
    assert mean.capital == pytest.approx(drawn["capex"].mean() / case.exchange_rate)
    # P10 and P90 as order statistics: the 7th and the 58th of 64.
    assert careful.people == np.sort(drawn["people_fed"][:, 0])[6]
    assert careful.capital == pytest.approx(np.sort(drawn["capex"][:, 0])[57] / case.exchange_rate)
    assert careful.people < mean.people
    assert careful.cost > mean.cost


def test_sizes_are_tried_and_refusals_told(cases, library):
    unsafe = make_case(library, "kaldre", "as_planned", ["life_support.response_time=60"])
    found = offer([(unsafe, ""), cases[1]], [100.0, 300.0], "base", 0, 1)
    assert [one.bed_area for one in found.candidates] == [100, 300]
    assert [title for title, _ in found.refused] == [
        "kaldre, as_planned, 100 m²",
        "kaldre, as_planned, 300 m²",
    ]
    assert all("minutes" in why for _, why in found.refused)


def test_whoever_appraises_gives_the_same_and_every_farm_is_told(cases, library):
    unsafe = make_case(library, "kaldre", "as_planned", ["life_support.response_time=60"])
    told = []

    def stage(title, total):
        told.append((title, total))
        return lambda failed=False, count=1: told.append((failed, count))

    asked = ([(unsafe, ""), *cases], [200.0, 100.0], "mean", 16, 1)
    here = offer(*asked)
    assert offer(*asked, Processes(2), stage) == here
    assert len(here.candidates) == 4
    assert told[0] == ("farms appraised", 6)
    assert sorted(told[1:]) == [(False, 1)] * 4 + [(True, 1)] * 2
