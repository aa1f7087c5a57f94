"""What a specialist's review found stays mended."""

import numpy as np
import pytest

from sitefare.appraisal import appraise
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build
from sitefare.errors import DesignError
from sitefare.farm.enclosure import EnclosureInputs
from sitefare.farm.events import EventInputs, effective_loss


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
    assert any("Outages cut" in note for note in found.notes)


def test_a_net_catches_no_rain(plan):
    found = appraise(plan("port_anui"))
    assert year(found.flows.rain_m3) == 0
    assert found.design.drivers["rain_tank_volume"] == 0


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
