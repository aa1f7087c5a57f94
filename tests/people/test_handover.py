import numpy as np
import pytest

from sitefare.arrays import DAYS, value
from sitefare.errors import AssumptionError
from sitefare.people.fed import people_fed
from sitefare.people.handover import model_in_force, model_of, models
from sitefare.people.reach import by_group, reached, target_of

HARVEST = ("served_kg", "elsewhere_kg", "lost_kg", "staff_kg")
MODELS = ("school_meals", "household_ration", "voucher", "kitchens", "sale_free_share")


def using(values, key, **changed):
    """Values with a model in force and some of its fields changed."""
    fields = {
        f"distribution_model.{key}.{name}": x if isinstance(x, str) else value(x)
        for name, x in changed.items()
    }
    return values | {"distribution.model": key} | fields


def fed_by(values, flows, timeline, key, **changed):
    turn = using(values, key, **changed)
    return turn, people_fed(turn, flows, timeline, bed_area=400.0)


def reach_by(values, flows, timeline, key, **changed):
    turn, fed = fed_by(values, flows, timeline, key, **changed)
    return reached(turn, fed, model_of(turn, key), timeline)


def test_the_table_holds_the_models_by_name(values):
    assert tuple(models(values)) == MODELS


@pytest.mark.parametrize("holiday_food", ["households", "sold", "lost"])
@pytest.mark.parametrize("key", MODELS)
def test_every_kilogram_ends_in_one_place(values, flows, timeline, key, holiday_food):
    _, fed = fed_by(values, flows, timeline, key, holidays="7 8 12", holiday_food=holiday_food,
                    days=180.0, taken=0.9)  # fmt: skip
    for food, harvest in {**flows.crop_kg, "tilapia": flows.fish_live_kg}.items():
        ends = sum(getattr(fed, name)[food] for name in HARVEST)
        held = np.diff(fed.held_kg[food], axis=1, prepend=0.0)
        assert ends + held == pytest.approx(harvest, abs=1e-9)
        assert all((getattr(fed, name)[food] >= 0.0).all() for name in HARVEST)


@pytest.mark.parametrize("key", MODELS)
def test_portions_never_weigh_more_than_the_food_handed_over(values, flows, timeline, key):
    found = reach_by(values, flows, timeline, key)
    assert (found.eaten_kg <= found.handed_kg + 1e-9).all()
    assert found.eaten_kg[0, -12:].sum() > 0.0


@pytest.mark.parametrize("food", ["sold", "lost"])
def test_holiday_food_that_goes_elsewhere_serves_nobody(values, flows, timeline, food):
    _, fed = fed_by(values, flows, timeline, "school_meals", holiday_food=food)
    closed = np.isin(timeline.calendar, (6, 7))
    for kg in fed.served_kg.values():
        assert not kg[:, closed].any()
    place = fed.elsewhere_kg if food == "sold" else fed.lost_kg
    _, home = fed_by(values, flows, timeline, "school_meals")
    other = home.elsewhere_kg if food == "sold" else home.lost_kg
    assert place["lettuce"][0, closed].sum() > other["lettuce"][0, closed].sum()
    # The worst month is then a holiday month: the ration counts nobody, and a note says why.
    assert fed.rations["vegetables_and_fish"].persons[0, -1] == 0.0
    assert any("July, August" in note for note in fed.notes)


def test_holiday_food_makes_days_and_never_people(values, flows, timeline):
    home = reach_by(values, flows, timeline, "school_meals")
    sold = reach_by(values, flows, timeline, "school_meals", holiday_food="sold")
    # A little is carried from June into July and from July into September.
    assert home.persons[0, -1] == pytest.approx(sold.persons[0, -1], rel=0.05)
    assert home.person_days[0, -12:].sum() > 1.05 * sold.person_days[0, -12:].sum()


def test_people_days_and_portions_agree_in_a_plain_year(values, flows, timeline):
    found = reach_by(values, flows, timeline, "household_ration")
    year, persons = found.person_days[0, -12:], found.persons[0, -12:]
    assert year == pytest.approx(persons * DAYS[timeline.calendar][-12:])
    assert found.persons[0, -1] > 0.0


def test_half_the_days_reach_twice_the_people(values, flows, timeline):
    whole = reach_by(values, flows, timeline, "kitchens", coverage=1.0)
    half = reach_by(values, flows, timeline, "kitchens", days=182.5, coverage=1.0)
    assert half.persons[0, -1] == pytest.approx(2.0 * whole.persons[0, -1])
    assert half.person_days[0, -1] == pytest.approx(whole.person_days[0, -1])


@pytest.mark.parametrize(
    ("field", "more"),
    [("leakage", 0.5), ("vegetables", 400.0), ("fish", 60.0)],
)
def test_what_reaches_fewer_people(values, flows, timeline, field, more):
    base = reach_by(values, flows, timeline, "kitchens")
    less = reach_by(values, flows, timeline, "kitchens", **{field: more})
    assert less.persons[0, -1] < base.persons[0, -1]


def test_vouchers_not_redeemed_are_sold_elsewhere(values, flows, timeline):
    _, all_taken = fed_by(values, flows, timeline, "voucher", taken=1.0)
    _, some = fed_by(values, flows, timeline, "voucher", taken=0.6)
    assert some.served_kg["chard"].sum() == pytest.approx(0.6 * all_taken.served_kg["chard"].sum())
    assert some.elsewhere_kg["chard"].sum() > all_taken.elsewhere_kg["chard"].sum()


def test_nobody_is_reached_beyond_the_people_there_are(values, flows, timeline):
    found = reach_by(values, flows, timeline, "school_meals", coverage=0.02, vegetables=5.0,
                     fish=1.0)  # fmt: skip
    pupils = 150 + 140 + 200 + 200
    assert found.target.meant[0, 0] == pupils
    assert found.persons[0, -1] == pytest.approx(pupils * 0.02 / 0.97)
    assert found.kept_back[0, -1] == 1.0
    assert (found.persons + found.indirect <= found.target.population).all()


@pytest.mark.parametrize("key", MODELS)
def test_groups_count_each_person_once(values, flows, timeline, key):
    found = reach_by(values, flows, timeline, key)
    direct, indirect = found.persons[:, -1:], found.indirect[:, -1:]
    groups = by_group(values, found, direct, indirect)
    assert sum(g.direct for g in groups) == pytest.approx(direct)
    assert sum(g.indirect for g in groups) == pytest.approx(indirect)
    assert all((g.direct + g.indirect <= g.persons + 1e-9).all() for g in groups)


def test_errors_of_groups_are_the_models_own(values, flows, timeline):
    found = reach_by(values, flows, timeline, "school_meals", inclusion_error=0.2)
    direct = found.persons[:, -1:]
    groups = by_group(values, found, direct, direct * 0.0)
    pupils = ("children", "pupils", "girls", "boys")
    outside = sum(g.direct for g in groups if g.key not in pupils)
    assert outside == pytest.approx(0.2 * direct)


def test_the_most_that_can_be_reached_holds_those_outside(values):
    target = target_of(values, model_of(values, "household_ration"))
    assert target.meant == pytest.approx(0.4 * target.population)
    assert target.most == pytest.approx(0.8 * target.meant / 0.8)


@pytest.mark.parametrize("draws", [1, 7, 12, 24, 61])
def test_one_draw_equals_the_same_row_of_many(drawn, flows, timeline, draws):
    values = using(drawn(draws), "school_meals", holiday_food="sold")
    many = reached(values, people_fed(values, flows, timeline), model_in_force(values), timeline)
    for i in sorted({0, draws // 2, draws - 1}):
        row = {
            n: x if isinstance(x, str) or x.shape[0] == 1 else x[i : i + 1]
            for n, x in values.items()
        }
        one = reached(row, people_fed(row, flows, timeline), model_in_force(row), timeline)
        for name in ("persons", "person_days", "indirect", "eaten_kg", "handed_kg", "kept_back"):
            found = np.broadcast_to(getattr(many, name), (draws, 61))[i : i + 1]
            assert found == pytest.approx(getattr(one, name), rel=1e-12, abs=1e-12), name


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"targets": "child_4_6 pensioners"}, "'pensioners' is not accepted"),
        ({"holidays": "7 13"}, "'13' is not accepted"),
        ({"holidays": "1 2 3 4 5 6 7 8 9 10 11 12"}, "every month is closed"),
        ({"days": 360.0}, "360 days a year, where the open months have 303"),
        ({"days": 366.0}, "lies outside 1 to 365"),
        ({"paid_share": 1.2}, "lies outside 0 to 1"),
        ({"coverage": 1.01}, "lies outside 0 to 1"),
        ({"vegetables": 0.0, "fish": 0.0}, "no vegetables and no fish"),
        ({"targets": "all"}, "everybody is meant"),
        ({"holiday_food": "freezer"}, "is not one of households, sold, lost"),
    ],
    ids=["group", "month", "closed", "days", "year", "paid", "cover", "food", "outside", "place"],
)
def test_a_model_that_does_not_hold_is_refused(values, flows, timeline, changed, message):
    with pytest.raises(AssumptionError, match=message):
        fed_by(values, flows, timeline, "school_meals", **changed)


def test_an_unknown_model_is_refused_with_the_nearest(values):
    values["distribution.model"] = "school_meal"
    with pytest.raises(AssumptionError, match="nearest known name is 'school_meals'"):
        model_in_force(values)


def test_a_plan_without_a_model_is_refused(values):
    del values["distribution.model"]
    with pytest.raises(AssumptionError, match=r"distribution\.model has no value"):
        model_in_force(values)
