"""What if the farm gave or took more or less of something than the model says?

A multiplier of each flow, 1 unless it is moved, applied to the farm's flows by month before people
and money read them: a quick question that needs no other farm. A multiplier moves its own flow
alone. Hours of work do not follow the harvest; what is paid by the kilogram does. Emissions
follow the power and fuel that make them.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, TypeAlias

import numpy as np

from sitefare.arrays import Array, whole_up
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.farm.labour import LabourInputs
from sitefare.farm.result import FarmFlows
from sitefare.timeline import Timeline

#: Largest multiplier: beyond it the farm is another farm. [1]
MOST = 5.0

Flow: TypeAlias = Array | Mapping[str, Array]


def _multiplier(doc: str) -> Array:
    made: Array = quantity("1", low=0, high=MOST, varies="choice", doc=doc)
    return made


@inputs("adjust")
class AdjustInputs:
    """Multipliers of what the farm gives and takes, 1 as modelled."""

    vegetables: Array = _multiplier("Harvest of every crop, over the model's.")
    fish: Array = _multiplier("Weight of fish sold, standing and dead, over the model's.")
    feed: Array = _multiplier("Fish feed, over the model's.")
    fingerlings: Array = _multiplier("Fingerlings bought, over the model's.")
    plants: Array = _multiplier("Plants started, over the model's.")
    dosing: Array = _multiplier("Salts, bases and chelates dosed, over the model's.")
    electricity: Array = _multiplier("Electricity used and bought from the grid, over the model's.")
    generator_fuel: Array = _multiplier("Generator fuel, over the model's.")
    heating_fuel: Array = _multiplier("Heating fuel, over the model's.")
    water: Array = _multiplier("Water taken and used, over the model's.")
    discharge: Array = _multiplier("Water let go, over the model's.")
    sludge: Array = _multiplier("Sludge, over the model's.")
    labour: Array = _multiplier("Hours of work, over the model's; whole people follow.")


#: Fields of the flows that each multiplier moves, beside those that `adjusted` derives.
MOVES = {
    "vegetables": ("crop_kg",),
    "fish": ("fish_live_kg", "fish_biomass_kg", "fish_deaths_kg"),
    "feed": ("feed_kg",),
    "fingerlings": ("fingerlings",),
    "plants": ("plants",),
    "dosing": ("dosing_kg",),
    "electricity": ("electricity_kwh", "electricity_total_kwh", "grid_kwh"),
    "generator_fuel": ("generator_fuel_l",),
    "heating_fuel": ("heating_fuel_kwh",),
    "water": ("water_makeup_m3", "rain_m3", "water_uses_m3"),
    "discharge": ("discharge_m3",),
    "sludge": ("sludge_m3",),
    "labour": ("labour_hours", "role_hours", "workers_unrounded"),
}


def scaled(flow: Flow, multiplier: Array) -> Flow:
    """Return a flow, or each of many, times a multiplier (draws, 1). [same unit]"""
    if isinstance(flow, Mapping):
        return {name: x * multiplier for name, x in flow.items()}
    return np.asarray(flow * multiplier)


def whole_posts(
    values: Values, unrounded: Mapping[str, Array], timeline: Timeline
) -> dict[str, Array]:
    """Return whole people by role, as the farm employs them, from posts not rounded. [person]"""
    rules = build(LabourInputs, values)
    return {
        role: np.maximum(whole_up(posts), getattr(rules, f"least_{role}")) * timeline.running
        for role, posts in unrounded.items()
    }


def emission_factors(values: Values) -> dict[str, str]:
    """Name the row behind the emissions of each flow that makes them."""
    return {
        "grid_kwh": "supply.grid_emissions",
        "generator_fuel_l": "supply.fuel_emissions",
        "heating_fuel_kwh": f"fuel.{values['energy.heating_fuel']}.emissions",
    }


def adjusted(flows: FarmFlows, values: Values, timeline: Timeline) -> FarmFlows:
    """Return the farm's flows times the multipliers of `adjust`; as they are where all are 1.

    Parameters
    ----------
    flows : FarmFlows
        The farm's flows by month, from `farm_flows`.
    values : Values
        Resolved values.
    timeline : Timeline
        The months that the flows cover.
    """
    asked = build(AdjustInputs, values)
    moved = {name: getattr(asked, name) for name in MOVES}
    moved = {name: x for name, x in moved.items() if np.any(x != 1.0)}
    if not moved:
        return flows
    changed: dict[str, Any] = {
        f: scaled(getattr(flows, f), x) for name, x in moved.items() for f in MOVES[name]
    }
    if "workers_unrounded" in changed:
        changed["workers"] = whole_posts(values, changed["workers_unrounded"], timeline)
    more = flows.emissions_kg
    for name, row in emission_factors(values).items():
        if name in changed:
            factor = values[row]
            assert not isinstance(factor, str)  # noqa: S101
            more = more + (changed[name] - getattr(flows, name)) * factor
    return replace(flows, **changed, emissions_kg=more)
