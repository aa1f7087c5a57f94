"""What the market takes and pays, and what is earned beside food."""

from dataclasses import replace

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.assumptions.declaration import build
from sitefare.errors import AssumptionError
from sitefare.money.income import harvest_shares, income
from sitefare.money.market import SalesInputs, price_response, sale, season
from sitefare.money.prices import price_paths
from sitefare.timeline import Timeline


@pytest.fixture
def terms(base):
    given = {"market_size": 1.0, "unnoticed_share": 0.1, "most_share": 0.5, "elasticity": 0.8}
    return build(SalesInputs, {**base, **{f"sales.{k}": value(x) for k, x in given.items()}})


def test_a_small_seller_moves_no_price(terms):
    found = sale(terms, value(1000.0), np.array([[0.0, 50.0, 100.0]]))
    assert np.all(found.price_factor == 1.0)
    assert np.all(found.unsold == 0.0)


def test_a_large_seller_meets_a_lower_price_then_nobody(terms):
    found = sale(terms, value(1000.0), np.array([[200.0, 400.0, 500.0, 700.0]]))
    assert found.sold[0].tolist() == [200, 400, 500, 500]
    assert found.unsold[0].tolist() == [0, 0, 0, 200]
    assert found.price_factor[0, 0] == pytest.approx(1.1 ** (-1 / 0.8))
    assert np.all(np.diff(found.price_factor[0]) <= 0)


def test_marginal_revenue_falls_by_the_share_over_the_elasticity(terms):
    # Cournot: MR = P (1 − share ÷ ε), the share being what is sold over all supply.
    sold, step = 400.0, 1e-3
    revenue = [
        float((found.sold * found.price_factor)[0, 0])
        for found in (sale(terms, value(1000.0), value(sold + d)) for d in (-step, 0.0, step))
    ]
    price = revenue[1] / sold
    share = sold / (1000.0 + sold - 100.0)
    marginal = (revenue[2] - revenue[0]) / (2 * step)
    assert marginal == pytest.approx(price * (1 - share / 0.8), rel=1e-6)


def test_response_equals_its_row_whatever_the_draws():
    rng = np.random.default_rng(4)
    added, elasticity = rng.uniform(-0.1, 1, (24, 181)), rng.uniform(0.4, 2, (24, 1))
    added = np.maximum(added, 0.0)
    many = price_response(added, value(1.0), elasticity)
    for n in (0, 11, 23):
        one = price_response(added[n : n + 1], value(1.0), elasticity[n : n + 1])
        np.testing.assert_allclose(one[0], many[n], rtol=1e-14)
    assert price_response(value(0.0), value(1.0), elasticity).shape == (24, 1)


def test_only_the_pattern_of_a_season_counts():
    clock = Timeline(2027, 5, 2, 0)
    pattern = np.array([[3.0, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1]])
    laid = season(pattern, clock)
    np.testing.assert_allclose(laid[0, 1:13].mean(), 1.0)
    assert np.argmax(laid[0]) == 8
    np.testing.assert_allclose(season(2 * pattern, clock), laid)


def earned(values, design, flows, fed, timeline):
    local = {key: value(2.0) for key in fed.served_kg}
    paths = price_paths(values, timeline)
    return income(values, design, flows, fed, local=local, paths=paths, timeline=timeline)


def test_food_that_the_market_cannot_take_is_lost_or_given(base, design, flows, fed, timeline):
    small = {**base, "sales.market_size": value(0.01), "market.tomato.takes": value(100.0)}
    wide = {**base, "sales.market_size": value(1e6)}
    usual, lost = (earned(v, design, flows, fed, timeline) for v in (wide, small))
    given = earned({**small, "sales.unsold": "given"}, design, flows, fed, timeline)
    assert lost.lines["sales_tomato"].sum() < 0.1 * usual.lines["sales_tomato"].sum()
    np.testing.assert_array_equal(lost.given, usual.given)
    more = sum(one.unsold for one in given.markets.values()) * 2.0 * 1.04 ** (timeline.month / 12)
    np.testing.assert_allclose(given.given - lost.given, more, atol=1e-6)
    np.testing.assert_array_equal(given.elsewhere, lost.elsewhere)


@pytest.mark.parametrize("name", ["market_size", "elasticity", "unnoticed_share", "most_share"])
def test_a_market_that_takes_more_pays_more(name, base, appraised):
    small = {**base, "sales.market_size": value(0.05)}
    before = appraised(small).indicators["sales_year"]
    after = appraised({**small, f"sales.{name}": small[f"sales.{name}"] * 1.5})
    assert after.indicators["sales_year"] > before


def test_a_season_moves_vegetables_and_not_fish(base, design, flows, fed, timeline):
    winter = np.array([[2.0, 2, 1, 1, 1, 0.5, 0.5, 0.5, 0.5, 1, 1, 1]])
    flat, shaped = (
        earned(v, design, flows, fed, timeline)
        for v in (base, {**base, "price_season.vegetables": winter})
    )
    ratio = shaped.vegetable_value[0, 121:133] / flat.vegetable_value[0, 121:133]
    np.testing.assert_allclose(ratio, np.roll(winter[0] / winter.mean(), -1))
    np.testing.assert_array_equal(flat.fish_value, shaped.fish_value)


def test_by_products_sell_only_at_a_price(base, design, flows, fed, timeline):
    assert earned(base, design, flows, fed, timeline).lines["by_products"].sum() == 0
    given = {
        **base, "byproduct.compost.price": value(0.2), "byproduct.spare_fingerlings.price": value(1)
    }  # fmt: skip
    found = earned(given, design, flows, fed, timeline)
    expected = 25 * 0.2 * flows.sludge_m3 * 1.04 ** (timeline.month / 12)
    np.testing.assert_allclose(found.lines["by_products"], expected)
    bred = replace(design, drivers={**design.drivers, "hatchery_volume": 2.0})
    more = earned(given, bred, flows, fed, timeline).lines["by_products"] - expected
    assert more[0, 7] == pytest.approx(50.0 * 1.04 ** (7 / 12))
    with pytest.raises(AssumptionError, match=r"byproduct\.compost\.driver: .* no size 'heap'"):
        earned({**base, "byproduct.compost.driver": "heap"}, design, flows, fed, timeline)


def test_staff_meals_are_valued_and_earn_nothing(base, design, flows, fed, timeline):
    eating = replace(fed, staff_kg={"lettuce": 0.1 * flows.crop_kg["lettuce"]})
    none, some = (earned(base, design, flows, x, timeline) for x in (fed, eating))
    assert none.staff.sum() == 0
    expected = 0.1 * flows.crop_kg["lettuce"] * 2.0 * 1.04 ** (timeline.month / 12)
    np.testing.assert_allclose(some.staff, expected)
    assert sum(x.sum() for x in some.lines.values()) == sum(x.sum() for x in none.lines.values())


def test_shares_of_the_harvest_add_up(fed):
    for food, shares in harvest_shares(fed).items():
        out = sum(shares.values())
        left = fed.served_kg[food] > 0
        np.testing.assert_allclose(out[left], 1.0)
        assert np.all(out[~left] == 0)
        assert shares["lost"][left] == pytest.approx(0.1)


def test_every_income_line_has_a_price_group(base, design, flows, fed, timeline):
    found = earned(base, design, flows, fed, timeline)
    assert set(found.lines) == set(found.group) == set(found.taxable)
