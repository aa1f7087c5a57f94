"""A tiny declared world, so that each rule of a row has one tiny file."""

import pytest

from sitefare.arrays import Array
from sitefare.assumptions import declaration
from sitefare.assumptions.declaration import choice, inputs, monthly, quantity, text


@pytest.fixture(autouse=True)
def small_world(monkeypatch):
    """Declare a keyed crop, a single house and an item table, and nothing else."""
    world = {}
    monkeypatch.setattr(declaration, "DECLARED", world)
    for module in ("rows", "library"):
        monkeypatch.setattr(f"sitefare.assumptions.{module}.DECLARED", world)

    @inputs("crop", keyed=True)
    class CropInputs:
        price: Array = quantity("money/kg", low=0, doc="Farm-gate price")
        cull: Array = quantity("1", low=0, high=1, doc="Share thrown away")

    @inputs("house")
    class HouseInputs:
        kind: str = choice("open", "double_film", doc="Enclosure")
        area: Array = quantity("m2", low=0, doc="Covered area")
        temperature: Array = monthly("degC", low=-60, high=60, doc="Mean air temperature")

    @inputs("bill", keyed=True, measure="price")
    class BillInputs:
        item: str = text(doc="What is bought")
        life: Array = quantity("year", low=0.1, doc="Life")
        price: Array = quantity("money", low=0, doc="Price each")

    return world


@pytest.fixture
def sources():
    """Two known sources."""
    return {"handbook": "A handbook", "judgement": "Judgement", "command_line": "Settings"}
