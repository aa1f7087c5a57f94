"""What else an agency logs of a year, and what nutrients cost from the farm and from the market."""

import numpy as np

from sitefare.outputs.document import Block, Cell, Column, Heading, Table
from sitefare.outputs.proposal.view import View, printed_unit, sentence
from sitefare.questions.logged import logged, nutrient_costs
from sitefare.questions.reaching import Handed


def other_results(view: View, way: Handed) -> list[Block]:
    """Return other results of a year, with the distribution model planned."""
    return [
        Heading(2, "Other results", "other-results"),
        _logged_table(view, way),
    ]


def _logged_table(view: View, way: Handed) -> Table:
    """Return other results an agency logs."""
    f = view.formats
    rows: list[tuple[Cell, ...]] = []
    for one in logged(view.appraisal, way):
        figures = 2 if one.unit == "posts" else 3
        shown = f.number(one.figure, figures, printed_unit(one.unit).replace("/", " a "))
        if one.unit.startswith(f.currency):
            shown = f"{f.money(one.figure)} a year"
        rows.append((one.title, shown if np.isfinite(one.figure) else "–", sentence(one.said)))
    columns = (
        Column("Result", weight=3),
        Column("A full year", align="right", weight=2),
        Column("What it counts", weight=3),
    )
    note = "Below zero, the farm takes or emits more than what it is set against."
    return Table(
        columns, tuple(rows), "Other results of a full year", note, wide=True, anchor="logged-table"
    )


def nutrients_table(view: View) -> Table:
    """Return cost of nutrients beside the market."""
    f = view.formats
    rows: list[tuple[Cell, ...]] = [
        (
            one.amount[:1].upper() + one.amount[1:],
            one.farm,
            one.basket,
            one.cheapest,
            one.source.replace("_", " "),
        )
        for one in nutrient_costs(view.appraisal)
    ]
    columns = (
        Column("For one", weight=3),
        Column("Farm", f.currency, "right", f.amount, weight=2),
        Column("Same food", f.currency, "right", f.amount, weight=2),
        Column("Least dear", f.currency, "right", f.amount, weight=2),
        Column("Which", weight=2),
    )
    note = (
        "Farm: the whole project's cost over the nutrient in the food handed over, after cooking; each "
        "nutrient carries the whole cost. Same food: bought locally, what spoils paid for. Least dear: "
        "the cheapest source among the vegetables and fish with a local price; staples, pulses, eggs "
        "and milk are not among them and are often cheaper."
    )
    return Table(
        columns, tuple(rows), "What nutrients cost", note, wide=True, anchor="nutrient-cost-table"
    )
