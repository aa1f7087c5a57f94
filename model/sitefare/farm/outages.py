"""What carries the farm when the power fails, for how long, and what the sun really delivers.

Sentences for the design and the notes, and the refusal of a farm whose fish nothing carries.
"""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.errors import DesignError
from sitefare.farm import supply
from sitefare.farm.dispatch import Dispatch
from sitefare.farm.parts import Parts


def _base(x: Array) -> float:
    """Return the base value of an array of one draw. [same unit]"""
    return float(x[0, 0])


def _reserve_hours(parts: Parts, minutes: float) -> float:
    """Return how long fish live on the reserve of air and what the water holds. [h]"""
    return (_base(parts.life_support.reserve) + minutes) / 60.0


def _battery_hours(parts: Parts, battery: float, vital: float) -> float:
    """Return how long a full battery [kWh] carries the vital load [kW]. [h]"""
    strong = battery * _base(parts.supply.battery_rate) >= vital
    held = battery * float(np.sqrt(_base(parts.supply.battery_efficiency)))
    return held / vital if strong and vital > 0.0 else 0.0


def lasting(parts: Parts, minutes: float, battery: float, vital: float) -> float:
    """Return how long the fish live without the grid; without end where a generator stands by. [h]

    Parameters
    ----------
    minutes, battery, vital : float
        As `check`.
    """
    if "generator" in (parts.supply.main, parts.supply.standby):
        return float("inf")
    return max(_reserve_hours(parts, minutes), _battery_hours(parts, battery, vital))


def check(parts: Parts, minutes: float, battery: float, vital: float) -> None:
    """Refuse a farm whose fish a usual outage kills because nothing carries their air.

    Parameters
    ----------
    minutes, battery, vital : float
        Fish without air [min], battery [kWh], and pumps, air, controls and cold store [kW].

    Raises
    ------
    DesignError
        Naming the outage, what carries it, and the rows to change.
    """
    rules = parts.supply
    usual, lasts = _base(rules.outage_hours), lasting(parts, minutes, battery, vital)
    if _base(rules.outage_share) <= 0.0 or lasts >= usual:
        return
    msg = (
        f"a usual outage lasts {usual:g} h and the fish have air for {lasts:.1f} h with no standby "
        "generator: choose supply.standby generator, raise supply.battery_hours or "
        "life_support.reserve"
    )
    raise DesignError(msg)


def sentences(
    parts: Parts, drivers: Mapping[str, float], vital: float, minutes: float
) -> list[str]:
    """Say the supply mix, the outages, and what carries the farm through them."""
    said = [_mix(parts, drivers), *_outage_words(parts, drivers, vital, minutes)]
    return [" ".join(said)]


def _mix(parts: Parts, drivers: Mapping[str, float]) -> str:
    """Name the supply mix."""
    main = "a generator" if parts.supply.main == "generator" else "the grid"
    stored = drivers["battery_energy"] > 0.0
    if drivers["pv_power"] > 0.0:
        return f"Electricity comes from the sun, {'a battery, ' if stored else ''}then {main}."
    idle = "; no sun charges the battery, which only waits for outages" if stored else ""
    return f"Electricity comes from {main}{idle}."


def _outage_words(
    parts: Parts, drivers: Mapping[str, float], vital: float, minutes: float
) -> list[str]:
    """Say how often the power fails and what then carries pumps and air."""
    rules, reserve = parts.supply, _reserve_hours(parts, minutes)
    if rules.main == "generator":
        days = _base(rules.fuel_days)
        return [
            (
                f"It has {drivers['fuel_store']:,.0f} L of fuel for {days:g} days. A second set of "
                f"{drivers['second_generator_power']:.1f} kW carries {carried(parts)} while the "
                f"first stands still; {_stopped(parts, 0.0)}. Reserve air with the water's own "
                f"lasts {reserve:.1f} h, in which it must start."
            )
        ]
    share = _base(rules.outage_share)
    if share <= 0.0:
        return []
    usual, longest = _base(rules.outage_hours), _base(rules.outage_longest)
    times = _base(supply.outages_a_year(rules))
    said = (
        f"The grid is down {share:.2%} of the hours, {_often(times)} for {usual:g} h, at longest "
        f"{longest:g} h. "
    )
    if rules.standby == "generator":
        return [
            (
                f"{said}The standby generator then carries {carried(parts)} in full; "
                f"{_stopped(parts, _base(rules.critical_share))}. "
                f"{drivers['fuel_store']:,.0f} L of fuel last the longest, and reserve air with "
                f"the water's own lasts {reserve:.1f} h if it does not start."
            )
        ]
    held = max(reserve, _battery_hours(parts, drivers["battery_energy"], vital))
    risk = "which lasts it" if held >= longest else "and the fish are at risk in the longest"
    said = f"{said}No generator stands by: battery and reserve give air for {held:.1f} h, {risk}"
    return [f"{said}; {_stopped(parts, 0.0)}."]


def carried(parts: Parts) -> str:
    """Name what back-up carries in full."""
    burner = ", and the burner with its fans" if parts.energy.heat_source == "fuel" else ""
    return f"pumps, air, controls and cold store{burner}"


def _stopped(parts: Parts, share: float) -> str:
    """Name what stops meanwhile, but for a share that is carried [1]."""
    design, fuel = parts.design, parts.energy.heat_source == "fuel"
    heated = "yes" in (design.heated_air, design.heated_water)
    found = [
        *(["heat"] if heated and not fuel else []),
        *(["lamps"] if design.lamps == "yes" else []),
        *(["cooling"] if design.cooling == "mechanical" else []),
        *(["fans and pads"] if design.cooling == "pad_and_fan" else []),
    ]
    if not found:
        return "nothing else that fish and plants need stops"
    named = " and ".join([", ".join(found[:-1]), found[-1]] if len(found) > 1 else found)
    verb = "stops" if found in (["heat"], ["cooling"]) else "stop"
    return f"{named} {verb}" + (f" but for {share:.0%} of their load" if share > 0.0 else "")


def _often(times: float) -> str:
    """Say how many times a year [1/year]."""
    if times >= 1.5:  # noqa: PLR2004
        return f"about {times:,.0f} times a year"
    return f"about once in {max(round(1.0 / max(times, 1e-6)), 1):,} years"


def solar_words(found: Dispatch | None) -> list[str]:
    """Say what the array delivers, hour by hour, of what it makes and of the load."""
    if found is None:
        return []
    year = {
        k: float(np.sum(getattr(found, k)[0]))
        for k in ("load", "made", "direct", "battery", "spilled", "lost")
    }
    load, made = max(year["load"], 1e-9), max(year["made"], 1e-9)
    once, later = year["direct"] / load, year["battery"] / load
    return [
        (
            f"The array makes {year['made'] / load:.0%} of the year's electricity and, hour by "
            f"hour, delivers {once + later:.0%}: {once:.0%} at once and {later:.0%} through the "
            "battery; "
            f"{year['spilled'] / made:.0%} of what it makes finds no use and "
            f"{year['lost'] / made:.0%} is lost in the battery."
        )
    ]


def solar_season(found: Dispatch | None) -> dict[str, Array]:
    """Return the sun's part by month for charts and checks, (draws, 12). [kWh]"""
    if found is None:
        return {}
    return {
        "solar_made_kwh": found.made,
        "solar_direct_kwh": found.direct,
        "solar_battery_kwh": found.battery,
        "solar_spilled_kwh": found.spilled,
    }
