"""The section on other routes says what the questions answer, for any result."""

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest

from sitefare.appraisal import appraise
from sitefare.arrays import value
from sitefare.errors import RunError
from sitefare.outputs import charts_alternatives
from sitefare.outputs.citations import cited
from sitefare.outputs.document import (
    Bullets,
    Caution,
    Document,
    Figure,
    Metadata,
    Paragraph,
    Table,
)
from sitefare.outputs.numbers import Formats
from sitefare.outputs.page import page
from sitefare.outputs.picture import ROWS
from sitefare.outputs.proposal.alternatives import alternatives
from sitefare.outputs.proposal.kilograms import farm_kilogram, kilograms_table
from sitefare.outputs.proposal.view import View
from sitefare.questions.uncertainty import uncertainty

ENGLISH = Formats("en", "USD")


def seen(sized, draws=0, **indicators):
    made = appraise(sized)
    changed = {**made.indicators, **{k: value(x) for k, x in indicators.items()}}
    made = dataclasses.replace(made, indicators=changed)
    return View(made, uncertainty(sized, draws, 1), {}, Formats("en", sized.case.currency))


@pytest.fixture(scope="module")
def blocks(plan):
    return alternatives(seen(plan("kaldre"), 64))


def words(blocks):
    return " ".join(x for b in blocks if isinstance(b, Bullets) for x in b.items)


def tables(blocks):
    return {b.anchor: b for b in blocks if isinstance(b, Table)}


def frame(farm, *others):
    rows = [("This farm", farm, farm, farm, True)]
    rows += [(f"Way {i}", x, 0.8 * x, 1.3 * x, False) for i, x in enumerate(others)]
    return pd.DataFrame(rows, columns=["route", "value", "low", "high", "farm"])


@pytest.mark.parametrize(
    ("farm", "others", "title"),
    [
        (10.0, (1.0, 5.0), "The farm costs 2–10 times what other ways to the same food cost"),
        (3.0, (1.0, 5.0), "The farm costs less than 1 of 2 other ways to the same food"),
        (0.5, (1.0, 5.0), "The farm costs less than every other way to the same food"),
        (math.inf, (1.0,), "The farm feeds nobody by this ration; other ways can"),
        (1.0, (), "No other way is known to bring the same food"),
    ],
)
def test_the_finding_follows_the_data(farm, others, title):
    assert charts_alternatives.finding(frame(farm, *others), ENGLISH) == title


def test_the_chart_holds_every_way_on_a_logarithmic_axis():
    drawn = charts_alternatives.routes(frame(54.0, 1.3, 2.4), ENGLISH, ration="A ration")
    for spec in (drawn.wide, drawn.narrow):
        assert 0 < sum(len(rows) for rows in spec["datasets"].values()) <= ROWS
    x = next(layer["encoding"]["x"] for layer in drawn.wide["layer"] if "title" in
             layer["encoding"]["x"])  # fmt: skip
    assert x["title"] == "Cost [USD a person-day, logarithmic]"
    assert x["scale"]["type"] == "log"
    low, high = x["scale"]["domain"]
    assert low <= 0.8 * 1.3
    assert high >= 54.0
    assert "Way 1 2.40" in drawn.alt
    assert "a ration" in drawn.alt


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [(1.2, 4.0, [1, 2, 5]), (0.04, 0.3, [0.02, 0.05, 0.1, 0.2, 0.5]), (2.0, 2.0, [2])],
)
def test_ticks_are_round_and_hold_the_range(low, high, ticks):
    assert charts_alternatives.one_two_five(low, high) == pytest.approx(ticks)


def test_a_chart_without_a_number_is_refused():
    with pytest.raises(RunError, match="has no rows"):
        charts_alternatives.routes(frame(math.inf), ENGLISH)


def test_tables_and_figure_tell_the_same_costs(blocks):
    costs = tables(blocks)["alternatives-table"]
    figure = next(b for b in blocks if isinstance(b, Figure))
    assert costs.rows[0][0] == "This farm"
    for row in costs.rows:
        assert f"{row[0]} {row[1]} ({row[2]})" in figure.alt_text
    assert len(costs.columns) <= 4


def test_months_without_a_market_are_named(blocks):
    assert "none in Jan, Feb, Mar" in words(blocks)
    row = next(r for r in tables(blocks)["alternatives-table"].rows if "Bought" in r[0])
    assert row[3] == "7.5/9.8"


def test_a_kilogram_is_told_beside_the_person_day(blocks):
    told = " ".join(b.text for b in blocks if isinstance(b, Paragraph))
    assert "By the kilogram the farm costs" in told
    assert "If as much of it spoilt there" in told


def test_the_farms_losses_in_the_kitchen_table_are_all_up_to_the_pot(plan):
    view = seen(plan("kaldre"))
    row = kilograms_table(view).rows[0]
    assert row[0] == "This farm"
    cost, lost = farm_kilogram(view)["vegetables"]
    case = view.base
    kept = (1 - case["distribution.vegetables_loss"][0, 0]) * (
        1 - case["distribution_model.school_meals.leakage"][0, 0]
    )
    assert 1 - lost == pytest.approx(kept)
    assert cost * kept == pytest.approx(view.value("levelised_cost_vegetables_kg"))


def test_where_nobody_is_fed_no_crossing_is_told(plan):
    told = words(
        alternatives(
            seen(plan("kaldre", "as_planned", "storage.fish_window=1", "size.bed_area=150 m2"))
        )
    )
    assert "so no price, distance or cost makes it equal" in told
    assert "against 1 assumed" not in told
    assert "in 0 months" not in told.split("Local markets have fish")[0]


def test_crossings_say_where_and_why_not(blocks):
    told = words(blocks)
    assert "equal where local prices are" in told
    assert "the farm is cheaper in none of the draws" in told
    assert "even at a road distance of 20,000 km" in told
    assert "money" not in told.replace("same money", "")


def test_an_island_is_told_of_ships(plan):
    told = words(alternatives(seen(plan("port_anui"))))
    assert "Shipped in" in told
    assert "Trucks pass" not in told


def test_a_cheap_farm_is_told_as_such(plan):
    found = alternatives(seen(plan("kaldre"), cost_per_person_day=0.9, cost_per_person_day_net=0.9))
    figure = next(b for b in found if isinstance(b, Figure))
    assert "less than every other way" in figure.picture.title
    assert "costs less than every other way" in words(found)
    assert "costs no more than the route" in words(found)


def test_a_farm_that_feeds_nobody_is_still_told(plan):
    found = alternatives(
        seen(plan("kaldre"), cost_per_person_day=np.inf, cost_per_person_day_net=np.inf)
    )
    assert "feeds nobody" in words(found)
    assert "nan" not in words(found)
    assert "inf" not in words(found).replace("infl", "")


def test_chance_is_the_share_of_draws(plan):
    view = seen(plan("kaldre"), 64)
    cost = np.where(np.arange(64)[:, None] < 16, 0.01, 100.0)
    drawn = dataclasses.replace(view.drawn, draws={**view.drawn.draws, "cost_per_person_day": cost})
    told = words(alternatives(dataclasses.replace(view, drawn=drawn)))
    assert "the farm is cheaper in 25\u00a0% of the draws" in told


def test_emissions_follow_the_way(blocks):
    assert "Carbon dioxide equivalent of a person-day" in words(blocks)
    assert "trucked in 0.43 kg" in words(blocks)


def test_cautions_say_what_is_left_out(blocks):
    caution = next(b for b in blocks if isinstance(b, Caution))
    assert "do not count" in caution.text


def test_the_section_makes_a_page(blocks, library):
    metadata = Metadata("T", "S", "as planned", "2027-02", "0", "0.1.0")
    html = page(Document(metadata, cited(blocks, library.sources)))
    assert "What else would bring the same food" in html
