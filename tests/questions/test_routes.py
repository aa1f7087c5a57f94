"""Other routes to the same food: identities, directions, shapes, crossings."""

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.arrays import day_mean, value
from sitefare.assumptions.case import BESIDE, base_values, block_of
from sitefare.assumptions.declaration import build
from sitefare.money.transfer import TransferInputs, cost_of_transfer
from sitefare.people.haulage import landed, way_loss
from sitefare.people.meal import basket, meal_of
from sitefare.people.replaced import replaced_emissions_kg_per_kg
from sitefare.questions.crossing import (
    LEVERS,
    chance_cheaper,
    crossing,
    crossings,
    moved,
    reduction,
    straight,
)
from sitefare.questions.routes import (
    garden_of,
    garden_persons,
    local_by_month,
    money_instead,
    route_draws,
    route_values,
    routes,
    served,
)
from sitefare.questions.uncertainty import uncertainty

SITES = ["kaldre", "norhaven", "port_anui", "qasr_adhra"]


@pytest.fixture(scope="module")
def told(plan):
    """Plan, appraisal, what it serves and its base values, by site."""
    made = {}
    for site in SITES:
        found = appraise(plan(site))
        made[site] = (plan(site), found, served(found), base_values(plan(site).case))
    return made


def one(x):
    return float(np.asarray(x)[0, 0])


def costs(told, site, **changes):
    _, made, food, values = told[site]
    changed = {name.replace("__", "."): value(x) for name, x in changes.items()}
    return routes(food, {**values, **changed}, made.indicators)


# --- the local market ------------------------------------------------------------------------


@pytest.mark.parametrize("site", SITES)
def test_local_route_is_the_indicator(told, site):
    _, made, food, values = told[site]
    local = routes(food, values, made.indicators)["local"].cost
    np.testing.assert_allclose(local, made.indicators["alternative_cost_person_day"], rtol=1e-12)


@pytest.mark.parametrize("ration", ["who_vegetables", "protein_share"])
def test_another_ration_is_bought_as_it_is_eaten(plan, ration):
    made = appraise(plan("qasr_adhra", "as_planned", f"people.headline={ration}"))
    values = base_values(made.case)
    meal = meal_of(values, made.fed, made.case.timeline)
    np.testing.assert_allclose(
        basket(values, meal).total, made.fed.alternative_cost_person_day, rtol=1e-12
    )


def test_months_without_a_market_have_no_price(told):
    _, _, food, values = told["kaldre"]
    months = local_by_month(food, values)[0]
    assert np.flatnonzero(np.isnan(months)).tolist() == [0, 1, 2]
    assert months[3] > months[7]


def test_a_market_open_all_year_has_the_years_mean(told):
    _, _, food, values = told["kaldre"]
    opened = {**values, "months_open.vegetables": np.ones((1, 12))}
    assert local_by_month(food, opened).mean() == pytest.approx(
        one(basket(values, food.meal).total)
    )


def test_months_are_shares_of_the_year(told):
    _, made, food, values = told["kaldre"]
    found = routes(food, values, made.indicators)
    expected = one(day_mean(values["months_open.vegetables"]))
    assert one(found["local"].months["vegetables"]) == pytest.approx(expected)
    assert one(found["garden"].months["vegetables"]) < 0.5


# --- trucks and ships ------------------------------------------------------------------------

FREE = {
    "haulage__distance": 0.0, "haulage__waiting": 0.0, "haulage__handling": 0.0,
    "haulage__border": 0.0, "haulage__running": 0.0, "price__distribution": 0.0,
    "haulage__price_ratio_vegetables": 1.0, "haulage__price_ratio_fish": 1.0,
}  # fmt: skip


def test_a_free_way_at_the_same_price_costs_what_the_market_does(told):
    found = costs(told, "kaldre", **FREE)
    assert one(found["road"].cost) == pytest.approx(one(found["local"].cost), rel=1e-12)
    assert one(found["road"].way["vegetables"]) == 0.0


def test_no_loss_leaves_price_and_freight_alone():
    assert one(landed(value(2.0), value(0.5), value(0.0))) == 2.5
    assert one(way_loss(value(0.0), value(30.0))) == 0.0
    assert one(way_loss(value(0.1), value(0.0))) == 0.0


def test_two_days_lose_as_two_times_one():
    once = way_loss(value(0.05), value(1.0))
    assert one(way_loss(value(0.05), value(2.0))) == pytest.approx(1.0 - (1.0 - one(once)) ** 2)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("haulage__distance", 100.0, 400.0), ("haulage__freight", 0.1, 0.3),
        ("haulage__waiting", 0.5, 3.0), ("haulage__loss_fish", 0.01, 0.05),
        ("haulage__border", 0.0, 0.2), ("haulage__running", 0.1, 0.4),
        ("haulage__price_ratio_vegetables", 0.5, 0.9),
    ],
)  # fmt: skip
def test_remoter_slower_and_dearer_ways_cost_more(told, name, low, high):
    cheap, dear = (one(costs(told, "kaldre", **{name: x})["road"].cost) for x in (low, high))
    assert dear > cheap


def test_faster_trucks_lose_less(told):
    slow, fast = (costs(told, "norhaven", haulage__pace=x)["road"] for x in (200.0, 800.0))
    assert one(fast.way["fish"]) < one(slow.way["fish"])
    assert one(fast.pot["vegetables"]) > one(slow.pot["vegetables"])


def test_an_island_has_ships_and_no_trucks(told):
    assert {"sea"} == set(costs(told, "port_anui")) & {"sea", "road"}
    assert {"road"} == set(costs(told, "kaldre")) & {"sea", "road"}


def test_longer_voyages_cost_and_lose_more(told):
    near, far = (costs(told, "port_anui", shipping__days=x)["sea"] for x in (4.0, 25.0))
    assert one(far.cost) > one(near.cost)
    assert one(far.lost["vegetables"]) > one(near.lost["vegetables"])


@pytest.mark.parametrize("site", SITES)
def test_kilograms_paid_for_become_the_meal(told, site):
    _, _, food, values = told[site]
    for route in costs(told, site).values():
        for name in ("vegetables", "fish"):
            fresh = one(basket(values, food.meal).fresh[name])
            paid = fresh / (1.0 - one(route.lost[name]))
            assert one(route.pot[name]) * paid == pytest.approx(one(food.meal.grams[name]))


# --- transfers -------------------------------------------------------------------------------


@pytest.mark.parametrize("site", SITES)
def test_the_whole_cost_feeds_as_many_by_cash_as_it_can_pay(told, site):
    _, made, food, values = told[site]
    local = routes(food, values, made.indicators)["local"]
    cash = build(TransferInputs, values, "cash")
    found = money_instead(cash, local, made.indicators)
    farm = made.indicators["people_fed"] * made.indicators["cost_per_person_day"]
    spent = found.persons * cost_of_transfer(cash, local.cost)
    np.testing.assert_allclose(spent, farm, rtol=1e-12)
    assert one(found.rations) * one(local.cost) == pytest.approx(one(found.worth))


def test_dearer_delivery_leaves_less_food(told):
    plain, heavy = (
        one(costs(told, "kaldre", transfer__cash__administration=x)["cash"].cost)
        for x in (0.1, 0.9)
    )
    assert heavy > plain


# --- the garden ------------------------------------------------------------------------------


def test_a_garden_gets_the_farms_water(told):
    _, made, food, values = told["qasr_adhra"]
    grown = garden_of(food, values, made.indicators)
    used = grown.harvest * grown.litres_kg / 1000.0
    np.testing.assert_allclose(used, made.indicators["water_makeup_m3_year"], rtol=1e-12)
    assert one(garden_persons(grown, values, food)) > 0.0


def test_a_garden_that_takes_the_fields_water_grows_the_farms_harvest(told):
    _, made, food, values = told["qasr_adhra"]
    same = {**made.indicators, "water_makeup_m3_year": made.indicators["field_water_m3_year"]}
    grown = garden_of(food, values, same)
    harvest = made.indicators["vegetables_marketable_kg_year"] * food.covered
    np.testing.assert_allclose(grown.harvest, harvest, rtol=1e-12)
    ground = made.indicators["land_saved_m2"] + food.footprint * food.covered
    np.testing.assert_allclose(grown.ground, ground / (1.0 - values["garden.paths"]), rtol=1e-12)


def test_where_nothing_grows_there_is_no_garden(told):
    _, made, food, values = told["kaldre"]
    none = {**made.indicators, "field_water_m3_year": value(np.nan)}
    assert "garden" not in routes(food, values, none)


@pytest.mark.parametrize("name", ["garden__hours", "garden__kit", "garden__rent", "wage__worker"])
def test_dearer_gardens_cost_more(told, name):
    _, _, _, values = told["port_anui"]
    base = one(values[name.replace("__", ".")])
    dear = costs(told, "port_anui", **{name: 2.0 * base})["garden"]
    assert one(dear.cost) > one(costs(told, "port_anui")["garden"].cost)


# --- emissions -------------------------------------------------------------------------------


def test_food_from_afar_emits_more(told):
    _, _, _, values = told["kaldre"]
    near, far = (replaced_emissions_kg_per_kg(values, way) for way in ("local", "road"))
    assert all(one(far[name]) > one(near[name]) for name in near)
    assert one(replaced_emissions_kg_per_kg(values)["fish"]) == one(far["fish"])


def test_emissions_of_a_kilogram_that_arrives_carry_what_was_lost(told):
    _, _, _, values = told["kaldre"]
    lossy = {**values, "haulage.loss_vegetables": value(0.2), "haulage.distance": value(0.0)}
    days = one(values["haulage.waiting"])
    found = one(replaced_emissions_kg_per_kg(lossy, "road")["vegetables"])
    assert found == pytest.approx(one(values["replaced.vegetables"]) / 0.8**days)


# --- draws -----------------------------------------------------------------------------------


@pytest.mark.parametrize("draws", [1, 7, 12, 24])
def test_scalar_equals_vector(told, draws):
    sized, _, food, _ = told["port_anui"]
    drawn = uncertainty(sized, 64, 3).draws
    values = route_values(sized, 64, 3)
    vector = routes(
        food, block_of(values, slice(0, draws)), {k: x[:draws] for k, x in drawn.items()}
    )
    for i in (0, draws - 1):
        alone = routes(
            food,
            block_of(values, slice(i, i + 1)),
            {k: x[i : i + 1] for k, x in drawn.items()},
        )
        for key, route in alone.items():
            many = np.broadcast_to(vector[key].cost, (draws, 1))
            np.testing.assert_allclose(many[i], route.cost[0], rtol=1e-12)


def test_routes_leave_the_farms_draws_alone(told):
    sized = told["kaldre"][0]
    assert not any(name.startswith(BESIDE) for name in sized.case.uncertain)
    assert all(sized.case.uses(name) for name in sized.case.beside)
    wide, narrow = (route_values(sized, n, 3) for n in (64, 32))
    for name in sized.case.beside:
        assert wide[name].shape == (64, 1)
        np.testing.assert_array_equal(wide[name][:32], narrow[name])


def test_draws_follow_their_range(told):
    sized = told["norhaven"][0]
    values = route_values(sized, 2048, 1)
    for name in sized.case.beside:
        row = sized.case.rows[name]
        assert np.mean(values[name] < row.base) == pytest.approx(0.5, abs=0.05), name
        assert np.mean(values[name] < row.low) == pytest.approx(0.1, abs=0.03), name


def test_every_row_beside_the_pipeline_moves_a_route(told):
    still = set(told["kaldre"][0].case.beside)
    for site in SITES:
        sized, made, food, values = told[site]
        for name in sized.case.beside:
            row = sized.case.rows[name]
            ends = [
                [
                    figure
                    for route in routes(food, {**values, name: value(x)}, made.indicators).values()
                    for figure in (one(route.cost), one(route.emissions))
                ]
                for x in (row.low, row.high)
            ]
            if ends[0] != ends[1]:
                still.discard(name)
    assert not still


# --- crossings -------------------------------------------------------------------------------


@pytest.mark.parametrize("site", SITES)
def test_costs_agree_at_the_crossing(told, site):
    _, made, food, values = told[site]
    farm = one(made.indicators["cost_per_person_day"])
    found = crossings(food, values, made.indicators)
    assert any(np.isfinite(x.at) for x in found)
    for x in found:
        if not np.isfinite(x.at):
            assert x.reason
        elif x.lever == "farm_cost":
            other = one(routes(food, values, made.indicators)[x.route].cost)
            assert (1.0 - x.at) * farm == pytest.approx(other, rel=1e-9)
        else:
            there = moved(values, LEVERS[x.lever], x.at)
            other = one(routes(food, there, made.indicators)[x.route].cost)
            assert other == pytest.approx(farm, rel=1e-9)


@pytest.mark.parametrize(
    ("site", "route", "lever"),
    [
        ("kaldre", "local", "local_price"), ("kaldre", "cash", "local_price"),
        ("norhaven", "road", "freight"), ("port_anui", "sea", "sea_freight"),
        ("norhaven", "garden", "hours"),
    ],
)  # fmt: skip
def test_bracketed_crossing_is_that_of_the_straight_line(told, site, route, lever):
    _, made, food, values = told[site]
    cheap = {**made.indicators, "cost_per_person_day": value(9.0)}

    def cost(x):
        there = moved(values, LEVERS[lever], x)
        return one(routes(food, there, made.indicators)[route].cost)

    found = crossing(food, values, cheap, route, lever)
    assert found.at == pytest.approx(straight(cost, 9.0), rel=1e-9)


def test_local_multiple_is_the_ratio_of_costs(told):
    _, made, food, values = told["kaldre"]
    found = crossing(food, values, made.indicators, "local", "local_price")
    ratio = made.indicators["cost_per_person_day"] / made.fed.alternative_cost_person_day
    assert found.at == pytest.approx(one(ratio), rel=1e-9)


def test_distance_crosses_where_a_farm_is_near_its_rivals(told):
    _, made, food, values = told["kaldre"]
    near = {**made.indicators, "cost_per_person_day": value(2.5)}
    nearer = {**made.indicators, "cost_per_person_day": value(2.2)}
    far, close = (crossing(food, values, x, "road", "distance") for x in (near, nearer))
    assert far.at > close.at > far.base
    assert not far.reason


@pytest.mark.parametrize(
    ("farm", "lever", "words"),
    [
        (0.01, "distance", "the farm costs less even at a road distance of 0 km"),
        (1e6, "distance", "the farm costs more even at a road distance of 20,000 km"),
        (np.inf, "freight", "feeds nobody"),
    ],
)
def test_no_crossing_says_why(told, farm, lever, words):
    _, made, food, values = told["kaldre"]
    found = crossing(
        food, values, {**made.indicators, "cost_per_person_day": value(farm)}, "road", lever
    )
    assert np.isnan(found.at)
    assert words in found.reason


def test_reduction_is_undefined_where_nobody_is_fed():
    farm = np.array([[2.0], [np.inf], [np.nan]])
    found = reduction(farm, value(1.0))
    assert found[0, 0] == 0.5
    assert np.isnan(found[1:]).all()


def test_chance_counts_common_draws(told):
    sized, _, food, _ = told["qasr_adhra"]
    drawn = uncertainty(sized, 64, 3)
    local = route_draws(food, sized, drawn)["local"]
    farm = drawn.draws["cost_per_person_day"]
    np.testing.assert_allclose(local.cost, drawn.draws["alternative_cost_person_day"], rtol=1e-12)
    assert chance_cheaper(farm, local) == 0.0
    assert chance_cheaper(local.cost * 0.5, local) == 1.0
    half = np.where(np.arange(64)[:, None] % 2 == 0, local.cost - 0.01, local.cost + 0.01)
    assert chance_cheaper(half, local) == 0.5
    assert chance_cheaper(np.full((64, 1), np.inf), local) == 0.0


def test_the_mix_of_the_base_is_near_that_of_each_draw(told):
    # A draw whose heat fails a crop buys another mix; its price differs by a tenth or so.
    sized, _, food, _ = told["qasr_adhra"]
    drawn = uncertainty(sized, 64, 3).draws
    local = routes(food, route_values(sized, 64, 3), drawn)["local"]
    ratio = local.cost / drawn["alternative_cost_person_day"]
    assert np.median(ratio) == pytest.approx(1.0, abs=0.05)
    assert np.abs(ratio - 1.0).max() < 0.2


def test_no_draws_give_no_routes(told):
    sized, _, food, _ = told["kaldre"]
    assert route_draws(food, sized, uncertainty(sized, 0, 1)) == {}
