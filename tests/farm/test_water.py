"""Water closes, salt costs water or crop, and a field stands beside the farm."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitefare.appraisal import appraise, sampled_values
from sitefare.arrays import value
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build
from sitefare.errors import DesignError
from sitefare.farm import alternative, salinity, treatment, water
from sitefare.farm.parts import parts_of
from sitefare.farm.water import Demand, SourceWaterInputs, WaterInputs
from sitefare.money.project import ProjectInputs, full_year_mean

SITES = ("qasr_adhra", "kaldre", "norhaven", "port_anui")
MONTHS = np.ones((1, 25))


def year(flow):
    return float(np.broadcast_to(flow, (1, flow.shape[1]))[0, -12:].sum())


def total(flow):
    return float(np.sum(flow))


@pytest.fixture(scope="module")
def shipped(plan):
    return base_values(plan("qasr_adhra").case)


def rules_of(values, **changes):
    return build(WaterInputs, values | {f"water.{k}": value(x) for k, x in changes.items()})


def source_of(values, **changes):
    named = {f"source_water.{k}": value(x) for k, x in changes.items()}
    return build(SourceWaterInputs, values | named)


def demand(air=40.0, drained=12.0, fell=0.0):
    zero = 0.0 * MONTHS
    return Demand(
        transpired=0.8 * air * MONTHS, evaporated=0.2 * air * MONTHS, pads=zero, bleed=zero,
        leak=0.5 * drained * MONTHS, sludge=0.5 * drained * MONTHS, filling=zero,
        fell=fell * MONTHS,
    )  # fmt: skip


def salts_of(values, source, asked, rain=0.0, feed=200.0, limit=1.3, volume=200.0):
    return salinity.salts(
        build(WaterInputs, values), source, value(limit), volume, asked, rain * MONTHS,
        feed * MONTHS, 30.0 * MONTHS,
    )  # fmt: skip


@pytest.mark.parametrize("site", SITES)
def test_every_cubic_metre_has_a_use(plan, site):
    made = plan(site)
    for values in (base_values(made.case), sampled_values(made, 16, 4)):
        flows = appraise(made, values).flows
        uses = sum(flows.water_uses_m3.values())
        taken = flows.water_makeup_m3 + flows.rain_m3
        assert taken == pytest.approx(np.broadcast_to(uses, taken.shape), rel=1e-9, abs=1e-9)
        assert all(np.all(x >= -1e-12) for x in flows.water_uses_m3.values())
        assert np.all(flows.water_makeup_m3 >= -1e-9)


def test_salt_in_is_salt_out_and_salt_kept(shipped):
    source, asked = source_of(shipped, chloride=60.0), demand()
    found = salts_of(shipped, source, asked, rain=10.0)
    rules = build(WaterInputs, shipped)
    added = 200.0 * rules.feed_sodium[0, 0] * 1000.0 * salinity.CHLORIDE_PER_SODIUM
    before = np.concatenate([[60.0], found.chloride[0, :-1]])
    given = 60.0 * (40.0 + found.leaving[0] - 10.0) + added
    kept = 200.0 * (found.chloride[0] - before)
    assert given - found.leaving[0] * found.chloride[0] == pytest.approx(kept, abs=1e-6)


def test_salts_settle_at_the_concentration_factor(shipped):
    # No feed and no limit near: (40 + 5) / 5 = 9 times the source.
    source = source_of(shipped, conductivity=0.05, sodium=1.0, chloride=1.0)
    long = np.ones((1, 1500))
    asked = Demand(*(x * long for x in (40.0, 0.0, 0.0, 0.0, 2.5, 2.5, 0.0, 0.0)))
    found = salinity.salts(
        build(WaterInputs, shipped), source, value(5.0), 100.0, asked, 0 * long, 0 * long, 30 * long
    )
    expected = 0.05 * water.concentration_factor(value(40.0), value(5.0))[0, 0]
    assert found.conductivity[0, -1] == pytest.approx(expected, rel=1e-6)


@settings(deadline=None, max_examples=60)
@given(
    salt=st.floats(0.05, 3.0), more=st.floats(0.0, 2.0), sodium=st.floats(0, 250),
    feed=st.floats(0, 900), rain=st.floats(0, 60), volume=st.floats(20, 900),
)  # fmt: skip
def test_saltier_source_never_needs_less_and_never_leaves_less(
    shipped, salt, more, sodium, feed, rain, volume
):
    asked = demand()
    first, second = (
        salts_of(shipped, source_of(shipped, conductivity=x, sodium=sodium), asked, rain, feed,
                 volume=volume)
        for x in (salt, salt + more)
    )  # fmt: skip
    assert np.all(np.cumsum(second.leaving, axis=1) >= np.cumsum(first.leaving, axis=1) - 1e-6)
    assert np.all(second.conductivity >= np.minimum(first.conductivity, 1.3) - 1e-9)


@settings(deadline=None, max_examples=60)
@given(rain=st.floats(0, 80), more=st.floats(0, 60), salt=st.floats(0.05, 1.2))
def test_more_rain_never_asks_more_make_up(shipped, rain, more, salt):
    taken = []
    for fallen in (rain, rain + more):
        asked = demand(fell=fallen)
        found = salts_of(shipped, source_of(shipped, conductivity=salt), asked, rain=fallen)
        used = water.water_flows(
            build(WaterInputs, shipped), asked, 300.0 * MONTHS, found.leaving, fallen * MONTHS
        )
        taken.append(total(used.makeup))
        assert np.all(used.makeup >= -1e-9)
    assert taken[1] <= taken[0] + 1e-6


@settings(deadline=None, max_examples=80)
@given(
    catch=st.lists(st.floats(0, 50), min_size=24, max_size=24),
    need=st.floats(0, 60), tank=st.floats(0, 30), fills=st.floats(0.5, 8), more=st.floats(0, 20),
)  # fmt: skip
def test_a_rain_tank_gives_no_more_than_falls_and_more_rain_gives_no_less(
    catch, need, tank, fills, more
):
    caught, asked = np.array([catch]), np.full((1, 24), need)
    used = water.rain_used(caught, asked, tank, value(fills))
    wetter = water.rain_used(caught + more, asked, tank, value(fills))
    assert np.all(np.cumsum(used) <= np.cumsum(caught) + 1e-9)
    assert np.all(used <= asked + 1e-9)
    assert wetter.sum() >= used.sum() - 1e-9


def test_a_rain_tank_carries_over_a_dry_month():
    # 30 fall, 10 are asked each month, 15 can be held: two months are served, then half of one.
    caught = np.array([[30.0, 0.0, 0.0, 0.0]])
    used = water.rain_used(caught, np.full((1, 4), 10.0), 15.0, value(4.0))
    assert used[0] == pytest.approx([10.0, 10.0, 5.0, 0.0])


@settings(deadline=None, max_examples=60)
@given(felt=st.floats(0, 12), more=st.floats(0, 6), error=st.floats(0.5, 2.0))
def test_more_salt_never_grows_more(shipped, felt, more, error):
    keys = ("lettuce", "tomato", "beans")
    table = {k: build(salinity.SaltToleranceInputs, shipped, k) for k in keys}
    rules = salinity.SalinityInputs(threshold_error=value(error))
    first, second = (salinity.kept(rules, table, value(x)) for x in (felt, felt + more))
    assert all(second[k][0, 0] <= first[k][0, 0] for k in keys)
    assert all(0.0 <= x[0, 0] <= 1.0 for x in first.values())


def test_a_source_too_salty_for_what_the_site_can_let_go_costs_crop(plan):
    made = plan("qasr_adhra")
    values = base_values(made.case)
    salty = appraise(made, values | {"source_water.conductivity": value(2.0)})
    sweet = appraise(made, values | {"source_water.conductivity": value(0.3)})
    base = appraise(made)
    crop, taken = "vegetables_marketable_kg_year", "water_makeup_m3_year"
    assert salty.indicators[crop] < 0.98 * base.indicators[crop]
    assert sweet.indicators[crop] == pytest.approx(base.indicators[crop], rel=1e-9)
    assert sweet.indicators[taken] < base.indicators[taken] < salty.indicators[taken]
    assert salty.flows.salts.conductivity[0, -1] > 1.3
    assert any("of its yield" in note for note in salty.flows.notes)
    assert any("generally too salty" in note for note in salty.flows.notes)


def test_thresholds_lower_than_held_cost_crop_and_no_water(plan):
    made = plan("qasr_adhra")
    tender = base_values(made.case) | {"salinity.threshold_error": value(0.7)}
    found, base = appraise(made, tender), appraise(made)
    crop, used = "vegetables_marketable_kg_year", "discharge"
    assert found.indicators[crop] < base.indicators[crop]
    assert year(found.flows.water_uses_m3[used]) >= year(base.flows.water_uses_m3[used]) - 1e-6


def test_chloride_that_the_farm_cannot_bear_is_refused(plan):
    with pytest.raises(DesignError, match="mg/L chloride passes what the farm bears"):
        plan("qasr_adhra", "as_planned", "source_water.chloride=240")


def test_pads_let_go_by_cycles_of_concentration(shipped):
    # 3 over 1 dS/m is three cycles: half of what evaporates.
    rules, source = rules_of(shipped, pad_salt=3.0), source_of(shipped, conductivity=1.0)
    assert water.pad_bleed(rules, source, value(10.0))[0, 0] == pytest.approx(5.0)


@pytest.mark.parametrize("rule", ["by_use", "by_mass", "all_to_crops"])
def test_water_laid_to_crops_and_fish_is_all_of_it(shipped, rule):
    rules = build(WaterInputs, shipped | {"water.allocation": rule})
    keys = ("transpiration", "evaporation", "pads", "pad_bleed", "product", "wash", "leaks",
            "sludge", "discharge", "rain_overflow")  # fmt: skip
    uses = {key: value(i + 1.0) for i, key in enumerate(keys)}
    crops, fish = water.allocated(rules, uses, value(900.0), value(100.0))
    assert crops[0, 0] + fish[0, 0] == pytest.approx(55.0)
    if rule == "by_mass":
        assert fish[0, 0] == pytest.approx(5.5)
    if rule == "all_to_crops":
        assert fish[0, 0] == 0.0


def test_kilograms_times_litres_are_all_the_water(plan):
    found = appraise(plan("kaldre")).indicators
    litres = (
        found["litres_per_kg_crop"] * found["vegetables_marketable_kg_year"]
        + found["litres_per_kg_fish"] * found["fish_live_kg_year"]
    )
    assert litres / 1000.0 == pytest.approx(found["water_makeup_m3_year"], rel=1e-9)


# ---- the source's own needs


@pytest.mark.parametrize(
    ("row", "low", "high", "dose", "grows"),
    [
        ("hardness", 10.0, 600.0, "calcium", False),
        ("iron", 0.0, 3.0, "iron", False),
        ("chlorine", 0.0, 2.0, "thiosulfate", True),
        ("alkalinity", 40.0, 900.0, "acid", True),
        ("alkalinity", 40.0, 400.0, "alkalinity", False),
    ],
)
def test_each_fact_of_the_source_does_something(plan, row, low, high, dose, grows):
    # Over the whole life: acid is asked before the first fish, while no bacteria take alkalinity.
    made = plan("norhaven")
    values = base_values(made.case)
    ends = [
        total(appraise(made, values | {f"source_water.{row}": value(x)}).flows.dosing_kg[dose])
        for x in (low, high)
    ]
    assert (ends[1] > ends[0]) if grows else (ends[1] < ends[0])


def test_nitrate_of_the_source_asks_more_exchange_where_fish_outrun_plants(plan):
    made = plan("norhaven")
    values = base_values(made.case)
    ends = [
        appraise(made, values | {"source_water.nitrate": value(x)}).indicators[
            "water_makeup_m3_year"
        ][0, 0]
        for x in (0.0, 50.0)
    ]
    assert ends[1] > ends[0]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"conductivity": 1.8}, "generally too salty"),
        ({"acidity": 9.0}, "lies outside 6 to 8.5"),
        ({"iron": 4.0}, "clogs gills"),
        ({"chlorine": 1.0}, "kills fish"),
    ],
    ids=["salt", "acidity", "iron", "chlorine"],
)
def test_a_source_that_asks_for_care_says_so(shipped, changes, words):
    assert any(words in said for said in treatment.cautions(source_of(shipped, **changes)))
    assert treatment.cautions(source_of(shipped)) == []


# ---- the field beside the farm


def field_of(made, **changes):
    named = {
        f"{k.replace('__', '.')}": x if isinstance(x, str) else value(x) for k, x in changes.items()
    }
    return appraise(made, base_values(made.case) | named)


def test_field_water_goes_the_way_it_should(plan):
    made = plan("qasr_adhra")
    base = field_of(made).indicators["field_water_m3_year"][0, 0]
    less = {"field__method": "drip", "field__planting": "best_month", "field__yield_level": 1.5,
            "field__kc_error": 0.85, "field__efficiency_level": 1.2,
            "field__soil_water": 120.0}  # fmt: skip
    for name, x in less.items():
        assert field_of(made, **{name: x}).indicators["field_water_m3_year"][0, 0] < base, name
    salty = field_of(made, source_water__conductivity=2.4, field__method="drip")
    drip = field_of(made, field__method="drip")
    lettuce = (x.flows.field.litres_per_kg["lettuce"][0, 0] for x in (salty, drip))
    assert next(lettuce) > next(lettuce)


def test_drier_places_ask_a_field_for_more_of_the_same_crop(plan):
    litres = {
        site: appraise(plan(site)).flows.field.litres_per_kg["chard"][0, 0]
        for site in ("qasr_adhra", "norhaven", "port_anui")
    }
    assert litres["qasr_adhra"] > litres["norhaven"] > litres["port_anui"]


def test_a_crop_with_no_season_has_no_field_and_says_so(plan):
    made = plan("kaldre", "as_planned", "plan.okra.share=0.1", "plan.lettuce.share=0.1")
    found = appraise(made)
    assert np.isnan(found.flows.field.litres_per_kg["okra"][0, 0])
    assert any("no season out of doors" in note for note in found.flows.notes)
    assert np.isfinite(found.indicators["water_saved_share"][0, 0])


def test_no_crop_with_a_season_is_no_answer_with_a_reason(plan):
    made = plan("kaldre")
    frozen = base_values(made.case)
    frozen["climate.temperature"] = frozen["climate.temperature"] - 22.0
    found = appraise(made, frozen)
    assert np.isnan(found.indicators["water_saved_share"][0, 0])
    assert "no crop of the plan" in found.reasons["water_saved_share"]
    assert "no crop of the plan" in found.reasons["land_saved_m2"]


def test_a_farm_that_takes_more_says_more(plan):
    # A closed room whose bacteria give off little nitrogen as gas lets go of much water.
    sentences, lean = {}, ("nutrients.gas=0.2",)
    for site, changes in (("qasr_adhra", ()), ("norhaven", lean)):
        found = appraise(plan(site, "as_planned", *changes))
        crops = {k: value(year(x)) for k, x in found.flows.crop_kg.items()}
        taken = value(year(found.flows.water_makeup_m3))
        made = alternative.compared(
            found.flows.field, crops, value(0.0), taken, found.design.footprint
        )
        sentences[site] = (float(made.saved[0, 0]), alternative.sentence(made))
    for saved, said in sentences.values():
        assert ("% more water" in said) == (saved < 0)
        assert ("% less water" in said) == (saved >= 0)
    assert sentences["norhaven"][0] < 0


def test_ponds_stand_beside_and_never_inside(plan):
    found = appraise(plan("port_anui")).indicators
    assert found["water_saved_with_fish_share"] > found["water_saved_share"]
    assert np.isnan(appraise(plan("norhaven")).indicators["water_saved_with_fish_share"])


def test_parts_hold_the_tolerance_of_planned_crops_only(shipped):
    parts = parts_of(shipped)
    assert set(parts.tolerance) == set(parts.crops) == set(parts.field_crops)


def let_go_words(made, **changes):
    values = base_values(made.case) | {k.replace("__", "."): value(x) for k, x in changes.items()}
    found = appraise(made, values)
    words = [note for note in found.flows.notes if "let go of" in note]
    return found, words[0] if words else ""


def test_water_let_go_is_laid_to_what_asks_for_it_and_is_the_tables(plan):
    for site, cause in (("norhaven", "Nitrate that plants leave"), ("qasr_adhra", "Salt of the")):
        made = plan(site)
        found, words = let_go_words(made)
        flow = found.flows.water_uses_m3["discharge"]
        project = build(ProjectInputs, base_values(made.case))
        table = float(full_year_mean(project, made.case.timeline, flow)[0, 0])
        assert words.startswith(cause)
        assert f"let go of {table:,.0f} m3" in words
    assert let_go_words(plan("kaldre"))[1] == ""


def test_salt_is_named_only_where_it_asks_more_than_nitrate(plan):
    _, pure = let_go_words(plan("qasr_adhra"), source_water__conductivity=0.2,
                           source_water__sodium=10.0, source_water__chloride=10.0)  # fmt: skip
    assert "Salt" not in pure
