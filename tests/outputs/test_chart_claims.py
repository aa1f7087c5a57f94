"""A chart's title holds for any data: all zero, one item, negative, huge."""

import itertools
import math
import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.errors import RunError
from sitefare.outputs import charts, theme
from sitefare.outputs.charts_farm import month_runs
from sitefare.outputs.charts_makeup import gathered_parts
from sitefare.outputs.charts_outcome import bin_edges
from sitefare.outputs.drawn import svg
from sitefare.outputs.labels import apart, nice_span
from sitefare.outputs.numbers import NBSP, Formats
from sitefare.outputs.picture import ROWS

ENGLISH = Formats("en", "USD")
MONTHS = range(1, 13)

#: Amounts from nothing to huge.
AMOUNTS = st.one_of(st.just(0.0), st.floats(0.01, 1e9), st.sampled_from([1.0, 2.0]))
MONEY = st.floats(-1e9, 1e9, allow_nan=False).map(lambda x: round(x, 2))


def plain(text):
    return text.replace(NBSP, " ")


def monthly(column, **series):
    return pd.DataFrame(
        [
            {"month": month, "what": what, column: float(amounts[month - 1])}
            for what, amounts in series.items()
            for month in MONTHS
        ]
    )


def drawn(picture):
    """Both drawings as SVG; each within its rows and with no number that is not one."""
    drawings = []
    for spec in (picture.wide, picture.narrow):
        assert sum(len(rows) for rows in spec["datasets"].values()) <= ROWS
        drawings.append(svg(spec))
        assert "NaN" not in drawings[-1]
        assert "Infinity" not in drawings[-1]
    return drawings


YEAR = st.lists(AMOUNTS, min_size=12, max_size=12)


@settings(max_examples=60, deadline=None)
@given(st.lists(YEAR, min_size=1, max_size=9))
def test_water_and_power_say_what_takes_most_and_when(years):
    frame = monthly("amount", **{f"Use {n}": year for n, year in enumerate(years)})
    title = plain(charts.energy(frame, ENGLISH).title)
    totals = frame.groupby("what")["amount"].sum()
    by_month = frame.groupby("month")["amount"].sum()
    if totals.sum() == 0.0:
        assert title == "No electricity in any month"
        return
    named = re.search(r"goes to use (\d+)", title)
    assert totals[f"Use {named[1]}"] == totals.max()
    if "none in" in title:
        month = re.search(r"none in (\w+)", title)[1]
        assert by_month[[ENGLISH.month_name(m) for m in MONTHS].index(month) + 1] == 0.0
    elif "much the same" in title:
        assert by_month.max() < 1.15 * by_month.min()
    else:
        high, times, low = re.search(r"; (\w+) takes ([\d,.]+) times (\w+)$", title).groups()
        names = [ENGLISH.month_name(m) for m in MONTHS]
        ratio = by_month[names.index(high) + 1] / by_month[names.index(low) + 1]
        assert float(times.replace(",", "")) == pytest.approx(ratio, rel=0.05)
    if title.startswith("All"):
        assert totals.max() == pytest.approx(totals.sum())
    if title.startswith("Nearly all"):
        assert 0.99 < totals.max() / totals.sum() < 1.0


@settings(max_examples=60, deadline=None)
@given(st.lists(YEAR, min_size=1, max_size=9))
def test_the_harvest_names_every_gap_and_no_other(years):
    foods = {f"Food {n}": year for n, year in enumerate(years)}
    title = plain(charts.harvest(monthly("kg", **foods), ENGLISH).title)
    empty = {
        name: [m for m in MONTHS if year[m - 1] <= 0.001 * max(year)]
        for name, year in foods.items()
    }
    gaps = {name: found for name, found in empty.items() if found}
    if sum(map(sum, years)) == 0.0:
        assert title == "No harvest in any month"
    elif not gaps:
        assert "in every month" in title
    elif len(gaps) <= 2:
        for name, found in gaps.items():
            assert f"no f{name[1:]} in {month_runs(found, ENGLISH)}" in title
    else:
        assert f"{len(gaps)} of {len(foods)} foods have months without any" in title


@pytest.mark.parametrize(
    ("months", "words"),
    [
        ([1], "Jan"),
        ([1, 2, 3], "Jan–Mar"),
        ([11, 12, 1], "Nov–Jan"),
        ([1, 4, 5, 12], "Dec–Jan and Apr–May"),
        ([2, 5, 9], "Feb, May and Sep"),
        (list(MONTHS), "any month"),
    ],
    ids=["one", "run", "over the year's end", "two runs", "three", "all"],
)
def test_months_are_named_in_runs(months, words):
    assert month_runs(months, ENGLISH) == words


@settings(max_examples=80, deadline=None)
@given(st.lists(MONEY, min_size=2, max_size=16), st.floats(0, 1e8), st.floats(0, 1e8))
def test_cash_says_whether_it_is_recovered(net, below, above):
    cumulative = np.cumsum(net)
    frame = pd.DataFrame({"year": range(len(net)), "net": net, "cumulative": cumulative})
    frame = frame.assign(low=cumulative - below, high=cumulative + above)
    title = charts.cash(frame, ENGLISH).title
    if not (cumulative < 0).any():
        assert title.startswith("Cumulative cash never falls below zero")
        assert ("worst 1 in 10" in title) == (frame["low"].iloc[-1] < 0)
    elif cumulative[-1] < 0:
        assert title.startswith(f"Cash spent is not recovered within {len(net) - 1} years")
        assert ("nor in 9 of 10" in title) == (frame["high"].iloc[-1] < 0)
    else:
        year = int(re.search(r"recovered in year (\d+)", title)[1])
        assert (cumulative[year:] >= 0).all()
        assert cumulative[year - 1] < 0


@settings(max_examples=80, deadline=None)
@given(st.lists(MONEY, min_size=1, max_size=25))
def test_costs_name_parts_that_make_the_share_told(amounts):
    frame = pd.DataFrame({"what": [f"Part {n}" for n in range(len(amounts))], "amount": amounts})
    title = plain(charts.cost_makeup(frame, ENGLISH, per="person-day").title)
    spent = sum(max(x, 0.0) for x in amounts)
    kept = gathered_parts(frame, ["amount"], 9)
    assert float(kept["amount"].sum()) == pytest.approx(sum(amounts), rel=1e-9, abs=1e-6)
    named = [int(n) for n in re.findall(r"[Pp]art (\d+)", title)]
    if spent == 0.0:
        assert title == "Nothing is spent per person-day"
    elif named:
        share = float(re.search(r": ([\d.,]+) %", title)[1])
        whole = float(kept["amount"].clip(lower=0.0).sum())
        told = 100 * sum(amounts[n] for n in named) / whole
        # A share is rounded to three figures, then to whole per cent: up to 0.55 away.
        assert share == pytest.approx(told, abs=0.551)
        assert len(named) <= 3
        assert all(amounts[n] > 0 for n in named)


@settings(max_examples=20, deadline=None)
@given(st.lists(st.floats(0, 1e9), min_size=1, max_size=5), st.floats(0, 1e9), st.floats(0, 1))
def test_sources_and_uses_balance_and_tell_the_largest(paid, works, part):
    total = sum(paid)
    uses = {"Building": works, "Land": works * part, "Deficits": total - works - works * part}
    frame = pd.DataFrame(
        [("source", f"Source {n}", x) for n, x in enumerate(paid)]
        + [("use", what, x) for what, x in uses.items()],
        columns=["side", "what", "amount"],
    )
    if not frame["amount"].any():
        with pytest.raises(RunError, match="needs the columns side what amount"):
            charts.sources_and_uses(frame, ENGLISH)
        return
    picture = charts.sources_and_uses(frame, ENGLISH)
    data = next(iter(picture.wide["datasets"].values()))
    sums = {s: sum(row["amount"] for row in data if row["side"] == s) for s in ("source", "use")}
    assert sums["source"] == pytest.approx(sums["use"], rel=1e-9, abs=1e-6)
    assert ("o source pays" in picture.title) == (uses["Deficits"] < 0)
    found = re.search(r"comes from source (\d+)", picture.title)
    if found:
        assert paid[int(found[1])] == max(paid)


@settings(max_examples=20, deadline=None)
@given(
    st.lists(st.floats(-1e9, 1e9), min_size=16, max_size=300),
    st.integers(0, 20),
)
def test_outcomes_tell_the_side_and_count_every_draw(values, never):
    draws = np.array([*values, *[math.inf] * never])
    good = draws < 0.0
    picture = charts.outcome(
        draws, good, ENGLISH, quantity="Cost", sides=("below zero", "zero or more"),
        base=values[0], turn=0.0, turn_words="turn", never="nobody is fed",
    )  # fmt: skip
    share = float(good.mean())
    if share == 1.0:
        assert picture.title == f"Cost is below zero in every one of {len(draws)} draws"
    elif share == 0.0:
        assert picture.title == f"Cost is zero or more in every one of {len(draws)} draws"
    else:
        assert ("below zero" in picture.title) == (share >= 0.5)
        assert "every one" not in picture.title
        assert "100" not in picture.title or "all but" in picture.title
    bars = next(rows for rows in picture.wide["datasets"].values() if "share" in rows[0])
    assert sum(row["share"] for row in bars) == pytest.approx(len(values) / len(draws))
    assert ("nobody is fed" in picture.alt) == (never > 0)


@given(st.lists(st.floats(-1e12, 1e12), min_size=1, max_size=50))
def test_bars_of_outcomes_are_few_and_equal(values):
    edges = bin_edges(np.array(values))
    assert 2 <= edges.size <= 32
    assert np.allclose(np.diff(edges), edges[1] - edges[0], rtol=1e-6)


@given(st.lists(st.floats(-100, 100), min_size=1, max_size=12), st.floats(0.1, 10))
def test_labels_stand_apart_and_in_order(wanted, gap):
    places = apart(wanted, gap, -100.0, 100.0)
    order = sorted(range(len(wanted)), key=lambda n: (wanted[n], n))
    stood = [places[n] for n in order]
    assert all(b - a >= gap - 1e-9 for a, b in itertools.pairwise(stood))
    assert max(places) <= 100.0 + 1e-9


@given(st.lists(st.floats(-1e12, 1e12), min_size=1, max_size=20), st.booleans())
def test_axes_hold_their_values_within_a_twentieth_of_a_step(values, zero):
    low, high = nice_span(values, zero=zero)
    slack = 0.05 * (high - low)
    assert low - slack <= min(values)
    assert max(values) <= high + slack
    assert high > low


def test_sites_say_whether_ranges_meet():
    frame = pd.DataFrame(
        {"site": ["A", "B", "C"], "value": [1.0, 3, 5], "low": [0.5, 2, 4], "high": [1.5, 4, 6]}
    )
    title = charts.sites(frame, "Cost", "times", ENGLISH).title
    assert title == "A stands first with 1 times; no other site's range meets its own"
    near = frame.assign(low=[0.5, 1.2, 4])
    assert "its range and that of B overlap" in charts.sites(near, "Cost", "times", ENGLISH).title
    blank = frame.assign(value=[math.nan, 3, 5])
    assert charts.sites(blank, "Cost", "times", ENGLISH).title == "A stands first, without a figure"


def test_a_plan_draws_waits_and_milestones_and_refuses_what_is_not_there():
    tasks = pd.DataFrame(
        [
            ("Build", "Tanks", 0, 5, "", False),
            ("Build", "Built", 5, 5, "Tanks", True),
            ("Run", "Harvest", 6, 20, "Built", False),
        ],
        columns=["phase", "task", "first", "last", "after", "milestone"],
    )
    picture = charts.plan(tasks, "2027-02", ENGLISH)
    assert picture.title == "Built in 2027 Q3"
    wide, _ = drawn(picture)
    assert 'aria-label="Harvest: 2027 Q3 to 2028 Q4, after Built"' in wide
    lost = tasks.assign(after=["", "Roof", ""])
    with pytest.raises(RunError, match="'Built' waits for 'Roof', which is not in the plan"):
        charts.plan(lost, "2027-02", ENGLISH)
    with pytest.raises(RunError, match="'Tanks' ends in month 5 before it begins"):
        charts.plan(tasks.assign(first=[6, 5, 6]), "2027-02", ENGLISH)


def test_events_rank_by_what_they_take_on_average():
    frame = pd.DataFrame(
        [("Storm", 0.03, 0.9, "crops"), ("Pest", 0.2, 0.2, "crops")],
        columns=["event", "chance", "lost", "takes"],
    )
    title = plain(charts.events(frame, ENGLISH).title)
    assert title == "“Pest” takes most on average: 4 % of a year's crops"
    none = charts.events(frame.assign(chance=0.0), ENGLISH)
    assert none.title == "No event takes anything from an average year"
    drawn(none)


EXTREMES = {
    "zero": [0.0] * 12,
    "one month": [0.0] * 11 + [5.0],
    "huge": [3e11] * 12,
    "tiny": [1e-7 * n for n in MONTHS],
}


@pytest.mark.parametrize("name", EXTREMES)
def test_months_draw_at_the_extremes(name):
    for chart, column in ((charts.water, "amount"), (charts.harvest, "kg")):
        drawn(chart(monthly(column, Only=EXTREMES[name]), ENGLISH))
        drawn(chart(monthly(column, Only=EXTREMES[name], Other=EXTREMES["zero"]), ENGLISH))


@pytest.mark.parametrize("scale", [0.0, -1.0, 1e-6, 1e12])
def test_money_draws_at_the_extremes(scale):
    years = pd.DataFrame({"year": range(3), "net": scale, "cumulative": scale})
    drawn(charts.cash(years.assign(low=scale, high=scale), ENGLISH))
    parts = pd.DataFrame({"what": ["Only"], "amount": [scale]})
    drawn(charts.cost_makeup(parts, ENGLISH))
    both = pd.DataFrame({"what": ["Only"], "day": [scale], "kg": [2 * scale]})
    drawn(charts.cost_table(both, ENGLISH, {"day": "person-day", "kg": "kg of fish"}))
    draws = np.full(32, scale)
    drawn(
        charts.outcome(
            draws, draws >= 0, ENGLISH, quantity="Worth", sides=("zero or more", "below zero"),
            base=scale, turn=0.0, turn_words="zero",
        )
    )  # fmt: skip


def test_what_is_gathered_keeps_the_sum():
    frame = pd.DataFrame({"what": [f"P{n}" for n in range(30)], "a": range(30), "b": 1.0})
    kept = gathered_parts(frame, ["a", "b"], 9)
    assert len(kept) == 10
    assert kept["what"].iloc[-1] == "21 smaller parts"
    assert (kept["a"].sum(), kept["b"].sum()) == (sum(range(30)), 30.0)


def test_cells_keep_their_figures_readable():
    # Dark figures keep 4.5 to 1 on the deepest shade (WCAG 2.2, 1.4.3).
    light = [luminance(colour) for colour in (theme.SHADE, theme.INK)]
    assert (max(light) + 0.05) / (min(light) + 0.05) >= 4.5


def luminance(colour):
    """Relative luminance of WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return float(np.dot([0.2126, 0.7152, 0.0722], linear))
