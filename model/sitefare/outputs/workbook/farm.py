"""What does the farm give and take, month by month, and what if it were more or less?

Each flow comes from the farm model as values; a multiplier of `adjust` stands beside it on sheet
Inputs, and the row beneath is what people and money read. Emissions follow the power and fuel
that make them, whole people follow hours.
"""

from collections.abc import Iterator, Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.farm.adjust import emission_factors
from sitefare.farm.labour import ROLES
from sitefare.outputs.workbook.frame import (
    Given,
    GivenScalar,
    Heading,
    Item,
    Line,
    Sheet,
)
from sitefare.outputs.workbook.made import Made

#: Flows of one row each: key, field of the flows, label, unit, multiplier.
SINGLE = (
    ("fish", "fish_live_kg", "Live fish sold", "kg", "fish"),
    ("fish_biomass", "fish_biomass_kg", "Fish in the tanks at month end", "kg", "fish"),
    ("fish_deaths", "fish_deaths_kg", "Fish that die", "kg", "fish"),
    ("fingerlings", "fingerlings", "Fingerlings bought", "fish", "fingerlings"),
    ("feed", "feed_kg", "Fish feed", "kg", "feed"),
    ("water", "water_makeup_m3", "Make-up water", "m3", "water"),
    ("discharge", "discharge_m3", "Water let go", "m3", "discharge"),
    ("sludge", "sludge_m3", "Sludge", "m3", "sludge"),
    ("grid", "grid_kwh", "Electricity from the grid", "kWh", "electricity"),
    ("generator_fuel", "generator_fuel_l", "Generator fuel", "L", "generator_fuel"),
    ("heating_fuel", "heating_fuel_kwh", "Heating fuel", "kWh", "heating_fuel"),
)

#: Flows of several rows each, with their sum: key, field, label, unit, multiplier.
SEVERAL = (
    ("crop", "crop_kg", "Harvest", "kg", "vegetables"),
    ("plants", "plants", "Plants started", "plant", "plants"),
    ("dosing", "dosing_kg", "Dosed", "kg", "dosing"),
    ("power", "electricity_kwh", "Electricity", "kWh", "electricity"),
    ("water_use", "water_uses_m3", "Water used", "m3", "water"),
)

#: Label of the sum of several rows.
SUMS = {
    "crop": ("vegetables", "Vegetables harvested"),
    "plants": ("plants_started", "Plants started"),
    "power": ("electricity", "Electricity used"),
    "dosing": ("dosed", "Salts, bases and chelates dosed"),
    "water_use": ("water_used", "Water used"),
}

#: Flows that stock at month ends: no sum of months.
STOCKS = frozenset({"fish_biomass"})


def words(name: str) -> str:
    """Return a key as words."""
    return name.replace("_", " ")


def pair(
    key: str, label: str, unit: str, multiplier: str, flows: tuple[Array, Array]
) -> list[Item]:
    """Return a flow as the model gives it and as it is read; `flows` are both. [unit]"""
    given, live = flows
    total = key not in STOCKS
    return [
        Given(f"model.{key}", f"{label}, from the farm model", unit, given, total=total),
        Line(
            f"farm.{key}", label, unit, f"{{model.{key}}}*{{in:adjust.{multiplier}}}", live,
            kind="number", total=total, strong=True,
        ),
    ]  # fmt: skip


def singles(made: Made) -> Iterator[Item]:
    """Yield the flows of one row each."""
    for key, field, label, unit, multiplier in SINGLE:
        both = (getattr(made.unadjusted, field), getattr(made.flows, field))
        yield from pair(key, label, unit, multiplier, both)


def several(made: Made) -> Iterator[Item]:
    """Yield the flows of several rows each, and their sums."""
    for key, field, label, unit, multiplier in SEVERAL:
        given: Mapping[str, Array] = getattr(made.unadjusted, field)
        live: Mapping[str, Array] = getattr(made.flows, field)
        yield Heading(f"{label}, {unit}")
        for name in given:
            both = (given[name], live[name])
            yield from pair(f"{key}.{name}", f"{label}: {words(name)}", unit, multiplier, both)
        total, title = SUMS[key]
        parts = "+".join(f"{{farm.{key}.{name}}}" for name in given) or "0"
        added = sum(live.values(), np.zeros((1, 1)))
        yield Line(f"farm.{total}", title, unit, parts, added, kind="number", total=True,
                   strong=True)  # fmt: skip


def emissions(made: Made) -> Iterator[Item]:
    """Yield greenhouse gases of power and fuel."""
    yield Given("model.emissions", "Greenhouse gases of power and fuel, from the farm model",
                "kg CO2e", made.unadjusted.emissions_kg, total=True)  # fmt: skip
    keys = {"grid_kwh": "grid", "generator_fuel_l": "generator_fuel",
            "heating_fuel_kwh": "heating_fuel"}  # fmt: skip
    more = "".join(
        f"+({{farm.{keys[flow]}}}-{{model.{keys[flow]}}})*{{in:{row}}}"
        for flow, row in emission_factors(made.values).items()
    )
    yield Line("farm.emissions", "Greenhouse gases of power and fuel", "kg CO2e",
               "{model.emissions}" + more, made.flows.emissions_kg, kind="number", total=True,
               strong=True)  # fmt: skip


def work(made: Made) -> Iterator[Item]:
    """Yield hours and people by role."""
    yield Heading("Work", "Whole people follow the year's hours and never fall below the fewest.")
    for role in ROLES:
        hours = (made.unadjusted.role_hours[role], made.flows.role_hours[role])
        yield from pair(f"hours.{role}", f"Hours of work: {role}", "h", "labour", hours)
        unrounded = made.unadjusted.workers_unrounded[role]
        yield Given(f"model.posts.{role}", f"Posts not rounded: {role}, from the farm model",
                    "person", unrounded)  # fmt: skip
        yield Line(
            f"farm.posts.{role}", f"People employed: {role}", "person",
            f"MAX(ROUNDUP({{model.posts.{role}}}*{{in:adjust.labour}}-0.000000001,0),"
            f"{{in:labour.least_{role}}})*{{running}}",
            made.flows.workers[role], kind="number", strong=True,
        )  # fmt: skip


def all_hours(made: Made) -> Line:
    """Return the hours of every role."""
    roles = made.flows.role_hours
    added = sum(roles.values(), np.zeros((1, 1)))
    return Line("farm.hours", "Hours of work", "h", "+".join(f"{{farm.hours.{r}}}" for r in roles),
                added, kind="number", total=True, strong=True)  # fmt: skip


def others(made: Made) -> Iterator[Item]:
    """Yield flows and sizes that no multiplier moves."""
    yield Heading("Power from other sources, from the farm model")
    time, flows = made.timeline, made.flows
    yield Given("farm.pv", "Electricity from the sun", "kWh", flows.pv_kwh, total=True)
    yield Given("farm.generator", "Electricity from the generator", "kWh", flows.generator_kwh,
                total=True)  # fmt: skip
    spare = time.life(flows.season.get("solar_spilled_kwh", np.zeros((1, 1))))
    yield Given("farm.solar_spilled", "Electricity from the sun not used", "kWh", spare, total=True)
    yield Heading("Sizes of the farm, from the design")
    for name, size in sorted(made.design.drivers.items()):
        yield GivenScalar(f"design.{name}", words(name).capitalize(), "", float(size))


def sheet(made: Made) -> Sheet:
    """Return the sheet Farm."""
    lead = (
        "What the farm gives and takes. Rows from the farm model are values; the rows in bold are "
        "those values times the multipliers of sheet Inputs (adjust), and all that follows reads them."
    )
    items: list[Item] = [Heading("Fish, feed, water, power and fuel")]
    items += [
        *singles(made),
        *emissions(made),
        *several(made),
        *work(made),
        all_hours(made),
        *others(made),
    ]
    return Sheet("Farm", "The farm's flows by month", lead, items, axis="months")
