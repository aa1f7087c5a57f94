import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.assumptions.declaration import build
from sitefare.people.fed import people_fed
from sitefare.people.holding import counted, holding, poorest_year
from sitefare.people.lifting import lifts
from sitefare.people.rations import RationInputs
from sitefare.people.result import Ration
from sitefare.people.surplus import surplus
from sitefare.people.words import asked_words, bound_words, when
from sitefare.timeline import Timeline

LINE = Timeline(start_year=2027, start_month=1, years=3, construction=0)
FULL = np.array([[0.0, 1.0, 1.0]])


def ration(vegetables, fish, basis="worst_month"):
    """A ration of two parts, by month of a year that repeats from month 1 (February) on."""
    parts = {"vegetables": vegetables, "fish": fish}
    life = {k: np.array([[0.0, *x, *x, *x]], dtype=float) for k, x in parts.items()}
    return Ration("a ration", basis, life["fish"], "fish", life)


def test_the_part_and_the_months_that_bind_are_named():
    found = holding(ration([9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 8], [20] * 12), FULL, LINE)
    assert (found.part, found.months, found.least) == ("vegetables", (0,), 8.0)
    assert found.mean == pytest.approx(8.0 * 31 / 365 + 9.0 * 334 / 365)
    assert "The binding part is vegetables, in January" in bound_words(found)


def test_months_that_shift_from_year_to_year_are_not_given_a_name():
    fish = np.full(37, 12.0)
    fish[[0, 14, 27, 28]] = 0.0
    parts = {"vegetables": np.full((1, 37), 10.0), "fish": fish[None, :]}
    found = holding(Ration("x", "worst_month", fish[None, :], "fish", parts), FULL, LINE)
    assert found.part == "fish"
    assert found.least == 0.0
    assert set(found.months + found.other) == {2, 3, 4}
    assert "it counts nobody" in bound_words(found)
    assert "vegetables for 10" in bound_words(found)


def test_a_mean_ration_has_no_binding_month():
    found = holding(ration([5] * 12, [7] * 12, "year_mean"), FULL, LINE)
    assert found.months == ()
    assert bound_words(found) == "The binding part is vegetables."


def test_months_nearly_alike_are_told_together():
    assert when(holding(ration([9] * 12, [20] * 12), FULL, LINE)) == (
        "in several months that are nearly alike"
    )


def test_the_poorest_full_year_is_a_year_as_it_is():
    life = np.concatenate([[0.0], np.zeros(12), np.full(12, 4.0), np.full(12, 3.0)])[None, :]
    year, parts = poorest_year(Ration("x", "worst_month", life, "fish", {"fish": life}), FULL)
    assert year == 3
    assert parts["fish"] == pytest.approx(np.full(12, 3.0))


def test_what_is_counted_is_what_holding_calls_least(timeline, fed):
    found = holding(fed.rations[fed.headline], fed.full, timeline)
    assert counted(fed) == pytest.approx(found.least)
    assert found.mean >= found.least


def test_fish_kept_longer_or_caught_evenly_lift_a_count_that_fish_hold_at_nobody(
    values, flows, timeline
):
    values["storage.fish_window"] = value(1.0)
    found = lifts(values, flows, timeline, 400.0)
    assert {lift.words.split(",")[0].split(" for ")[0] for lift in found} >= {"fish kept frozen"}
    assert all(lift.people > 0 for lift in found)
    assert any("cohorts" in lift.words for lift in found)


def test_where_vegetables_bind_more_even_fish_lift_nothing(values, make_flows, timeline):
    found = lifts(values, make_flows(0.2, 1.0), timeline, 400.0)
    assert not any("fish" in lift.words for lift in found)


def test_surplus_holds_the_portions_left(values, fed, timeline):
    found = surplus(values, fed)
    parts = holding(fed.rations[fed.headline], fed.full, timeline).parts
    count = counted(fed)
    for name in ("vegetables", "fish"):
        mean, worst = found.portions[name]
        assert mean == pytest.approx(parts[name][1] - count, rel=0.01, abs=0.05)
        assert 0.0 <= worst <= mean
    assert found.alone == "who_vegetables"
    assert found.more[0] == pytest.approx(found.portions["vegetables"][0] / 2.0)
    assert min(found.kg.values()) >= 0.0
    assert found.total(fish=True, species="tilapia") == pytest.approx(found.kg["tilapia"])


def test_a_share_says_what_it_asks_by_the_mean_need(values, fed):
    words = asked_words(build(RationInputs, values, "protein_share"), {"protein": value(42.0)})
    assert words.startswith("25 % of 42 g of protein a person a day")
    assert words.endswith("is 10.5 g")
    assert (
        asked_words(build(RationInputs, values, "who_vegetables"), {"protein": value(42.0)}) == ""
    )
    assert any("the mean need of the population given" in note for note in fed.notes)


def test_notes_name_the_month_and_the_mean(values, make_flows, timeline):
    few = people_fed(values, make_flows(0.2, 1.0), timeline)
    assert any("the mean of the year would hold" in note for note in few.notes)
