"""Which air temperature and vapour pressure balance heat and moisture in an hour.

Steady balances per square metre covered, heat in W/m2, vapour as the heat that evaporates it.
Leaves give A + B (s(T) − e); all other vapour flows are conductances to a known pressure, so
that e is a straight line in T near a guess, and T follows in one step. Each pass takes the
last as its guess; in the last pass both balances close exactly for the flows it returns.

Shut house, ASABE EP406 with moisture beside it:
    heat   loss·T + leaves + … = heat,     vapour   leaves + water + Σ g (e_there − e) = 0
Vapour that condenses on the cover gives its heat to the cover: the share that the air film
inside passes on comes back, the rest is lost through the cover.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.farm import air
from sitefare.farm.moisture import Leaves

#: Air film on the cover's inner face, still air, ASHRAE Fundamentals. [W/m2/K]
INNER_FILM = 8.3

#: Convective part of that film, which carries vapour. [W/m2/K]
INNER_CONVECTION = 3.5

#: Most of the house's loss that lies in the inner film: a cover is never all film. [1]
MOST_FILM = 0.95

#: Least difference over which vents can carry heat [K] and vapour [kPa].
LEAST_DROP, LEAST_DRYNESS = 0.1, 0.05


@dataclass(frozen=True)
class Shut:
    """An hour of the shut house; arrays broadcast to (draws, 12, hours).

    Outdoor air [degC, kPa]; psychrometric constant [kPa/K]; `loss` [W/m2/K] and `heat` [W/m2] of
    cover, leaks, ground, sun, lamps and water; `link` [W/m2/K kPa] and `vapour` [W/m2] of leaks
    and water; cover: `skin` is U over the inner film [1], `drip` vapour to it [W/m2/kPa].
    `padded` is how much pads could cool the air let in [K].
    """

    outdoors: Array
    moist: Array
    gamma: Array
    loss: Array
    heat: Array
    link: Array
    vapour: Array
    skin: Array
    drip: Array
    padded: Array


@dataclass(frozen=True)
class Point:
    """What leaves and cover do near a guessed temperature.

    Saturation [kPa] and its slope [kPa/K] there, leaves' A [W/m2] and B [W/m2/kPa], saturation at
    the cover's inner face [kPa], what leaves give to dry air, A + B s [W/m2], and what takes
    vapour with vents shut, leaves, leaks and water [W/m2/kPa].
    """

    guess: Array
    saturated: Array
    slope: Array
    sunny: Array
    dry: Array
    cover: Array
    steam: Array
    link: Array


@dataclass(frozen=True)
class Line:
    """The house with vents at a given opening, near the guess.

    `temperature` balances heat; heat added moves it by 1/`stiffness` [W/m2/K]. Vapour pressure
    is `moist` + `rise` (T − guess), and moisture taken out [W/m2] lowers it by `share` [kPa m2/W].
    `back` is condensing heat that returns [W/m2/kPa], `wet` the condensing conductance.
    """

    temperature: Array
    stiffness: Array
    moist: Array
    rise: Array
    share: Array
    back: Array
    wet: Array


def point(shut: Shut, leaves: Leaves, guess: Array) -> Point:
    """Return leaves and cover near a guess [degC]."""
    saturated = air.saturation_pressure(guess)
    slope = 4098.0 * saturated / (guess + 237.3) ** 2
    delta = slope / shut.gamma
    every = 1.0 / (delta + leaves.rest)
    face = guess - shut.skin * (guess - shut.outdoors)
    sunny, dry = leaves.sun * delta * every, leaves.dry * every
    cover = air.saturation_pressure(face)
    steam, link = sunny + dry * saturated, dry + shut.link
    return Point(guess, saturated, slope, sunny, dry, cover, steam, link)


def line(shut: Shut, near: Point, vent: Array | None = None) -> Line:
    """Return the balanced hour with so much outdoor air let in [W/m2/K], or vents shut."""
    link, vapour = near.link, near.steam + shut.vapour
    loss, spare = shut.loss, shut.heat
    if vent is not None:
        opened = vent / shut.gamma
        link, vapour = link + opened, vapour + opened * shut.moist
        loss, spare = loss + vent, spare + vent * shut.outdoors
    wet = np.where(vapour > near.cover * link, shut.drip, 0.0)
    share = 1.0 / (link + wet)
    moist = (vapour + wet * near.cover) * share
    rise = near.dry * share * near.slope
    leaving = near.steam - near.dry * moist
    back = (1.0 - shut.skin) * wet
    stiffness = loss + near.dry * (near.slope - rise) - back * rise
    step = (spare - loss * near.guess - leaving + back * (moist - near.cover)) / stiffness
    return Line(near.guess + step, stiffness, moist, rise, share, back, wet)


def vapour_pressure(found: Line, near: Point, temperature: Array, removed: Array) -> Array:
    """Return vapour pressure at a temperature, after machines removed moisture [W/m2]. [kPa]"""
    return found.moist + found.rise * (temperature - near.guess) - found.share * removed


def moister(found: Line, near: Point, removed: Array) -> Array:
    """Return heat the air loses as leaves give more, and the cover less, to drier air. [W/m2]"""
    return (near.dry + found.back) * found.share * removed


def warm_vent(shut: Shut, near: Point, target: Array) -> Array:
    """Return outdoor air that holds a temperature [degC], or less where none can. [W/m2/K]

    With v the vapour conductance of the air let in, heat carried γ v (T − Tₒ) plus what the
    leaves take, (N₀ + N₁ v) ÷ (M + v), is the surplus H: a quadratic in v with one root above 0.
    """
    saturated = near.saturated + near.slope * (target - near.guess)
    surplus = shut.heat - shut.loss * target
    most = near.link
    shut_leaves = near.sunny * shut.link + near.dry * (shut.link * saturated - shut.vapour)
    opening = near.sunny + near.dry * (saturated - shut.moist)
    carried = shut.gamma * np.maximum(target - shut.outdoors, LEAST_DROP)
    middle = carried * most + opening - surplus
    last = shut_leaves - surplus * most
    root = np.sqrt(np.maximum(middle**2 - 4.0 * carried * last, 0.0))
    return np.asarray(shut.gamma * np.maximum(root - middle, 0.0) / (2.0 * carried))


def moisture_over(shut: Shut, near: Point, saturated: Array, allowed: Array) -> Array:
    """Return moisture to remove to hold the vapour allowed [kPa], nothing condensing. [W/m2]

    `saturated` is the saturation at the temperature held. [kPa]
    """
    leaving = near.sunny + near.dry * (saturated - allowed)
    return np.maximum(leaving + shut.vapour - shut.link * allowed, 0.0)


def mist(shut: Shut, near: Point, vent: Array) -> Array:
    """Return vapour beyond saturation that neither air let in nor the cover takes. [W/m2]

    It settles as mist, and its heat stays. It comes where warm water steams into a freezing house.
    """
    over = np.maximum(near.sunny + shut.vapour - shut.link * near.saturated, 0.0)
    aired = vent / shut.gamma * (near.saturated - shut.moist)
    dripped = shut.drip * np.maximum(near.saturated - near.cover, 0.0)
    return np.maximum(over - aired - dripped, 0.0)


def dry_vent(shut: Shut, near: Point, temperature: Array, limit: Array) -> Array:
    """Return outdoor air that holds humidity under a limit [1], where that air is drier. [W/m2/K]

    Only what the cover does not condense is aired out.
    """
    saturated = near.saturated + near.slope * (temperature - near.guess)
    allowed = limit * saturated
    drier = allowed - shut.moist
    over = moisture_over(shut, near, saturated, allowed)
    over = over - shut.drip * np.maximum(allowed - near.cover, 0.0)
    carried = shut.gamma * np.maximum(over, 0.0) / np.maximum(drier, LEAST_DRYNESS)
    return np.where(drier > 0.0, carried, 0.0)
