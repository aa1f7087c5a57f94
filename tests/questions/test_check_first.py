"""The list of checks: who settles what, by which measure they rank, and what moves it."""

from dataclasses import replace
from fnmatch import fnmatchcase

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build_all
from sitefare.errors import RunError
from sitefare.questions.check_first import (
    CheckInputs,
    check_first,
    kind_of,
    row_worths,
    settled_together,
)
from sitefare.questions.decision import stake
from sitefare.questions.figures import ratio_of
from sitefare.questions.uncertainty import uncertainty
from sitefare.questions.weakest import UNSUPPORTED
from sitefare.questions.which_site import which_site


@pytest.fixture(scope="module")
def weighed(plan):
    """Weigh a site's evidence once for each set of settings."""
    kept = {}

    def make(*settings, site="qasr_adhra", draws=1024):
        key = (site, draws, settings)
        if key not in kept:
            sized = plan(site, "as_planned", *settings)
            drawn = uncertainty(sized, draws, 1)
            base = appraise(sized)
            kept[key] = (base, drawn, check_first(base, drawn))
        return kept[key]

    return make


def test_every_uncertain_row_has_a_check_and_only_one(plan):
    case = plan("kaldre").case
    kinds = build_all(CheckInputs, base_values(case))
    found = settled_together(case, case.uncertain)
    assert sorted(n for names in found.values() for n in names) == case.uncertain
    assert kind_of("source_water.nitrate", kinds) == "water_test"
    assert kind_of("crop.lettuce.yield_year", kinds) == "crop_trial"
    # A line that nothing follows catches what no other names; on shipped rows it has no work.
    assert not [key for key, _ in found if key == "review"]
    for key, kind in kinds.items():
        used = [n for n in case.rows if any(fnmatchcase(n, p) for p in kind.settles.split())]
        assert used, key


def test_one_check_settles_a_row_an_item_or_all(plan):
    found = settled_together(plan("kaldre").case, plan("kaldre").case.uncertain)
    assert all(len(names) == 1 for (key, _), names in found.items() if key == "building_quote")
    crops = [names for (key, _), names in found.items() if key == "crop_trial"]
    assert all(len({name.split(".")[1] for name in names}) == 1 for names in crops)
    assert len([key for key, _ in found if key == "market_survey"]) == 1


def test_costs_are_the_users_and_come_in_the_sites_currency(plan, weighed):
    base, _, found = weighed()
    survey = next(c for c in found.checks if c.title.startswith("Market price"))
    assert survey.cost == pytest.approx(1500 * base.case.exchange_rate, rel=0.05)
    dear = plan("qasr_adhra", "as_planned", "check_cost.market_survey.cost=9000 USD")
    values = base_values(dear.case)
    changed = build_all(CheckInputs, values)["market_survey"].cost
    assert float(changed[0, 0]) == pytest.approx(6 * survey.cost, rel=0.05)


def test_the_payoff_by_food_is_its_worth_less_its_cost(weighed):
    base, drawn, _ = weighed()
    at = stake(base, drawn.draws)
    # Where a person-day costs so many times the local price, funding turns at that level.
    ratio = ratio_of(drawn.draws)[:, 0]
    fed = np.isfinite(ratio)
    np.testing.assert_allclose(-at.loss[fed] / at.unit[fed], ratio[fed], rtol=1e-9)
    assert np.all(at.unit[~fed] == 0)
    assert at.at(at.even).mean() == pytest.approx(0, abs=1e-6 * abs(at.loss.mean()))
    assert np.array_equal(at.at(), at.at(1.0))


def test_the_payoff_by_money_is_net_present_value_and_what_may_be_lost(weighed):
    base, drawn, found = weighed("decision.payoff=npv", "decision.gift=0.5")
    capital = base.indicators["capex"][0, 0]
    payoff = drawn.draws["npv"][:, 0] + 0.5 * capital
    np.testing.assert_allclose(found.stake.at(), payoff)
    assert found.stake.decided_by == "npv"


def test_where_no_draw_decides_otherwise_the_list_ranks_by_unsupported_spread(weighed):
    _, _, found = weighed()
    assert found.everything.value == 0
    assert not found.decides
    softs = [check.soft for check in found.checks]
    assert softs == sorted(softs, reverse=True)
    assert softs[0] > 0.05
    assert 0 < found.soft <= found.told < 1
    first = found.checks[0]
    assert any(row.basis in UNSUPPORTED for row in first.rows)
    assert all(check.worth.value == 0 for check in found.checks)


def test_a_row_with_support_leaves_the_second_measure(weighed):
    # The same range with a source behind it: the share of the spread stays, the soft one goes.
    base, drawn, found = weighed()
    name = found.checks[0].rows[0].name
    row = replace(base.case.rows[name], basis="quote")
    case = replace(base.case, rows={**base.case.rows, name: row})
    backed = replace(base, plan=replace(base.plan, case=case))
    again = check_first(backed, drawn)
    before, after = found.checks[0], next(c for c in again.checks if name in
                                          {r.name for r in c.rows})  # fmt: skip
    assert after.share == pytest.approx(before.share)
    assert after.soft < before.soft - 0.01
    assert again.soft < found.soft


def test_near_the_turn_checks_rank_by_worth_less_cost(weighed):
    _, _, found = weighed("decision.worth=14")
    assert found.decides
    assert found.everything.value > 0
    told = [check for check in found.checks if check.worth.told]
    nets = [check.net for check in told]
    assert nets == sorted(nets, reverse=True)
    for check in told:
        assert check.worth.value <= found.everything.value + 2 * found.everything.error
        assert check.net == pytest.approx(check.worth.value - check.cost)
    assert [check.worth.told for check in found.checks] == sorted(
        (check.worth.told for check in found.checks), reverse=True
    )


def test_knowing_is_worth_most_near_the_turn(weighed):
    _, _, found = weighed()
    levels = dict(found.by_level)
    assert max(levels, key=lambda level: levels[level].value) == pytest.approx(
        found.stake.even, rel=0.51
    )
    assert levels[found.stake.even].error > 0


def test_rows_alone_are_worth_no_more_than_their_check(weighed):
    base, drawn, found = weighed("decision.worth=14")
    best = found.checks[0]
    alone = row_worths(base, drawn, [row.name for row in best.rows[:3]])
    for worth in alone.values():
        assert worth.value <= best.worth.value + 3 * (best.worth.error + worth.error)


def test_the_same_seed_gives_the_same_list_and_few_draws_none(weighed):
    base, drawn, found = weighed()
    assert check_first(base, drawn).checks == found.checks
    assert check_first(base, uncertainty(base.plan, 64, 1)) is None


def test_choosing_among_sites_on_common_draws(weighed):
    bases = [weighed("decision.worth=14", site=site)[0] for site in ("port_anui", "qasr_adhra")]
    found = which_site(bases, 256, 1)
    assert found.sites == ("port_anui", "qasr_adhra")
    assert sum(found.best_in) == pytest.approx(1)
    assert found.one_of.value > 0
    parts = [worth.value for _, worth in found.parts]
    assert parts == sorted(parts, reverse=True)
    assert parts[0] <= found.one_of.value + 3 * found.one_of.error
    with pytest.raises(RunError, match="choosing needs two sites"):
        which_site(bases[:1], 256, 1)
