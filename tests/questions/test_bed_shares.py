"""Linear programmes with printed answers, and the shadow prices by pushing each limit."""

from dataclasses import replace

import numpy as np
import pytest

from sitefare.errors import DesignError
from sitefare.questions.bed_shares import Beds, Group, least_cost, most_people


def textbook(gain, limits, most=None, least=None):
    """Make beds of a plain programme: one demand that every crop adds to, limits as groups."""
    n = len(gain)
    groups = [Group(name, np.array(row, float), bound) for name, row, bound in limits]
    return Beds(
        crops=[f"x{i}" for i in range(n)],
        demands=["gain"],
        feeds=np.array([gain], float),
        in_ground=np.zeros((1, n)),
        least=np.array(least or [0.0] * n, float),
        most=np.array(most or [np.inf] * n, float),
        groups=groups,
        cost=np.ones(n),
    )


def worth(found, title):
    return next(x.worth for x in found.limits if x.title == title and x.kind == "group")


@pytest.mark.validation
def test_the_glass_company_of_the_textbook():
    # Hillier & Lieberman, Introduction to Operations Research, ch. 3 and 4.7 (from memory):
    # max 3x + 5y; x <= 4, 2y <= 12, 3x + 2y <= 18: 36 at (2, 6); shadow prices 0, 3/2, 1.
    limits = [("one", [1, 0], 4), ("two", [0, 2], 12), ("three", [3, 2], 18)]
    found = most_people(textbook([3, 5], limits))
    assert list(found.shares.values()) == pytest.approx([2, 6])
    assert found.people == pytest.approx(36)
    assert [worth(found, n) for n in ("one", "two", "three")] == pytest.approx([0, 1.5, 1])


@pytest.mark.validation
def test_the_wheat_and_corn_farm_of_the_textbook():
    # Winston, Operations Research: Applications and Algorithms, ch. 6 (from memory): 45 acres,
    # wheat 200 and corn 300 an acre, 100 workers (3, 2), 120 t of fertiliser (2, 4): 10,000 at
    # (20, 20); a worker is worth 25, a tonne 62.5, an acre nothing.
    limits = [("land", [1, 1], 45), ("workers", [3, 2], 100), ("fertiliser", [2, 4], 120)]
    found = most_people(textbook([200, 300], limits))
    assert list(found.shares.values()) == pytest.approx([20, 20])
    assert found.people == pytest.approx(10_000)
    assert [worth(found, n) for n in ("land", "workers", "fertiliser")] == pytest.approx(
        [0, 25, 62.5]
    )


@pytest.mark.validation
def test_the_corn_quota_farm_of_the_textbook():
    # Winston, ch. 3.1 problem (from memory): 7 acres, 40 hours; corn 10 bushels, 4 h, 3 a bushel;
    # wheat 25 bushels, 10 h, 4 a bushel; at least 30 bushels of corn: 370 at (3, 2.8).
    beds = textbook([30, 100], [("land", [1, 1], 7), ("hours", [4, 10], 40)], least=[3, 0])
    found = most_people(beds)
    assert list(found.shares.values()) == pytest.approx([3, 2.8])
    assert found.people == pytest.approx(370)
    assert worth(found, "hours") == pytest.approx(10)


@pytest.fixture
def beds():
    rng = np.random.default_rng(1)
    return Beds(
        crops=list("abcd"),
        demands=[f"month {i}" for i in range(12)],
        feeds=rng.uniform(10, 60, (12, 4)),
        in_ground=np.ones((12, 4)),
        least=np.array([0.02, 0, 0, 0]),
        most=np.full(4, 0.45),
        groups=[Group("pair", np.array([0.0, 1.0, 1.0, 0.0]), 0.5)],
        cost=rng.uniform(100, 150, 4),
    )


PUSH = 1e-6


def pushed(beds, limit):
    i = beds.crops.index(limit.title) if limit.kind in ("least", "most") else 0
    if limit.kind == "least":
        return replace(beds, least=beds.least + PUSH * (np.arange(4) == i))
    if limit.kind == "most":
        return replace(beds, most=beds.most + PUSH * (np.arange(4) == i))
    if limit.kind == "group":
        return replace(beds, groups=[replace(beds.groups[0], most=beds.groups[0].most + PUSH)])
    return replace(beds, in_ground=beds.in_ground / (1.0 + PUSH))


@pytest.mark.identity
@pytest.mark.parametrize(("solve", "what"), [(most_people, "people"), (least_cost, "cost")])
def test_a_shadow_price_is_what_a_push_of_the_limit_brings(beds, solve, what):
    base = solve(beds)
    for limit in (x for x in base.limits if x.kind != "demand"):
        slope = (getattr(solve(pushed(beds, limit)), what) - getattr(base, what)) / PUSH
        assert slope == pytest.approx(limit.worth, rel=1e-3, abs=1e-3), (limit.kind, limit.title)


@pytest.mark.identity
@pytest.mark.parametrize("solve", [most_people, least_cost])
def test_no_mix_on_a_grid_does_better(beds, solve):
    found = solve(beds)
    steps = np.arange(0, 0.46, 0.03)
    fixed = beds.cost.min()
    for a in steps:
        for b in steps:
            for c in steps:
                mix = np.array([a, b, c, max(1 - a - b - c, 0.0)])
                if mix.sum() > 1 + 1e-9 or np.any(mix > beds.most) or mix[0] < 0.02:
                    continue
                if mix[1] + mix[2] > 0.5:
                    continue
                people = (beds.feeds @ mix).min()
                cost = (fixed + (beds.cost - fixed) @ mix) / people
                if solve is most_people:
                    assert people <= found.people + 1e-9
                else:
                    assert cost >= found.cost - 1e-9


def test_demands_that_bind_weigh_one_together(beds):
    found = most_people(beds)
    weights = [x.worth for x in found.limits if x.kind == "demand"]
    assert sum(weights) == pytest.approx(1.0)
    for limit in found.limits:
        if limit.kind == "demand" and limit.binds:
            assert limit.used == pytest.approx(found.people)


def test_two_half_year_crops_may_share_a_bed():
    summer = np.array([0] * 6 + [1] * 6)
    beds = Beds(
        crops=["winter", "summer"],
        demands=["half one", "half two"],
        feeds=np.array([[50.0, 0.0], [0.0, 70.0]]),
        in_ground=np.column_stack([1 - summer, summer]),
        least=np.zeros(2),
        most=np.ones(2),
        groups=[],
        cost=np.array([100.0, 120.0]),
    )
    found = most_people(beds)
    assert found.people == pytest.approx(50.0)
    assert found.shares["winter"] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"least": np.full(4, 0.4)}, "least shares add to 1.6"),
        ({"least": np.array([0.5, 0, 0, 0])}, "above the most of a"),
        ({"least": np.array([0, 0.3, 0.3, 0])}, "one kind"),
    ],
    ids=["sum", "bounds", "group"],
)
def test_limits_that_clash_are_named(beds, change, words):
    with pytest.raises(DesignError, match=words):
        most_people(replace(beds, **change))


def test_no_food_feeds_nobody_and_has_no_cost(beds):
    empty = replace(beds, feeds=np.zeros((12, 4)))
    assert most_people(empty).people == 0.0
    with pytest.raises(DesignError, match="feeds anybody"):
        least_cost(empty)
