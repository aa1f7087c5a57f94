"""How large a farm answers the size asked for: a bed area, people, a footprint, a budget or fish?

The farm is sized from bed area only; other bases search over whole square metres of bed: the
largest farm within a footprint or a budget, the smallest that feeds the people or gives the fish.
Whole tanks and whole people make steps, so neighbours of the answer are tried too, and the
answer is given with the whole design next to it.
"""

from collections.abc import Callable
from dataclasses import replace

from sitefare.appraisal import Plan, appraise, plan_at, settled
from sitefare.arrays import Array
from sitefare.assumptions.case import Case, base_values
from sitefare.assumptions.declaration import build, choice, inputs, quantity
from sitefare.errors import DesignError
from sitefare.people.holding import holding
from sitefare.people.words import bound_words

#: Smallest and largest bed area searched. [m2]
SMALLEST, LARGEST = 10, 200_000

#: Whole square metres tried beside an answer: whole tanks and people make steps, so that a
#: larger farm may cost less than a smaller one. [m2]
NEIGHBOURS = 8

#: How far beyond the target an answer must lie to be told. [1]
NOTED = 1.1


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
    """Size the farm of a case by the basis it names, and say what binds.

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
        said = f"The bed area asked, {target:,.0f} m², sets the farm's size."
        return settled(_saying(plan_at(case, target), said))
    if asked.basis == "footprint":
        return largest_within(case, lambda plan: plan.design.footprint, target, "m² of ground")
    if asked.basis == "budget":
        return largest_within(case, _indicator("capex"), target, f"{case.currency} of capital")
    names = {"people": "people_fed", "fish_output": "fish_live_kg_year"}
    words = {"people": "people fed", "fish_output": "kg of live fish a year"}
    plan = smallest_giving(case, _indicator(names[asked.basis]), target, words[asked.basis])
    return _saying(plan, _people_bound(plan)) if asked.basis == "people" else plan


def _people_bound(plan: Plan) -> str:
    """Say which part of the ration and which months of a full year hold the people down."""
    fed = appraise(plan).fed
    return bound_words(holding(fed.rations[fed.headline], fed.full, plan.case.timeline))


def _indicator(name: str) -> Callable[[Plan], float]:
    """Return a function that reads one indicator of a plan at base."""
    return lambda plan: float(appraise(plan).indicators[name][0, 0])


def _saying(plan: Plan, said: str) -> Plan:
    """Put what sets the farm's size before the other limits of its design."""
    return replace(plan, design=replace(plan.design, limits=(said, *plan.design.limits)))


def largest_within(case: Case, measure: Callable[[Plan], float], limit: float, words: str) -> Plan:
    """Return the largest whole farm whose measure stays within a limit.

    Raises
    ------
    DesignError
        If even the smallest farm goes beyond it.
    """

    def used(area: int) -> float:
        return measure(plan_at(case, area))

    if used(SMALLEST) > limit:
        msg = f"a farm of {SMALLEST} m² of bed already needs {used(SMALLEST):,.0f} {words}; "
        raise DesignError(msg + f"{limit:,.0f} asked")
    first = _bisect(lambda area: used(area) <= limit)
    inside = first
    for area in range(first + 2, min(first + NEIGHBOURS, LARGEST) + 1):
        inside = area if used(area) <= limit else inside
    if inside >= LARGEST:
        said = f"{LARGEST:,} m² of bed, the largest searched, stay within {limit:,.0f} {words}."
        return settled(_saying(plan_at(case, LARGEST), said))
    plan, over = plan_at(case, inside), used(inside + 1)
    said = (
        f"{limit:,.0f} {words} are asked and set the size: {inside} m² of bed take "
        f"{measure(plan):,.0f} and {inside + 1} m² would take {over:,.0f}.{_stepped(inside, first)}"
    )
    return settled(_saying(plan, said))


def smallest_giving(
    case: Case, measure: Callable[[Plan], float], target: float, words: str
) -> Plan:
    """Return the smallest whole farm whose measure reaches a target.

    Raises
    ------
    DesignError
        If even the largest farm searched falls short.
    """

    def given(area: int) -> float:
        return measure(plan_at(case, area))

    short = _bisect(lambda area: given(area) < target)
    if short >= LARGEST:
        msg = f"even {LARGEST:,} m² of bed gives {given(LARGEST):,.0f} {words}; "
        raise DesignError(msg + f"{target:,.0f} asked")
    found = short + 1
    for area in range(short - 1, max(short - NEIGHBOURS, SMALLEST) - 1, -1):
        found = area if given(area) >= target else found
    plan = plan_at(case, found)
    less = f" and {found - 1} m² would give {given(found - 1):,.4g}" if found > SMALLEST else ""
    said = (
        f"{target:,.0f} {words} are asked and set the size: {found} m² of bed give "
        f"{measure(plan):,.4g}{less}.{_stepped(found, short + 1)}"
        f"{beyond_words(measure(plan), target, found)}"
    )
    return settled(_saying(plan, said))


def beyond_words(given: float, target: float, found: int) -> str:
    """Say that the smallest whole farm gives well beyond what is asked, and why."""
    if given <= target * NOTED:
        return ""
    smallest = f" {SMALLEST} m² is the smallest searched." if found == SMALLEST else ""
    return (
        " That is more than asked: the smallest whole farm that answers gives it, since whole "
        f"tanks, cohorts and months without a harvest make steps.{smallest}"
    )


def _stepped(found: int, first: int) -> str:
    """Say that whole tanks and people make steps, where a neighbour answers out of order."""
    if found == first:
        return ""
    low, high = sorted((found, first))
    return (
        f" Whole tanks, people and machines make steps: not every area between {low} and {high} m² "
        "answers."
    )


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
