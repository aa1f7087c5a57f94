"""What do power, fuel, water and their disposal cost by the month, and what does spare sun bring?

A tariff prices each unit by the block of the calendar month's use that it falls in. Demand is
charged on connected power, or on each month's peak with a ratchet. Lines are nominal money,
positive, (draws, months + 1).
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, quantity
from sitefare.errors import AssumptionError
from sitefare.farm.result import Design, FarmFlows
from sitefare.money.bill import driver_of
from sitefare.money.prices import PricePaths
from sitefare.money.supplies import PriceInputs
from sitefare.timeline import Timeline

#: The farm's choice of what its boiler burns.
HEATING_FUEL = "energy.heating_fuel"

#: Months before the month billed in which a peak still counts, where demand has a ratchet.
RATCHET_MONTHS = 11


@inputs("tariff")
class TariffInputs:
    """Tariffs of electricity and water; a block's threshold is of one calendar month's use."""

    electricity: Array = quantity(
        "money/kWh",
        low=0,
        drift="energy",
        doc="Electricity from the grid: the first block's price where there are blocks.",
        fact="required",
    )
    electricity_from_2: Array = quantity(
        "kWh/month",
        low=0,
        varies="choice",
        doc="Month's electricity from which the second block holds.",
        fact="optional",
    )
    electricity_ratio_2: Array = quantity(
        "1",
        low=0,
        high=10,
        doc="Electricity's second block: its price over the first's.",
        fact="optional",
    )
    electricity_from_3: Array = quantity(
        "kWh/month",
        low=0,
        varies="choice",
        doc="Month's electricity from which the third block holds.",
        fact="optional",
    )
    electricity_ratio_3: Array = quantity(
        "1",
        low=0,
        high=10,
        doc="Electricity's third block: its price over the second's.",
        fact="optional",
    )
    standing: Array = quantity(
        "money/month",
        low=0,
        drift="energy",
        doc="Standing charge of a connection.",
        fact="optional",
    )
    demand: Array = quantity(
        "money/kW/month",
        low=0,
        drift="energy",
        doc="Demand charge for a kilowatt a month.",
        fact="optional",
    )
    demand_on: Any = choice(
        "connected",
        "metered",
        doc="Power that the demand charge counts: connected, or each month's peak.",
        fact="optional",
    )
    load_factor: Array = quantity(
        "1",
        low=0.02,
        high=1,
        doc="Load factor of a month: mean power over the peak that is metered.",
        fact="optional",
    )
    ratchet: Array = quantity(
        "1",
        low=0,
        high=1,
        varies="choice",
        doc="Ratchet on demand: share of the last eleven months' highest peak.",
        fact="optional",
    )
    feed_in: Array = quantity(
        "money/kWh",
        low=0,
        drift="energy",
        doc="Payment for spare solar electricity fed to the grid.",
        fact="optional",
    )
    water: Array = quantity(
        "money/m3",
        low=0,
        drift="water",
        doc="Water at the farm, pumping included: the first block's price where there are blocks.",
        fact="optional",
    )
    water_from_2: Array = quantity(
        "m3/month",
        low=0,
        varies="choice",
        doc="Month's water from which the second block holds.",
        fact="optional",
    )
    water_ratio_2: Array = quantity(
        "1",
        low=0,
        high=20,
        doc="Water's second block: its price over the first's.",
        fact="optional",
    )
    discharge: Array = quantity(
        "money/m3", low=0, drift="water", doc="Taking away or treating discharge.", fact="optional"
    )


@inputs("heating_fuel_price")
class HeatingFuelPriceInputs:
    """Prices of what a boiler burns, by net heat content, at the site."""

    gas: Array = quantity(
        "money/kWh", low=0, drift="energy", doc="Mains gas for heating.", fact="optional"
    )
    lpg: Array = quantity(
        "money/kWh", low=0, drift="energy", doc="Bottled gas for heating.", fact="optional"
    )
    oil: Array = quantity("money/kWh", low=0, drift="energy", doc="Heating oil.", fact="optional")
    wood: Array = quantity(
        "money/kWh",
        low=0,
        drift="energy",
        doc="Firewood, chips or pellets for heating.",
        fact="optional",
    )


def block_bill(use: Array, price: Array, blocks: Sequence[tuple[Array, Array]]) -> Array:
    """Return the bill of a month's use by a block tariff, exact at the edges. [money]

    Parameters
    ----------
    use : Array, shape (draws, months + 1)
        Use of the month. [unit]
    price : Array
        First block's price. [money/unit]
    blocks : sequence of (threshold, ratio)
        Use from which the next block holds [unit] and its price over the block before [1].
    """
    bill = price * use
    for start, ratio in blocks:
        dearer = price * (ratio - 1.0)
        bill = bill + dearer * np.maximum(use - start, 0.0)
        price = price * ratio
    return bill


def electricity_bill(tariff: TariffInputs, use: Array) -> Array:
    """Return the energy charge of each month's use [kWh] at appraisal-date prices. [money]

    Raises
    ------
    AssumptionError
        If the third block begins below the second.
    """
    second, third = tariff.electricity_from_2, tariff.electricity_from_3
    if np.any(third < second):
        msg = (
            f"tariff.electricity_from_3: the third block begins at {float(np.min(third)):g} "
            f"kWh/month, below the second; give at least tariff.electricity_from_2, "
            f"{float(np.max(second)):g}"
        )
        raise AssumptionError(msg)
    blocks = ((second, tariff.electricity_ratio_2), (third, tariff.electricity_ratio_3))
    return block_bill(use, tariff.electricity, blocks)


def ratcheted(peak: Array, share: Array) -> Array:
    """Return power billed: the month's peak, or a share of the highest of the months before. [kW]

    Parameters
    ----------
    peak : Array, shape (draws, months + 1)
        Highest power of each month. [kW]
    share : Array, shape (draws, 1)
        Part of the highest peak of the eleven months before that is billed at least. [1]
    """
    held = share * peak
    billed: Array = np.broadcast_to(peak, held.shape).copy()
    for back in range(1, min(RATCHET_MONTHS + 1, peak.shape[1])):
        np.maximum(billed[:, back:], held[:, :-back], out=billed[:, back:])
    return billed


def billed_demand(
    tariff: TariffInputs, connected: float, grid_kwh: Array, timeline: Timeline
) -> Array:
    """Return the power that the demand charge counts by month. [kW]

    A meter's peak is the month's mean power over its load factor, at most what is connected [kW].
    """
    if tariff.demand_on == "connected":
        return connected * timeline.running
    hours = 24.0 * DAYS[timeline.calendar][None, :]
    peak = np.minimum(grid_kwh / hours / tariff.load_factor, connected)
    return ratcheted(peak, tariff.ratchet)


def heating_fuel_price(values: Values) -> Array:
    """Return the price of the fuel that the farm's boiler burns. [money/kWh]"""
    prices = build(HeatingFuelPriceInputs, values)
    kinds = {"gas": prices.gas, "lpg": prices.lpg, "oil": prices.oil, "wood": prices.wood}
    return kinds[str(values[HEATING_FUEL])]


def utilities(
    values: Values, design: Design, flows: FarmFlows, paths: PricePaths, timeline: Timeline
) -> dict[str, Array]:
    """Return power, fuel, water and discharge by line. [money]"""
    tariff, price = build(TariffInputs, values), build(PriceInputs, values)
    connected = driver_of(design, "grid_connection", "tariff.demand")
    demand = tariff.demand * billed_demand(tariff, connected, flows.grid_kwh, timeline)
    fixed = demand + tariff.standing * float(connected > 0) * timeline.running
    water_block = ((tariff.water_from_2, tariff.water_ratio_2),)
    water = block_bill(flows.water_makeup_m3, tariff.water, water_block)
    burnt = heating_fuel_price(values)
    return {
        "electricity": electricity_bill(tariff, flows.grid_kwh) * paths["energy"],
        "electricity_fixed": fixed * paths["energy"],
        "generator_fuel": price.generator_fuel * flows.generator_fuel_l * paths["energy"],
        "heating_fuel": burnt * flows.heating_fuel_kwh * paths["energy"],
        "water": water * paths["water"],
        "discharge": tariff.discharge * flows.discharge_m3 * paths["water"],
    }


def power_sold(
    values: Values, design: Design, flows: FarmFlows, paths: PricePaths, timeline: Timeline
) -> Array:
    """Return income from what the array makes beyond load and battery, where a grid takes it."""
    price = build(TariffInputs, values).feed_in
    grid = float(driver_of(design, "grid_connection", "tariff.feed_in") > 0)
    spare = timeline.life(flows.season.get("solar_spilled_kwh", np.zeros((1, 1))))
    return price * spare * (grid * timeline.running) * paths["energy"]
