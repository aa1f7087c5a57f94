"""Composition and cooking rows against the printed tables, row by row.

USDA SR28 (beside this file; public domain) per 100 g of raw edible part. Retention factors are
those of the USDA table, Release 6 (2007), as quoted by other documents.
"""

import csv
from pathlib import Path

import pytest

COMMON = Path(__file__).parents[2] / "assumptions" / "common"
SR28 = Path(__file__).parent / "food_composition_sr28.csv"

#: Columns of the composition rows, as the printed table heads them.
COLUMNS = {
    "energy": "kcal", "protein": "protein_g", "fat": "fat_g", "vitamin_a": "vitA_RAE_ug",
    "vitamin_c": "vitC_mg", "folate": "folate_DFE_ug", "vitamin_b12": "B12_ug",
    "calcium": "Ca_mg", "iron": "Fe_mg", "zinc": "Zn_mg",
}  # fmt: skip


def lines(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


PRINTED = {line["description"]: line for line in lines(SR28)}
FOODS = {line["key"]: line for line in lines(COMMON / "food.csv")}


@pytest.fixture(scope="module")
def rows(library):
    return library.common.rows


def base(rows, name):
    return rows[name].base


# Copied digits: exact.
@pytest.mark.calibration
@pytest.mark.parametrize("key", FOODS)
def test_every_composition_row_is_the_printed_one(rows, key):
    printed = PRINTED[FOODS[key]["title"]]
    assert f"NDB {printed['ndb']}" == FOODS[key]["locator"]
    for nutrient, column in COLUMNS.items():
        assert base(rows, f"food.{key}.{nutrient}") == float(printed[column]), nutrient


# Refuse is printed in whole per cent. Lettuce is the middle of three heads; fillets of live fish
# are not in the table, which is of the fillet.
@pytest.mark.calibration
@pytest.mark.parametrize(
    "key", [k for k, line in FOODS.items() if line["kind"] != "fish" and k != "lettuce"]
)
def test_every_edible_share_is_one_less_refuse(rows, key):
    refuse = float(PRINTED[FOODS[key]["title"]]["refuse_pct"])
    assert base(rows, f"food.{key}.edible_share") == pytest.approx(1 - refuse / 100, abs=1e-9)


@pytest.mark.calibration
def test_edible_share_of_lettuce_lies_among_three_printed_heads(rows):
    heads = ("green leaf", "butterhead", "cos or romaine")
    kept = [
        1 - float(line["refuse_pct"]) / 100
        for name, line in PRINTED.items()
        if name.startswith("Lettuce") and any(head in name for head in heads)
    ]
    assert len(kept) == 3
    assert min(kept) < base(rows, "food.lettuce.edible_share") < max(kept)


# Food energy of vegetables by the specific factors (Merrill and Watt 1973, Agriculture Handbook 74,
# Table 13; from memory): 2.44, 8.37 and 3.57 kcal/g of protein, fat and carbohydrate. Whole kcal
# and grams to 0.01: 0.6 kcal.
LEAVES = ("lettuce", "chard", "pak_choi", "cucumber", "squash", "water_spinach", "pepper", "basil")


@pytest.mark.identity
@pytest.mark.parametrize("key", LEAVES)
def test_energy_of_vegetables_follows_the_specific_factors(rows, key):
    protein, fat = (base(rows, f"food.{key}.{n}") for n in ("protein", "fat"))
    starch = float(PRINTED[FOODS[key]["title"]]["carb_g"])
    found = 2.44 * protein + 8.37 * fat + 3.57 * starch
    assert found == pytest.approx(base(rows, f"food.{key}.energy"), abs=0.6)


# Printed retention, per cent: greens drained (code 3005), with the water used (3006), stir-fried;
# other vegetables drained (3775), with the water used (3776), stir-fried (3785); fish baked, fried.
# The base lies among what the ways of cooking leave.
@pytest.mark.calibration
@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("leafy.vitamin_c", (55, 70, 85)), ("leafy.folate", (75, 85)),
        ("leafy.vitamin_a", (95, 90)), ("leafy.iron", (95, 100)), ("leafy.calcium", (95, 100)),
        ("fruiting.vitamin_c", (75, 85, 95)), ("fruiting.folate", (65, 85, 80, 70)),
        ("fruiting.vitamin_a", (90, 95, 90, 85)), ("fruiting.zinc", (95, 100)),
        ("fish.vitamin_b12", (95, 90, 85, 80, 75)), ("fish.folate", (95, 90, 80)),
        ("fish.iron", (80, 100)), ("fish.vitamin_a", (90, 85)),
    ],
)  # fmt: skip
def test_what_cooking_leaves_lies_among_the_printed(rows, name, printed):
    assert min(printed) <= 100 * base(rows, f"cooking.{name}") <= max(printed)
