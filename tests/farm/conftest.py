"""Values from the shipped rows of this part and three invented sites."""

import csv
from pathlib import Path

import numpy as np
import pytest

import sitefare.farm.design  # noqa: F401  declares every input of this part
from sitefare.arrays import value
from sitefare.assumptions.library import Source, read_layer
from sitefare.timeline import Timeline

COMMON = Path(__file__).parents[2] / "assumptions" / "common"
SITES = Path(__file__).parent / "sites"
FILES = (
    "species",
    "crops",
    "plan",
    "enclosures",
    "house",
    "beds",
    "production",
    "farm_design",
    "water",
    "field",
    "field_crop",
    "salt_tolerance",
    "energy",
    "labour",
    "task",
    "event",
    "hatchery",
    "site_defaults_farm",
)


def rows_of(*folders):
    paths = [COMMON / f"{name}.csv" for name in FILES]
    for folder in folders:
        paths += sorted(folder.glob("*.csv"))
    sources = {}
    for path in paths:
        with path.open(encoding="utf-8", newline="") as file:
            sources |= {line["source"]: Source("x", "x") for line in csv.DictReader(file)}
    found = {}
    for path in paths:
        found |= read_layer("common", [path], sources).rows
    return found


def base_of(rows):
    found = {}
    for name, row in rows.items():
        if row.spec.kind == "quantity":
            found[name] = value(row.base)
        elif row.spec.kind == "monthly":
            found[name] = np.asarray(row.months, dtype=float)[None, :]
        else:
            found[name] = row.text
    return found


@pytest.fixture(scope="session")
def rows():
    return {site: rows_of(SITES / site) for site in ("hot_dry", "cold", "city")}


@pytest.fixture(scope="session")
def folder_values():
    """Base values of the shipped rows and a folder's."""
    return lambda folder: base_of(rows_of(folder))


@pytest.fixture(scope="session")
def site_values_of(rows):
    """Make base values of a site as `site_values` does, for tests that draw many cases."""

    def make(site, **changes):
        named = {name.replace("__", "."): x for name, x in changes.items()}
        put = {name: x if isinstance(x, str) else value(x) for name, x in named.items()}
        return base_of(rows[site]) | put

    return make


@pytest.fixture
def site_values(rows):
    """Base values of a site, with words or numbers put in place of some."""

    def make(site, **changes):
        found = base_of(rows[site])
        for name, x in changes.items():
            found[name.replace("__", ".")] = x if isinstance(x, str) else value(x)
        return found

    return make


@pytest.fixture
def drawn(rows):
    """Values of some draws: every uncertain row somewhere in its range."""

    def make(site, draws):
        rng = np.random.default_rng(11)
        found = base_of(rows[site])
        for name, row in rows[site].items():
            if row.uncertain:
                found[name] = rng.uniform(row.low, row.high, (draws, 1))
        return found

    return make


@pytest.fixture
def timeline():
    return Timeline(2027, 4, 6, 5)
