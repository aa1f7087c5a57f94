"""At which price, distance or cost would the farm and another route cost the same?

A crossing moves one thing and holds the rest. Costs are monotone in each, so the crossing is
bracketed and solved by Brent's method (SciPy), or there is none, with the reason. The farm's
cost carries everything; an alternative's is a market price: shadow effects are in neither.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from sitefare.arrays import Array, value
from sitefare.assumptions.declaration import DECLARED, Values
from sitefare.questions.routes import Route, Served, routes

#: Largest multiple of the local price, and of a row without a bound, that is looked at. [1]
MOST_TIMES = 10_000.0

#: The farm's cost that routes are set against.
FARM = "cost_per_person_day"

#: Share of undefined draws above which no chance is given. [1]
UNDEFINED_AT_MOST = 0.05


@dataclass(frozen=True)
class Lever:
    """What is moved: one row, or every row of a kind multiplied, its words and its unit."""

    title: str
    unit: str
    row: str = ""
    times: str = ""


#: Levers by key; those with `times` multiply every price of that kind.
LEVERS = {
    "local_price": Lever("local prices, over those assumed,", "1", times="local_price."),
    "distance": Lever("a road distance", "km", "haulage.distance"),
    "freight": Lever("a freight by road", "money/t/km", "haulage.freight"),
    "sea_freight": Lever("a sea freight", "money/kg", "shipping.freight"),
    "hours": Lever("garden work", "h/m2/year", "garden.hours"),
}

#: Levers that move each route; a transfer moves as the local price does.
MOVES = {
    "local": ("local_price",),
    "road": ("distance", "freight"),
    "sea": ("sea_freight",),
    "garden": ("hours",),
}


@dataclass(frozen=True)
class Crossing:
    """Where the farm and a route cost the same; `at` is nan with a `reason` where nowhere.

    `base` is the lever's value in the case; both in the lever's unit.
    """

    route: str
    lever: str
    at: float
    base: float
    unit: str
    reason: str


def moved(values: Values, lever: Lever, x: float) -> Values:
    """Return values with a lever at x, or its rows multiplied by x. [lever's unit]"""
    if not lever.times:
        return {**values, lever.row: value(x)}
    found = dict(values)
    for name in values:
        price = found[name]
        if name.startswith(lever.times) and name.endswith(".price") and not isinstance(price, str):
            found[name] = price * x
    return found


def bracketed(cost: Callable[[float], float], target: float, most: float) -> float:
    """Return where a cost that never falls reaches a target, from 0 to `most`, else nan.

    Parameters
    ----------
    cost : callable
        Cost at a value of the lever. [money/person/day]
    target : float
        Cost to be reached. [money/person/day]
    most : float
        Largest value of the lever. [lever's unit]
    """
    low, high = cost(0.0) - target, cost(most) - target
    if not (low <= 0.0 <= high):
        return float("nan")
    return float(brentq(lambda x: cost(x) - target, 0.0, most, xtol=1e-12, rtol=1e-14))


def straight(cost: Callable[[float], float], target: float) -> float:
    """Return where a cost that is a straight line reaches a target; nan below 0 or if flat.

    Parameters
    ----------
    cost : callable
        Cost at a value of the lever. [money/person/day]
    target : float
        Cost to be reached. [money/person/day]
    """
    at_zero, slope = cost(0.0), cost(1.0) - cost(0.0)
    found = (target - at_zero) / slope if slope > 0.0 else float("nan")
    return found if found >= 0.0 else float("nan")


def crossing(
    food: Served,
    values: Values,
    indicators: Mapping[str, Array],
    route: str,
    name: str,
    measure: str = FARM,
) -> Crossing:
    """Return where one route costs what the farm costs, moving one lever, at base values.

    Parameters
    ----------
    food : Served
        What the farm serves.
    values : mapping
        Base values.
    indicators : mapping of array, shape (1, 1)
        The farm's indicators at base. [mixed]
    route : str
        Key of a route.
    name : str
        Key of a lever.
    measure : str
        Indicator of the farm's cost a person-day. [money/person/day]
    """
    lever, farm = LEVERS[name], float(indicators[measure][0, 0])
    base = 1.0 if lever.times else float(np.asarray(values[lever.row])[0, 0])

    def cost(x: float) -> float:
        found = routes(food, moved(values, lever, x), indicators, (route,))
        return float(found[route].cost[0, 0])

    most = _most(lever, base)
    at = bracketed(cost, farm, most) if np.isfinite(farm) else float("nan")
    reason = "" if np.isfinite(at) else _why(cost, farm, lever, most)
    return Crossing(route, name, at, base, lever.unit, reason)


def _most(lever: Lever, base: float) -> float:
    """Return the largest value looked at: the row's bound, or a large multiple of its base."""
    if lever.times:
        return MOST_TIMES
    head, _, name = lever.row.partition(".")
    bound = DECLARED[head].specs[name].high
    return bound if np.isfinite(bound) else MOST_TIMES * max(base, 1e-6)


def _why(cost: Callable[[float], float], farm: float, lever: Lever, most: float) -> str:
    """Say why there is no crossing."""
    if not np.isfinite(farm):
        return "the farm feeds nobody"
    unit = "" if lever.unit == "1" else f" {lever.unit}"
    if cost(0.0) > farm:
        return f"the farm costs less even at {lever.title} of 0{unit}"
    return f"the farm costs more even at {lever.title} of {most:,.6g}{unit}"


def reduction(farm: Array, route: Array) -> Array:
    """Return by what share the farm's cost must fall to equal a route's; below 0 where it is less.

    Parameters
    ----------
    farm, route : array, shape (draws, 1)
        Costs. [money/person/day]

    Returns
    -------
    array, shape (draws, 1)
        nan where the farm feeds nobody. [1]
    """
    fed = np.isfinite(farm) & (farm > 0.0)
    return np.where(fed, 1.0 - route / np.where(fed, farm, 1.0), np.nan)


def crossings(
    food: Served, values: Values, indicators: Mapping[str, Array], measure: str = FARM
) -> tuple[Crossing, ...]:
    """Return every crossing of every route at base values: its levers, then the farm's own cost.

    A farm that costs less than a route already has no reduction to make, and says so.
    """
    farm: Array = indicators[measure]
    found: list[Crossing] = []
    for key, route in routes(food, values, indicators).items():
        levers = MOVES.get(key, ("local_price",))
        found += [crossing(food, values, indicators, key, name, measure) for name in levers]
        found.append(_farm_cost(key, float(reduction(farm, route.cost)[0, 0])))
    return tuple(found)


def _farm_cost(key: str, share: float) -> Crossing:
    """Return the fall of the farm's cost at which it equals a route's."""
    why = ""
    if not np.isfinite(share):
        why = "the farm feeds nobody"
    elif share <= 0.0:
        share, why = float("nan"), "the farm costs no more than the route"
    return Crossing(key, "farm_cost", share, 0.0, "1", why)


def chance_cheaper(farm: Array, route: Route) -> float:
    """Return the share of common draws in which the farm costs less than a route.

    A farm that feeds nobody is never cheaper; nan where the route is undefined in more than 5 %
    of draws.

    Parameters
    ----------
    farm : array, shape (draws, 1)
        Cost per person-day of the same draws. [money/person/day]
    route : Route
        The route, of the same draws.

    Returns
    -------
    float
        [1]
    """
    less, other = np.broadcast_arrays(farm, route.cost)
    known = np.isfinite(other)
    if np.mean(~known) > UNDEFINED_AT_MOST:
        return float("nan")
    return float(np.mean(less[known] < other[known]))
