"""Field water by FAO-56, effective rain, leaching, salt and crops, ponds: held against print.

Sources: FAO-56 (Allen et al. 1998), FAO-29 (Ayers & Westcot 1985), FAO-24 (Doorenbos & Pruitt
1977), USDA SCS Technical Release 21 (1970), Maas (1990), Barbosa et al. (2015), Mekonnen &
Hoekstra (2011), Sharma et al. (2013), FAO Training Manual 3 (Brouwer & Heibloem 1986), FAO 589.
Each says how well it is known.
"""

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.arrays import value
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build
from sitefare.farm import (
    air,
    alternative,
    evapotranspiration,
    field,
    salinity,
    sun,
    treatment,
    water,
)
from sitefare.farm.crops import CropInputs
from sitefare.farm.field import Cardinals, FieldCropInputs, FieldInputs, FieldWeather
from sitefare.farm.flows import sizes_of
from sitefare.farm.parts import parts_of
from sitefare.farm.season import season_of
from sitefare.questions import gates

validation = pytest.mark.validation
identity = pytest.mark.identity
calibration = pytest.mark.calibration

SITES = ("qasr_adhra", "kaldre", "norhaven", "port_anui")


@pytest.fixture(scope="module")
def shipped(plan):
    return base_values(plan("qasr_adhra").case)


def tolerance(values, key):
    return build(salinity.SaltToleranceInputs, values, key)


def field_crop(values, key):
    return build(FieldCropInputs, values, key)


def last_year(flow):
    return float(flow[0, -12:].sum())


# ---- FAO-56: crop coefficients


@validation
@pytest.mark.parametrize(("wind", "driest", "expected"), [(1.3, 75, 1.07), (4.6, 44, 1.30)])
def test_middle_coefficient_of_maize_fao56_example_27(wind, driest, expected):
    # Taipei and Mocha, maize 2 m high with Kc mid 1.20; from memory, printed to 0.01.
    found = 1.20 + field.middle_adjustment(value(wind), value(driest), value(2.0))
    assert found[0, 0] == pytest.approx(expected, abs=0.005)


@validation
def test_coefficient_curve_of_dry_beans_fao56_example_28():
    # 25/25/30/20 days, 0.40, 1.15, 0.35 on days 20, 40, 70, 95; from memory, printed to 0.01.
    weights = field.stage_weights(np.array([20.0, 40.0, 70.0, 95.0]), (25.0, 25.0, 30.0, 20.0))
    found = 0.40 * weights[0] + 1.15 * weights[1] + 0.35 * weights[2]
    assert found == pytest.approx([0.40, 0.85, 1.15, 0.55], abs=0.005)


@calibration
@pytest.mark.parametrize(
    ("key", "coefficients", "days"),
    [
        ("lettuce", (0.7, 1.0, 0.95), (20, 30, 15, 10)),
        ("tomato", (0.6, 1.15, 0.8), (30, 40, 45, 30)),
        ("cucumber", (0.6, 1.0, 0.75), (20, 30, 40, 15)),
        ("squash", (0.5, 0.95, 0.75), (25, 35, 25, 15)),
        ("pepper", (0.6, 1.05, 0.9), (30, 35, 40, 20)),
    ],
)
def test_rows_are_those_of_fao56_tables_11_and_12(shipped, key, coefficients, days):
    crop = field_crop(shipped, key)
    kc = (crop.kc_initial, crop.kc_middle, crop.kc_end)
    length = (crop.initial_days, crop.growing_days, crop.middle_days, crop.late_days)
    assert [x[0, 0] for x in kc] == pytest.approx(coefficients)
    assert [x[0, 0] for x in length] == pytest.approx(days)


@pytest.fixture(scope="module")
def outdoors(plan):
    """A site's typical year in the open, and its farm's inputs."""

    def at(site):
        made = plan(site)
        parts = parts_of(base_values(made.case))
        return parts, alternative.field_weather(parts, season_of(parts, sizes_of(made.design)))

    return at


def feasible(values, parts, weather, key):
    """Crop water of seasons planted in months that suit. [mm]"""
    crop, made = field_crop(values, key), build(CropInputs, values, key)
    cardinals = Cardinals(
        made.lethal_low, made.temperature_least, made.temperature_low, made.temperature_high,
        made.temperature_most, parts.production.least_response,
    )  # fmt: skip
    numbers, days, _ = field.calendar(field._stages(crop))
    suits = (field.suited(weather, cardinals)[:, numbers] | (days == 0)).all(axis=2)
    asked, _ = field.season_water(parts.field, crop, weather)
    return asked[suits]


@validation
@pytest.mark.parametrize(
    ("key", "low", "high"),
    [("tomato", 400, 800), ("beans", 300, 500), ("pepper", 600, 900)],
)
def test_seasonal_crop_water_training_manual_3(shipped, outdoors, key, low, high):
    """Indicative seasonal needs, FAO Training Manual 3 Table 14, from memory; one table.

    The manual's ranges run from cool to hot climates, so that the mean season of the four
    places together must lie inside. The manual's pepper stands 120 to 210 days, ours 125: its
    low side is taken in that share of the middle, 165 days.
    """
    shorter = {"pepper": 125 / 165}.get(key, 1.0)
    found = [feasible(shipped, *outdoors(site), key) for site in SITES]
    mean = np.mean([x.mean() for x in found if x.size])
    assert low * shorter < mean < high


@validation
@pytest.mark.parametrize(
    ("key", "expected"), [("lettuce", 161), ("tomato", 171), ("cucumber", 248), ("pepper", 282)]
)
def test_crop_water_a_kilogram_against_the_world_mean(shipped, outdoors, key, expected):
    """Green and blue water footprint, Mekonnen & Hoekstra (2011) App. II, from memory; one table.

    World means weigh all fields and yields: the mean of four places must come within a factor
    of 2 (lettuce here takes two thirds, on the warmer half of a world with half our yields).
    """
    grown = field_crop(shipped, key).yield_season[0, 0]
    found = [feasible(shipped, *outdoors(site), key) / grown for site in SITES]
    mean = np.mean([x.mean() for x in found if x.size])
    assert expected / 2 < mean < expected * 2


# ---- effective rain


#: Monthly rain [mm] and crop water [mm] to effective rain [mm]; FAO-24 Table 34 and FAO-25, after
#: the Soil Conservation Service; recalled.
RAIN = (12.5, 25, 37.5, 50, 62.5, 75, 87.5, 100, 112.5, 125, 137.5, 150, 162.5, 175, 187.5, 200)
EFFECTIVE = {
    25: (8, 16, 24),
    50: (8, 17, 25, 32, 39, 46),
    75: (9, 18, 27, 34, 41, 48, 56, 62, 69),
    100: (9, 19, 28, 35, 43, 52, 59, 66, 73, 80, 87, 94, 100),
    150: (10, 21, 31, 39, 49, 57, 66, 74, 81, 89, 97, 104, 112, 119, 127, 133),
    200: (11, 24, 33, 44, 54, 64, 73, 82, 91, 100, 109, 117, 125, 134, 142, 150),
    250: (13, 25, 38, 50, 61, 72, 84, 92, 102, 112, 121, 132, 140, 150, 158, 167),
}


@validation
@pytest.mark.parametrize("asked", EFFECTIVE)
def test_effective_rain_scs_table(asked):
    # The table was read from curves and prints whole millimetres: 3 mm.
    expected = EFFECTIVE[asked]
    rain = np.array([RAIN[: len(expected)]], dtype=float)
    found = field.effective_rain(rain, value(asked), value(75.0))[0]
    assert found == pytest.approx(expected, abs=3.0)


@validation
def test_storage_factors_scs_table():
    # Printed beside the table, to 0.01; the fitted cubic strays by 0.015 up to 175 mm.
    stored = (20, 25, 37.5, 50, 62.5, 75, 100, 125, 150, 175, 200)
    printed = (0.73, 0.77, 0.86, 0.93, 0.97, 1.00, 1.02, 1.04, 1.06, 1.07, 1.08)
    found = [field.storage_factor(value(x))[0, 0] for x in stored]
    assert found == pytest.approx(printed, abs=0.015)


# ---- leaching and salt


@validation
def test_leaching_requirement_of_maize_fao29_example_2():
    # ECw 1.2; ECe 2.5 for 90 % and 1.7 for all the yield: 0.10 and 0.16; 800 mm asks 890 mm.
    # From memory; the paper cuts 0.106 to 0.10: 0.01.
    part = field.leaching_requirement(value(1.2), value(2.5))[0, 0]
    assert part == pytest.approx(0.10, abs=0.01)
    assert field.leaching_requirement(value(1.2), value(1.7))[0, 0] == pytest.approx(
        0.16, abs=0.005
    )
    assert 800 / (1 - part) == pytest.approx(890, rel=0.01)


@validation
def test_paste_is_one_and_a_half_times_as_salty_as_water_that_leaches_a_sixth():
    # FAO-29 s.2.4: ECe = 1.5 ECw at a leaching fraction of 15 to 20 %. From memory.
    assert 0.15 <= field.leaching_requirement(value(1.0), value(1.5))[0, 0] <= 0.20


@validation
def test_alfalfa_maas_and_hoffman():
    # FAO-61 annex 1 after Maas (1990): 7.3 % above 2.0 dS/m leaves about 75 % at 5.4. From memory.
    found = salinity.relative_yield(value(5.4), value(2.0), value(0.073))
    assert found[0, 0] == pytest.approx(0.75, abs=0.005)


@validation
@pytest.mark.parametrize(
    ("key", "at"),
    [
        ("lettuce", (2.1, 3.2, 5.1, 9.0)),
        ("cucumber", (3.3, 4.4, 6.3, 10.0)),
        ("tomato", (3.5, 5.0, 7.6, 13.0)),
        ("spinach", (3.3, 5.3, 8.6, 15.0)),
        ("beans", (1.5, 2.3, 3.6, 6.3)),
        ("pepper", (2.2, 3.3, 5.1, 8.6)),
        ("squash", (3.8, 4.8, 6.3, 9.4)),
    ],
)
def test_yield_potential_fao29_table_4(shipped, key, at):
    # Conductivity at 90, 75, 50 and 0 % of the yield, two digits, from memory; slopes are of
    # Maas (1990), rounded anew since: 4 % of the yield.
    crop = tolerance(shipped, key)
    found = [salinity.relative_yield(value(x), crop.threshold, crop.slope)[0, 0] for x in at]
    assert found == pytest.approx([0.90, 0.75, 0.50, 0.0], abs=0.04)


@validation
@pytest.mark.parametrize(
    ("key", "threshold", "slope"),
    [("lettuce", 10, 1.3), ("tomato", 25, 1.0), ("pepper", 15, 1.4), ("cucumber", 25, 1.3),
     ("beans", 10, 1.9), ("spinach", 20, 0.8)],
)  # fmt: skip
def test_chloride_tolerance_follows_conductivity(shipped, key, threshold, slope):
    # Maas (1990): chloride threshold [mol/m3] and slope [% per mol/m3]; from memory. Lettuce is
    # 10 where ten times its conductivity is 13: 30 % there, as the table rounds.
    crop = tolerance(shipped, key)
    at = crop.threshold[0, 0] * salinity.CHLORIDE_PER_CONDUCTIVITY / 35.45
    assert at == pytest.approx(threshold, rel=0.31)
    assert 100 * crop.slope[0, 0] / 10 == pytest.approx(slope, abs=0.06)


@validation
def test_salt_conducts_as_the_rule_says():
    # 10 mol/m3 of sodium chloride conducts 1.185 dS/m (molar conductivity 118.45 S cm2/mol at
    # 0.01 M, CRC Handbook, from memory); the rule of ten is 16 % cautious: 20 %.
    found = salinity.felt_conductivity(value(0.0), value(229.9), value(354.5))[0, 0]
    assert found == pytest.approx(1.185, rel=0.20)


@identity
def test_salts_concentrate_nine_times():
    # 4 L/m2 a day to the air and 0.5 let go; a leaching fraction f concentrates 1/f times.
    assert water.concentration_factor(value(4.0), value(0.5))[0, 0] == pytest.approx(9.0)
    assert water.salt_discharge(value(4), value(1), value(9), value(0))[0, 0] == pytest.approx(0.5)


# ---- water of published farms, fields and ponds


def yuma():
    """Normals of Yuma, Arizona, recalled and rounded: 2,160 mm a year of reference water."""
    mean = np.array([[13.5, 15.8, 18.8, 22.4, 26.9, 31.6, 34.4, 34.2, 31.2, 24.9, 18.0, 13.2]])
    half = np.array([[7, 7.2, 7.8, 8, 8.2, 8.5, 7, 6.8, 7.5, 8, 7.5, 7.0]])
    sun_in = np.array([[12.2, 15.6, 20.3, 25, 28.3, 29.6, 27.2, 25.3, 21.9, 17.6, 13.4, 11.2]])
    damp = np.array([[0.48, 0.43, 0.38, 0.32, 0.30, 0.28, 0.37, 0.42, 0.40, 0.40, 0.44, 0.49]])
    rain = np.array([[10, 7, 7, 2, 1, 0, 6, 14, 7, 7, 5, 10.0]])
    high, low = mean + half, mean - half
    saturated = air.mean_saturation(high, low)
    vapour = damp * saturated
    top = sun.extraterrestrial(np.radians(32.7), sun.MONTH_DAY)
    share = sun_in / evapotranspiration.clear_sky(top, value(60.0))
    net = 0.77 * sun_in - evapotranspiration.net_longwave(high, low, vapour, share)
    wind = evapotranspiration.wind_at_two_metres(np.full((1, 12), 3.4))
    gamma = air.psychrometric_constant(air.pressure(value(60.0)))
    reference = evapotranspiration.reference(net, value(0), mean, wind, saturated, vapour, gamma)
    driest = 100.0 * vapour / air.saturation_pressure(high)
    return FieldWeather(reference, rain, mean, low, high, wind, driest)


def yuma_litres(shipped):
    """Litres a kilogram of lettuce planted in September to January, at the printed 3.9 kg/m2."""
    rules = build(FieldInputs, shipped)
    _, net = field.season_water(rules, field_crop(shipped, "lettuce"), yuma())
    part = field._gross(rules, value(1.1), tolerance(shipped, "lettuce").threshold)
    return float((net / part / 3.9)[0, [8, 9, 10, 11, 0]].mean())


@validation
@pytest.mark.xfail(
    strict=True,
    raises=AssertionError,
    reason="growers at Yuma apply twice what FAO-56 asks; see below",
)
def test_field_lettuce_at_yuma_barbosa_2015(shipped):
    """250 +/- 25 L/kg printed (Barbosa et al. 2015, abstract); the model asks about 100.

    Seen in the abstract. At 3.9 kg/m2 the printed figure is 975 mm a crop, where FAO-56 asks 200
    to 450 mm at 60 % efficiency: crop budgets hold water to germinate under sprinklers, to
    leach before planting and for other uses. The model leaves these out, so that it never
    claims more water saved than crop water and method explain.
    """
    assert yuma_litres(shipped) == pytest.approx(250, abs=25)


def test_field_lettuce_at_yuma_takes_several_times_a_closed_house(shipped):
    # No check of its own, the one above is: by FAO-56 alone the field's crop water is more than the
    # 20 +/- 3.8 L/kg of the same source's closed house, and no more than its printed field.
    assert 23.8 < yuma_litres(shipped) < 275


@identity
def test_saving_of_closed_lettuce_is_that_of_the_two_figures():
    # 20 against 250 L/kg is 92 % (Barbosa et al. 2015): the reasonableness band's top.
    alone = alternative.FieldAlternative(
        {"lettuce": value(250.0)}, {"lettuce": value(0.26)}, {"lettuce": value(5.0)}, value(np.nan),
    )  # fmt: skip
    found = alternative.compared(alone, {"lettuce": value(1000.0)}, value(0.0), value(20.0), 24.0)
    assert found.saved[0, 0] == pytest.approx(0.92, abs=0.001)
    assert found.land_saved[0, 0] == pytest.approx(236.0)


@calibration
def test_carp_ponds_of_sharma_2013(shipped):
    """10.3 m3 a kilogram printed, 7.6 of it evaporation and seepage (abstract, seen).

    1,498 mm and 1,183 mm a year make the yield 0.353 kg/m2; the model's one filling of 1.2 m
    stands for water exchanged: 10 %.
    """
    rules = build(FieldInputs, {
        **shipped, "field.pond_seepage": value(1182.6 / 365), "field.pond_fillings": value(1.0),
        "field.pond_yield": value((1.4983 + 1.1826) / 7.6),
    })  # fmt: skip
    each, zero = np.full((1, 12), 1498.3 / 365), np.zeros((1, 12))
    warm = np.full((1, 12), 26.0)
    weather = FieldWeather(each, zero, warm, warm, warm, zero, zero)
    litres, _ = field.pond(rules, weather, value(1.0), (value(10.0), value(40.0)))
    assert litres[0, 0] / 1000 == pytest.approx(10.3, rel=0.10)


@validation
@pytest.mark.parametrize("site", SITES)
def test_demo_farms_take_water_within_the_published_day_rates(plan, site):
    # FAO 589 s.3.4: 1 to 3 % of the volume a day (quoted by another document), Al-Hafedh 1.4,
    # Love 1.0. Water over pads is no part of those farms and is left out; rain counts.
    found = appraise(plan(site))
    flows = found.flows
    pads = flows.water_uses_m3["pads"] + flows.water_uses_m3["pad_bleed"]
    taken = last_year(flows.water_makeup_m3 + flows.rain_m3 - pads)
    assert 1.0 <= 100 * taken / 365 / found.design.water_volume <= 3.0


@calibration
def test_irrigation_efficiencies_are_those_of_training_manual_4(shipped):
    rules = build(FieldInputs, shipped)
    found = (rules.surface_efficiency, rules.sprinkler_efficiency, rules.drip_efficiency)
    assert [x[0, 0] for x in found] == pytest.approx([0.60, 0.75, 0.90])


# ---- source water, FAO 589


@identity
def test_too_salty_is_said_alike_of_farms_and_of_sites():
    assert treatment.SALTY == gates.SALTY


@calibration
def test_alkalinity_kept_is_near_fao589s_band(shipped):
    # 60 to 140 mg/L as calcium carbonate (s.3.3, quoted by another document); the acid starts at
    # the upper end: 10 %.
    kept = build(treatment.TreatmentInputs, shipped).alkalinity_most[0, 0]
    assert kept == pytest.approx(140, rel=0.10)


@identity
def test_calcium_in_its_carbonate():
    assert pytest.approx(40.04 / 100, abs=0.0005) == treatment.CALCIUM_IN_CARBONATE
