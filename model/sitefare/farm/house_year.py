"""What is left of the house's hours: its months, the warmth of its days, some hours by name.

The hours of a few draws at a time stay in the processor's cache, so the house runs in inner
blocks of draws; each draw stands alone, so no result depends on them.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from sitefare.arrays import DAYS, Array, blocks, joined, longest, of_draws
from sitefare.farm import climate
from sitefare.farm.enclosure import Indoors
from sitefare.farm.indoors import indoor_climate
from sitefare.farm.water_heat import WaterMonths

#: Draws whose hours run together.
INNER = 32

#: Hours that sizing looks at, and those that the sun's supply follows.
SIZING = ("transpired", "drying_power")
LOADS = ("heated", "chilled", "drying_power", "fan_hours")


@dataclass(frozen=True)
class DayAir:
    """Air of each typical day: mean, lowest and highest hour, (draws, 12, days). [degC]"""

    mean: Array
    lowest: Array
    highest: Array


@dataclass(frozen=True)
class HouseYear:
    """The house through a typical year, per square metre covered; months are (draws, 12).

    Mean air [degC]; heating, cooling and drying electricity [kWh/m2], air moved by fans [m3/m2],
    pad water and transpiration [L/m2], the water; the air of its days, and the hours kept by name,
    (draws, 12, hours), as in IndoorClimate.
    """

    temperature: Array
    heating: Array
    cooling: Array
    drying: Array
    fan_air: Array
    pad_water: Array
    transpiration: Array
    water: WaterMonths
    days: DayAir
    hours: Mapping[str, Array]


def house_year(case: Indoors, kept: tuple[str, ...]) -> HouseYear:
    """Return the house through a typical year, `kept` naming the hours that stay."""
    draws = longest(case)
    if draws <= INNER:
        return _year(case, kept)
    return joined([_year(of_draws(case, block, draws), kept) for block in blocks(draws, INNER)])


def _year(case: Indoors, kept: tuple[str, ...]) -> HouseYear:
    """Return the year of one inner block."""
    found = indoor_climate(case)
    return HouseYear(
        temperature=climate.month_sum(found.temperature, case.hours.weights) / (DAYS * 24.0),
        heating=found.heating,
        cooling=found.cooling,
        drying=found.drying,
        fan_air=found.fan_air,
        pad_water=found.pad_water,
        transpiration=found.transpiration,
        water=found.water,
        days=day_air(found.temperature),
        hours={name: getattr(found, name) for name in kept},
    )


def day_air(temperature: Array) -> DayAir:
    """Return the air of each day from its hours, (draws, 12, 24 × days). [degC]"""
    return DayAir(climate.daily_mean(temperature), *climate.daily_extreme(temperature))
