"""What do vents, heaters, pads, chillers and dehumidifiers do in each hour of the house.

One pass over the hours near a guess: vents open first, then machines act, each no further
than its set point asks and than what is installed. Heat and moisture of what this returns
balance exactly along the lines of `house_balance`.
"""

from dataclasses import dataclass, replace

import numpy as np

from sitefare.arrays import Array, hourly
from sitefare.farm import house_balance
from sitefare.farm.enclosure import Indoors, air_conductance, chilled_to, drying_power
from sitefare.farm.house_balance import Line, Point, Shut

#: Widest opening that vents have against humidity, share of all they have. [1]
HUMID_OPENING = 0.25


@dataclass(frozen=True)
class Hours:
    """What one pass finds, hour by hour, as in IndoorClimate; (draws, 12, hours)."""

    temperature: Array
    vapour: Array
    heated: Array
    chilled: Array
    coiled: Array
    dried: Array
    transpired: Array
    condensed: Array
    misted: Array
    padded: Array
    vent: Array


def hours_of(case: Indoors, shut: Shut, near: Point) -> Hours:
    """Return each hour's air: aired, dried, heated, then cooled."""
    none = np.zeros((1, 1, 1))
    dried, heated, cold, padded, removed = none, none, (none, none), none, none
    if case.house.air == "closed":
        dried = _dried(case, shut, near)
        back = (1.0 + hourly(drying_power(case.rules))) * dried
        shut = replace(shut, heat=shut.heat + back, vapour=shut.vapour - dried)
    shut, vent = _aired(case, shut, near)
    misted = house_balance.mist(shut, near, vent)
    shut = replace(shut, heat=shut.heat + misted, vapour=shut.vapour - misted)
    found = house_balance.line(shut, near, vent)
    temperature = found.temperature
    if case.choices.heated:
        short = (case.set_point - temperature) * found.stiffness
        heated = np.clip(short, 0.0, case.capacity.heating)
        temperature = temperature + heated / found.stiffness
    if case.choices.cooling == "mechanical":
        temperature, cold, dried = _chilled(case, shut, near, found, temperature, dried)
        removed = cold[1] if case.house.air == "vented" else none
    elif case.choices.cooling == "pad_and_fan":
        temperature, padded = _padded(case, shut, near, found, temperature, vent)
        removed = -padded
    moist = house_balance.vapour_pressure(found, near, temperature, removed)
    saturated = near.saturated + near.slope * (temperature - near.guess)
    return Hours(
        temperature=temperature,
        vapour=moist,
        heated=heated,
        chilled=cold[0],
        coiled=cold[1],
        dried=dried,
        transpired=near.sunny + near.dry * (saturated - moist),
        condensed=found.wet * (moist - near.cover),
        misted=misted,
        padded=padded,
        vent=vent,
    )


def _aired(case: Indoors, shut: Shut, near: Point) -> tuple[Shut, Array]:
    """Return the hour, and vents as far open as warmth and moisture ask. [W/m2/K]

    A closed room with chillers is sealed. Where vents do not hold the cooling set point,
    chillers do, behind shut vents. Pads make hot air worth letting in.
    """
    rules, none = case.rules, np.zeros((1, 1, 1))
    if case.house.air == "closed" and case.choices.cooling == "mechanical":
        return shut, none
    still = house_balance.line(shut, near)
    most = hourly(air_conductance(case.house.vent_rate, case.hours.atmosphere))
    target = hourly(rules.vent_set_point)
    useful = (still.temperature > target) & (still.temperature > shut.outdoors - shut.padded)
    vent = np.where(useful, np.minimum(house_balance.warm_vent(shut, near, target), most), 0.0)
    if case.choices.heated and case.house.air == "vented":
        held = np.maximum(still.temperature, case.set_point)
        humid = house_balance.dry_vent(shut, near, held, hourly(rules.humidity_limit))
        vent = np.maximum(vent, np.minimum(humid, HUMID_OPENING * most))
    if case.choices.cooling == "mechanical":
        hot = house_balance.line(shut, near, vent).temperature > hourly(rules.cooling_set_point)
        vent = np.where(hot, 0.0, vent)
        shut = replace(shut, drip=np.where(hot, 0.0, shut.drip))  # the coil is colder by far
    return shut, vent


def _dried(case: Indoors, shut: Shut, near: Point) -> Array:
    """Return the moisture that dehumidifiers take, as far as they are installed. [W/m2]"""
    allowed = hourly(case.rules.humidity_limit) * near.saturated
    over = house_balance.moisture_over(shut, near, near.saturated, allowed)
    return np.minimum(over, case.capacity.drying / hourly(drying_power(case.rules)))


def _chilled(
    case: Indoors, shut: Shut, near: Point, found: Line, warm: Array, dried: Array
) -> tuple[Array, tuple[Array, Array], Array]:
    """Return temperature, chillers' heat and the moisture in it, and what dehumidifiers keep.

    A coil takes moisture beside dry heat up to a ratio, and no more than humidity asks. In a
    closed room that spares dehumidifiers, and their heat.
    """
    rules, target = case.rules, hourly(chilled_to(case.house, case.rules))
    excess = np.maximum(warm - target, 0.0) * found.stiffness
    if case.house.air == "closed":
        asked, spared = dried, 1.0 + hourly(drying_power(rules))
    else:
        allowed = hourly(rules.humidity_limit) * near.saturated
        asked = house_balance.moisture_over(shut, near, near.saturated, allowed)
        spared = house_balance.moister(found, near, np.ones((1, 1, 1)))
    ratio = hourly(rules.coil_latent)
    coiled = np.minimum(asked, ratio * excess / (1.0 + ratio * spared))
    total = excess - spared * coiled + coiled
    share = np.minimum(case.capacity.cooling / np.maximum(total, 1e-9), 1.0)
    coiled, total = coiled * share, total * share
    temperature = warm - (total - coiled + spared * coiled) / found.stiffness
    return temperature, (total, coiled), dried - coiled if case.house.air == "closed" else dried


def _padded(
    case: Indoors, shut: Shut, near: Point, found: Line, warm: Array, vent: Array
) -> tuple[Array, Array]:
    """Return temperature, and heat that pads turn to vapour; they wet as far as is asked."""
    most = vent * shut.padded
    drop = (most - house_balance.moister(found, near, most)) / found.stiffness
    excess = np.maximum(warm - hourly(case.rules.cooling_set_point), 0.0)
    used = np.clip(excess / np.maximum(drop, 1e-6), 0.0, 1.0)
    return warm - used * drop, used * most
