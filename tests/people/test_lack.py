import numpy as np
import pytest

from sitefare.arrays import DAYS, value
from sitefare.assumptions.declaration import build
from sitefare.errors import AssumptionError
from sitefare.people.basket import KINDS, CompletionInputs, basket_of
from sitefare.people.fed import people_fed
from sitefare.people.lack import MACRO, basket, lack

PRICE = "basket_price.maize_meal.price"


@pytest.fixture
def foods(values):
    return basket_of(values, build(CompletionInputs, values))


def given(foods, grams, nutrient):
    return sum(grams[kind] * foods[kind].content(nutrient) for kind in KINDS)


def solved(foods, energy, protein, fat, least=0.0, farm=(0.0, 0.0, 0.0)):
    required = {n: value(x) for n, x in zip(MACRO, (energy, protein, fat), strict=True)}
    farm = {n: np.full((1, 12), x) for n, x in zip(MACRO, farm, strict=True)}
    return basket(foods, required, farm, value(least))


@pytest.mark.parametrize(
    ("energy", "protein", "fat", "least", "farm"),
    [
        (2100, 53, 40, 0, (0, 0, 0)),
        (2100, 53, 40, 50, (90, 9, 2)),
        (2100, 80, 40, 0, (0, 0, 0)),
        (2100, 30, 10, 0, (0, 0, 0)),
        (2100, 53, 40, 50, (2000, 60, 10)),
        (2100, 53, 40, 50, (2500, 90, 80)),
        (1000, 90, 20, 0, (0, 0, 0)),
        (400, 90, 60, 0, (0, 0, 0)),
    ],
)
def test_farm_and_basket_together_never_give_less_than_is_asked(
    foods, energy, protein, fat, least, farm
):
    grams = solved(foods, energy, protein, fat, least, farm)
    for asked, of_farm, nutrient in zip((energy, protein, fat), farm, MACRO, strict=True):
        assert np.all(of_farm + given(foods, grams, nutrient) >= asked - 1e-9), nutrient
    for kind, each in grams.items():
        assert np.all(each >= 0.0), kind
    assert np.all(grams["pulse"] >= least)


def test_energy_protein_and_fat_are_met_exactly_where_all_three_are_bought(foods):
    grams = solved(foods, 2100.0, 60.0, 40.0)
    assert min(float(x.min()) for x in grams.values()) > 0.0
    for asked, nutrient in zip((2100.0, 60.0, 40.0), MACRO, strict=True):
        assert given(foods, grams, nutrient) == pytest.approx(np.full((1, 12), asked))


def test_more_from_the_farm_never_asks_for_more_staple_or_oil(foods):
    little = solved(foods, 2100, 53, 40, 50, (60, 5, 1))
    much = solved(foods, 2100, 53, 40, 50, (400, 20, 8))
    assert np.all(much["staple"] <= little["staple"])
    assert np.all(much["oil"] <= little["oil"])


def test_the_lack_of_those_fed_closes(values, fed):
    found = lack(values, fed)
    for nutrient in MACRO:
        assert found.total[nutrient] >= 1.0 - 1e-9
    persons = fed.fed_season
    for kind, grams in found.grams.items():
        assert found.kg[kind] == pytest.approx(grams * persons * DAYS / 1000.0)
    assert found.cost_beside == pytest.approx(sum(found.cost.values()))
    assert found.cost_beside < found.cost_alone


def test_what_is_short_is_below_the_mean_need(values, fed):
    found = lack(values, fed)
    assert found.short
    assert not set(found.short) & set(MACRO)
    assert all(0.0 <= share < 1.0 for share in found.short.values())
    assert all(found.total[n] >= found.total_alone[n] - 1e-9 for n in ("vitamin_a", "vitamin_c"))


def test_where_nobody_is_fed_the_farm_gives_nothing(values, flows, timeline):
    values["storage.fish_window"] = value(1.0)
    found = lack(values, people_fed(values, flows, timeline))
    assert found.cost_beside == pytest.approx(found.cost_alone)
    assert not any(kg.any() for kg in found.kg.values())
    assert found.total == pytest.approx(found.total_alone)


def test_the_population_s_need_may_stand_for_the_planning_ration(values, fed):
    found = lack(values | {"completion.requirement": "population_need"}, fed)
    assert found.required["energy"][0, 0] != 2100.0
    assert found.total["energy"] >= 1.0 - 1e-9


def test_a_dearer_staple_makes_the_basket_dearer_and_nothing_else(values, fed):
    base = lack(values, fed)
    dear = lack(values | {PRICE: values[PRICE] * 2.0}, fed)
    assert dear.cost["staple"] == pytest.approx(2.0 * base.cost["staple"])
    assert dear.cost["oil"] == base.cost["oil"]
    assert dear.grams["staple"] == pytest.approx(base.grams["staple"])


@pytest.mark.parametrize("name", ["wheat_flour", "rice", "lentils", "dry_beans", "vegetable_oil"])
def test_every_price_of_the_basket_moves_the_cost_where_it_is_bought(values, rows, fed, name):
    kind = rows[f"basket.{name}.kind"].text
    values |= {f"completion.{kind}": name}
    row = rows[f"basket_price.{name}.price"]
    low, high = (lack(values | {row.name: value(x)}, fed).cost_beside for x in (row.low, row.high))
    assert high > low


def test_a_food_of_the_wrong_kind_is_refused(values, fed):
    with pytest.raises(AssumptionError, match="'lentils' is a pulse"):
        lack(values | {"completion.staple": "lentils"}, fed)


def test_an_unknown_food_is_refused(values, fed):
    with pytest.raises(AssumptionError, match=r"basket\.manna"):
        lack(values | {"completion.staple": "manna"}, fed)
