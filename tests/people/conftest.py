"""Values from the shipped rows of this part, an invented population, and invented flows."""

import csv
import dataclasses
from pathlib import Path

import numpy as np
import pytest

import sitefare.people.lack  # declares every input of this part
from sitefare.arrays import value
from sitefare.assumptions.library import read_layer
from sitefare.farm.result import FarmFlows
from sitefare.people.fed import people_fed
from sitefare.timeline import Timeline

COMMON = Path(__file__).parents[2] / "assumptions" / "common"
SITE = Path(__file__).parent / "site"
FILES = (
    "food",
    "need",
    "ration",
    "people",
    "cooking",
    "distribution",
    "distribution_model",
    "storage",
    "site_defaults_people",
    "basket",
)

#: Months until production counts as full; years 4 and 5 of the timeline below are full.
RAMP = {"project.ramp_months": value(24.0)}


def rows_in_force():
    paths = [COMMON / f"{name}.csv" for name in FILES] + sorted(SITE.glob("*.csv"))
    sources = {}
    for path in paths:
        with path.open(encoding="utf-8", newline="") as file:
            sources |= {line["source"]: "" for line in csv.DictReader(file)}
    listed = {key: sitefare.assumptions.library.Source("x", "x") for key in sources}
    return read_layer("common", paths, listed).rows


@pytest.fixture(scope="session")
def rows():
    return rows_in_force()


@pytest.fixture
def values(rows):
    found = {n: value(r.base) if r.spec.kind == "quantity" else r.text for n, r in rows.items()}
    return found | {"farm_design.species": "tilapia"} | RAMP


@pytest.fixture
def drawn(rows, values):
    """Values of `draws` draws, each uncertain row somewhere in its range."""

    def make(draws):
        rng = np.random.default_rng(7)
        found = dict(values)
        for name, row in rows.items():
            if row.uncertain:
                u = rng.random((48, 1))[:draws] if draws <= 48 else rng.random((draws, 1))
                found[name] = row.low + u * (row.high - row.low)
        return found

    return make


@pytest.fixture
def timeline():
    return Timeline(start_year=2027, start_month=4, years=5, construction=6)


@pytest.fixture
def flows(timeline):
    """Flows of an invented farm: greens from month 9, fish every second month from month 14."""
    return synthetic_flows(timeline)


def synthetic_flows(timeline, crop=1.0, fish=1.0):
    month, season = timeline.month, 1.0 + 0.3 * np.cos(2 * np.pi * timeline.calendar / 12)
    greens = (month >= 9) * season * 900.0 * crop
    names = {"lettuce": 0.5, "chard": 0.25, "tomato": 0.2, "basil": 0.05}
    crops = {name: (greens * share)[None, :] for name, share in names.items()}
    caught = ((month >= 14) & (month % 2 == 0)) * 500.0 * fish
    zero = np.zeros((1, timeline.months + 1))
    empty = {
        f.name: {} if "Mapping" in str(f.type) else zero for f in dataclasses.fields(FarmFlows)
    }
    given = {"crop_kg": crops, "fish_live_kg": caught[None, :].astype(float), "told": tuple}
    return FarmFlows(**(empty | given))


@pytest.fixture
def make_flows(timeline):
    def make(crop=1.0, fish=1.0):
        return synthetic_flows(timeline, crop, fish)

    return make


@pytest.fixture
def fed(values, flows, timeline):
    return people_fed(values, flows, timeline, bed_area=400.0)
