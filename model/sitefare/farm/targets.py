"""What should the water be, when does the alarm ring, and how often is it checked?

The table `target.csv` holds one line for each thing watched; temperature comes from the fish's
own rows; un-ionised ammonia is reckoned at this farm's pH and warmest water, and alkalinity at
its pH and carbon dioxide, since the three cannot be chosen apart.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from sitefare.arrays import Array, value
from sitefare.assumptions.declaration import Values, build_all, choice, inputs, quantity, text
from sitefare.errors import DesignError
from sitefare.farm import gases, nitrification
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts

#: Least distance of an alarm of temperature from its target, so that it does not ring daily. [K]
ALARM_GAP = 2.0

Side = Literal["both", "at_least", "at_most"]


@inputs("target", keyed=True, table=True)
class TargetInputs:
    """One thing watched in the water or the plant; numbers in the printed unit."""

    title: str = text(doc="What is watched")
    measured_in: str = text(doc="Its unit in print", optional=True)
    side: str = choice("both", "at_least", "at_most", doc="Which ends count; the others stand at 0")
    check: str = text(doc="How often, and by what")
    act: str = text(doc="What is done at the alarm")
    low: Array = quantity("1", low=-100, high=5000, varies="choice", doc="Lowest target")
    high: Array = quantity("1", low=-100, high=5000, varies="choice", doc="Highest target")
    alarm_low: Array = quantity("1", low=-100, high=5000, varies="choice", doc="Alarm below")
    alarm_high: Array = quantity("1", low=-100, high=5000, varies="choice", doc="Alarm above")


@dataclass(frozen=True)
class Target:
    """One line of the table of targets and alarms; None where an end does not count."""

    key: str
    title: str
    unit: str
    low: float | None
    high: float | None
    alarm_low: float | None
    alarm_high: float | None
    check: str
    act: str
    source: str


def targets(
    values: Values, parts: Parts, season: Mapping[str, Array], volume: float
) -> tuple[Target, ...]:
    """Return everything watched: the fish's temperatures first, then the table.

    Parameters
    ----------
    season : Mapping
        The flows' figures by month: water temperature, carbon dioxide, ammonia made.
    volume : float
        All water. [m3]

    Raises
    ------
    DesignError
        If an alarm stands inside its target.
    """
    table = build_all(TargetInputs, values)
    lines = [_temperature(parts)]
    for key, item in table.items():
        lines.append(_line(key, item))
        if key == "ammonia" and "acidity" in table:
            borne = base(parts.species.ammonia_most)
            lines.append(_unionised(table, season["water_temperature"][:1], borne))
        if key == "acidity":
            lines.append(_alkalinity(item, season, volume))
    return tuple(lines)


def _line(key: str, item: TargetInputs) -> Target:
    """Return one line of the table, refusing alarms inside the target."""
    low, high = base(item.low), base(item.high)
    alarm_low, alarm_high = base(item.alarm_low), base(item.alarm_high)
    lower, upper = item.side != "at_most", item.side != "at_least"
    if (
        (lower and alarm_low > low)
        or (upper and alarm_high < high)
        or (lower and upper and low > high)
    ):
        alarms, aims = _words(item.side, alarm_low, alarm_high), _words(item.side, low, high)
        msg = (
            f"target.{key}: alarms of {alarms} must lie outside the target of {aims}: change "
            f"target.{key}.alarm_low or .alarm_high"
        )
        raise DesignError(msg)
    return Target(
        key,
        item.title,
        item.measured_in,
        low if lower else None,
        high if upper else None,
        alarm_low if lower else None,
        alarm_high if upper else None,
        item.check,
        item.act,
        f"target.{key}",
    )


def _words(side: str, low: float, high: float) -> str:
    """Write the ends that count."""
    ends = {"both": f"{low:g} and {high:g}", "at_least": f"{low:g}", "at_most": f"{high:g}"}
    return ends[side]


def _temperature(parts: Parts) -> Target:
    """Return the fish's own band; its alarms stand where they stop growing or die.

    Heated water is kept at its target. Without heat the band begins half way between the least
    that fish grow in and that target. Alarms lie `ALARM_GAP` or more outside.
    """
    fish, name = parts.species, f"species.{parts.design.species}"
    target, least = base(fish.water_target), base(fish.temperature_least)
    alarm_low = max(least, base(fish.lethal_low))
    alarm_high = min(base(fish.temperature_most), base(fish.lethal_high))
    wanted = target - 1.0 if parts.design.heated_water == "yes" else (least + target) / 2.0
    high = max(base(fish.temperature_high), target + 1.0)
    return Target(
        "temperature",
        f"Water temperature for {fish.title}",
        "°C",
        max(wanted, alarm_low + ALARM_GAP),
        min(high, alarm_high - ALARM_GAP),
        alarm_low,
        alarm_high,
        "all the time, probe in every loop",
        "Stop feeding beyond an alarm; heat, shade, or change a tenth of the water an hour",
        name,
    )


def _unionised(table: dict[str, TargetInputs], water: Array, borne: float) -> Target:
    """Return un-ionised ammonia at the targets of TAN and pH in the warmest water [degC].

    The alarm never lies above what the fish bear [mg/L].
    """
    acidity, tan = table["acidity"], table["ammonia"]
    warm = value(float(np.max(water)))
    share = base(nitrification.unionised_share(warm, acidity.high))
    alarm = base(nitrification.unionised_share(warm, acidity.alarm_high))
    return Target(
        "unionised_ammonia",
        f"Un-ionised ammonia nitrogen at {base(warm):.0f} °C: target at pH "
        f"{base(acidity.high):g}, alarm at pH {base(acidity.alarm_high):g}; the fish bear "
        f"{borne:g} for weeks",
        "mg/L",
        None,
        min(base(tan.high) * share, borne),
        None,
        min(base(tan.alarm_high) * alarm, borne),
        "reckoned from each TAN and pH reading",
        "Stop feeding, lower pH towards the target, change water",
        "reckoned: Emerson et al. (1975)",
    )


def _alkalinity(acidity: TargetInputs, season: Mapping[str, Array], volume: float) -> Target:
    """Return the alkalinity that pH within its band asks, in the month of most carbon dioxide."""
    gas, water = season["carbon_dioxide_mg_l"][0], season["water_temperature"][0]
    worst = int(np.argmax(gas))
    dioxide, warm = value(float(gas[worst])), value(float(water[worst]))

    def at(ph: Array) -> float:
        return base(gases.alkalinity_at(ph, dioxide, warm))

    made = float(np.max(season["ammonia_made_kg_day"][0]))
    taken = nitrification.ALKALINITY_PER_TAN * made * 1000.0 / volume
    return Target(
        "alkalinity",
        f"Alkalinity as calcium carbonate that keeps pH in its band at {base(dioxide):.1f} mg/L "
        "of carbon dioxide",
        "mg/L",
        at(acidity.low),
        at(acidity.high),
        at(acidity.alarm_low),
        at(acidity.alarm_high),
        f"twice a week; base is dosed daily, since nitrification takes {taken:.0f} mg/L a day",
        "Below: dose potassium or calcium bicarbonate. Above: dose less, or acid",
        "reckoned: Plummer & Busenberg (1982)",
    )
