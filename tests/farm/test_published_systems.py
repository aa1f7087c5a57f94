"""Farms that the literature measured, against what the model makes of them.

The Virgin Islands farm of 2004 went into some rows (see test_published_farms); the farm of 1997,
Yuma and Seville went into none. A figure that the model misses is marked `xfail` with the gap
told: it fails the day the gap closes, so that the mark is taken away.
"""

from pathlib import Path

import numpy as np
import pytest

from sitefare.arrays import value
from sitefare.farm.design import size_farm
from sitefare.farm.flows import farm_flows
from sitefare.timeline import Timeline

FARMS = Path(__file__).parents[1] / "published" / "farms"
validation = pytest.mark.validation
calibration = pytest.mark.calibration


def gap(reason):
    # An error is no gap: only a figure that is missed is let by.
    return pytest.mark.xfail(strict=True, raises=AssertionError, reason=reason)


def run(values, bed_area):
    design = size_farm(values, bed_area)
    return design, farm_flows(values, design, Timeline(2027, 1, 8, 0))


def year(flow):
    return float(np.broadcast_to(flow, (1, 97))[0, -12:].sum())


def only(values, crop):
    """Return values with every bed planted to one crop."""
    shares = {k: value(0) for k in values if k.startswith("plan.") and k.endswith(".share")}
    return values | shares | {f"plan.{crop}.share": value(1)}


@pytest.fixture(scope="module")
def uvi(folder_values):
    return run(folder_values(FARMS / "uvi"), 214.0)


@pytest.fixture(scope="module")
def earlier(folder_values):
    return run(folder_values(FARMS / "uvi_1997"), 214.0)


@pytest.fixture(scope="module")
def yuma(folder_values):
    # 815 m2 of house, of which the house's share is bed.
    values = folder_values(FARMS / "yuma")
    share = float(values["enclosure.polycarbonate.bed_share"][0, 0])
    return run(values, 815.0 * share)


@pytest.fixture(scope="module")
def seville(folder_values):
    return run(folder_values(FARMS / "seville"), 2 * 4.56)


# Rakocy, Bailey, Shultz & Danaher, A commercial-scale aquaponic system developed at the University
# of the Virgin Islands (abstract seen): 110 m3, 214 m2, 2.21 kW, 1.5 % of the volume a day, nearly
# 5 t of tilapia and 1,400 cases of 24 to 30 heads.


@validation
def test_virgin_islands_electricity(uvi):
    # 2.21 kW on the mean; the model's pumps, blowers, controls and the little heat that holds 28
    # degrees: 15 %.
    assert year(uvi[1].electricity_total_kwh) / 8760 == pytest.approx(2.21, rel=0.15)


@validation
def test_virgin_islands_heads_of_lettuce(uvi):
    # 37,800 heads, 33,600 to 42,000; plants started less those that fail and are culled: 25 %.
    started = year(sum(uvi[1].plants.values()))
    assert started * (1 - 0.08) * (1 - 0.10) == pytest.approx(37800, rel=0.25)


@validation
def test_virgin_islands_make_up_water(uvi):
    # 1.5 % of the volume a day; the model's 1.74 %, 25 %. Of 700 m3 a year 278 are let go to hold
    # nitrate at 150 mg/L: half of what is dissolved leaves as gas, which is read from balances of
    # other farms, and plants take 6 % of the feed's nitrogen.
    found = year(uvi[1].water_makeup_m3) / 365 / uvi[0].water_volume
    assert found == pytest.approx(0.015, rel=0.25)


# Rakocy, Bailey, Shultz & Cole (1997), Evaluation of a commercial-scale aquaponic unit, 4th Int.
# Symp. on Tilapia in Aquaculture, Orlando (abstract seen): four tanks of 4.4 m3, 182 fish/m3, one
# harvested every six weeks at 81.1 kg/m3 of which 73.2 gained, 487.2 g, 91.6 % alive, feed
# conversion 1.76, 214 m2, 91.6 m3 in all, 378 L/min by half a horsepower. Weights, survival,
# density, retention and bed area are given; feed per area, feed conversion, growth and volumes are
# the shipped rows'.


@validation
def test_earlier_virgin_islands_feed(earlier):
    # 73.2 kg/m3 in 4.4 m3 at 1.76 in 42 days is 13.5 kg a day: 10 %.
    assert earlier[0].drivers["feed_year"] / 365 == pytest.approx(13.5, rel=0.1)


@validation
def test_earlier_virgin_islands_fish(earlier):
    # 365 / 42 harvests of 81.1 kg/m3 from 4.4 m3; the shipped feed conversion is 1.6: 15 %.
    printed = 365 / 42 * 81.1 * 4.4
    assert earlier[0].drivers["fish_year"] == pytest.approx(printed, rel=0.15)


@validation
def test_earlier_virgin_islands_tanks(earlier):
    # Four of 4.4 m3, out of feed, growth and density: 10 %.
    assert earlier[0].tank_count == 4
    assert earlier[0].tank_volume == pytest.approx(4.4, rel=0.1)


@validation
def test_earlier_virgin_islands_water(earlier):
    # 91.6 m3 with rafts 0.31 m deep and the shipped share of filters: 5 %.
    assert earlier[0].water_volume == pytest.approx(91.6, rel=0.05)


@validation
def test_earlier_virgin_islands_flow(earlier):
    # 378 L/min; 0.8 h in 17.6 m3 would be 367: 10 %.
    assert earlier[0].drivers["flow"] * 1000 / 60 == pytest.approx(378, rel=0.1)


@validation
def test_earlier_virgin_islands_pump(earlier):
    # Half a horsepower, 373 W, by the shipped head and efficiency: 15 %.
    assert earlier[0].drivers["pump_power"] * 1000 == pytest.approx(373, rel=0.15)


@validation
def test_feeding_rate_ratio_al_hafedh_2008(site_values):
    # J. World Aquaculture Society 39:510 (abstract seen): 56 g/m2 of raft a day held nutrients
    # level in lettuce; shipped rows give 63: 25 %.
    design, _ = run(only(site_values("city"), "lettuce"), 300.0)
    assert design.drivers["feed_year"] / 365 / 300 * 1000 == pytest.approx(56, rel=0.25)


@validation
def test_two_sizings_of_rakocy_2007(site_values):
    # Ten guidelines (seen): 1 kg a day at 60 g/m2 takes 16.7 m2; 200 m2 at 100 take 20 kg.
    for ratio, area, feed in ((60.0, 16.7, 1.0), (100.0, 200.0, 20.0)):
        chosen = {"crop.lettuce.feed_ratio": value(ratio), "bed.raft.ratio_factor": value(1)}
        design = size_farm(only(site_values("city"), "lettuce") | chosen, area)
        assert design.feed_per_day == pytest.approx(feed, rel=0.005)


@validation
def test_household_unit_fao_589(site_values):
    # Appendix 7 (seen): a tank of 1 m3 for 3 m2 of media bed, at most 20 kg/m3: 25 %.
    design, _ = run(site_values("cold"), 300.0)
    assert design.drivers["fish_tank_volume"] / 300 == pytest.approx(1 / 3, rel=0.25)


@validation
@pytest.mark.parametrize("site", ["hot_dry", "cold", "city"])
def test_electricity_per_kilogram_of_fish_badiola_2018(site, site_values):
    # Aquacultural Engineering 81:57 (from memory): 2.9 to 81.5 kWh/kg in recirculating farms,
    # 8 to 20 usual; pumping, air and the water's heat here.
    design, flows = run(site_values(site), 300.0)
    used = sum(year(flows.electricity_kwh[k]) for k in ("pumping", "aeration", "water_heating"))
    assert 2.9 < used / design.drivers["fish_year"] < 20


@validation
def test_work_in_a_plant_factory(site_values):
    # HortTechnology 28:121 (abstract seen): 1.5 to 6.0 kg of lettuce harvested per hour of work.
    design, flows = run(only(site_values("city"), "lettuce"), 300.0)
    # All work on crops and their room, as the task table splits it.
    work = ("sow", "tend", "pick", "pack", "turn_beds", "cover", "maintain")
    hours = sum(year(flows.labour_hours[k]) for k in work)
    assert 1.5 < design.drivers["crop_year"] / hours < 6.0


@calibration
def test_work_in_a_tomato_house(site_values):
    # Greenhouse Grower (seen; its unit read as hours a week): 12 to 37 per 929 m2; it set tending.
    values = only(site_values("cold"), "tomato")
    area = 929.0 * float(values["enclosure.double_film.bed_share"][0, 0])
    _, flows = run(values, area)
    hours = sum(year(flows.labour_hours[k]) for k in ("sow", "tend", "pick"))
    assert 12 < hours / 52 < 37


# Love, Uhl & Genello (2015): 19,526 kWh of propane and electricity a year.


@validation
@gap("about 2,200 kWh a year in the model, 19,526 printed")
def test_baltimore_energy(folder_values):
    # The measured house is a whole film house of about 116 m2 (from memory), of which the model
    # covers the 31 m2 that 18 m2 of rafts and their tanks need; its pump, blower, tank heaters and
    # box fans were far larger than 10 m3 of water ask.
    _, flows = run(folder_values(FARMS / "baltimore"), 18.0)
    found = year(flows.electricity_total_kwh) + year(flows.heating_fuel_kwh)
    assert found == pytest.approx(19526, rel=0.25)


# Barbosa et al. (2015), Int. J. Environ. Res. Public Health 12:6879 (seen): hydroponic lettuce at
# Yuma, engineering estimates per m2 of an 815 m2 house: 41 ± 6.1 kg/m2, 20 ± 3.8 L/kg, 90,000 ±
# 11,000 kJ/kg of heat and light.


@validation
def test_yuma_yield(yuma):
    # The row's 42 kg/m2 at 15 mol is before culls of a tenth; Yuma's light adds more than its warm
    # months take: 44. As a hydroponic house it lacks no nitrogen (feed by the plants' nitrogen).
    assert yuma[0].drivers["crop_year"] / yuma[0].bed_area == pytest.approx(41, abs=6.1)


@validation
@gap("54 L/kg in the model, 20 printed")
def test_yuma_water(yuma):
    # The source takes water use from glasshouses of dim places. Under Yuma's sun (14 MJ/m2 a day
    # inside) Penman-Monteith gives 4.2 mm a day of bed, 35 L/kg; washing, leaks, sludge and what
    # is let go for nitrate, which a hydroponic house has not, are the rest.
    litres = year(yuma[1].water_makeup_m3) * 1000
    assert litres / yuma[0].drivers["crop_year"] == pytest.approx(20, abs=3.8)


@validation
@gap("about 130,000 kJ/kg in the model, 90,000 printed")
def test_yuma_energy(yuma):
    # The source counts conduction through the cover only; the model takes out the sun's heat too,
    # sensible and latent, 1,100 kWh/m2 a year, as a chiller in a closed house would have to. No
    # grower cools so: with pads the model's house uses a hundredth of it.
    heat = yuma[1].season["cooling_kwh"].sum() + year(yuma[1].electricity_kwh["air_heating"])
    assert heat * 3600 / yuma[0].drivers["crop_year"] == pytest.approx(90000, abs=11000)


# Lobillo-Eguíbar et al. (2020), Agronomy 10:1468 (abstract seen): two household units of 4.56 m2
# and 1 m3 each gave 62 kg of tilapia and 352 kg of vegetables in a year.


@validation
@gap("109 kg in the model, 62 printed")
def test_seville_fish(seville):
    # The feed-rate ratio of the books, 55 g/m2 a day, is twice what the household can have fed:
    # 62 kg at a conversion of 1.6 is 30 g/m2 a day.
    assert seville[0].drivers["fish_year"] == pytest.approx(62, rel=0.25)


@validation
@gap("190 kg in the model, 352 printed")
def test_seville_vegetables(seville):
    # 38.6 kg/m2 of bed by hand on 22 crops, fruiting ones trained out over the paths; the model
    # keeps crops over their bed and leaves July and August empty of greens.
    assert seville[0].drivers["crop_year"] == pytest.approx(352, rel=0.25)


@validation
@gap("about 670 kWh per kg of dry lettuce in the model, 247 printed")
def test_plant_factory_electricity_graamans_2018(site_values):
    # Agricultural Systems 160:31 (abstract seen); dry matter 1.01 g in 29 fresh, Carotti (2021).
    # The lamps' photons agree with the arithmetic; the yield per mol does not (8 g, not 21 to 29).
    design, flows = run(only(site_values("city"), "lettuce"), 300.0)
    used = sum(year(flows.electricity_kwh[k]) for k in ("lamps", "cooling", "air_heating"))
    assert used / design.drivers["crop_year"] / (1.01 / 29) == pytest.approx(247, rel=0.25)


@validation
@pytest.mark.parametrize(("crop", "share"), [("tomato", 0.413), ("pak_choi", 0.344)])
@gap("plants take 5 and 14 % of the feed's nitrogen in the model, 41 and 34 % printed")
def test_nitrogen_that_plants_take_hu_2015(crop, share, site_values):
    # Bioresource Technology 188:92 (from memory), small units with little feed per plant. The
    # feed-rate ratios of FAO and the Virgin Islands, 45 to 80 g/m2 a day, bring seven to
    # twenty times what the yield rows take up; fed by the plants' nitrogen they would take 21 %,
    # since solids are taken out and half of what dissolves leaves as gas. If the printed share
    # counts the fish's part too, which is not remembered, the model's 35 and 44 % lie near it.
    _, flows = run(only(site_values("cold"), crop), 300.0)
    found = flows.season["plant_share_of_feed_nitrogen"][0, 0]
    assert found == pytest.approx(share, rel=0.25)
