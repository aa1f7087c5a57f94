"""Staple, pulse and oil that complete a ration, against general rations as agencies print them.

No figure here set a row of the basket unless its test is marked `calibration`.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.assumptions.declaration import build
from sitefare.assumptions.library import Source, read_layer
from sitefare.people.basket import BasketInputs, CompletionInputs, basket_of
from sitefare.people.lack import MACRO, basket

COMMON = Path(__file__).parents[2] / "assumptions" / "common"
FILES = ("basket", "people", "site_defaults_people")

#: Corn-soy blend, energy, protein and fat of a gram (specification of the blend, from memory:
#: 380 to 400 kcal, 18 g of protein and 6 g of fat in 100 g), and of sugar (Atwater, 3.87 kcal).
BLEND, SUGAR = (3.9, 0.18, 0.06), (3.87, 0.0, 0.0)


@pytest.fixture(scope="module")
def values():
    paths = [COMMON / f"{name}.csv" for name in FILES]
    sources = {}
    for path in paths:
        with path.open(encoding="utf-8", newline="") as file:
            sources |= {line["source"]: Source("x", "x") for line in csv.DictReader(file)}
    rows = read_layer("common", paths, sources).rows
    return {n: value(r.base) if r.spec.kind == "quantity" else r.text for n, r in rows.items()}


def holds(values, key, nutrient):
    """Return what a gram holds. [unit/g]"""
    return float(getattr(build(BasketInputs, values, key), nutrient)[0, 0]) / 100.0


def ration(values, foods):
    """Sum energy, protein and fat over grams by food."""
    return [sum(g * holds(values, key, n) for key, g in foods.items()) for n in MACRO]


def completed(values, staple, energy, protein, fat, pulse="dry_beans"):
    """Solve a whole ration without a farm."""
    asked = build(
        CompletionInputs, values | {"completion.staple": staple, "completion.pulse": pulse}
    )
    required = {n: value(x) for n, x in zip(MACRO, (energy, protein, fat), strict=True)}
    nothing = {n: np.zeros((1, 12)) for n in MACRO}
    foods = basket_of(values, asked)
    return {k: float(x[0, 0]) for k, x in basket(foods, required, nothing, value(0.0)).items()}


# World Food Programme, The WFP food basket (page): 400 g of cereal flour, 60 g of pulses, 25 g of
# oil, 50 g of blended food and 15 g of sugar give 2,100 kcal, 58 g of protein and 43 g of fat (also
# ration 1 of UNHCR, UNICEF, WFP and WHO 2002, Food and nutrition needs in emergencies). The printed
# energy and protein are rounded and do not name the cereal: 5 % with maize meal, the only staple of
# the three whose own fat brings the ration to 43 g.
@pytest.mark.validation
def test_the_general_ration_of_an_agency(values):
    found = ration(values, {"maize_meal": 400, "dry_beans": 60, "vegetable_oil": 25})
    found = [x + 50 * b + 15 * s for x, b, s in zip(found, BLEND, SUGAR, strict=True)]
    assert found == pytest.approx([2100, 58, 43], rel=0.05)


# US Agency for International Development, Field Operations Guide, III D.6: a survival ration of at
# least 2,100 kcal and 60 g of protein; a typical one of 400 to 450 g of cereal, 30 to 60 g of
# pulses and 20 to 30 g of oil. Its upper ends give the energy within 2 % for every staple here.
@pytest.mark.validation
@pytest.mark.parametrize("staple", ["maize_meal", "wheat_flour", "rice"])
def test_the_upper_ends_of_a_typical_ration_give_its_energy(values, staple):
    energy, _, _ = ration(values, {staple: 450, "dry_beans": 60, "vegetable_oil": 30})
    assert energy == pytest.approx(2100, rel=0.02)


# The same guide: with wheat flour those grams give its 60 g of protein; maize and rice fall short.
@pytest.mark.validation
def test_the_upper_ends_of_a_typical_ration_give_its_protein_with_wheat(values):
    _, protein, _ = ration(values, {"wheat_flour": 450, "dry_beans": 60, "vegetable_oil": 30})
    assert protein == pytest.approx(60, rel=0.03)


#: Why pulses and oil come out above the guide's grams.
ABOVE = (
    "65 g of pulses and 35 g of oil: the guide leaves part of protein and fat to blended food, "
    "fish and groundnuts beside the three, which are not in this basket"
)


# What this module solves for the guide's 2,100 kcal and 60 g of protein, with 17 % of energy as
# fat, set beside its grams; one source example, in three parts.
@pytest.mark.validation
@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [
        ("staple", 400, 450),
        pytest.param("pulse", 30, 60, marks=pytest.mark.xfail(reason=ABOVE, strict=True)),
        pytest.param("oil", 20, 30, marks=pytest.mark.xfail(reason=ABOVE, strict=True)),
    ],
)
def test_the_solved_basket_beside_the_grams_of_a_typical_ration(values, kind, low, high):
    assert low <= completed(values, "wheat_flour", 2100, 60, 40)[kind] <= high


# WFP and UNHCR 1997, Guidelines for estimating food and nutritional needs in emergencies, par. 28:
# for at most a month cereal stands in for oil 3 to 1, so that energy does not fall, never oil for
# cereal. One of oil is 2.4 of cereal by energy; the rule keeps a margin.
@pytest.mark.validation
@pytest.mark.parametrize("staple", ["maize_meal", "wheat_flour", "rice"])
def test_three_of_cereal_for_one_of_oil_keep_the_energy(values, staple):
    kept = 3 * holds(values, staple, "energy") / holds(values, "vegetable_oil", "energy")
    assert 1.0 <= kept <= 1.3


# The same, par. 28: 2 of cereal for 1 of beans keep energy, and most of the protein.
@pytest.mark.validation
def test_two_of_cereal_for_one_of_beans_keep_energy_and_most_protein(values):
    for staple in ("maize_meal", "wheat_flour"):
        energy, protein = (
            2 * holds(values, staple, n) / holds(values, "dry_beans", n) for n in MACRO[:2]
        )
        assert energy > 1.0
        assert 0.65 <= protein <= 1.0


# Nutrients in 100 g edible portion of food, Table D-1 of an annex on food security as a page
# reprints it: another table of composition. Energy within 8 %, protein within 16 %: moisture and
# milling differ (their wheat flour is 9.4 % protein, SR28's 10.3).
@pytest.mark.validation
@pytest.mark.parametrize(
    ("key", "energy", "protein"),
    [("maize_meal", 353, 9.3), ("rice", 361, 6.5), ("wheat_flour", 341, 9.4)],
)
def test_composition_beside_another_table(values, key, energy, protein):
    assert 100 * holds(values, key, "energy") == pytest.approx(energy, rel=0.08)
    assert 100 * holds(values, key, "protein") == pytest.approx(protein, rel=0.16)


# USDA SR28: the printed figures set the rows.
@pytest.mark.calibration
@pytest.mark.parametrize(
    ("name", "printed"),
    [
        pytest.param("maize_meal.energy", 362, id="SR28 NDB 20320 energy"),
        pytest.param("wheat_flour.protein", 10.33, id="SR28 NDB 20481 protein"),
        pytest.param("rice.zinc", 1.09, id="SR28 NDB 20444 zinc"),
        pytest.param("lentils.folate", 479, id="SR28 NDB 16069 folate (from memory)"),
        pytest.param("dry_beans.calcium", 143, id="SR28 NDB 16027 calcium"),
        pytest.param("vegetable_oil.energy", 884, id="SR28 NDB 04044 energy (from memory)"),
    ],
)
def test_composition_row_is_the_printed_one(values, name, printed):
    key, nutrient = name.split(".")
    assert float(getattr(build(BasketInputs, values, key), nutrient)[0, 0]) == printed


# Energy of a food from protein, fat and the rest as carbohydrate stays below Atwater's 9 kcal/g.
@pytest.mark.identity
def test_no_food_holds_more_energy_than_its_fat_and_protein_allow(values):
    for key in ("maize_meal", "wheat_flour", "rice", "lentils", "dry_beans", "vegetable_oil"):
        protein, fat = (holds(values, key, n) for n in ("protein", "fat"))
        assert (
            holds(values, key, "energy") <= 9.0 * fat + 4.1 * (1.0 - fat - protein) + 4.1 * protein
        )
