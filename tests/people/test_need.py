import dataclasses

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.errors import AssumptionError
from sitefare.people.adequacy import adequacy_words, asked_first, year_cover
from sitefare.people.coverage import (
    capped_mean,
    full_season,
    group_coverage_by_month,
    least_adequate,
    least_covered,
    out_of_reach,
    per_person,
    supply_per_person,
)
from sitefare.people.energy import ADULTS, CHILDREN, lifestyle
from sitefare.people.fed import people_fed
from sitefare.people.food import NUTRIENTS
from sitefare.people.need import GROUPS, basis_notes, population_need
from sitefare.people.planning import planning_coverage, planning_need, planning_words
from sitefare.timeline import Timeline

SHARINGS = ["equal", "by_energy"]


def everybody(values, persons):
    """The same values with a head count of all ages in place of the groups."""
    kept = {n: x for n, x in values.items() if not n.startswith("population.")}
    line = {"group": "everybody", "sex": "both", "age": "all ages", "persons": value(persons)}
    return kept | {f"population.all.{field}": x for field, x in line.items()}


def test_the_mean_need_follows_the_weights_of_the_population(values):
    for name in [n for n in values if n.startswith("population.") and n.endswith(".persons")]:
        values[name] = value(1.0 if ".women." in name or ".men." in name else 0.0)
    need = population_need(values)
    groups = need.groups
    for name in ("energy", "iron"):
        both = groups["woman"][name] + groups["man"][name]
        assert need.mean[name] == pytest.approx(both / 2), name
    assert need.mean["iron"][0, 0] == pytest.approx((29.4 + 13.7) / 2)


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


def test_every_group_has_its_own_energy_equation():
    assert set(ADULTS) | set(CHILDREN) == set(GROUPS)
    assert all(sum(bands.values()) == pytest.approx(1.0) for _, bands in ADULTS.values())


@pytest.mark.parametrize("name", ["activity.adult", "need.man.weight", "need.child_1_3.weight"])
def test_more_activity_or_weight_needs_more_energy(values, name):
    less, more = (
        population_need(values | {name: values[name] * x}).mean["energy"] for x in (1.0, 1.1)
    )
    assert np.all(more > less)


def test_children_do_not_follow_the_activity_of_adults(values):
    busy = population_need(values | {"activity.adult": value(2.2)}).groups
    calm = population_need(values).groups
    assert np.all(busy["boy_10_18"]["energy"] == calm["boy_10_18"]["energy"])
    assert np.all(busy["lactating_woman"]["energy"] > calm["lactating_woman"]["energy"])


def test_better_uptake_of_a_mineral_asks_less_of_it_alone(values):
    for mineral in ("iron", "zinc"):
        changed = values | {
            f"diet.{mineral}_bioavailability": value(0.4 if mineral == "zinc" else 0.12)
        }
        found, before = population_need(changed).mean, population_need(values).mean
        moved = {n for n in NUTRIENTS if not np.array_equal(found[n], before[n])}
        assert moved == {mineral}
        assert np.all(found[mineral] < before[mineral])


def test_a_head_count_of_everybody_is_spread_by_the_profile(values):
    once, twice = (population_need(everybody(values, x)) for x in (1000.0, 2000.0))
    assert set(once.counts) == set(GROUPS)
    assert once.persons[0, 0] == pytest.approx(1000.0 * (1 - 0.0259), abs=0.5)
    assert twice.persons == pytest.approx(2.0 * once.persons)
    assert all(twice.mean[n] == pytest.approx(once.mean[n]) for n in NUTRIENTS)


def test_everybody_may_stand_beside_groups(values):
    mixed = everybody(values, 1000.0) | {n: values[n] for n in values if ".pregnant." in n}
    alone = population_need(everybody(values, 1000.0)).counts["pregnant_woman"]
    assert population_need(mixed).counts["pregnant_woman"] == pytest.approx(alone + 40.0)


@pytest.mark.parametrize("draws", [1, 7, 12, 24])
def test_need_of_one_draw_equals_the_same_row_of_many(drawn, draws):
    values = drawn(draws)
    many = population_need(values).mean
    row = {n: x if isinstance(x, str) or x.shape[0] == 1 else x[-1:] for n, x in values.items()}
    for name, x in population_need(row).mean.items():
        assert np.broadcast_to(many[name], (draws, 1))[-1:] == pytest.approx(x, rel=1e-12), name


@pytest.mark.parametrize(("level", "name"), [(1.2, "light"), (1.69, "light"), (1.7, "moderate")])
def test_a_level_of_activity_has_a_name(level, name):
    assert lifestyle(level) == name


def test_the_basis_says_what_requirements_rest_on(values):
    said = " ".join(basis_notes(values))
    assert "FAO/WHO/UNU equations (2004)" in said
    assert "1.70 (moderate activity)" in said
    assert "no iron requirement for pregnancy" in said
    nobody = values | {"population.pregnant.persons": value(0.0)}
    assert "pregnancy" not in " ".join(basis_notes(nobody))


# --- cover by group and month ----------------------------------------------------------------


@pytest.mark.parametrize("sharing", SHARINGS)
def test_shares_add_up_to_the_food_there_is(fed, values, sharing):
    """Cover times requirement, over all people, is what each gets times the people."""
    need = population_need(values)
    found = group_coverage_by_month(fed, need, sharing)
    for name, each in supply_per_person(fed, need).items():
        eaten = sum(
            found.share[group][name] * need.groups[group][name] * count
            for group, count in need.counts.items()
        )
        assert eaten == pytest.approx(each * need.persons), name


def test_an_equal_share_agrees_with_the_pipeline(fed, values):
    found = year_cover(group_coverage_by_month(fed, population_need(values)))
    for group, cover in fed.group_coverage.items():
        for name, x in cover.items():
            assert found[group][name] == pytest.approx(x), (group, name)


def test_by_energy_everyone_covers_the_same_share_of_energy(fed, values):
    found = group_coverage_by_month(fed, population_need(values), "by_energy")
    for share in found.share.values():
        assert share["energy"] == pytest.approx(fed.coverage["energy"])


def test_a_child_gets_less_of_the_pot_than_of_equal_shares(fed, values):
    need = population_need(values)
    equal, pot = (group_coverage_by_month(fed, need, sharing) for sharing in SHARINGS)
    assert np.all(pot.share["child_1_3"]["iron"] < equal.share["child_1_3"]["iron"])
    assert np.all(pot.share["man"]["iron"] > equal.share["man"]["iron"])


@pytest.mark.parametrize("sharing", SHARINGS)
def test_adequacy_never_counts_more_than_enough(fed, values, sharing):
    found = group_coverage_by_month(fed, population_need(values), sharing)
    for group, share in found.share.items():
        plain = sum(share.values()) / len(share)
        assert np.all(found.adequacy[group] <= np.minimum(plain, 1.0) + 1e-12)
    assert any((x > 1.0).any() for s in found.share.values() for x in s.values())


def test_more_of_one_nutrient_never_makes_up_for_another():
    poor = {"iron": np.array([[0.5]]), "vitamin_a": np.array([[1.0]])}
    rich = poor | {"vitamin_a": np.array([[5.0]])}
    assert capped_mean(rich)[0, 0] == capped_mean(poor)[0, 0] == 0.75


def test_the_least_covered_is_the_lowest_of_all(fed, values):
    found = group_coverage_by_month(fed, population_need(values))
    for name, least in least_covered(found).items():
        lowest = min(float(share[name].min()) for share in found.share.values())
        assert least.share == lowest == found.share[least.group][name][0, least.month]
    worst = least_adequate(found)
    assert worst.share == min(float(x.min()) for x in found.adequacy.values())


def test_a_farm_without_fish_cannot_give_vitamin_b12(values, make_flows, timeline):
    values["people.headline"] = "who_vegetables"
    greens = people_fed(values, make_flows(fish=1e-9), timeline)
    assert {"energy", "fat", "vitamin_b12"} <= set(out_of_reach(greens))
    values["people.headline"] = "vegetables_and_fish"
    assert "vitamin_b12" not in out_of_reach(people_fed(values, make_flows(), timeline))


def test_words_name_who_when_and_what_is_lacking(fed, values):
    need = population_need(values)
    found = group_coverage_by_month(fed, need)
    said = " ".join(adequacy_words(fed, found))
    assert "none counting above 100%" in said
    assert "Least covered is a breastfeeding woman in" in said
    assert "practically cannot give energy" in said
    assert asked_first(found) == ("child_1_3", "pregnant_woman", "man")
    empty = dataclasses.replace(fed, coverage={n: x * 0.0 for n, x in fed.coverage.items()})
    nobody = adequacy_words(empty, group_coverage_by_month(empty, need))
    assert nobody == ("Nobody is fed in a full year, so there is no cover to show.",)


# --- the planning ration ---------------------------------------------------------------------


def test_cover_of_the_planning_ration_is_supply_over_its_figures(fed, values):
    need, planning = population_need(values), planning_need(values)
    found = planning_coverage(fed, need, planning)
    assert list(found) == list(planning) == ["energy", *[n for n in planning if n != "energy"]]
    supply = supply_per_person(fed, need)
    for name, x in found.items():
        assert x * planning[name] == pytest.approx(supply[name]), name


def test_the_planning_ration_tells_its_adjustments(values):
    need, planning = population_need(values), planning_need(values)
    warm, cold = np.full((1, 12), 25.0), np.full((1, 12), 10.0)
    mild = planning_words(planning, need, warm, "light")
    hard = planning_words(planning, need, cold, "moderate")
    assert not any("rises" in one for one in mild)
    assert any("by 200 kcal on the year's mean and 200 kcal in the coldest" in x for x in hard)
    assert any("about 140 kcal for the whole population" in one for one in hard)
