"""What does a year cost by kind, what does it harvest, and whom does it feed?

Yearly rows for sheet Years, from which sheet Charts draws.
"""

from collections.abc import Iterator

import numpy as np

from sitefare.arrays import Array
from sitefare.outputs.workbook.frame import Heading, Item, Line
from sitefare.outputs.workbook.made import Made

#: Kinds of running cost and what the names of their lines start with; the rest comes last.
KINDS = (
    ("wages", "Work", ("wages_",)),
    ("power", "Power and fuel", ("electricity", "generator_fuel", "heating_fuel")),
    ("fish", "Feed and young fish", ("feed", "fingerlings")),
    ("crops", "Plants, dosing, packing", ("planting", "dosing", "packing")),
    ("care", "Upkeep, insurance, rent, storms", ("upkeep", "insurance", "rent", "storm_repairs")),
    ("rest", "Everything else", ("",)),
)


def sorted_lines(names: list[str]) -> dict[str, list[str]]:
    """Put lines of running cost under the keys of `KINDS`."""
    found: dict[str, list[str]] = {key: [] for key, _, _ in KINDS}
    for name in names:
        found[next(key for key, _, starts in KINDS if name.startswith(starts))].append(name)
    return found


def by_year(made: Made, flow: Array) -> Array:
    """Return a monthly flow by project year, (1, years + 1). [same unit]"""
    return made.timeline.by_year(np.broadcast_to(flow, (1, made.timeline.months + 1)))


def yearly(key: str) -> str:
    """Return the formula of a monthly line's sum over the column's year."""
    return f"SUMIF({{year:}},{{project_year}},{{{key}:}})"


def items(made: Made) -> Iterator[Item]:
    """Yield running costs by kind, harvest and people, by project year."""
    lines = made.money.operating.lines
    yield Heading("Running costs by kind", "Nominal, what is given in kind in them.")
    for key, names in sorted_lines(list(lines)).items():
        label = next(title for kind, title, _ in KINDS if kind == key)
        formula = "+".join(yearly(f"running.{name}") for name in names) or "0"
        values = sum((by_year(made, lines[n]) for n in names), by_year(made, np.zeros((1, 1))))
        yield Line(f"years.kind.{key}", label, made.currency, formula, values, total=True)
    yield Heading("Harvest and people fed")
    crops = sum(made.flows.crop_kg.values(), np.zeros((1, 1)))
    for key, label, flow in (
        ("vegetables", "Vegetables harvested", crops),
        ("fish", "Live fish sold", made.flows.fish_live_kg),
    ):
        yield Line(f"years.kg.{key}", label, "kg", yearly(f"farm.{key}"), by_year(made, flow),
                   kind="number", total=True)  # fmt: skip
    ration = made.fed.headline
    persons = by_year(made, made.fed.rations[ration].persons) / 12.0
    yield Line(
        "years.people", f"People fed, mean of the year: {made.fed.rations[ration].title}", "person",
        f"{yearly(f'people.{ration}.persons')}/12", persons, kind="number", strong=True,
    )  # fmt: skip
