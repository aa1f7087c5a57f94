"""The mix found is appraised whole, keeps its limits and never does worse than the plan."""

import pytest

from sitefare.errors import DesignError
from sitefare.outputs.numbers import Formats
from sitefare.outputs.proposal.planting import limit_sentences, mix_finding
from sitefare.questions.crop_mix import crop_mix, whole_percents


@pytest.fixture(scope="module")
def mix_of(request):
    made = {}
    plan = request.getfixturevalue("plan")

    def find(site, aim="most_people"):
        if (site, aim) not in made:
            made[site, aim] = crop_mix(plan(site), aim)
        return made[site, aim]

    return find


@pytest.mark.parametrize("site", ["kaldre", "port_anui", "qasr_adhra"])
def test_most_people_feeds_no_fewer_than_the_plan(mix_of, site):
    mix = mix_of(site)
    assert mix.found.people >= mix.planned.people
    assert mix.solution.people >= 0.9 * mix.found.people


def test_least_cost_costs_no_more_than_the_plan_or_the_other_aim(mix_of):
    least, most = mix_of("qasr_adhra", "least_cost"), mix_of("qasr_adhra")
    assert least.found.cost <= least.planned.cost
    assert least.found.cost <= most.found.cost
    assert most.found.people >= least.found.people


def test_shares_are_whole_percents_within_their_limits(mix_of):
    shares = mix_of("kaldre").found.shares
    assert sum(shares.values()) <= 1.0 + 1e-9
    for key, share in shares.items():
        assert share == pytest.approx(round(share, 2)), key
        assert share <= 0.35 + 1e-9, key
    assert sum(shares.get(k, 0.0) for k in ("tomato", "cucumber", "pepper")) <= 0.5


def test_the_plan_s_own_mix_stays_where_the_limits_allow_no_other(plan):
    base = plan("kaldre")
    names = [n for n in base.case.rows if n.startswith("plan.") and n.endswith(".share")]
    settings = []
    for name in names:
        key, share = name.split(".")[1], base.case.rows[name].base
        settings += [f"mix.{key}.least={share}", f"mix.{key}.most={share}"]
    mix = crop_mix(plan("kaldre", "as_planned", *settings))
    assert not mix.better
    assert mix.found.people == mix.planned.people


def test_what_the_straight_lines_promise_is_near_what_the_whole_farm_gives(mix_of):
    for site in ("kaldre", "port_anui"):
        mix = mix_of(site)
        assert mix.promised == pytest.approx(mix.found.people, rel=0.1), site


def test_sentences_name_what_binds_and_adapt(mix_of, plan):
    mix, formats = mix_of("kaldre"), Formats("en", "GEL")
    assert "instead of" in mix_finding(mix, formats, "GEL")
    said = " ".join(limit_sentences(mix, formats, "GEL"))
    assert "vegetables in Dec" in said
    assert "all beds" in said
    nobody = crop_mix(plan("kaldre", "as_planned", "storage.fish_window=1", "size.bed_area=150"))
    assert nobody.solution.people == 0.0
    assert "feeds anybody by the headline ration" in mix_finding(nobody, formats, "GEL")
    assert limit_sentences(nobody, formats, "GEL") == []


def test_limits_that_clash_are_refused(plan):
    shares = ("lettuce.least=0.8", "lettuce.most=0.9", "chard.least=0.7", "chard.most=0.9")
    with pytest.raises(DesignError, match="least shares add"):
        crop_mix(plan("kaldre", "as_planned", *(f"mix.{share}" for share in shares)))


def test_rounding_keeps_the_sum_and_the_limits():
    shares = {"a": 0.3333333333, "b": 0.3333333333, "c": 0.3333333334}
    found = whole_percents(shares, {"a": 0.33, "b": 0.4, "c": 0.4})
    assert sum(found.values()) == pytest.approx(1.0)
    assert found["a"] == 0.33
