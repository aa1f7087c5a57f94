"""How large a farm answers the size asked for: a bed area, people, a footprint, a budget or fish?

The farm is sized from bed area only; other bases search over whole square metres of bed: the
largest farm within a footprint or a budget, the smallest that feeds the people or gives the fish.
"""

from collections.abc import Callable

from sitefare.appraisal import Plan, appraise, plan_at, settled
from sitefare.arrays import Array
from sitefare.assumptions.case import Case, base_values
from sitefare.assumptions.declaration import build, choice, inputs, quantity
from sitefare.errors import DesignError

#: Smallest and largest bed area searched. [m2]
SMALLEST, LARGEST = 10, 200_000


@inputs("size")
class SizeInputs:
    """What the size of the farm is asked by, and each basis's amount."""

    basis: str = choice(
        "bed_area", "people", "footprint", "budget", "fish_output", doc="What sets the farm's size"
    )
    bed_area: Array = quantity("m2", low=1, doc="Growing bed area asked for", varies="choice")
    people: Array = quantity(
        "person", low=1, doc="People to feed by the headline ration", varies="choice"
    )
    footprint: Array = quantity("m2", low=1, doc="Ground to be built on at most", varies="choice")
    budget: Array = quantity(
        "money", low=0, doc="Capital budget at most, contingency included", varies="choice"
    )
    fish_output: Array = quantity(
        "kg/year", low=0, doc="Live fish a year asked for", varies="choice"
    )


def plan_for(case: Case) -> Plan:
    """Size the farm of a case by the basis it names.

    Raises
    ------
    DesignError
        If no farm within the searched sizes answers, or it cannot be run safely.
    """
    asked = build(SizeInputs, base_values(case))
    amount = {
        "bed_area": asked.bed_area,
        "people": asked.people,
        "footprint": asked.footprint,
        "budget": asked.budget,
        "fish_output": asked.fish_output,
    }[asked.basis]
    target = float(amount[0, 0])
    if asked.basis == "bed_area":
        return settled(plan_at(case, target))
    if asked.basis == "footprint":
        return largest_within(case, lambda plan: plan.design.footprint, target, "m² of ground")
    if asked.basis == "budget":
        return largest_within(case, _indicator("capex"), target, f"{case.currency} of capital")
    names = {"people": "people_fed", "fish_output": "fish_live_kg_year"}
    words = {"people": "people fed", "fish_output": "kg of live fish a year"}
    return smallest_giving(case, _indicator(names[asked.basis]), target, words[asked.basis])


def _indicator(name: str) -> Callable[[Plan], float]:
    """Return a function that reads one indicator of a plan at base."""
    return lambda plan: float(appraise(plan).indicators[name][0, 0])


def largest_within(case: Case, measure: Callable[[Plan], float], limit: float, words: str) -> Plan:
    """Return the largest whole farm whose measure stays within a limit.

    Raises
    ------
    DesignError
        If even the smallest farm goes beyond it.
    """
    smallest = measure(plan_at(case, SMALLEST))
    if smallest > limit:
        needed = f"{smallest:,.0f} {words}"
        msg = f"a farm of {SMALLEST} m² of bed already needs {needed}; {limit:,.0f} asked"
        raise DesignError(msg)
    inside = _bisect(lambda area: measure(plan_at(case, area)) <= limit)
    return settled(plan_at(case, inside))


def smallest_giving(
    case: Case, measure: Callable[[Plan], float], target: float, words: str
) -> Plan:
    """Return the smallest whole farm whose measure reaches a target.

    Raises
    ------
    DesignError
        If even the largest farm searched falls short.
    """
    short = _bisect(lambda area: measure(plan_at(case, area)) < target)
    if short >= LARGEST:
        most = measure(plan_at(case, LARGEST))
        msg = f"even {LARGEST:,} m² of bed gives {most:,.0f} {words}; {target:,.0f} asked"
        raise DesignError(msg)
    return settled(plan_at(case, short + 1))


def _bisect(holds: Callable[[int], bool]) -> int:
    """Return the largest whole area at which a claim holds that fails from some area on.

    The search doubles from the smallest area, so that huge farms are tried only when needed.
    """
    low, high = SMALLEST - 1, SMALLEST
    while high < LARGEST and holds(high):
        low, high = high, min(2 * high, LARGEST)
    if high == LARGEST and holds(high):
        return LARGEST
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low
