"""Order, chances, regret and the efficient edge, over lines made up of plain numbers."""

import numpy as np
import pytest
from invented_lines import compared, line

from sitefare.errors import RunError
from sitefare.questions.edge import edge, efficient
from sitefare.questions.figures import RATIO, goodness
from sitefare.questions.ranking import ranks, unanswered
from sitefare.questions.regret import regret, regret_of

NEVER = np.inf


def drawn(count, draws=64, seed=3):
    """Make lines of random figures; some feed nobody in some draws."""
    random = np.random.default_rng(seed)
    made = []
    for i in range(count):
        people = random.uniform(5, 100, draws).round(0)
        nobody = random.random(draws) < 0.1
        people[nobody] = 0
        ratio = np.where(nobody, NEVER, random.uniform(1, 30, draws).round(0))
        values = {"npv": -1000.0 * i}
        figures = {RATIO: ratio, "people_fed": people, "cost_per_person_day": ratio / 2}
        made.append(line(f"site{i}", values, figures))
    return made


def test_chances_of_being_best_and_draws_without_an_answer_sum_to_one():
    found = compared(drawn(7))
    places = ranks(found, RATIO)
    assert sum(x.chance_best for x in places) + unanswered(found, RATIO) == pytest.approx(1.0)
    # Ranks of seven sum to 28 in every draw, however many are equal.
    assert sum(x.mean_rank for x in places) == pytest.approx(28.0)
    assert all(x.chance_best <= x.chance_first_three for x in places)


def test_chances_are_those_counted_draw_by_draw():
    found = compared(drawn(5, draws=32))
    table = np.stack([one.draws[RATIO] for one in found.ranked], axis=1)
    best = np.zeros(5)
    for row in table:
        if np.isfinite(row.min()):
            winners = np.flatnonzero(row == row.min())
            best[winners] += 1 / len(winners)
    by_name = {x.line.name: x.chance_best for x in ranks(found, RATIO)}
    for one, chance in zip(found.ranked, best / 32, strict=True):
        assert by_name[one.name] == pytest.approx(chance)


def test_equal_ones_share_their_rank_and_their_chances():
    same = {RATIO: [2.0, 3.0, 4.0, 9.0]}
    found = compared(
        [line("b", None, same), line("a", None, same), line("c", {}, {RATIO: [5.0] * 4})]
    )
    assert [(x.name, x.rank) for x in found.lines] == [
        ("a/as_planned", 1),
        ("b/as_planned", 1),
        ("c/as_planned", 3),
    ]
    places = ranks(found, RATIO)
    assert [x.rank for x in places] == [1, 1, 3]
    assert [x.chance_best for x in places] == [0.375, 0.375, 0.25]
    assert [x.mean_rank for x in places] == [1.75, 1.75, 2.5]


def test_three_alternatives_have_no_chance_of_the_first_three():
    assert all(x.chance_first_three is None for x in ranks(compared(drawn(3)), RATIO))


def test_never_stands_last_and_is_never_best():
    found = compared([
        line("nobody", {}, {RATIO: [NEVER] * 4}),
        line("some", {}, {RATIO: [9.0, 9.0, NEVER, NEVER]}),
        line("undefined", {}, {RATIO: [np.nan] * 4}),
    ])  # fmt: skip
    assert found.lines[-1].name in ("nobody/as_planned", "undefined/as_planned")
    places = {x.line.alternative.site: x for x in ranks(found, RATIO)}
    assert places["nobody"].chance_best == places["undefined"].chance_best == 0
    assert places["some"].chance_best == 0.5
    assert unanswered(found, RATIO) == 0.5


def test_a_shut_gate_is_listed_last_and_in_no_chance():
    found = compared([line("shut", {}, {RATIO: [1.0, 1.0]}, shut=True), *drawn(2, draws=2)])
    assert found.lines[-1].alternative.site == "shut"
    assert found.lines[-1].rank == 0
    for answer in (ranks(found, RATIO), regret(found).lines, edge(found)):
        assert "shut" not in [x.line.alternative.site for x in answer]


def test_money_is_compared_in_dollars_and_more_is_better_where_it_is():
    found = compared(
        [line("lari", {"npv": 270.0}, rate=2.7), line("dollar", {"npv": 150.0})], "npv"
    )
    assert [x.alternative.site for x in found.lines] == ["dollar", "lari"]
    assert [x.line.usd("npv") for x in ranks(found, "npv")] == [150.0, 100.0]
    assert ranks(found, "npv")[0].chance_best is None


def test_a_figure_that_orders_nothing_is_refused():
    with pytest.raises(RunError, match="neither more nor less of jobs_fte is better"):
        goodness("jobs_fte", np.zeros(2))
    with pytest.raises(RunError, match=r"'npw' is not a figure .* 'npv'"):
        goodness("npw", np.zeros(2))


def test_the_best_of_a_draw_regrets_nothing():
    worth = np.random.default_rng(1).normal(size=(200, 9))
    table = regret_of(worth)
    assert (table.min(axis=1) == 0).all()
    assert (table[np.arange(200), worth.argmax(axis=1)] == 0).all()
    assert (table >= 0).all()
    # A cost or a gain common to all moves no regret.
    shifted = regret_of(worth + np.random.default_rng(2).normal(size=(200, 1)))
    np.testing.assert_allclose(shifted, table, atol=1e-12)


def test_regret_where_one_feeds_nobody():
    found = compared([
        line("sure", {}, {RATIO: [5.0, 5.0, 5.0, NEVER]}),
        line("risky", {}, {RATIO: [4.0, 4.0, NEVER, NEVER]}),
    ])  # fmt: skip
    by_site = {x.line.alternative.site: x for x in regret(found).lines}
    # Where nobody is fed anywhere there is nothing to regret.
    assert (by_site["sure"].mean, by_site["sure"].worst) == (0.5, 1.0)
    assert by_site["risky"].mean == NEVER
    assert by_site["risky"].answered == 0.75
    made = regret(found)
    assert made.least_mean.alternative.site == made.least_worst.alternative.site == "sure"
    assert made.least_high.alternative.site == "sure"
    assert made.unit == "1"


def test_where_every_worst_is_never_the_one_seldom_wrong_is_named():
    good = [1.0] * 19 + [NEVER]
    bad = [NEVER] * 5 + [2.0] * 15
    found = regret(compared([line("good", {}, {RATIO: good}), line("bad", {}, {RATIO: bad})]))
    assert found.least_mean is found.least_worst is None
    assert found.least_high.alternative.site == "good"


def test_regret_without_draws_is_that_of_the_base():
    found = compared([line("a", {RATIO: 3.0}), line("b", {RATIO: 5.5})])
    assert [x.mean for x in regret(found).lines] == [0.0, 2.5]


def by_hand(cost, people):
    """Say which are on the edge, each held against every other."""
    cost = np.where(np.isnan(cost), np.inf, cost)
    on = []
    for c, p in zip(cost, people, strict=True):
        beaten = any(
            d <= c and q >= p and (d < c or q > p) for d, q in zip(cost, people, strict=True)
        )
        on.append(not beaten and np.isfinite(c) and p > 0)
    return on


@pytest.mark.parametrize("count", [1, 2, 5, 40])
def test_the_edge_is_that_of_each_held_against_every_other(count):
    # Whole numbers make many equal ones; some feed nobody, some are undefined.
    random = np.random.default_rng(count)
    cost = random.integers(1, 8, (300, count)).astype(float)
    people = random.integers(0, 8, (300, count)).astype(float)
    cost[people == 0] = np.inf
    cost[random.random((300, count)) < 0.05] = np.nan
    found = efficient(cost, people)
    for row, (c, p) in enumerate(zip(cost, people, strict=True)):
        assert found[row].tolist() == by_hand(c, p)


def test_the_dominated_are_told_by_whom():
    def at(name, people, cost):
        figures = {
            "people_fed": [people] * 2,
            "cost_per_person_day": [cost, cost],
            RATIO: [cost] * 2,
        }
        return line(name, {}, figures)

    found = compared(
        [at("a", 10, 1), at("b", 20, 2), at("twin", 20, 2), at("c", 15, 3), at("d", 0, NEVER)]
    )
    by_site = {x.line.alternative.site: x for x in edge(found)}
    assert [s for s in by_site if by_site[s].on_edge] == ["a", "b", "twin"]
    assert [x.alternative.site for x in by_site["c"].by] == ["b", "twin"]
    assert [x.alternative.site for x in by_site["d"].by] == ["a", "b", "twin"]
    assert [by_site[s].chance for s in "abcd"] == [1.0, 1.0, 0.0, 0.0]


def test_no_line_makes_no_answer():
    nothing = compared([line("shut", {RATIO: 1.0}, shut=True)])
    assert ranks(nothing, RATIO) == edge(nothing) == regret(nothing).lines == ()
    assert regret(nothing).least_mean is None
