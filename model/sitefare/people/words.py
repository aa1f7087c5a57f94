"""What must be said beside the number of people fed, in plain sentences about the first draw."""

from collections.abc import Mapping
from dataclasses import dataclass

from sitefare.arrays import Array, day_mean
from sitefare.people.coverage import Diet
from sitefare.people.distribution import DistributionInputs, withheld
from sitefare.people.food import Foods, in_retinol_equivalents
from sitefare.people.need import Need
from sitefare.people.rations import RationInputs, Supply
from sitefare.people.result import Ration
from sitefare.timeline import Timeline

MONTH_NAMES = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

#: Vegetables and fruit a person a day that WHO advises, WHO healthy diet. [g/person/day]
WHO_VEGETABLES = 400.0

#: Said wherever people fed are.
SUPPLEMENT = (
    "The farm supplements a diet; it does not replace a ration. A nutritionist of the agency or "
    "of the health authority should review the ration and the cover before they are relied on."
)

#: What stands in for a source that is not held.
STAND_IN = (
    "Energy requirements are those of dietary guidelines for the United States, standing in for "
    "the FAO/WHO/UNU tables."
)


@dataclass(frozen=True)
class Told:
    """What the notes are drawn from."""

    foods: Foods
    need: Need
    asked: Mapping[str, RationInputs]
    rations: Mapping[str, Ration]
    headline: str
    supply: Supply
    diet: Diet
    portions: Mapping[str, Array]
    distribution: DistributionInputs
    timeline: Timeline


def first(x: Array) -> float:
    """Return the first draw's number. [same unit]"""
    return float(x[0, 0])


def people_notes(told: Told) -> tuple[str, ...]:
    """Return the sentences that go with the people fed, those that apply."""
    notes = [
        SUPPLEMENT,
        *_headline(told),
        *_gaps(told),
        *_area_rule(told),
        *_disease(told),
        *_herbs(told),
        _vitamin_a(told),
        STAND_IN,
        "Infants under one year are not counted.",
    ]
    return tuple(notes)


def _headline(told: Told) -> list[str]:
    """Say who is fed, what binds, and whether that is more than live there."""
    ration, fed = told.rations[told.headline], first(day_mean(told.diet.persons))
    basis = "the worst month" if ration.basis == "worst_month" else "the year's mean"
    said = [
        (
            f"People are counted by this ration: {ration.title}, on {basis} of a full year; the "
            f"binding part is {ration.limiting.replace('_', ' ')}. "
            "Each month of ramp-up counts by itself."
        )
    ]
    if fed > first(told.need.persons):
        said.append(
            f"That is more than the {first(told.need.persons):,.0f} people given: part of the food "
            "would find nobody, unless more people are served or more is sold elsewhere."
        )
    return said


def _gaps(told: Told) -> list[str]:
    """Name the calendar months in which a full year serves no vegetables or no fish."""
    said = []
    for name in ("vegetables", "fish"):
        season = _season(told, name)
        empty = [m for m, x in zip(MONTH_NAMES, season[0], strict=True) if x <= 0.0]
        if empty:
            said.append(
                f"No {name} reach the people served in {', '.join(empty)}, after what keeps from "
                "the months before: a real gap, to be filled from elsewhere."
            )
    return said


def _season(told: Told, name: str) -> Array:
    """Sum the season of vegetables or of fish. [g/day]"""
    fish = name == "fish"
    kinds = told.foods.items
    parts = [g for k, g in told.diet.grams.items() if (kinds[k].kind == "fish") == fish]
    return sum(parts[1:], start=parts[0]) if parts else told.diet.persons * 0.0


def _area_rule(told: Told) -> list[str]:
    """Set common practice's area a person beside the WHO guideline, from this farm's own yield."""
    rule = next((r for r in told.asked.values() if r.counted == "bed_area"), None)
    if rule is None or told.supply.bed_area is None:
        return []
    area = first(rule.area)
    people = told.supply.bed_area / area
    grams = first(day_mean(_season(told, "vegetables"))) / people
    fillet = first(day_mean(_season(told, "fish"))) / people
    agree = "disagree" if grams < WHO_VEGETABLES else "agree here"
    return [
        (
            f"The area rule of common practice ({area:.2f} m2 of bed a person) would count "
            f"{people:,.0f} people. From what reaches the people served each would have "
            f"{grams:,.0f} g of vegetables and {fillet:,.0f} g of fillet a day, where WHO advises "
            f"{WHO_VEGETABLES:,.0f} g of vegetables and fruit: the two {agree}. "
            "The rule is reported, never a target."
        )
    ]


def _disease(told: Told) -> list[str]:
    """Say which foods are withheld where cholera or hepatitis E is present."""
    present = told.distribution.cholera_or_hepatitis_e
    raw = [k for k, food in told.foods.items.items() if withheld(food, present)]
    if present == "no":
        return []
    said = "Cholera or hepatitis E is present: only food that is cooked counts."
    named = ", ".join(sorted(raw)).replace("_", " ")
    return (
        [f"{said} {named}: eaten raw, so served to nobody; plant greens that are cooked."]
        if (raw)
        else [said]
    )


def _herbs(told: Told) -> list[str]:
    """Say that herbs are counted for nobody."""
    herbs = sorted(k for k, food in told.foods.items.items() if food.kind == "herb")
    return [f"Herbs season a meal and count for nobody: {', '.join(herbs)}."] if herbs else []


def _vitamin_a(told: Told) -> str:
    """Say in which unit vitamin A is counted, and the factor between the two."""
    factor = first(told.foods.vitamin_a.plant_factor)
    unit = "retinol equivalents (RE), the unit of the requirement"
    other = f"in retinol activity equivalents (RAE) plants would cover 1/{factor:g} as much"
    if not in_retinol_equivalents(told.foods):
        unit = "retinol activity equivalents (RAE), against a requirement in RE"
        other = f"in retinol equivalents plants would cover {factor:g} times as much"
    return f"Vitamin A is counted in {unit}; {other}."
