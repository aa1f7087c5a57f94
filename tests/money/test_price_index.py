"""A price moves to the appraisal date by the index its row or declaration names."""

from dataclasses import replace

import pytest

from sitefare.assumptions.prices import Escalation, index_name, prices_to_date, series_of
from sitefare.errors import AssumptionError

POINTS = {
    "usd_general": {2020.5: 100.0, 2022.5: 110.0},
    "usd_equipment": {2020.5: 1.0, 2022.5: 2.0},
}


@pytest.fixture
def moves():
    return Escalation(POINTS, 2022.5, 0.05)


@pytest.fixture
def priced(rows):
    """A price of 2020 in some money."""
    return lambda unit: replace(rows["freight.inland"], unit=unit, as_of="2020")


def test_a_price_moves_by_its_own_index(moves, priced):
    assert moves.factor(priced("USD/kg"), "general") == pytest.approx(1.1)
    assert moves.factor(priced("USD/kg"), "equipment") == pytest.approx(2.0)


def test_an_index_that_is_not_there_is_refused(moves, priced):
    with pytest.raises(AssumptionError, match=r"'usd_copper', which the table price_index does"):
        moves.factor(priced("USD/kg"), "copper")


def test_local_money_moves_by_its_own_series_or_by_inflation(moves, priced):
    assert moves.factor(priced("KES/kg"), "equipment") == pytest.approx(1.05**2)
    own = {"kes_general": {2020.5: 1.0, 2022.5: 1.3}, "kes_building": {2020.5: 1.0, 2022.5: 1.5}}
    richer = Escalation(POINTS | own, 2022.5, 0.05)
    assert richer.factor(priced("KES/kg"), "equipment") == pytest.approx(1.3)
    assert richer.factor(priced("KES/kg"), "building") == pytest.approx(1.5)


def test_an_index_needs_two_years(rows):
    alone = {n: r for n, r in rows.items() if n.startswith("price_index.equipment_2009.")}
    with pytest.raises(AssumptionError, match="'usd_equipment' has one year"):
        series_of(alone)


def test_an_item_names_its_index(rows):
    assert index_name("bill.pump.price", rows["bill.pump.price"], rows) == "equipment"
    assert index_name("bill.pv.price", rows["bill.pv.price"], rows) == "electronics"
    assert index_name("price.feed", rows["price.feed"], rows) == "general"


def test_published_2009_prices_follow_the_plant_index(rows):
    # UVI's tank of 240 USD/m3 in 2009: 521.9 then, 798.8 in 2024 and on at 2 % a year.
    tank = rows["bill.fish_tank.price"].base
    assert tank == pytest.approx(240 * 798.8 / 521.9 * 1.02**2.54, rel=0.005)


def test_every_index_of_the_bill_is_in_the_table(rows):
    known = series_of(rows)
    named = {row.text for name, row in rows.items() if name.endswith(".index")}
    assert {f"usd_{name}" for name in named} <= set(known)


def test_a_third_currency_is_refused(rows, priced):
    foreign = {**rows, "freight.inland": priced("EUR/kg")}
    with pytest.raises(AssumptionError, match="EUR; USD and the site's USD are accepted"):
        prices_to_date(foreign, "2027-01")
