"""What does running the farm cost, month by month?

Every line is nominal money, positive for a cost, (draws, months + 1): a physical flow times
an appraisal-date price times its group's price path. Each hour is costed at a wage.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import (
    Values,
    build,
    build_all,
    choice,
    inputs,
    quantity,
    text,
)
from sitefare.errors import AssumptionError
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.bill import driver_of
from sitefare.money.capital import Budget, LandInputs
from sitefare.money.labour import WageInputs, hourly_cost, paid_hours
from sitefare.money.prices import PricePaths
from sitefare.money.project import total
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline

#: Overheads that no budget, scenario or override may remove.
ESSENTIAL_OVERHEADS = ("microbe_tests", "water_tests")


@inputs("tariff")
class TariffInputs:
    """Tariffs of electricity and water."""

    electricity: Array = quantity(
        "money/kWh", low=0, drift="energy", doc="Electricity from the grid.", fact="required"
    )
    standing: Array = quantity(
        "money/month",
        low=0,
        drift="energy",
        doc="Standing charge of a connection.",
        fact="optional",
    )
    demand: Array = quantity(
        "money/kW/month", low=0, drift="energy", doc="Charge on connected power.", fact="optional"
    )
    water: Array = quantity(
        "money/m3",
        low=0,
        drift="water",
        doc="Water at the farm, pumping included.",
        fact="optional",
    )
    discharge: Array = quantity(
        "money/m3", low=0, drift="water", doc="Taking away or treating discharge.", fact="optional"
    )


@inputs("price")
class PriceInputs:
    """Prices of what the farm consumes, delivered to the farm."""

    feed: Array = quantity("money/kg", low=0, drift="feed", doc="Fish feed.", fact="optional")
    fingerling: Array = quantity(
        "money/fish", low=0, drift="supplies", doc="One fingerling, delivered.", fact="optional"
    )
    planting: Array = quantity(
        "money/plant", low=0, drift="supplies", doc="Seed, plug and nursery of one plant started."
    )
    generator_fuel: Array = quantity(
        "money/L", low=0, drift="energy", doc="Generator fuel at the site.", fact="optional"
    )
    heating_fuel: Array = quantity(
        "money/kWh", low=0, drift="energy", doc="Heating fuel, by heat content.", fact="optional"
    )
    sludge: Array = quantity(
        "money/m3", low=0, drift="services", doc="Removing settled sludge.", fact="optional"
    )
    packing: Array = quantity(
        "money/kg", low=0, drift="supplies", doc="Packing of what leaves the farm."
    )
    transport: Array = quantity(
        "money/kg",
        low=0,
        drift="freight",
        doc="Carriage of what is sold elsewhere.",
        fact="optional",
    )
    distribution: Array = quantity(
        "money/kg", low=0, drift="freight", doc="Carriage to the people served.", fact="optional"
    )


@inputs("dosing", keyed=True, measure="price")
class DosingItem:
    """A salt, base or chelate dosed to the water."""

    title: Any = text(doc="What is dosed.")
    price: Array = quantity("money/kg", low=0, drift="supplies", doc="Price, delivered.")


@inputs("operations")
class OperationsInputs:
    """How the farm is run."""

    upkeep_factor: Array = quantity(
        "1", low=0, high=5, doc="Upkeep spent over the share each bill item names."
    )
    insurance_share: Array = quantity(
        "1/year", low=0, high=0.2, doc="Yearly insurance premium over the cost of the works."
    )
    unpaid_share: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Share of workers' hours given unpaid; costed in the project view, not paid in cash.",
    )


@inputs("overhead", keyed=True, measure="cost")
class OverheadItem:
    """A yearly cost that follows no flow."""

    title: Any = text(doc="What is paid for.")
    driver: Any = text(doc="Size of the design that the cost follows.")
    essential: Any = choice("yes", "no", doc="Whether food safety forbids removal.")
    years: Array = quantity(
        "year",
        low=0,
        varies="choice",
        doc="Years of operation it lasts, fading to nothing; 0 for every year.",
    )
    cost: Array = quantity(
        "money/year", low=0, drift="services", doc="Yearly cost for one unit of driver."
    )


@dataclass(frozen=True)
class Operating:
    """Operating cost by line, and which of it is bought on credit or stocked.

    `unpaid` is the part of a line that is given in kind: volunteers' hours, land lent free.
    """

    lines: Mapping[str, Array]
    on_credit: Array
    stocked: Array
    unpaid: Mapping[str, Array]


def energy_and_water(
    values: Values, design: Design, flows: FarmFlows, paths: PricePaths, timeline: Timeline
) -> dict[str, Array]:
    """Return power, fuel, water and disposal by line. [money]"""
    tariff, price = build(TariffInputs, values), build(PriceInputs, values)
    connected = driver_of(design, "grid_connection", "tariff.demand")
    fixed = tariff.demand * connected + tariff.standing * float(connected > 0)
    water = tariff.water * flows.water_makeup_m3 + tariff.discharge * flows.discharge_m3
    return {
        "electricity": tariff.electricity * flows.grid_kwh * paths["energy"],
        "electricity_fixed": fixed * timeline.running * paths["energy"],
        "generator_fuel": price.generator_fuel * flows.generator_fuel_l * paths["energy"],
        "heating_fuel": price.heating_fuel * flows.heating_fuel_kwh * paths["energy"],
        "water": water * paths["water"],
        "sludge": price.sludge * flows.sludge_m3 * paths["services"],
    }


def supplies(
    values: Values, flows: FarmFlows, fed: PeopleFed, paths: PricePaths
) -> dict[str, Array]:
    """Return feed, young fish and plants, dosing, packing and carriage by line. [money]

    Raises
    ------
    AssumptionError
        If something is dosed that has no price.
    """
    price = build(PriceInputs, values)
    dosing = [build(DosingItem, values, key).price * kg for key, kg in flows.dosing_kg.items()]
    served, elsewhere = total(fed.served_kg.values()), total(fed.elsewhere_kg.values())
    carriage = price.transport * elsewhere + price.distribution * served
    return {
        "feed": price.feed * flows.feed_kg * paths["feed"],
        "fingerlings": price.fingerling * flows.fingerlings * paths["supplies"],
        "planting": price.planting * total(flows.plants.values()) * paths["supplies"],
        "dosing": total(dosing) * paths["supplies"],
        "packing": price.packing * (served + elsewhere) * paths["supplies"],
        "transport": carriage * paths["freight"],
    }


def wages(values: Values, flows: FarmFlows, paths: PricePaths) -> dict[str, Array]:
    """Return the wage bill by role, every hour at a wage. [money]"""
    rates = build(WageInputs, values)
    return {
        f"wages_{role}": hourly_cost(rates, role)
        * paid_hours(rates, hours, flows.workers.get(role, hours * 0.0))
        * paths["wages"]
        for role, hours in flows.role_hours.items()
    }


def overheads(
    values: Values, design: Design, parts: Budget, paths: PricePaths, timeline: Timeline
) -> dict[str, Array]:
    """Return yearly costs paid by the month, and rent. [money]

    Raises
    ------
    AssumptionError
        If a test that food safety asks for is removed.
    """
    items = build_all(OverheadItem, values)
    for key in ESSENTIAL_OVERHEADS:
        if key not in items or items[key].essential == "no" or np.any(items[key].cost <= 0):
            msg = f"overhead.{key}: this is essential to food safety and cannot be removed"
            raise AssumptionError(msg)
    lines = {}
    for key, item in items.items():
        size = driver_of(design, str(item.driver), f"overhead.{key}.driver")
        months = 12.0 * item.years
        age = timeline.month[None, :] - timeline.construction - 1.0
        fade = np.clip(1.0 - age / np.maximum(months, 1.0), 0.0, 1.0) * (months > 0) + (months <= 0)
        lines[key] = item.cost * size * fade * timeline.running * (paths["services"] / 12.0)
    premium = build(OperationsInputs, values).insurance_share * parts.works
    lines["insurance"] = premium * timeline.running * (paths["services"] / 12.0)
    lines["rent"] = rent(values, design, timeline) * paths["land"]
    return lines


def rent(values: Values, design: Design, timeline: Timeline) -> Array:
    """Return monthly rent of the footprint from month 1 on, at appraisal-date prices. [money]"""
    land = build(LandInputs, values)
    paid = 0.0 if land.tenure == "bought" else driver_of(design, "footprint", "land.rent") / 12.0
    return land.rent * paid * (timeline.month > 0)


def upkeep(values: Values, parts: Budget, paths: PricePaths, timeline: Timeline) -> Array:
    """Return repairs and upkeep, each bill item by its own share. [money]"""
    yearly = np.sum(parts.bill.cost * parts.bill.upkeep, axis=1, keepdims=True) * parts.uplift
    factor = build(OperationsInputs, values).upkeep_factor
    cost: Array = yearly * factor * timeline.running * (paths["equipment"] / 12.0)
    return cost


def unpaid(values: Values, wage_lines: Mapping[str, Array], rent_line: Array) -> dict[str, Array]:
    """Return by line what is costed but given in kind. [money]"""
    given = {}
    share = build(OperationsInputs, values).unpaid_share
    if "wages_worker" in wage_lines and np.any(share > 0):
        given["wages_worker"] = share * wage_lines["wages_worker"]
    if build(LandInputs, values).tenure == "given":
        given["rent"] = rent_line
    return given


def operating(
    values: Values,
    design: Design,
    parts: Budget,
    flows: FarmFlows,
    fed: PeopleFed,
    *,
    paths: PricePaths,
    timeline: Timeline,
) -> Operating:
    """Return every operating cost of the farm."""
    bought = supplies(values, flows, fed, paths)
    utilities = energy_and_water(values, design, flows, paths, timeline)
    wage_lines = wages(values, flows, paths)
    fixed = overheads(values, design, parts, paths, timeline)
    repairs = {"upkeep": upkeep(values, parts, paths, timeline)}
    return Operating(
        {**bought, **utilities, **wage_lines, **repairs, **fixed},
        on_credit=total(bought.values()) + total(utilities.values()) + repairs["upkeep"],
        stocked=total(bought[name] for name in ("feed", "dosing", "packing")),
        unpaid=unpaid(values, wage_lines, fixed["rent"]),
    )
