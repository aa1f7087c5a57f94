"""What a specialist's review found stays mended."""

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build
from sitefare.errors import DesignError
from sitefare.farm import beds, fish, limits, notes, parts, sheet, siteplan
from sitefare.farm.design import size_farm
from sitefare.farm.enclosure import EnclosureInputs
from sitefare.farm.events import EventInputs, effective_loss, effective_losses
from sitefare.farm.flows import farm_flows
from sitefare.timeline import Timeline


def year(flow):
    return float(np.broadcast_to(flow, (1, 181))[0, -12:].sum())


def test_no_nutrient_within_its_range_ends_a_crop(plan):
    poor = plan(
        "qasr_adhra", "as_planned", "nutrients.solids_phosphorus=0.6",
        "species.tilapia.feed_phosphorus=0.008", "species.tilapia.body_phosphorus=0.008",
    )  # fmt: skip
    base, found = appraise(plan("qasr_adhra")), appraise(poor)
    kept = (
        found.indicators["vegetables_marketable_kg_year"]
        > 0.98 * base.indicators["vegetables_marketable_kg_year"]
    )
    assert kept.all()
    assert year(found.flows.dosing_kg["phosphorus"]) > year(base.flows.dosing_kg["phosphorus"])
    assert found.indicators["operating_cost_year"] > base.indicators["operating_cost_year"]


def test_a_main_generator_carries_the_highest_month(plan):
    found = appraise(plan("qasr_adhra"))
    hours = 24.0 * np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    months = found.flows.generator_kwh[0, 1:].reshape(-1, 12)
    assert found.design.drivers["generator_power"] > (months / hours).max()


@pytest.mark.parametrize("site", ["port_anui", "kaldre", "norhaven"])
def test_a_standby_generator_carries_pumps_and_air(plan, site):
    drivers = plan(site).design.drivers
    assert drivers["generator_power"] >= drivers["pump_power"] + drivers["blower_power"]


def test_electricity_closes_but_for_what_outages_cut(plan):
    found = appraise(plan("norhaven", "as_planned", "supply.outage_share=0.2")).flows
    served = found.grid_kwh + found.pv_kwh + found.generator_kwh
    cut = found.electricity_total_kwh - served
    assert cut.min() > -1e-9
    vital = sum(found.electricity_kwh[k] for k in ("pumping", "aeration", "controls", "cold_store"))
    assert (served >= vital - 1e-9).all()
    assert any("are not served in outages" in note for note in found.notes)


def test_a_net_fills_no_tank_and_lets_rain_into_the_beds(plan):
    found = appraise(plan("port_anui"))
    dry = appraise(plan("port_anui", "as_planned", "water.bed_rain=0"))
    assert found.design.drivers["rain_tank_volume"] == 0
    assert year(dry.flows.rain_m3) == 0
    assert year(found.flows.rain_m3) > 0
    assert year(found.flows.water_makeup_m3) < year(dry.flows.water_makeup_m3)


def test_sodium_that_the_farm_cannot_bear_is_refused(plan):
    with pytest.raises(DesignError, match="sodium passes what the farm bears"):
        plan("qasr_adhra", "as_planned", "source_water.sodium=400")


def test_a_storm_takes_most_from_nets_and_nothing_from_a_basement(plan):
    values = base_values(plan("port_anui").case)
    storm = build(EventInputs, values, "storm")
    gust = np.full((1, 1), 58.0)
    lost = {
        kind: float(
            effective_loss(storm, gust, build(EnclosureInputs, values, kind).storm_share)[0, 0]
        )
        for kind in ("shade_net", "warehouse", "basement")
    }
    # The loss of the table holds at 35 m/s and grows with the square of the gust.
    assert lost["shade_net"] == pytest.approx(0.25 * (58 / 35) ** 2)
    assert lost["shade_net"] > lost["warehouse"] > lost["basement"] == 0


def test_frost_ends_outdoor_greens(plan):
    open_air = plan(
        "kaldre", "as_planned", "farm_design.enclosure=open", "farm_design.heated_air=no"
    )
    found = appraise(open_air).flows
    grown = found.season["growth_lettuce"][0]
    assert grown[0] == 0
    assert grown[11] == 0
    assert grown[6] > 0


def test_losses_for_print_are_those_of_the_place_and_house(plan):
    values = base_values(plan("norhaven").case)
    found = effective_losses(values, np.full((1, 1), 35.0), np.full((1, 1), 0.2))
    assert found["storm"] == pytest.approx(0.25 * 0.2)
    assert found["fish_kill"] == pytest.approx(0.35)


@pytest.mark.parametrize("kind", ["media", "channel"])
def test_beds_that_are_flooded_are_pumped_for_it(plan, kind):
    made = plan("norhaven", "as_planned", f"farm_design.bed={kind}", "farm_design.density=45")
    bed = parts.parts_of(base_values(made.case)).bed
    floods = float((beds.flood_depth(bed) * bed.floods)[0, 0]) * made.design.bed_area / 24.0
    assert made.design.drivers["flow"] >= floods - 1e-9


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        (("species.tilapia.survival=0.05",), "gains nothing"),
        (("farm_design.backup_class=media_only", "bed.raft.surface=0"), "can bear no feed"),
        (("oxygen.least=8",), "no aerator brings it"),
        (("species.tilapia.temperature_least=27",), "does not grow in water"),
    ],
    ids=["no gain", "no feed", "no oxygen", "no growth"],
)
def test_fish_that_cannot_be_kept_are_refused_in_words(plan, changes, text):
    fish = "farm_design.species=tilapia"
    with pytest.raises(DesignError, match=text):
        plan("kaldre", "as_planned", fish, "farm_design.bed=raft", *changes)


def test_help_must_come_before_the_last_minute(site_values):
    # 4 mg/L at 18 kg/m3 and 0.4 g/kg/h is 33.3 minutes.
    minutes = 60.0 * 4.0 / (18.0 * 0.4)
    with pytest.raises(DesignError, match="help comes after"):
        size_farm(site_values("cold", life_support__response_time=minutes), 300.0)
    size_farm(site_values("cold", life_support__response_time=minutes - 0.1), 300.0)


def test_salt_that_takes_more_water_than_evaporates_is_named(site_values):
    line = Timeline(2027, 1, 6, 0)
    salty = site_values("hot_dry", source_water__conductivity=0.9)
    sweet = {"source_water__conductivity": 0.2, "source_water__sodium": 5.0}
    pure = site_values("hot_dry", water__feed_sodium=0.0, **sweet)
    poor, clean = (farm_flows(v, size_farm(v, 300.0), line).notes for v in (salty, pure))
    assert any(note.startswith("Salt of the source") for note in poor)
    assert not any(note.startswith("Salt of the source") for note in clean)


def test_a_run_of_months_without_fish_is_named():
    line = Timeline(2027, 1, 4, 0)
    harvest = np.ones((1, 49))
    assert notes.fish_gap(harvest, line) == []
    harvest[0, 30:33] = 0.0
    assert notes.fish_gap(harvest, line) == [
        "In full years up to 3 months in a row, Jul to Sep, give no fish."
    ]


def test_water_too_warm_for_growth_is_noted(site_values):
    values = site_values("hot_dry", species__tilapia__temperature_most=24.0)
    design = size_farm(site_values("hot_dry"), 300.0)
    found = farm_flows(values, design, Timeline(2027, 1, 3, 0)).notes
    assert any("stops growing in" in note for note in found)


@pytest.mark.parametrize("site", ["kaldre", "norhaven", "port_anui", "qasr_adhra"])
def test_a_demonstration_site_finds_room_for_all_it_needs(plan, site):
    made = plan(site)
    needs = siteplan.needs_of(parts.parts_of(base_values(made.case)), made.design)
    # A fuel store close to the wall needs a fire wall, which is told and is no want of room.
    wants = [n for n in siteplan.farm_plan(needs).notes if "a fire wall is needed" not in n]
    assert wants == []


def sheet_of(made):
    needs = siteplan.needs_of(parts.parts_of(base_values(made.case)), made.design)
    lines = sheet.sheet(
        parts.parts_of(base_values(made.case)), made.design, appraise(made).flows,
        siteplan.farm_plan(needs),
    )  # fmt: skip
    return {line.what: line for line in lines}


def test_rain_that_overflows_open_beds_is_named(plan):
    found = appraise(plan("port_anui")).flows
    over = year(found.water_uses_m3["rain_overflow"])
    assert over > 1.0
    assert any("Rain overflows the open beds" in note for note in found.notes)
    under = appraise(plan("kaldre")).flows
    assert year(under.water_uses_m3["rain_overflow"]) == 0.0
    assert not any("Rain overflows" in note for note in under.notes)


def test_a_filter_over_beds_that_bear_the_feed_says_what_it_is_for(plan):
    for site in ("kaldre", "norhaven", "qasr_adhra"):
        made = plan(site)
        found = {m.name: m for m in made.design.margins}
        said = found["filter"].sentence
        assert ("The beds alone bear" in said) == (found["nitrifying_beds"].ratio >= 1.0)


def test_feed_by_ratio_is_said_to_be_no_nitrogen_balance(plan):
    made = plan("kaldre", "as_planned", "farm_design.feed_basis=feed_ratio")
    said = " ".join(made.design.limits)
    assert "Feed-rate ratios are rules of practice, no balance of nitrogen" in said
    assert "no balance of nitrogen" not in " ".join(
        plan("kaldre", "as_planned", "farm_design.feed_basis=plant_nitrogen").design.limits
    )


@pytest.mark.parametrize("harvest", ["whole_tank", "graded"])
def test_the_sheets_density_is_that_of_the_fullest_day(plan, harvest):
    made = plan("qasr_adhra", "as_planned", f"farm_design.harvest={harvest}")
    bundle = parts.parts_of(base_values(made.case))
    density, _ = limits.density(bundle)
    assert sheet_of(made)["Density at harvest"].number == pytest.approx(density, rel=1e-6)


def test_the_sheet_tells_what_an_array_gives(plan):
    lines = sheet_of(plan("qasr_adhra", "solar_supply"))
    rated = lines["Solar array"].number
    assert 1000.0 < lines["Solar array, made in a year"].number / rated < 2300.0
    assert 20.0 < lines["Year's electricity that the array meets"].number < 70.0
    assert lines["Panels of the solar array"].number == pytest.approx(5.0 * rated)
    assert "Solar array, made in a year" not in sheet_of(plan("qasr_adhra"))


def test_carp_growth_counts_warmth_once(plan):
    # 0.67 per thousand and 19 K above the base: (700^(1/3) - 50^(1/3)) / 0.01273 = 408 days.
    species = parts.parts_of(base_values(plan("kaldre").case)).species
    days = fish.growing_days(species, fish.daily_growth(species, np.full((1, 1), 24.0)))
    assert days[0, 0] == pytest.approx(408.1, abs=0.5)
