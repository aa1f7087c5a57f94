"""Printed figures of fish, feed, ammonia, carbon dioxide and hatcheries that set no row.

`shipped` reads the rows as shipped, at base. Where a source gives no temperature, 28 degrees
of warm tanks is assumed and said.
"""

from types import SimpleNamespace

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.farm import air, fish, gases, hatchery, nitrification, oxygen
from sitefare.farm.parts import FarmDesignInputs

validation = pytest.mark.validation
calibration = pytest.mark.calibration
identity = pytest.mark.identity

KEYS = ("tilapia", "catfish", "carp", "trout")


def rows(library, prefix):
    found = {n: r for n, r in library.common.rows.items() if n.startswith(prefix + ".")}
    return SimpleNamespace(
        **{
            n[len(prefix) + 1 :]: value(r.base) if r.spec.kind == "quantity" else r.text
            for n, r in found.items()
        }
    )


@pytest.fixture(scope="module")
def shipped(library):
    kept = {key: rows(library, f"species.{key}") for key in KEYS}
    return kept | {k: rows(library, k) for k in ("nitrification", "oxygen", "hatchery")}


def days_between(species, water, begin, end):
    growth = fish.daily_growth(species, value(water))
    return float((np.cbrt(end) - np.cbrt(begin)) / growth[0, 0])


# Growth and feed


@calibration
def test_virgin_islands_growth_above_the_base(shipped):
    # UVI 2004: 79.2 to 813.8 g in 168 days at about 28 degC. It set the row (1.96 of 2.00): 3 %.
    assert days_between(shipped["tilapia"], 28, 79.2, 813.8) == pytest.approx(168, rel=0.03)


@validation
def test_tilapia_at_24_against_30_degrees_workagegn_2012(shipped):
    # Aquaria, 90 days from 4.19 g: 29.32 g at 24 degC, 51.15 g at 30. Growth of the cube root is
    # 0.70 to 1; degree-days from 0 would say 0.88, from 13 they say 0.72: 5 %.
    printed = (np.cbrt(29.32) - np.cbrt(4.19)) / (np.cbrt(51.15) - np.cbrt(4.19))
    cold, warm = (fish.daily_growth(shipped["tilapia"], value(t))[0, 0] for t in (24, 30))
    assert cold / warm == pytest.approx(printed, rel=0.05)


@validation
@pytest.mark.xfail(
    strict=True,
    raises=AssertionError,
    reason="Juveniles of 4 to 57 g in aquaria grew best at 32 degC; the rows take the 29.5 of "
    "larger fish and of the published surface, and fall above it",
)
def test_tilapia_at_32_degrees_workagegn_2012(shipped):
    # 57.24 g at 32 degC: 1.07 of the growth at 30.
    warm, hot = (fish.daily_growth(shipped["tilapia"], value(t))[0, 0] for t in (30, 32))
    assert hot / warm == pytest.approx(1.07, rel=0.10)


@validation
def test_tilapia_grow_best_at_26_and_30_azaza_2008(shipped):
    # Azaza, Dhraief & Kraiem 2008 (abstract seen): final weight at 26 and 30 degC above 22 and 34.
    grown = {t: fish.daily_growth(shipped["tilapia"], value(t))[0, 0] for t in (22, 26, 30, 34)}
    assert min(grown[26], grown[30]) > max(grown[22], grown[34])


@validation
def test_tilapia_from_23_to_32_degrees_al_asgah_1997(shipped):
    # Al-Asgah & Ali 1997 (abstract seen): growth rises to 29 degC and feed conversion falls;
    # 29 and 32 differ in neither by much. Conversion at 32 within 5 % of that at 29.
    species = shipped["tilapia"]
    water = np.array([[23.0, 26.0, 29.0]])
    assert np.all(np.diff(fish.daily_growth(species, water)) > 0)
    assert np.all(np.diff(fish.conversion(species, water)) < 0)
    hot = fish.conversion(species, value(32)) / fish.conversion(species, value(29))
    assert hot[0, 0] == pytest.approx(1.0, abs=0.05)


@validation
@pytest.mark.parametrize(("begin", "end", "days"), [(20, 50, 30), (50, 100, 30), (100, 250, 50)])
def test_tank_tilapia_stages_rakocy_1989(begin, end, days, shipped):
    # SRAC 282 stocking table (from memory; temperature not printed, 28 assumed): 15 %.
    assert days_between(shipped["tilapia"], 28, begin, end) == pytest.approx(days, rel=0.15)


@validation
@pytest.mark.xfail(
    strict=True,
    raises=AssertionError,
    reason="The table's last stage, 250 to 450 g in 70 days, is half as fast as the Virgin Islands "
    "farm's fish, which set the row; mixed sexes and no thermal coefficient in it",
)
def test_last_stage_of_tank_tilapia_rakocy_1989(shipped):
    assert days_between(shipped["tilapia"], 28, 250, 450) == pytest.approx(70, rel=0.15)


@validation
@pytest.mark.parametrize(("weight", "printed"), [(50, 0.04), (100, 0.035)])
def test_feeding_rate_of_tank_tilapia_rakocy_1989(weight, printed, shipped):
    # SRAC 282 (from memory): 4 % of weight a day at 50 g, 3.5 % at 100 g. 15 % of either: a table
    # in half per cents of weight, and what the fish leave is in it.
    found = fish.feeding_rate(shipped["tilapia"], value(28), value(weight))[0, 0]
    assert found == pytest.approx(printed, rel=0.15)


@validation
@pytest.mark.parametrize("weight", [20, 40, 60])
def test_feeding_rate_of_catfish_fingerlings_fao(weight, shipped):
    # FAO feed information system (seen): fingerlings eat 2 to 5 % of weight a day; 27 degC.
    assert 0.02 < fish.feeding_rate(shipped["catfish"], value(27), value(weight))[0, 0] < 0.05


@validation
def test_catfish_feed_well_only_above_21_degrees(shipped):
    # Extension guide for ponds (seen): best at 80-86 degF, irregular below 70, some at 50.
    catfish = shipped["catfish"]
    assert 26.7 <= catfish.temperature_high[0, 0] <= 30.0
    assert 10.0 < catfish.temperature_least[0, 0] < 21.1


@identity
@pytest.mark.parametrize(("water", "printed"), [(28, 1.99), (25, 2.55), (22, 3.73)])
def test_form_of_the_feed_conversion_surface_mengistu_2020(water, printed):
    # FCR = 32.4 + 0.003 SW - 0.029 CP - 0.102 DO - 1.99 T + 0.034 T2 at 10 g, 30 %, 5 mg/L is a
    # parabola about 29.3 degC of least 1.93: 0.034 ÷ 1.93 = 0.0176 per K2. Printed to 0.01: 1 %.
    least = 32.4 + 0.03 - 0.87 - 0.51 - 1.99**2 / (4 * 0.034)
    species = SimpleNamespace(
        temperature_high=value(1.99 / 0.068), conversion_rise=value(0.034 / least)
    )
    assert fish.conversion(species, value(water))[0, 0] * least == pytest.approx(printed, rel=0.01)


@calibration
@pytest.mark.parametrize("water", [22, 25, 28])
def test_feed_conversion_never_rises_more_than_in_ponds_mengistu_2020(water, shipped):
    # The row was read below it. The published surface is of ponds for the most part: an upper
    # bound on tanks.
    pond = {22: 3.73, 25: 2.55, 28: 1.99}[water] / 1.93
    assert 1.0 <= fish.conversion(shipped["tilapia"], value(water))[0, 0] <= pond


# Oxygen, ammonia, carbon dioxide


@validation
@pytest.mark.parametrize(
    ("elevation", "factor"), [(500, 1.06), (1000, 1.13), (1500, 1.20), (2000, 1.28)]
)
def test_oxygen_at_altitude_mortimer_1956(elevation, factor):
    # Saturation at sea level over that at altitude (from memory), printed to 0.01.
    low = oxygen.saturation(value(20), value(101.3))
    high = oxygen.saturation(value(20), air.pressure(value(elevation)))
    assert (low / high)[0, 0] == pytest.approx(factor, abs=0.01)


@identity
def test_carbon_dioxide_per_oxygen():
    # 44.01 ÷ 32.00, printed as 1.375 by Timmons & Ebeling.
    assert pytest.approx(44.01 / 32.00, rel=0.001) == gases.PER_OXYGEN


@validation
@pytest.mark.parametrize(
    ("temperature", "printed"), [(5, 6.52), (10, 6.46), (15, 6.42), (20, 6.38), (25, 6.35)]
)
def test_first_constant_of_carbonic_acid_stumm_and_morgan(temperature, printed):
    # Table of pK1 in fresh water (from memory), printed to 0.01.
    assert gases.first_constant(value(temperature))[0, 0] == pytest.approx(printed, abs=0.01)


@validation
@pytest.mark.parametrize(
    ("temperature", "factor"),
    [(5, 2.915), (10, 2.539), (15, 2.315), (20, 2.112), (25, 1.970), (30, 1.882)],
)
def test_carbon_dioxide_of_an_alkalinity_tucker_1984(temperature, factor):
    # Carbon dioxide over alkalinity at pH 6.0, as SRAC 468 reprints it (from memory): 2 %, the
    # source's constants being older. At pH 7.0 a tenth of it.
    for acidity, scale in ((6.0, 1.0), (7.0, 0.1)):
        held = gases.alkalinity_at(value(acidity), value(10), value(temperature))[0, 0]
        assert 10 / held == pytest.approx(factor * scale, rel=0.02)


@validation
def test_ammonia_removed_by_a_moving_bed_guerdat_2010(shipped):
    # 267 ± 123 g TAN per m3 of filter a day in a warm commercial farm; 28 degC and pH 7.2 assumed.
    rules = SimpleNamespace(**(vars(shipped["nitrification"]) | {"acidity": value(7.2)}))
    found = nitrification.filter_capacity(rules, 1.0, value(28), value(6))[0, 0] * 1000
    assert 267 - 123 < found < 267 + 123


@validation
def test_no_surface_is_faster_than_the_fastest_printed_rusten_2006(shipped):
    # 1.0 g/m2/day at most at 15 degC in moving beds; 0.3 in a trout farm at 9 degC, of which gravel
    # in use, fouled, is to give at least half at the same pH of 7.3.
    rules = SimpleNamespace(**(vars(shipped["nitrification"]) | {"acidity": value(7.3)}))
    warm, cold = (nitrification.surface_rate(rules, value(t), value(8))[0, 0] for t in (15, 9))
    assert warm < 1.0
    assert 0.15 < cold < 0.3 * 1.2


@calibration
def test_acidity_halves_the_rate_rusten_2006():
    low, high = (nitrification.acidity_factor(value(x))[0, 0] for x in (6.7, 7.3))
    assert low / high == pytest.approx(0.5)


@validation
def test_ammonia_that_stays_in_the_virgin_islands_tanks(shipped):
    # 0.515 kg TAN a day over 379 L/min at half removed a pass: 1.9 mg/L. Means near 2 mg/L are
    # recalled of that farm (from memory); FAO 589 bears 2: inside 1 to 2.5.
    flow = 379 * 1.44
    found = nitrification.level(shipped["nitrification"], value(0.515), value(5.0), flow)[0, 0]
    assert 1.0 < found < 2.5


# Hatchery


@validation
def test_fry_of_caged_brood_fish_guerrero_1979(library):
    # 0.9 m3 net cages, ten brood fish of about 112 g at three females to a male, 1,320 fry a month
    # (Biology and Culture of Tilapias, seen): 52 fry per kg of female a day, in the row's range.
    row = library.common.rows["hatchery.fry"]
    females = 10 * 0.75 * 0.112
    assert row.low < 1320 / 30 / females < row.high


@identity
def test_three_females_to_a_male_make_a_third_more_brood_fish(shipped):
    rules = shipped["hatchery"]
    one = hatchery.brood_weight(rules, rules.survival * rules.fry)
    assert one[0, 0] == pytest.approx(1.0 + 1.0 / 3.0)


def test_harvest_and_fingerlings_are_choices():
    # No hormone is among them.
    options = {
        name: FarmDesignInputs.__dataclass_fields__[name].metadata["spec"].options
        for name in ("fingerlings", "harvest")
    }
    assert options == {
        "fingerlings": ("bought", "own_hatchery"),
        "harvest": ("whole_tank", "graded"),
    }
