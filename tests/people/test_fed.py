import dataclasses

import numpy as np
import pytest

from sitefare.arrays import DAYS, value
from sitefare.assumptions.declaration import DECLARED, build
from sitefare.errors import AssumptionError
from sitefare.money.project import ProjectInputs
from sitefare.money.project import full_years as money_years
from sitefare.people.fed import people_fed
from sitefare.people.rations import full_years
from sitefare.timeline import Timeline

#: Rows of the project that full years do not depend on.
PROJECT = {
    "project.start": "2027-04", "project.years": value(15.0), "project.construction": value(6.0),
    "project.start_up_months": value(12.0), "project.discount_rate": value(0.06),
    "project.reinvestment_rate": value(0.06), "project.residual_share": value(0.5),
}  # fmt: skip


def everything(fed):
    """Every array of a result, by a name."""
    found = {"paid": fed.served_sold_share, "alternative": fed.alternative_cost_person_day}
    found["equivalents"] = fed.full_ration_equivalents
    found |= {f"ration {k}": r.persons for k, r in fed.rations.items()}
    for name in ("served_kg", "elsewhere_kg", "lost_kg", "staff_kg", "held_kg"):
        found |= {f"{name} {k}": x for k, x in getattr(fed, name).items()}
    for name in ("coverage", "eaten_g", "beyond_g"):
        found |= {f"{name} {k}": x for k, x in getattr(fed, name).items()}
    for group, cover in fed.group_coverage.items():
        found |= {f"{group} {k}": x for k, x in cover.items()}
    return found


def harvest_of(flows):
    return {**flows.crop_kg, "tilapia": flows.fish_live_kg}


def test_every_kilogram_ends_in_one_place(fed, flows):
    for key, harvest in harvest_of(flows).items():
        change = np.diff(fed.held_kg[key], axis=1, prepend=0.0)
        ends = fed.served_kg[key] + fed.elsewhere_kg[key] + fed.lost_kg[key] + fed.staff_kg[key]
        assert ends + change == pytest.approx(harvest, abs=1e-9)


def test_every_destination_is_never_negative(fed):
    for name, x in everything(fed).items():
        assert np.all(x >= 0.0), name


@pytest.mark.parametrize("draws", [1, 7, 12, 24, 61])
def test_one_draw_equals_the_same_row_of_many(drawn, flows, timeline, draws):
    values = drawn(draws)
    many = everything(people_fed(values, flows, timeline, bed_area=400.0))
    for i in sorted({0, draws // 2, draws - 1}):
        row = {
            n: x if isinstance(x, str) or x.shape[0] == 1 else x[i : i + 1]
            for n, x in values.items()
        }
        one = everything(people_fed(row, flows, timeline, bed_area=400.0))
        for name, x in one.items():
            found = np.broadcast_to(many[name], (draws, x.shape[1]))[i : i + 1]
            assert found == pytest.approx(x, rel=1e-12, abs=1e-12), name


@pytest.mark.parametrize(("crop", "fish"), [(1.3, 1.0), (1.0, 1.3), (2.0, 2.0)])
def test_more_harvest_never_feeds_fewer(values, make_flows, timeline, crop, fish):
    less = people_fed(values, make_flows(), timeline).rations
    more = people_fed(values, make_flows(crop, fish), timeline).rations
    for key, ration in less.items():
        assert np.all(more[key].persons >= ration.persons - 1e-9), key


def test_twice_the_harvest_feeds_twice_the_people(values, make_flows, timeline):
    once = people_fed(values, make_flows(), timeline).rations
    twice = people_fed(values, make_flows(2.0, 2.0), timeline).rations
    for key, ration in once.items():
        assert twice[key].persons == pytest.approx(2.0 * ration.persons)


def test_the_year_s_mean_feeds_no_fewer_than_the_worst_month(fed):
    worst = fed.rations["vegetables_and_fish"].persons
    mean = fed.rations["vegetables_and_fish_mean"].persons
    assert np.all(mean >= worst - 1e-9)


def test_a_full_year_holds_one_number_on_the_worst_month(fed, timeline):
    last = fed.rations["vegetables_and_fish"].persons[0, timeline.year == timeline.years]
    assert np.ptp(last) == 0.0


def test_nobody_is_fed_while_building(fed, timeline):
    for ration in fed.rations.values():
        assert not (ration.persons * (1.0 - timeline.running)).any()


def test_the_binding_part_is_named_and_binds(values, make_flows, timeline):
    few_fish = people_fed(values, make_flows(fish=0.1), timeline)
    few_greens = people_fed(values, make_flows(crop=0.1), timeline)
    assert few_fish.rations["vegetables_and_fish"].limiting == "fish"
    assert few_greens.rations["vegetables_and_fish"].limiting == "vegetables"


def test_months_without_fish_feed_nobody_by_the_worst_month(values, flows, timeline):
    values["storage.fish_window"] = value(1.0)
    fed = people_fed(values, flows, timeline)
    assert fed.rations["vegetables_and_fish"].persons[0, -1] == 0.0
    assert fed.rations["vegetables_and_fish_mean"].persons[0, -1] > 0.0
    assert any("No fish reach the people served in January" in note for note in fed.notes)


def test_area_rule_counts_bed_area_and_is_left_out_without_it(values, flows, timeline, fed):
    assert fed.rations["area_rule"].persons[0, -1] == pytest.approx(400.0 / 2.322576)
    assert "area_rule" not in people_fed(values, flows, timeline).rations


def test_area_rule_is_never_the_headline(values, flows, timeline):
    values["people.headline"] = "area_rule"
    with pytest.raises(AssumptionError, match="never a target"):
        people_fed(values, flows, timeline, bed_area=400.0)


def test_unknown_headline_is_refused(values, flows, timeline):
    values["people.headline"] = "plenty"
    with pytest.raises(AssumptionError, match=r"'plenty' is not one of vegetables_and_fish"):
        people_fed(values, flows, timeline)


def test_a_ration_of_nothing_is_refused(values, flows, timeline):
    values["ration.who_vegetables.vegetables"] = value(0.0)
    with pytest.raises(AssumptionError, match="asks for no vegetables"):
        people_fed(values, flows, timeline)


def test_a_food_without_local_price_is_refused_by_name(values, flows, timeline):
    del values["local_price.chard.price"]
    with pytest.raises(AssumptionError, match=r"local_price\.chard\.price has no value"):
        people_fed(values, flows, timeline)


def test_where_cholera_is_present_only_cooked_food_counts(values, flows, timeline, fed):
    values["distribution.cholera_or_hepatitis_e"] = "yes"
    sick = people_fed(values, flows, timeline)
    assert not sick.served_kg["lettuce"].any()
    assert sick.served_kg["chard"] == pytest.approx(fed.served_kg["chard"])
    assert any("basil, lettuce: eaten raw" in note for note in sick.notes)


def test_food_nobody_accepts_counts_for_nobody(values, flows, timeline):
    values["acceptance.tilapia.share"] = value(0.0)
    fed = people_fed(values, flows, timeline)
    assert not fed.rations["vegetables_and_fish"].persons.any()
    assert fed.lost_kg["tilapia"].sum() > 0.0


def test_food_sold_elsewhere_feeds_nobody(values, flows, timeline):
    values["distribution.vegetables_served"] = value(0.0)
    fed = people_fed(values, flows, timeline)
    assert not fed.rations["who_vegetables"].persons.any()
    assert fed.elsewhere_kg["lettuce"].sum() > 0.0


def test_herbs_count_for_nobody(values, flows, timeline, fed):
    flows.crop_kg["basil"][:] = 0.0
    without = people_fed(values, flows, timeline, bed_area=400.0)
    for key, ration in without.rations.items():
        assert ration.persons == pytest.approx(fed.rations[key].persons), key


def test_those_fed_on_the_worst_month_eat_the_ration_and_no_more(fed):
    assert fed.eaten_g["vegetables"] == pytest.approx(np.full((1, 12), 200.0))
    assert fed.eaten_g["fish"] == pytest.approx(np.full((1, 12), 30.0))


def edible_season(fed, values, timeline):
    """Edible grams a day that reach people in full years, by food, reckoned anew."""
    full = np.repeat(fed.full, 12, axis=1)[0] > 0
    found = {}
    for key, kg in fed.served_kg.items():
        grams = kg[0, 1:] * 1000.0 * values[f"food.{key}.edible_share"][0, 0]
        grams = grams / DAYS[timeline.calendar[1:]]
        months = timeline.calendar[1:]
        found[key] = np.array([grams[full & (months == m)].mean() for m in range(12)])
    return found


@pytest.mark.parametrize(
    "headline",
    [
        "vegetables_and_fish",
        "vegetables_and_fish_mean",
        "who_vegetables",
        "protein_share",
        "full_ration",
    ],
)
def test_what_is_eaten_and_what_is_beyond_are_all_that_reaches_people(
    values, flows, timeline, headline
):
    fed = people_fed(values | {"people.headline": headline}, flows, timeline)
    served = edible_season(fed, values, timeline)
    beyond = sum(x[0] for x in fed.beyond_g.values())
    eaten = sum(x[0] for x in fed.eaten_g.values()) * fed.fed_season[0]
    assert "basil" not in fed.beyond_g
    assert eaten + beyond == pytest.approx(sum(x for k, x in served.items() if k != "basil"))
    assert eaten.max() > 0


def test_a_mean_ration_is_eaten_on_the_mean_day_not_in_every_month(values, flows, timeline):
    fed = people_fed(values | {"people.headline": "vegetables_and_fish_mean"}, flows, timeline)
    year = DAYS / 365.0
    for part, grams in (("vegetables", 200.0), ("fish", 30.0)):
        assert (fed.eaten_g[part][0] * year).sum() == pytest.approx(grams, rel=0.01)
    assert np.ptp(fed.eaten_g["vegetables"]) > 1.0


def test_a_share_of_a_need_is_covered_by_that_share_and_no_more(values, flows, timeline):
    fed = people_fed(values | {"people.headline": "protein_share"}, flows, timeline)
    assert fed.coverage["protein"] == pytest.approx(np.full((1, 12), 0.25))


def test_coverage_holds_only_what_is_eaten(values, make_flows, timeline, fed):
    """More food beyond the ration covers no more of anybody's need."""
    more = people_fed(values, make_flows(1.0, 3.0), timeline)
    for nutrient, cover in fed.coverage.items():
        assert more.coverage[nutrient] == pytest.approx(cover, rel=0.02), nutrient
    assert sum(x.sum() for x in more.beyond_g.values()) > 2 * fed.beyond_g["tilapia"].sum()


def test_nobody_fed_is_nobody_in_any_month_and_covers_nothing(values, flows, timeline):
    """A ramp-up month with both foods counts nobody whom the full years cannot hold."""
    values["storage.fish_window"] = value(1.0)
    fed = people_fed(values, flows, timeline)
    assert not fed.rations["vegetables_and_fish"].persons.any()
    assert not any(cover.any() for cover in fed.coverage.values())
    assert fed.beyond_g["tilapia"].sum() > 0.0


def test_ramp_up_never_holds_more_than_the_full_years(values, make_flows, timeline):
    fed = people_fed(values, make_flows(), timeline, bed_area=400.0)
    full = np.repeat(fed.full, 12, axis=1)[0] > 0
    for key, ration in fed.rations.items():
        months = ration.persons[0, 1:]
        assert months[~full].max() <= months[full].mean() + 1e-9, key


def test_people_and_money_mean_one_thing_by_full_production(values, fed, timeline):
    for years, building, ramp in ((5, 6, 24), (15, 6, 24), (10, 0, 12), (3, 12, 36), (12, 7, 13)):
        line = Timeline(2027, 4, years, building)
        months = {"project.ramp_months": value(ramp)}
        project = build(ProjectInputs, PROJECT | months)
        marks = np.zeros(years + 1)
        marks[money_years(project, line)] = 1.0
        assert np.array_equal(full_years(line, value(ramp))[0], marks[1:])
    assert np.array_equal(fed.full, full_years(timeline, values["project.ramp_months"]))


def test_a_farm_without_fish_feeds_by_vegetables_alone(values, make_flows, timeline):
    fed = people_fed(values | {"people.headline": "who_vegetables"}, make_flows(1.0, 0.0), timeline)
    assert fed.rations["who_vegetables"].persons[0, -1] > 0.0
    assert fed.rations["vegetables_and_fish"].persons.max() == 0.0
    assert fed.coverage["vitamin_a"].min() > 0.0


def test_a_farm_without_vegetables_feeds_by_what_fish_give(values, make_flows, timeline):
    fed = people_fed(values | {"people.headline": "full_ration"}, make_flows(0.0, 1.0), timeline)
    assert fed.rations["full_ration"].persons[0, -1] > 0.0
    assert fed.rations["who_vegetables"].persons.max() == 0.0


def test_full_ration_equivalents_are_energy_over_2100(fed, timeline):
    season = DAYS[timeline.calendar]
    energy = {
        "lettuce": 150 * 0.74,
        "chard": 190 * 0.92,
        "tomato": 180 * 0.91,
        "tilapia": 960 * 0.33,
    }
    kcal = sum(fed.served_kg[key] * each for key, each in energy.items()) / season
    assert fed.full_ration_equivalents == pytest.approx(kcal / 2100.0)


def test_local_price_moves_the_alternative_and_nothing_else(values, flows, timeline, fed):
    values["local_price.tilapia.price"] = values["local_price.tilapia.price"] * 2.0
    dear = people_fed(values, flows, timeline, bed_area=400.0)
    extra = 30.0 / 1000.0 * 3.5 / (0.33 * 0.95)
    found = dear.alternative_cost_person_day - fed.alternative_cost_person_day
    assert found[0, 0] == pytest.approx(extra)
    assert dear.rations["vegetables_and_fish"].persons == pytest.approx(
        fed.rations["vegetables_and_fish"].persons
    )


def test_notes_say_supplement_and_the_disagreement(fed):
    text = " ".join(fed.notes)
    assert "supplements a diet; it does not replace a ration" in text
    assert "WHO advises 400 g of vegetables and fruit: the two disagree" in text
    assert "follow the FAO/WHO/UNU equations" in text


def test_more_people_fed_than_live_there_is_said(values, make_flows, timeline):
    fed = people_fed(values, make_flows(100.0, 100.0), timeline)
    assert any("more than the 1,980 people given" in note for note in fed.notes)


def test_every_uncertain_row_moves_some_result(rows, values, flows, timeline):
    """Rows of foods not grown, and of distribution models not in force, are left out."""
    absent = {k.split(".")[1] for k in rows if k.startswith("food.")} - set(harvest_of(flows))
    absent |= {k.split(".")[1] for k in rows if k.startswith("distribution_model.")}
    absent -= {values["distribution.model"]}
    still = []
    for name, row in rows.items():
        if not row.uncertain or name.split(".")[1] in absent or name.split(".")[1] == "basil":
            continue
        if name.startswith(("basket_price.", "cooking.staple.", "cooking.pulse.")):
            # These move what is lacking: test_lack.
            continue
        both = [
            everything(people_fed(values | {name: value(x)}, flows, timeline))
            for x in (row.low, row.high)
        ]
        if all(np.allclose(both[0][k], both[1][k], rtol=1e-12, atol=0) for k in both[0]):
            still.append(name)
    assert still == []


def test_every_declared_field_of_this_part_has_a_row(rows):
    prefixes = (
        "food", "cooking", "vitamin_a", "need", "population", "diet", "activity", "profile",
        "planning", "storage",
        "distribution", "acceptance", "ration", "people", "local_price",
    )  # fmt: skip
    for prefix in prefixes:
        fields = {n.rsplit(".", 1)[1] for n in rows if n.split(".")[0] == prefix}
        assert fields == set(DECLARED[prefix].specs), prefix


@pytest.mark.parametrize("draws", [7, 12, 61])
def test_flows_that_differ_by_draw_keep_their_rows(values, make_flows, timeline, draws):
    factors = np.linspace(0.0, 2.0, draws)[:, None]
    flows, one = make_flows(), make_flows()
    crops = {key: kg * factors for key, kg in flows.crop_kg.items()}
    many = dataclasses.replace(flows, crop_kg=crops, fish_live_kg=flows.fish_live_kg * factors)
    found = everything(people_fed(values, many, timeline, bed_area=400.0))
    i = draws // 2
    crops = {key: kg * factors[i, 0] for key, kg in one.crop_kg.items()}
    alone = dataclasses.replace(one, crop_kg=crops, fish_live_kg=one.fish_live_kg * factors[i, 0])
    for name, x in everything(people_fed(values, alone, timeline, bed_area=400.0)).items():
        row = np.broadcast_to(found[name], (draws, x.shape[1]))[i : i + 1]
        assert row == pytest.approx(x, rel=1e-12, abs=1e-12), name


def test_a_farm_that_grows_nothing_feeds_nobody_and_divides_by_nothing(
    values, make_flows, timeline
):
    fed = people_fed(values, make_flows(0.0, 0.0), timeline, bed_area=400.0)
    for name, x in everything(fed).items():
        assert np.all(np.isfinite(x)), name
    assert not fed.rations["vegetables_and_fish"].persons.any()
