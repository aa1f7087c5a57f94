import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.errors import AssumptionError
from sitefare.people.coverage import full_season, per_person
from sitefare.people.need import population_need
from sitefare.timeline import Timeline


def test_the_mean_need_follows_the_weights_of_the_population(values):
    for name in [n for n in values if n.startswith("population.") and n.endswith(".persons")]:
        values[name] = value(1.0 if ".women." in name or ".men." in name else 0.0)
    need = population_need(values)
    assert need.mean["energy"][0, 0] == pytest.approx((2000 + 2600) / 2)
    assert need.mean["iron"][0, 0] == pytest.approx((29 + 14) / 2)


def test_a_population_of_nobody_is_refused(values):
    for name in [n for n in values if n.startswith("population.") and n.endswith(".persons")]:
        values[name] = value(0.0)
    with pytest.raises(AssumptionError, match="counts nobody"):
        population_need(values)


def test_an_empty_population_table_is_refused(values):
    kept = {n: x for n, x in values.items() if not n.startswith("population.")}
    with pytest.raises(AssumptionError, match="population has no rows"):
        population_need(kept)


def test_a_season_starts_in_january_whatever_the_first_month():
    clock = Timeline(start_year=2027, start_month=9, years=3, construction=2)
    season = full_season(clock.calendar[None, :].astype(float), np.ones((1, 3)), clock)
    assert season[0] == pytest.approx(np.arange(12))


def test_no_full_year_gives_an_empty_season():
    clock = Timeline(start_year=2027, start_month=1, years=2, construction=2)
    season = full_season(np.ones((1, 25)), np.zeros((1, 2)), clock)
    assert not season.any()


def test_per_person_is_zero_where_nobody_is_fed():
    assert per_person(np.array([[4.0, 4.0]]), np.array([[2.0, 0.0]])).tolist() == [[2.0, 0.0]]


def test_mean_energy_is_near_the_planning_ration(values):
    """Both are means of a young population; far apart would be a slip in a row."""
    assert population_need(values).mean["energy"][0, 0] == pytest.approx(2100, rel=0.08)
