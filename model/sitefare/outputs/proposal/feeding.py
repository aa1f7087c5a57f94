"""Whom the farm feeds, by which ration, and at what cost beside the alternative."""

import pandas as pd

from sitefare.outputs import charts
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Column,
    Figure,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.proposal.view import View, sentence


def people(view: View) -> list[Block]:
    """Return the section on whom the farm feeds."""
    f, fed = view.formats, view.appraisal.fed
    frame = pd.DataFrame(
        [
            {"what": nutrient_words(name), "share": float(share.mean())}
            for name, share in fed.coverage.items()
        ]
    )
    return [
        Heading(1, "Whom it feeds", "people"),
        Paragraph(
            f"'Fed' always means by a named ration. The headline counts {plain(view.ration)}. A person "
            "counts only for food that reaches the people served, given or sold to them, never for "
            "food sold elsewhere, and food beyond the ration feeds nobody in the count."
        ),
        _rations(view),
        Figure(
            charts.diet(frame, f, ration=view.ration),
            "Share of the mean daily requirement that the harvest covers for the people fed on the "
            "headline ration, mean of the year.",
        ),
        Bullets(tuple(sentence(note) for note in fed.notes)),
        Caution(
            "The farm supplements a diet; it does not replace a ration. A nutrition adviser and the food "
            "cluster of the place should review these figures. Produce from fish water needs a "
            "food-safety plan.",
            "caution",
            "Diet and food safety",
        ),
    ]


def nutrient_words(name: str) -> str:
    """Name a nutrient as printed: 'Vitamin B12', 'Energy'."""
    first, _, letter = name.partition("_")
    return f"{first.capitalize()} {letter.upper()}".strip()


def lowered(words: str) -> str:
    """Lower the first letter only: 'vitamin A'."""
    return words[:1].lower() + words[1:]


def _rations(view: View) -> Table:
    """Return people fed and cost by every ration."""
    f = view.formats
    lines = []
    for name, ration in view.appraisal.fed.rations.items():
        cost = f"cost_per_person_day.{name}"
        lines.append(
            (
                ration.title,
                ration.basis.replace("_", " "),
                view.shown(f"people_fed.{name}", view.people),
                view.span(f"people_fed.{name}", view.people),
                view.shown(cost, f.amount),
                lowered(nutrient_words(ration.limiting)),
            )
        )
    columns = (
        Column("Ration"),
        Column("Months counted"),
        Column("People fed", align="right"),
        Column("P10–P90; median", align="right"),
        Column("Cost", f"{f.currency} a person-day", "right"),
        Column("What limits"),
    )
    note = (
        f"The same food as the headline ration bought locally costs "
        f"{f.money(view.value('alternative_cost_person_day'))} a person-day. The cost of each ration "
        "carries the whole farm."
    )
    return Table(columns, tuple(lines), "People fed by each ration", note, anchor="rations-table")
