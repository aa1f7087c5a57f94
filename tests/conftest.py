"""The shipped library and its cases, read once."""

from functools import cache
from pathlib import Path

import pytest

import sitefare
from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import read_library
from sitefare.sizing import plan_for

ROOT = Path(sitefare.__file__).parents[2]


@cache
def shipped_library():
    return read_library(ROOT / "assumptions")


@cache
def plan_of(site, scenario="as_planned", *settings):
    return plan_for(make_case(shipped_library(), site, scenario, settings))


@pytest.fixture(scope="session")
def root():
    """The project's root folder."""
    return ROOT


@pytest.fixture(scope="session")
def library():
    """The shipped assumptions."""
    return shipped_library()


@pytest.fixture(scope="session")
def plan():
    """Make the plan of a site, scenario and settings, once each."""
    return plan_of
