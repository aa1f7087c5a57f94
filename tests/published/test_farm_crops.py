"""Printed figures of crops, light, nurseries, uptake of nutrients and feed for plants.

Rows are read as they are shipped; a figure that set a row is marked calibration. Sources whose
figures are recalled say so. Ranges of field crops are wide: uptake for a kilogram differs by
variety, by luxury uptake in rich water and by what is left behind.
"""

import csv
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.farm import balance, beds, crops, cycles, light, nitrification, potassium

ROOT = Path(__file__).parents[2] / "assumptions" / "common"
validation = pytest.mark.validation
calibration = pytest.mark.calibration
identity = pytest.mark.identity

#: Pounds an acre of oxide to element. [1]
PHOSPHORUS, POTASSIUM = 0.4364, 0.8301
#: Pounds in a short ton. [lb]
TON = 2000.0


def table(name):
    with (ROOT / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def base():
    """Base value of a row by name."""
    names = ("crops", "farm_design", "species", "enclosures", "energy", "beds", "production")
    found = {r["name"]: r for n in names for r in table(n)}
    return lambda name: float(found[name]["base"])


@pytest.fixture(scope="module")
def span():
    """Low and high of a row by name."""
    found = {r["name"]: r for r in table("crops")}
    return lambda name: (float(found[name]["low"]), float(found[name]["high"]))


@pytest.fixture(scope="module")
def crop(base):
    """Shipped rows of a crop, as the functions read them."""
    fields = (
        *("yield_year", "reference_light", "half_light", "light_most", "temperature_least"),
        *("temperature_low", "temperature_high", "temperature_most", "plants", "days_to_harvest"),
        *("days_between", "cull", "nitrogen", "feed_ratio"),
    )
    return lambda key: SimpleNamespace(**{f: value(base(f"crop.{key}.{f}")) for f in fields})


def response(found, mol):
    return float(crops.light_response(value(mol), found)[0, 0])


# --- Light ---------------------------------------------------------------------------------


@validation
def test_a_micromole_all_day_apogee():
    # Apogee Instruments, daily PPF conversion page: 1 µmol/m2/s for 24 h is 0.0864 mol/m2/day.
    assert light.photon_flux(value(0.0864), value(24))[0, 0] == pytest.approx(1.0, rel=1e-9)


@validation
def test_photons_in_sunlight_lie_within_published_factors():
    # Published PPFD over global radiation: 1.92 µmol/J measured at Athens (Jacovides 2004, from
    # memory) to 2.3 as flux networks assume (0.5 × 4.6; the manual of an R package). Ours, 45 %
    # of 4.57, lies between, and so does not overstate light.
    assert 1.92 < light.PHOTONS < 2.3


@validation
def test_light_through_a_poly_house_glase():
    # GLASE cost tool as quoted by a trade paper (van Iersel): a poly house lets 62 % through in
    # use. Cover times what frame and dirt take; 10 % for covers differ by age.
    rows = {r["name"]: r for n in ("enclosures", "energy", "house") for r in table(n)}
    through = float(rows["enclosure.double_film.transmittance"]["base"])
    shade = next(float(r["base"]) for k, r in rows.items() if k.endswith("house_shading"))
    assert through * (1.0 - shade) == pytest.approx(0.62, rel=0.10)


@validation
@pytest.mark.parametrize("key", ["lettuce", "tomato", "cucumber"])
def test_one_per_cent_more_light_gives_most_of_one_per_cent_more_crop(key, crop):
    # 'One per cent rule' of glasshouse growers; Marcelis, Broekhuijsen, Meinen, Nijs & Raaphorst
    # (2006), Acta Hort. 711, from memory: 0.7 to 1 % for fruit vegetables, 0.8 for lettuce.
    found = crop(key)
    there = float(found.reference_light[0, 0])
    gain = response(found, there * 1.01) - 1.0
    assert 0.7 < gain * 100 < 1.0


# --- Yields, cycles and nurseries ----------------------------------------------------------


@calibration
def test_okra_of_the_virgin_islands_2004(crop):
    # Rakocy, Bailey, Shultz & Thoman (2004): 13.37 kg/m2/year, 2.86 t from 214 m2, set the row. St.
    # Croix has about 19 MJ/m2/day (recalled), no cover, warm air all year: 25 %, varieties differ.
    assert pytest.approx(2.86, rel=0.003) == 13.37 * 214 / 1000
    found = crop("okra")
    grown = found.yield_year[0, 0] * (1 - found.cull[0, 0]) * response(found, light.PHOTONS * 19)
    assert grown == pytest.approx(13.37, rel=0.25)


@calibration
def test_basil_of_the_virgin_islands_2004(crop, span):
    # 25.0 batch and 23.4 staggered, kg/m2/year whole, set the row with FAO's plants and Alberta's
    # yields: at its reference light they are 15, inside its range. The base, 18, is a fifth above
    # them; 29 is what the model grows under the sun of St. Croix.
    assert pytest.approx(5.34, rel=0.003) == 25.0 * 214 / 1000
    printed = 24.2 / response(crop("basil"), light.PHOTONS * 19)
    assert printed == pytest.approx(15, rel=0.03)
    low, high = span("crop.basil.yield_year")
    assert low < printed < high


@validation
@pytest.mark.xfail(
    strict=True, raises=AssertionError, reason="33 days afloat in the model, 24 printed"
)
def test_raft_lettuce_of_rutgers(crop, base, span):
    """Rutgers Horticultural Engineering: lettuce on floating boards, one example.

    12 days of nursery, 24 days afloat at 17 mol/m2/day, 28 plants/m2 at the last, 960 of 1,200
    seeds set out: days and density within 25 %, losses near the high end. Nursery, density and
    losses are met, days afloat are not: theirs are graded hard and given carbon dioxide, and ours
    are grown to 200 g (between Cornell's 142 and FAO's 250 to 400), which takes longer.
    """
    found = crop("lettuce")
    assert base("crop.lettuce.nursery_days") == pytest.approx(12, rel=0.25)
    assert found.plants[0, 0] == pytest.approx(28, rel=0.25)
    assert span("crop.lettuce.nursery_loss")[1] == pytest.approx(1 - 960 / 1200, abs=0.05)
    quick = cycles.speed(value(response(found, 17.0)), value(0.7), value(3.0))[0, 0]
    assert found.days_to_harvest[0, 0] / quick == pytest.approx(24, rel=0.25)


@calibration
def test_a_head_of_lettuce_stands_between_cornell_and_fao(crop):
    # Cornell CEA handbook page: Boston lettuce of 5 oz (142 g) under lamps; FAO 589 Appendix 1: 250
    # to 400 g (quoted). The row was read between them: FAO's heads at FAO's spacing and days would
    # be 55 to 150 kg/m2 a year, more than farms without lamps print.
    found = crop("lettuce")
    heads = found.plants * 365.0 / (found.days_to_harvest + found.days_between)
    assert 142 < (found.yield_year / heads)[0, 0] * 1000 < 250


@validation
def test_heads_of_lettuce_al_hafedh_2008(span):
    # 25 to 30 heads/m2 recommended (J. World Aquaculture Soc. 39:510): the row reaches that far.
    low, high = span("crop.lettuce.plants")
    assert low <= 30
    assert high >= 25


@validation
@pytest.mark.parametrize(("key", "plant"), [("tomato", 20.7), ("cucumber", 33.4)])
def test_no_row_passes_a_research_glasshouse_savidov_2007(key, plant, crop, span):
    # Kilograms a plant and year in the Alberta aquaponic glasshouse, times our plants: a bound.
    assert span(f"crop.{key}.yield_year")[1] <= plant * crop(key).plants[0, 0]


#: Crops to degrees Fahrenheit: least, best from, best to. Knott's Handbook for Vegetable Growers
#: (Maynard & Hochmuth 1997), table of monthly temperatures for best growth and quality.
KNOTT = {
    "lettuce": (45, 60, 65),
    "chard": (40, 60, 65),
    "kale": (40, 60, 65),
    "spinach": (40, 60, 65),
    "pak_choi": (45, 60, 65),
    "mustard_greens": (45, 60, 65),
    "beans": (50, 60, 70),
    "squash": (50, 65, 75),
    "cucumber": (60, 65, 75),
    "pepper": (65, 70, 75),
    "tomato": (65, 70, 75),
    "okra": (65, 70, 85),
}


@validation
@pytest.mark.parametrize("key", KNOTT)
def test_crops_grow_best_where_knott_says(key, crop):
    # Chinese cabbage stands for pak choi. Growth at the middle of the best band is within 10 % of
    # full, and there is growth at the least monthly mean.
    low, first, last = ((f - 32) / 1.8 for f in KNOTT[key])
    at = np.full((1, 12, 3), (first + last) / 2)
    assert crops.temperature_response(at, at, crop(key)).min() > 0.9
    cold = np.full((1, 12, 3), low)
    assert crops.temperature_response(cold, cold, crop(key)).min() > 0.0


# --- Nutrients -----------------------------------------------------------------------------


@calibration
@pytest.mark.parametrize(
    ("key", "tons", "printed"),
    [("lettuce", 15, (75, 35, 150)), ("kale", 10, (125, 30, 110))],
    ids=["lettuce", "kale"],
)
def test_uptake_of_greens_new_england(key, tons, printed, base):
    # New England Vegetable Management Guide, Table 4: pounds an acre of N, P2O5, K2O in the whole
    # crop; the rows were read from it. Field crops in leaner soil than ours in water: 33 %.
    elements = (1.0, PHOSPHORUS, POTASSIUM)
    for name, pounds, share in zip(
        ("nitrogen", "phosphorus", "potassium"), printed, elements, strict=True
    ):
        found = base(f"crop.{key}.{name}")
        assert found == pytest.approx(pounds * share / (tons * TON), rel=0.33), name


@calibration
def test_uptake_of_cucumber_new_england(base):
    # Same table, which set the rows: 100 to 200 N, 33 to 72 P2O5, 100 to 400 K2O pounds for 24
    # tons.
    spans = {"nitrogen": (100, 200), "phosphorus": (33, 72), "potassium": (100, 400)}
    shares = {"nitrogen": 1.0, "phosphorus": PHOSPHORUS, "potassium": POTASSIUM}
    for name, (low, high) in spans.items():
        found = base(f"crop.cucumber.{name}") * 24 * TON / shares[name]
        assert low <= found <= high, name


@calibration
@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("tomato.nitrogen", 2.5, 3.0),
        ("tomato.potassium", 3.0, 3.5),
        ("pepper.nitrogen", 3.0, 3.5),
        ("pepper.potassium", 5.0, 6.0),
    ],
)
def test_uptake_of_fruit_hegde_1997(name, low, high, base):
    # Hegde (1997), FFTC, kilograms a tonne of fruit, set these rows; culls and glasshouse crops
    # take more: 15 % beyond the printed span. Phosphorus (0.2 to 0.3 and 0.8 to 1.0) was read with
    # glasshouse crops beside it, and stands at 0.4 and 0.6.
    assert 0.85 * low <= base(f"crop.{name}") * 1000 <= 1.15 * high


@validation
@pytest.mark.parametrize(
    "key",
    ["lettuce", "chard", "kale", "pak_choi", "basil", "mustard_greens", "spinach", "amaranth"],
)
def test_nitrogen_of_leaves_is_that_of_their_protein_and_some_nitrate(key, base):
    # USDA SR28 protein over 6.25 is the edible part's nitrogen; leaves hold nitrate besides, and
    # the plant has roots and outer leaves: 0.8 to 1.6 times. Kale is lowest: SR28's kale is dry.
    foods = {r["key"]: r for r in table("food")}
    column = next(c for c in foods[key] if c.startswith("protein"))
    protein = float(foods[key][column]) / 100.0
    assert 0.8 <= base(f"crop.{key}.nitrogen") / (protein / 6.25) <= 1.6


@pytest.fixture
def fate(base):
    """Return the fate of feed's nitrogen at shipped rows, with changes."""

    def make(**changes):
        rules = {k: value(base(f"nutrients.{k}")) for k in ("solids_nitrogen", "gas")}
        fish = {
            k: value(base(f"species.tilapia.{k}"))
            for k in ("feed_protein", "body_nitrogen", "feed_conversion")
        }
        rules |= {k: value(x) for k, x in changes.items()}
        return SimpleNamespace(**rules), SimpleNamespace(**fish)

    return make


def lean_ratio(crop_rows, rules, species, margin):
    grown = crop_rows.yield_year * (1 - crop_rows.cull) / 12.0 * np.ones((1, 12))
    season = SimpleNamespace(growth=grown, inputs=crop_rows)
    left = balance.nitrogen_left(rules, species)
    return float(balance.feed_by_nitrogen({"x": season}, left, value(margin), 1.0)[0, 0])


@validation
def test_leafy_crops_with_solids_given_back_lennard_and_goddek_2019(crop, fate):
    # Ch. 5 of Aquaponics Food Production Systems: under 11 g/m2/day where solids are mineralised
    # and given back, so that neither solids nor gas is lost; no margin.
    rules, species = fate(solids_nitrogen=0.0, gas=0.0)
    for key in ("lettuce", "pak_choi", "chard"):
        assert 3 < lean_ratio(crop(key), rules, species, 1.0) < 11


@validation
def test_water_spinach_with_catfish_endut_2010(crop, fate):
    # 15 to 42 g/m2/day, as quoted by the same chapter: our nitrogen basis with its margin.
    assert 15 < lean_ratio(crop("water_spinach"), *fate(), 1.2) < 42


# --- Feed-rate ratio and beds --------------------------------------------------------------


@calibration
def test_rafts_and_channels_stand_as_rakocy_2007_prints(base):
    # Rafts 60 to 100 g/m2/day, channels a quarter of rafts: the bed factors were read from them.
    leafy, fruiting = base("crop.lettuce.feed_ratio"), base("crop.tomato.feed_ratio")
    assert base("bed.raft.ratio_factor") * leafy >= 60
    assert base("bed.raft.ratio_factor") * fruiting <= 100
    share = base("bed.channel.ratio_factor") / base("bed.raft.ratio_factor")
    assert share == pytest.approx(0.25, abs=0.01)


@validation
def test_gravel_beds_lie_within_published_areal_rates_of_feed(base):
    # UVI slides: rafts with romaine could treat 180 g of feed a square metre and day. Media beds
    # have more surface, fouled: ours bear more than the ratio asks and less than three times UVI.
    bed = SimpleNamespace(
        **{k: value(base(f"bed.media.{k}")) for k in ("surface", "depth", "media_share", "floods")}
    )
    names = ("areal_rate", "acidity", "theta", "single_pass", "allowed")
    rules = SimpleNamespace(**{k: value(base(f"nitrification.{k}")) for k in names})
    borne = nitrification.bed_capacity(rules, bed, 1.0, value(26.0), value(5.0))[0, 0]
    feed = borne * 1000 / (nitrification.TAN_PER_PROTEIN * 0.32)
    assert base("crop.lettuce.feed_ratio") < feed < 3 * 180


@identity
def test_weights_of_potassium_and_lime():
    # 39.10 g of potassium as hydroxide replace 50.04 g of calcium carbonate.
    assert pytest.approx(1.28, abs=0.005) == potassium.ALKALINITY_PER_POTASSIUM


@identity
def test_water_of_a_raft_trough(base):
    bed = SimpleNamespace(
        **{k: value(base(f"bed.raft.{k}")) for k in ("depth", "media_share", "wet_share")}
    )
    # 68.1 m3 on 214 m2 at UVI is 0.318 m: 3 %.
    assert beds.water_depth(bed)[0, 0] == pytest.approx(6 * 11.356 / 214, rel=0.03)
