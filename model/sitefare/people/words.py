"""What must be said beside the number of people fed, in plain sentences about the first draw."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array, day_mean
from sitefare.people.coverage import Diet
from sitefare.people.distribution import DistributionInputs, withheld
from sitefare.people.food import NUTRIENTS, Foods, in_retinol_equivalents
from sitefare.people.holding import Holding, holding
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

#: The two ways to count the months of a year, in words.
BASES = {"worst_month": "the worst month", "year_mean": "the year's mean"}

#: Units of requirements.
UNITS = dict.fromkeys(NUTRIENTS, "mg") | {
    "energy": "kcal",
    "protein": "g",
    "fat": "g",
    "vitamin_a": "µg",
    "folate": "µg",
    "vitamin_b12": "µg",
}

#: Months that are named; more are told together.
NAMED_AT_MOST = 4

#: People from which a count is whole. [person]
TEN = 10.0

#: Said wherever people fed are.
SUPPLEMENT = (
    "The farm supplements a diet; it does not replace a ration. A nutrition adviser of the agency, "
    "of the health authority or of the food cluster of the place should review the ration and its "
    "cover before they are relied on."
)

#: How the note on the headline ration starts.
COUNTED_BY = "People are counted by this ration"


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
    basis: tuple[str, ...]


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
        *told.basis,
        "Infants under one year are not counted.",
    ]
    return tuple(notes)


def _headline(told: Told) -> list[str]:
    """Say who is fed, what binds and when, and whether that is more than live there."""
    ration = told.rations[told.headline]
    bound = holding(ration, told.supply.full, told.timeline)
    said = [
        (
            f"{COUNTED_BY}: {ration.title}, on {BASES[ration.basis]} of a "
            f"full year. {bound_words(bound)}"
        ),
        (
            f"Years are full from project year {_first_full(told)} on, for people as for money. "
            "Each month before them counts by itself, and never more people than the full years "
            "hold."
        ),
        *_asked(told),
    ]
    if first(day_mean(told.diet.persons)) > first(told.need.persons):
        said.append(
            f"That is more than the {first(told.need.persons):,.0f} people given: part of the food "
            "would find nobody, unless more people are served or more is sold elsewhere."
        )
    return said


def bound_words(bound: Holding) -> str:
    """Say which part of a ration binds, in which months, and what the year's mean would hold."""
    part = nutrient_name(bound.part)
    if bound.basis == "year_mean":
        return f"The binding part is {part}."
    if bound.least > 0:
        return (
            f"The binding part is {part}, {when(bound)}; the mean of the year would hold "
            f"{_count(bound.mean)} in place of {_count(bound.least)}."
        )
    spared = [(name, x[0]) for name, x in bound.parts.items() if name != bound.part]
    others = [f"{name} for {_count(people)}" for name, people in spared]
    rest = f", though in every month there are {' and '.join(others)}" if others else ""
    return (
        "Some months of a full year feed nobody by it, so it counts nobody. The binding part is "
        f"{part}: none is left {when(bound)}{rest}. The mean of the year would hold "
        f"{_count(bound.mean)}."
    )


def when(bound: Holding) -> str:
    """Name the months that bind: 'in December', 'in months that differ from year to year'."""
    if len(bound.months) > NAMED_AT_MOST:
        return "in several months that are nearly alike"
    if not bound.months:
        return "in months that differ from year to year"
    return f"in {' and '.join(MONTH_NAMES[m] for m in bound.months)}"


def asked_words(ration: RationInputs, need: Mapping[str, Array]) -> str:
    """Say what a share of a requirement asks by the population's mean need; else nothing."""
    if ration.counted not in need:
        return ""
    whole, share = first(need[ration.counted]), first(ration.share)
    unit = UNITS[ration.counted]
    name = nutrient_name(ration.counted)
    return (
        f"{100 * share:.0f} % of {_amount(whole)} {unit} of {name} a person a day, the mean "
        f"need of the population given, is {_amount(whole * share)} {unit}"
    )


def nutrient_name(name: str) -> str:
    """Name a nutrient in a sentence: 'vitamin B12', 'energy'."""
    words, _, letter = name.partition("_")
    return f"{words} {letter.upper()}".strip()


def _asked(told: Told) -> list[str]:
    """Say what every ration counted by a share of a requirement asks."""
    words = [asked_words(ration, told.need.mean) for ration in told.asked.values()]
    return [f"{'; '.join(found)}." for found in [[w for w in words if w]] if found]


def _first_full(told: Told) -> int:
    """Return the first project year of full production. [year]"""
    return 1 + int(np.argmax(told.supply.full[0] > 0))


def _count(people: float) -> str:
    """Write people: whole ones, one decimal below ten."""
    return f"{people:,.0f}" if people >= TEN else f"{people:.1f}"


def _amount(x: float) -> str:
    """Write an amount with three figures at most."""
    return f"{float(f'{x:.3g}'):,.10g}"


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
