"""A whole site whose weather is an hourly file, copied from pvlib into a folder of the test."""

import shutil
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pvlib
import pytest

from sitefare.assumptions.case import base_values, make_case
from sitefare.assumptions.library import read_library
from sitefare.assumptions.weather import read_weather
from sitefare.farm import reduction
from sitefare.farm.design import size_farm
from sitefare.farm.flows import sizes_of
from sitefare.farm.parts import parts_of
from sitefare.farm.season import season_of

ROOT = Path(__file__).parents[2]
PVLIB = Path(pvlib.__file__).parent / "data"
SITE = Path(__file__).parent / "greensboro"

#: The two typical years that pvlib ships, and the place each stands for.
STATIONS = {
    "greensboro": ("723170TYA.CSV", "36.1", "273"),
    "sand_point": ("703165TY.csv", "55.317", "7"),
}

#: Houses of the comparison, as settings of the site.
HOUSES = {
    "heated greenhouse": ("farm_design.cooling=mechanical",),
    "heated film house": ("farm_design.enclosure=single_film", "farm_design.cooling=mechanical"),
    "closed room": (
        "farm_design.enclosure=warehouse", "farm_design.cooling=mechanical",
        "farm_design.lamps=yes", "energy.heat_source=heat_pump",
    ),
}  # fmt: skip

#: Moves away from base: what is multiplied and by how much.
MOVES = {
    "base": (1.0, 1.0),
    "cover loses 30 % less": (0.7, 1.0),
    "cover loses 30 % more": (1.3, 1.0),
    "set points 30 % lower": (1.0, 0.7),
    "set points 30 % higher": (1.0, 1.3),
}

SET_POINTS = ("day_set_point", "night_set_point", "vent_set_point", "cooling_set_point")


def copied_library(folder):
    """Copy the shipped assumptions and add the sites whose weather is a file of pvlib's."""
    target = shutil.copytree(ROOT / "assumptions", folder / "assumptions")
    for name, (file, latitude, height) in STATIONS.items():
        site = shutil.copytree(SITE, target / "sites" / name)
        (site / "weather").mkdir()
        shutil.copy(PVLIB / file, site / "weather" / file)
        rows = (site / "site.csv").read_text(encoding="utf-8")
        rows = rows.replace("723170TYA.CSV", file)
        rows = rows.replace("degree,,36.1,", f"degree,,{latitude},")
        rows = rows.replace("elevation,m,,273,", f"elevation,m,,{height},")
        (site / "site.csv").write_text(rows, encoding="utf-8")
    return read_library(target)


@pytest.fixture(scope="session")
def hourly_library(tmp_path_factory):
    """The shipped library with two sites of hourly weather."""
    return copied_library(tmp_path_factory.mktemp("library"))


@pytest.fixture
def own_library(tmp_path):
    """Another copy, that a test may break."""
    return copied_library(tmp_path)


@pytest.fixture(scope="session")
def years():
    """Both files, read."""
    return {name: read_weather(PVLIB / s[0], s[0]) for name, s in STATIONS.items()}


@dataclass
class Demands:
    """Heat and cooling of a farm over the year, by what its weather is taken from. [kWh]"""

    parts: object
    design: object

    def moved(self, move):
        cover, points = MOVES[move]
        rules = {k: np.minimum(getattr(self.parts.rules, k) * points, 35.0) for k in SET_POINTS}
        return replace(
            self.parts,
            house=replace(self.parts.house, cover_u=self.parts.house.cover_u * cover),
            rules=replace(self.parts.rules, **rules),
        )

    def run(self, parts, scale=None):
        found = reduction.scaled(season_of(parts, sizes_of(self.design)), scale or {})
        return float(found.air_heat.sum()), float(found.cooling_heat.sum())

    def full(self, move):
        moved = self.moved(move)
        return self.run(replace(moved, weather=moved.weather_year))

    def typical(self, move):
        return self.run(self.moved(move))

    def scaled(self, move):
        return self.run(self.moved(move), self.design.scale)

    def normals(self, move):
        return self.run(replace(self.moved(move), weather=None, weather_year=None))


def errors(full, found):
    """Return both errors over heating plus cooling. [1]"""
    total = sum(full)
    return tuple((x - y) / total for x, y in zip(found, full, strict=True))


@pytest.fixture(scope="session")
def demands(hourly_library):
    """Make the demands of a site in one of the houses."""

    def make(site, house):
        case = make_case(hourly_library, site, "as_planned", HOUSES[house])
        values = base_values(case)
        return Demands(parts_of(values), size_farm(values, 500.0))

    return make


@pytest.fixture(scope="session")
def pvlib_data():
    """The folder of files that pvlib ships."""
    return PVLIB


@pytest.fixture(scope="session", name="errors")
def errors_of():
    """Return both errors over heating plus cooling."""
    return errors
