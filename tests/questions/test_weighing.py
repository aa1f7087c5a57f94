"""The weighted score: scales, weights and what hangs on them, over made-up lines."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from invented_lines import compared, criterion, line

from sitefare.errors import AssumptionError, RunError
from sitefare.outputs.checking import check_all
from sitefare.questions.criteria import CriterionInputs, _criterion, criteria_of, weighted
from sitefare.questions.figures import RATIO
from sitefare.questions.weighing import acceptability, possible_weights, weighing

CRITERIA = (
    criterion(RATIO, 50, "less"),
    criterion("people_fed", 30),
    criterion("capex_per_person", 20, "less"),
)


def lines(count=5, seed=1, draws=32, money=1.0):
    """Make lines that trade off: dear ones feed more."""
    random = np.random.default_rng(seed)
    made = []
    for i in range(count):
        values = {
            RATIO: random.uniform(2, 20),
            "people_fed": random.uniform(20, 90),
            "capex_per_person": money * random.uniform(1000, 9000),
        }
        noise = random.normal(1.0, 0.2, (3, draws))
        figures = {k: x * n for (k, x), n in zip(values.items(), noise, strict=True)}
        made.append(line(f"site{i}", values, figures, rate=money))
    return made


def scores(found):
    return {x.line.alternative.site: x.score for x in found.scores}


def test_parts_sum_to_the_score_and_scales_run_from_worst_to_best():
    found = weighing(compared(lines(), criteria=CRITERIA))
    assert sum(x.share for x in found.scales) == pytest.approx(1.0)
    for one in found.scores:
        assert sum(one.parts.values()) == pytest.approx(one.score)
        assert all(0 <= x <= 1 for x in one.points.values())
    for scale in found.scales:
        points = [x.points[scale.criterion.key] for x in found.scores]
        assert (min(points), max(points)) == (0, 1)
    assert [x.score for x in found.scores] == sorted((x.score for x in found.scores), reverse=True)


def test_a_change_of_unit_or_currency_moves_no_score():
    dollars = weighing(compared(lines(), criteria=CRITERIA))
    lari = weighing(compared(lines(money=2.7), criteria=CRITERIA))
    assert scores(lari) == pytest.approx(scores(dollars), abs=1e-12)
    more = tuple(replace(one, weight=7 * one.weight) for one in CRITERIA)
    assert scores(weighing(compared(lines(), criteria=more))) == pytest.approx(scores(dollars))


def test_the_order_of_naming_moves_nothing():
    one, other = (weighing(compared(made, criteria=CRITERIA)) for made in (lines(), lines()[::-1]))
    for a, b in zip(one.scores, other.scores, strict=True):
        assert (a.line.name, a.rank, a.score) == (b.line.name, b.rank, b.score)
        assert (a.chance_first, a.weights_first) == (b.chance_first, b.weights_first)


def test_chances_over_draws_and_over_weights_sum_to_one():
    found = weighing(compared(lines(9), criteria=CRITERIA))
    assert sum(x.chance_first for x in found.scores) == pytest.approx(1.0)
    assert sum(x.weights_first for x in found.scores) == pytest.approx(1.0)
    whole = np.zeros(3)
    for one in found.scores:
        if one.typical is not None:
            assert sum(one.typical.values()) == pytest.approx(1.0)
            whole += one.weights_first * np.array(list(one.typical.values()))
    # Weights of all, each by its share, are the mean of all weights.
    np.testing.assert_allclose(whole, 1 / 3, atol=2e-3)


@pytest.mark.parametrize("seed", range(8))
def test_at_the_weight_told_the_two_swap(seed):
    found = weighing(compared(lines(6, seed), criteria=CRITERIA))
    first = found.scores[0].line.name
    shares = {x.scale.criterion.key: x.scale.share for x in found.thresholds}
    for threshold in found.thresholds:
        key, own = threshold.scale.criterion.key, threshold.scale.share
        for change, side in ((threshold.below, -1), (threshold.above, 1)):
            ends = (0.0, 1.0)[side > 0]
            until = change.share if change else ends
            assert side * (until - own) >= 0

            def leader(at, key=key, own=own):
                rest = {k: x * (1 - at) / (1 - own) for k, x in shares.items() if k != key}
                return weighing(compared(lines(6, seed), criteria=CRITERIA), {**rest, key: at})

            just = until - side * 1e-9 * abs(until - own)
            assert leader(just).scores[0].line.name == first
            if change:
                beyond = change.share + side * 1e-9
                assert leader(beyond).scores[0].line.name == change.line.name


def nobody(draws=32):
    values = {RATIO: np.inf, "people_fed": 0.0, "capex_per_person": np.inf}
    return line("nobody", values, {k: np.full(draws, x) for k, x in values.items()})


def test_an_alternative_that_feeds_nobody_is_not_scored():
    found = weighing(compared([*lines(3), nobody()], criteria=CRITERIA))
    assert [x.alternative.site for x in found.unscored] == ["nobody"]
    # It sets no end of a scale, and moves no other's score.
    assert scores(found) == scores(weighing(compared(lines(3), criteria=CRITERIA)))
    with pytest.raises(RunError, match="gates are open and that feed anybody; found 1"):
        weighing(compared([*lines(1), nobody()], criteria=CRITERIA))


def test_none_is_first_in_a_draw_in_which_it_feeds_nobody():
    made = lines(3)
    for x in made:
        x.draws["people_fed"][:8] = 0
        x.draws[RATIO][:8] = np.inf
    found = weighing(compared(made, criteria=CRITERIA))
    assert sum(x.chance_first for x in found.scores) == pytest.approx(0.75)


def test_an_alternative_without_an_answer_by_a_criterion_scores_as_the_worst():
    made = lines(3)
    made[0].values["irr"], made[1].values["irr"], made[2].values["irr"] = 0.02, 0.08, np.nan
    found = weighing(compared(made, criteria=[criterion("irr", 1)]))
    assert scores(found) == {"site1": 1, "site0": 0, "site2": 0}
    assert found.scores[0].chance_first is None
    alone = [
        replace(x, values={**x.values, "irr": y})
        for x, y in zip(made, (0.1, 0.1, np.nan), strict=True)
    ]
    # Equal but for one without an answer: the answer is all that tells them apart.
    assert scores(weighing(compared(alone, criteria=[criterion("irr", 1)]))) == {
        "site0": 1, "site1": 1, "site2": 0,
    }  # fmt: skip


def test_a_criterion_that_tells_nothing_drops_out_and_says_why():
    made = [
        line("a", {RATIO: 2.0, "people_fed": 9.0}, need=3),
        line("b", {RATIO: 3.0, "people_fed": 9.0}),
    ]
    criteria = (
        criterion(RATIO, 1, "less"),
        criterion("people_fed", 1),
        criterion("need", 1),
        criterion("npv", 0),
    )
    found = weighing(compared(made, criteria=criteria))
    assert [x.criterion.key for x in found.scales] == [RATIO]
    assert {x.key: why for x, why in found.dropped} == {
        "people_fed": "it is the same for all",
        "need": "no score is supplied for B",
        "npv": "its weight is 0",
    }
    assert found.scales[0].share == 1
    assert found.thresholds[0].below is found.thresholds[0].above is None


def test_a_need_score_counts_where_all_give_one():
    made = [line("a", {RATIO: 2.0}, need=3), line("b", {RATIO: 3.0}, need=8)]
    criteria = (criterion(RATIO, 1, "less"), criterion("need", 3))
    found = weighing(compared(made, criteria=criteria))
    assert scores(found) == {"b": 0.75, "a": 0.25}


def test_stated_ends_hold_beyond_which_nothing_counts():
    made = [line("a", facts=(90, 100)), line("b", facts=(40, 100))]
    made = [replace(x, values={RATIO: 2.0}) for x in made]
    wide = criterion("facts_supplied", 1, worst=0.0, best=1.0)
    assert scores(weighing(compared(made, criteria=[wide]))) == {"a": 0.9, "b": 0.4}
    narrow = criterion("facts_supplied", 1, worst=0.5, best=0.8)
    assert scores(weighing(compared(made, criteria=[narrow]))) == {"a": 1.0, "b": 0.0}


def test_only_open_gates_are_scored():
    made = [*lines(3), replace(lines(1)[0], gates=line("x", shut=True).gates)]
    made[-1] = replace(made[-1], alternative=replace(made[-1].alternative, site="shut"))
    found = weighing(compared(made, criteria=CRITERIA))
    assert "shut" not in scores(found)
    with pytest.raises(RunError, match="two alternatives whose gates are open; found 1"):
        weighing(compared([made[0], made[-1]], criteria=CRITERIA))


@pytest.mark.parametrize(
    ("weights", "message"),
    [
        ({"cots": 1}, "'cots' is not a criterion"),
        ({"people_fed": -1}, "a number from 0 is accepted; found -1"),
        ({"people_fed": float("nan")}, "a number from 0 is accepted; found nan"),
        ({one.key: 0 for one in CRITERIA}, "at least one criterion whose weight is above 0"),
    ],
)
def test_a_wrong_weight_is_refused(weights, message):
    with pytest.raises(RunError, match=message):
        weighted(CRITERIA, weights)


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        ({"figure": "npw"}, "'npw' is not a figure"),
        ({"figure": "jobs_fte"}, "neither more nor less"),
        ({"worst": "many"}, "could not convert"),
        ({"worst": "2"}, "give both worst and best, or neither"),
        ({"worst": "9", "best": "2"}, "more of it is better, but worst is 9 and best 2"),
    ],
)
def test_a_wrong_criterion_is_refused(cells, message):
    given = {"title": "T", "figure": "people_fed", "worst": "", "best": "", **cells}
    with pytest.raises(AssumptionError, match=message):
        _criterion("key", CriterionInputs(weight=np.ones((1, 1)), **given), "line 1", "")


def test_the_shipped_criteria_are_read(library):
    found = criteria_of(library)
    assert [one.key for one in found] == ["cost", "people", "need", "capital", "subsidy", "known"]
    assert sum(one.weight for one in found) == 100
    assert all(one.source for one in found)


def test_a_broken_table_of_criteria_is_told_by_the_check(library):
    row = library.common.rows["criterion.cost.figure"]
    rows = {**library.common.rows, row.name: replace(row, text="npw")}
    broken = replace(library, common=replace(library.common, rows=rows))
    told = list(itertools.islice(check_all(broken), 2))
    assert told[1].refused
    assert "criterion.cost: 'npw' is not a figure" in told[1].text
    assert next(itertools.islice(check_all(library), 1, 2)).text.startswith("weights of criteria")


def test_weights_are_even_over_all_that_sum_to_one():
    weight = possible_weights(4)
    np.testing.assert_allclose(weight.sum(axis=1), 1.0)
    np.testing.assert_allclose(weight.mean(axis=0), 0.25, atol=1e-3)
    # One share of four is beta-distributed, (1, 3): its variance is 3/80.
    np.testing.assert_allclose(weight.var(axis=0), 3 / 80, rtol=0.02)


def test_equal_alternatives_share_the_weights():
    first, typical = acceptability(np.array([[1.0, 0.0], [1.0, 0.0], [0.2, 0.1]]))
    assert first[0] == first[1]
    assert np.isfinite(typical[0]).all()
