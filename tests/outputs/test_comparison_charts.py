"""Charts of a comparison say what their data say: the edge, regret, scores, and names that fit."""

import math
import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.errors import RunError
from sitefare.outputs.charts_edge import edge, steps
from sitefare.outputs.charts_regret import regrets
from sitefare.outputs.charts_score import MOST, scores
from sitefare.outputs.drawn import svg
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import ROWS
from sitefare.outputs.placing import box_of, sides

ENGLISH = Formats("en", "USD")


def drawn(picture):
    """Both drawings as SVG, each within its rows and with no number that is not one."""
    for spec in (picture.wide, picture.narrow):
        assert sum(len(rows) for rows in spec["datasets"].values()) <= ROWS
        made = svg(spec)
        assert "NaN" not in made
        assert "Infinity" not in made
        yield made


def beaten(people, cost, n):
    """The first alternative that feeds as many for no more, and is better in one of the two."""
    return next(
        (
            m
            for m in range(len(people))
            if people[m] >= people[n]
            and cost[m] <= cost[n]
            and (people[m] > people[n] or cost[m] < cost[n])
        ),
        None,
    )


def alternatives(people, cost, gated=None):
    by = [beaten(people, cost, n) for n in range(len(people))]
    return pd.DataFrame(
        {
            "number": range(1, len(people) + 1),
            "name": [f"Site {n + 1}" for n in range(len(people))],
            "people": people,
            "cost": cost,
            "on_edge": [m is None for m in by],
            "by": ["" if m is None else f"Site {m + 1}" for m in by],
            "gated": gated or [False] * len(people),
        }
    )


POINTS = st.lists(
    st.tuples(st.floats(1, 1e5), st.floats(0.01, 1e3)), min_size=1, max_size=20, unique=True
)


@settings(max_examples=40, deadline=None)
@given(POINTS)
def test_the_edge_names_the_cheapest_and_the_one_that_feeds_most(points):
    people, cost = (list(x) for x in zip(*points, strict=True))
    frame = alternatives(people, cost)
    title = edge(frame, ENGLISH).title
    if len(points) == 1:
        assert title == "Site 1 alone has open gates and a cost to be judged by"
        return
    on = frame[frame["on_edge"]]
    if len(on) == 1:
        assert title.startswith(f"{on.iloc[0]['name']}: no other feeds more people")
        assert on.iloc[0]["people"] == max(people)
        assert on.iloc[0]["cost"] == min(cost)
        return
    cheap, most = re.search(r"(Site \d+) is cheapest, (Site \d+) feeds most people", title).groups()
    assert float(frame.loc[frame["name"] == cheap, "cost"].iloc[0]) == min(cost)
    assert float(frame.loc[frame["name"] == most, "people"].iloc[0]) == max(people)
    if "of" in title.split(" are ")[0]:
        assert title.startswith(f"{len(on)} of {len(frame)} are behind no other")


@settings(max_examples=40, deadline=None)
@given(POINTS)
def test_every_alternative_lies_on_or_above_the_steps_of_the_edge(points):
    people, cost = (list(x) for x in zip(*points, strict=True))
    frame = alternatives(people, cost)
    corners = steps(frame, 0.0, 2e3)
    assert corners[0][0] == 0.0
    assert corners[-1] == (max(people), 2e3)
    for p, c in zip(people, cost, strict=True):
        level = min((y for x, y in corners[1::2] if x >= p), default=math.inf)
        assert c >= level


def test_the_edge_draws_many_within_its_rows_and_tells_who_is_ahead():
    draw = np.random.default_rng(2)
    frame = alternatives(list(draw.uniform(10, 400, 20)), list(draw.uniform(1, 9, 20)))
    picture = edge(frame, ENGLISH, "200 g of vegetables")
    wide, _ = drawn(picture)
    for row in frame.itertuples():
        where = f"behind {row.by}" if row.by else "on the edge"
        told = re.search(rf"{row.number} {row.name}: [^;]*, ([^;,]+)[;.]", picture.alt)
        assert told[1] == where
        assert f"{row.number} {row.name}" in wide
    assert "counted by 200 g of vegetables" in picture.alt


def test_a_shut_gate_is_drawn_apart_and_stands_on_no_edge():
    frame = alternatives([100.0, 50.0], [1.0, 2.0], [True, False]).assign(
        on_edge=[False, True], by=""
    )
    picture = edge(frame, ENGLISH)
    assert picture.title == "Site 2 alone has open gates and a cost to be judged by"
    assert "not ranked: a gate is shut" in picture.alt
    assert all("a gate is shut" in made for made in drawn(picture))


def test_who_feeds_nobody_is_told_and_not_drawn():
    frame = alternatives([100.0, 0.0, 60.0], [1.0, math.inf, 0.5])
    picture = edge(frame, ENGLISH)
    assert "Not drawn, as it has no cost: Site 2." in picture.alt
    assert all("Site 2" not in re.sub(r"<desc>.*?</desc>", "", made) for made in drawn(picture))
    with pytest.raises(RunError, match="has no rows"):
        edge(alternatives([0.0], [math.inf]), ENGLISH)


@given(
    st.lists(st.tuples(st.floats(0, 600), st.floats(0, 400)), min_size=1, max_size=20),
)
def test_names_beside_dots_cover_no_dot_and_no_other_name(places):
    names = [f"A name of place {n}\nin two lines" for n in range(len(places))]
    chosen = sides(places, names, range(len(places)), (620, 400), 12)
    boxes = [box_of(places[n], names[n], side, 16) for n, side in enumerate(chosen) if side]
    dots = [(x - 12, y - 12, x + 12, y + 12) for x, y in places]
    own = [n for n, side in enumerate(chosen) if side]
    for n, box in zip(own, boxes, strict=True):
        others = [b for b in boxes if b is not box] + [d for m, d in enumerate(dots) if m != n]
        assert not any(
            box[0] < o[2] and o[0] < box[2] and box[1] < o[3] and o[1] < box[3] for o in others
        )
        assert min(box) >= 0
        assert box[2] <= 620
        assert box[3] <= 400


def test_two_dots_at_one_place_take_different_sides():
    chosen = sides([(300, 200), (300, 200)], ["One", "Two"], [0, 1], (620, 400), 0)
    assert chosen[0] == "right"
    assert chosen[1] not in ("right", "")


def test_a_name_that_finds_no_room_is_left_to_its_number():
    assert sides([(5, 5)], ["A name wider than the drawing"], [0], (60, 40), 12) == [""]


REGRETS = st.lists(st.floats(0, 1e6), min_size=1, max_size=20)


@settings(max_examples=40, deadline=None)
@given(REGRETS)
def test_regret_names_the_choice_regretted_least(means):
    frame = pd.DataFrame(
        {
            "name": [f"Site {n}" for n in range(len(means))],
            "mean": means,
            "high": means,
            "none": 0.0,
        }
    )
    title = regrets(frame, "Cost", "times", ENGLISH).title
    if max(means) == 0.0:
        assert title == "Whichever is chosen, no other would have been better in any draw"
        return
    named = int(re.match(r"Site (\d+)", title)[1])
    assert means[named] == min(means)
    assert ("never regretted" in title) == (min(means) <= 1e-9 * max(means))


def test_regret_without_an_end_is_said_and_drawn():
    frame = pd.DataFrame(
        {
            "name": ["A", "B", "C"],
            "mean": [0.3, 0.1, math.inf],
            "high": [0.4, math.inf, math.inf],
            "none": [0.0, 0.2, 1.0],
        }
    )
    picture = regrets(frame, "Cost", "times", ENGLISH)
    assert picture.title == (
        "A always has an answer, on average 0.3 times worse than the best; "
        "in some draws 2 others have none"
    )
    assert "Without a number: C." in picture.alt
    assert "1 draw in 10 or more is without an answer; 20\u00a0% of draws are" in picture.alt
    assert all("no end" in made for made in drawn(picture))
    never = frame.assign(none=[0.1, 0.2, 1.0])
    assert regrets(never, "Cost", "times", ENGLISH).title == (
        "Each choice is without an answer in some draws, A in fewest (10\u00a0%); "
        "else it is 0.3 times worse than the best on average"
    )
    assert "0.3 people short of the best" in regrets(
        frame, "People fed", "people", ENGLISH, "short of"
    ).title  # fmt: skip


def scored(parts):
    return pd.DataFrame(
        [
            {"name": f"Site {n}", "criterion": f"Criterion {c}", "part": part}
            for n, row in enumerate(parts)
            for c, part in enumerate(row)
        ]
    )


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(st.floats(0, 0.2), min_size=5, max_size=5), min_size=2, max_size=12))
def test_scores_name_the_two_that_score_most(parts):
    title = scores(scored(parts), ENGLISH).title
    sums = [sum(row) for row in parts]
    named = [int(n) for n in re.findall(r"Site (\d+)", title)]
    first, second = sorted(sums, reverse=True)[:2]
    assert sums[named[0]] == pytest.approx(first, abs=1e-9)
    assert sums[named[1]] == pytest.approx(second, abs=1e-9)
    alike = ENGLISH.decimal(first, 2) == ENGLISH.decimal(second, 2)
    assert ("score alike" in title) == alike


def test_scores_of_many_draw_the_first_and_fit_the_rows():
    frame = scored([[0.1] * 7 for _ in range(30)])
    picture = scores(frame, ENGLISH)
    for made in drawn(picture):
        assert f"Site {MOST - 1}" in made
        assert f"Site {MOST} " not in made
