"""A synthetic farm of 500 m2 of media beds with plain flows, and the money part's own tables.

The flows are invented; they only have the right size. Values come from the library's rows.
"""

import csv
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import pytest

import sitefare.money.finances
from sitefare.arrays import Array, value
from sitefare.assumptions.declaration import DECLARED
from sitefare.assumptions.draws import quantile
from sitefare.assumptions.files import Line
from sitefare.assumptions.library import Source, read_layer
from sitefare.assumptions.prices import prices_to_date
from sitefare.assumptions.rows import Row, row_from_line
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.finances import finances
from sitefare.money.result import Finances
from sitefare.people.result import PeopleFed, Ration
from sitefare.timeline import Timeline

COMMON = Path(__file__).parents[2] / "assumptions" / "common"
TABLES = (
    "allowance", "bill", "byproduct", "dosing", "drift", "finance", "funding", "grant", "instead",
    "loan", "market", "overhead", "price_index", "price_season", "site_defaults_money",
    "distribution_model", "reach_cost", "reach_staff",
)  # fmt: skip
CROPS = ("lettuce", "tomato")
SITE = {
    "economy.currency": ("text", "USD"),
    "economy.exchange_rate": ("1", "1"),
    "economy.inflation": ("1/year", "0.04"),
    "economy.income_tax": ("1", "0.2"),
    "tariff.electricity": ("USD/kWh", "0.15"),
    "wage.worker": ("USD/h", "2.5"),
    "freight.imported": ("USD/kg", "0.5"),
    "place.design_wind": ("m/s", "38"),
}
FOODS = (*CROPS, "tilapia")

Values = dict[str, Array | str]


def cited(files: list[Path]) -> dict[str, Source]:
    """Every source that the tables cite; the library's own tests check the list."""
    found = {}
    for path in files:
        with path.open(encoding="utf-8", newline="") as table:
            found |= {line["source"]: Source("cited", "") for line in csv.DictReader(table)}
    return found


def site_row(name: str, unit: str, base: str) -> Row:
    cells = {
        "name": name, "unit": unit, "low": "", "base": base, "high": "", "varies": "",
        "source": "invented", "locator": "", "as_of": "2027-01", "basis": "invented",
        "note": "invented for a test",
    }  # fmt: skip
    return row_from_line(Line("test", 1, cells, decimal_comma=False), "test", {"invented": ""})


@pytest.fixture(scope="session")
def rows() -> Mapping[str, Row]:
    files = [COMMON / f"{name}.csv" for name in TABLES]
    found = dict(read_layer("common", files, cited(files)).rows)
    found |= {name: site_row(name, *given) for name, given in SITE.items()}
    return prices_to_date(found, "2027-01")


TIMELINE = Timeline(2027, 1, 15, 6)


@pytest.fixture(scope="session")
def timeline() -> Timeline:
    return TIMELINE


def laid(row: Row, x: Array, timeline: Timeline) -> Array:
    if row.spec.varies != "year" or x.shape[1] > 1:
        return x
    return np.broadcast_to(x, (x.shape[0], timeline.months + 1))


def sampled(row: Row, rng: np.random.Generator, draws: int, timeline: Timeline) -> Array:
    triple = (row.low, row.base, row.high)
    if row.varies != "year":
        return quantile(row.spec, triple, rng.uniform(0.02, 0.98, (draws, 1)))
    yearly = quantile(row.spec, triple, rng.uniform(0.02, 0.98, (draws, timeline.years + 1)))
    return yearly[:, timeline.year]


def make_values(rows: Mapping[str, Row], draws: int, timeline: Timeline, seed: int = 7) -> Values:
    """Values at base, or as many plain random draws."""
    rng = np.random.default_rng(seed)
    values: Values = {}
    for name, row in rows.items():
        if row.spec.kind == "monthly":
            values[name] = np.array(row.months)[None, :]
        elif row.spec.kind != "quantity":
            values[name] = row.text
        elif draws > 1 and row.uncertain:
            values[name] = sampled(row, rng, draws, timeline)
        else:
            values[name] = laid(row, value(row.base), timeline)
    for food, price in zip(FOODS, (2.5, 1.6, 3.5), strict=True):
        values[f"local_price.{food}.price"] = value(price)
        values[f"local_price.{food}.loss"] = value(0.1)
    values["energy.heating_fuel"] = "lpg"
    values["distribution.model"] = "household_ration"
    return values


@pytest.fixture(scope="session")
def base(rows: Mapping[str, Row], timeline: Timeline) -> Values:
    return make_values(rows, 1, timeline)


@pytest.fixture(scope="session")
def drawn(rows: Mapping[str, Row], timeline: Timeline) -> Callable[..., Values]:
    return lambda draws, clock=timeline: make_values(rows, draws, clock)


def make_design(scale: float = 1.0, **changed: object) -> Design:
    area = 500.0 * scale
    drivers = {
        "site": 1.0, "bed_area": area, "covered_area": 1.5 * area, "footprint": 2.0 * area,
        "tank_count": 8.0, "fish_tank_volume": 0.11 * area, "water_volume": 0.25 * area,
        "media_volume": 0.3 * area, "sump_volume": 0.03 * area, "pump_power": 0.003 * area,
        "blower_power": 0.002 * area, "heater_power": 0.1 * area, "cooling_power": 0.02 * area,
        "lamp_power": 0.0, "generator_power": 0.02 * area, "second_generator_power": 0.0,
        "heating_fuel_store": 4.0 * area,
        "pv_power": 0.0, "battery_energy": 0.0, "grid_connection": 0.05 * area,
        "rain_tank_volume": 0.06 * area,
        "cold_store_volume": 0.02 * area, "plants_year": 100.0 * area, "fish_year": 8.0 * area,
        "crop_year": 30.0 * area, "feed_year": 13.0 * area, "workers": 4.0,
        "filter_volume": 0.01 * area, "biofilter_volume": 0.0, "pad_area": 1.5 * area,
        "hatchery_volume": 0.0, "brood_weight": 0.0,
    }  # fmt: skip
    given = {
        "enclosure": "single_film", "species": "tilapia", "bed_kind": "media", "bed_area": area,
        "covered_area": 1.5 * area, "footprint": 2.0 * area, "tank_count": 8,
        "tank_volume": 0.11 * area / 8, "water_volume": 0.25 * area, "stocked_fish": 10.0 * area,
        "stagger_months": 1.0, "feed_per_day": 0.036 * area, "drivers": drivers, "facts": (),
        "limits": (), "life_support_minutes": 60.0, "response_minutes": 20.0,
        "backup_start_minutes": 1.0,
    }  # fmt: skip
    return Design(**(given | changed))


@pytest.fixture(scope="session")
def design() -> Design:
    return make_design()


def make_flows(timeline: Timeline, draws: int = 1, area: float = 500.0) -> FarmFlows:
    """Flows that ramp up over a year after building, alike in every draw but for yield."""
    months = timeline.months + 1
    ramp = np.clip((timeline.month - timeline.construction - 2) / 12.0, 0.0, 1.0)[None, :]
    luck = 1.0 + 0.05 * np.sin(np.arange(draws))[:, None]
    running = timeline.running
    crop = ramp * luck * area / 12.0
    flat = running * luck**0
    fish = ramp * luck * area * 8.0 / 12.0 * (timeline.month > timeline.construction + 9)
    zero = np.zeros((draws, months))
    return FarmFlows(
        crop_kg={"lettuce": 12.0 * crop, "tomato": 18.0 * crop},
        plants={"lettuce": 60.0 * crop, "tomato": 3.0 * crop},
        fish_live_kg=fish, fish_deaths_kg=zero, fish_biomass_kg=ramp * luck * area * 3.0,
        fingerlings=ramp * luck * area * 18.0 / 12.0, feed_kg=ramp * luck * area * 13.0 / 12.0,
        water_makeup_m3=flat * area * 1.4 / 12.0, rain_m3=zero, discharge_m3=flat * area * 0.02,
        sludge_m3=flat * area * 0.01,
        dosing_kg={"alkalinity": ramp * luck * area * 0.1, "iron": ramp * luck * area * 0.0002},
        electricity_kwh={"pumping": flat * area * 3.0}, electricity_total_kwh=flat * area * 6.0,
        grid_kwh=flat * area * 6.0, pv_kwh=zero, generator_kwh=zero, generator_fuel_l=flat * 20.0,
        heating_fuel_kwh=flat * area * 5.0, emissions_kg=zero,
        labour_hours={"harvest": flat * 200.0},
        role_hours={"manager": flat * 40.0, "technician": flat * 160.0, "worker": flat * 420.0},
        workers={"manager": flat * 0.25, "technician": flat * 1.0, "worker": flat * 3.0},
        workers_unrounded={"worker": flat * 2.6}, labour_figures={}, season={}, told=tuple,
        water_uses_m3={}, salts=None, field=None,
    )  # fmt: skip


@pytest.fixture(scope="session")
def flows(timeline: Timeline) -> FarmFlows:
    return make_flows(timeline)


def make_fed(flows: FarmFlows) -> PeopleFed:
    harvest = {**flows.crop_kg, "tilapia": flows.fish_live_kg}
    sound = {key: 0.9 * kg for key, kg in harvest.items()}
    persons = flows.crop_kg["lettuce"] * 2.5 * 0.5 / 6.0
    return PeopleFed(
        served_kg={key: 0.5 * kg for key, kg in sound.items()},
        elsewhere_kg={key: 0.5 * kg for key, kg in sound.items()},
        lost_kg={key: 0.1 * kg for key, kg in harvest.items()},
        served_sold_share=value(0.2), headline="vegetables_and_fish",
        rations={
            "vegetables_and_fish": Ration("200 g and 30 g", "worst month", persons, "fish"),
            "who_vegetables": Ration("400 g", "mean", persons / 2.0, "vegetables"),
        },
        coverage={}, full_ration_equivalents=persons / 20.0,
        alternative_cost_person_day=value(0.6), notes=(),
        edible_g={"vegetables": 150.0 * persons, "fish": 20.0 * persons},
    )  # fmt: skip


@pytest.fixture(scope="session")
def fed(flows: FarmFlows) -> PeopleFed:
    return make_fed(flows)


@pytest.fixture(scope="session")
def appraised() -> Callable[..., Finances]:
    """Finances of the synthetic farm for some values, on any clock, at any scale."""

    def call(
        values: Values, clock: Timeline = TIMELINE, scale: float = 1.0, draws: int = 0
    ) -> Finances:
        count = draws or max(x.shape[0] for x in values.values() if not isinstance(x, str))
        flows = make_flows(clock, count, 500.0 * scale)
        return finances(values, make_design(scale), flows, make_fed(flows), clock)

    return call


@pytest.fixture(scope="session")
def money_prefixes() -> list[str]:
    package = sitefare.money.__name__
    return [p for p, d in DECLARED.items() if d.cls.__module__.startswith(package)]
