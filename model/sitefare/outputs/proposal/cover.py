"""How is each group covered through the year, and who is covered least?"""

import numpy as np
import pandas as pd

from sitefare.arrays import day_mean
from sitefare.outputs.charts_diet import cover_by_month
from sitefare.outputs.document import Block, Bullets, Column, Figure, Paragraph, Table
from sitefare.outputs.drawing import lowered
from sitefare.outputs.proposal.view import View, sentence
from sitefare.people.adequacy import adequacy_words
from sitefare.people.coverage import GroupCoverage, group_coverage_by_month, least_adequate
from sitefare.people.need import GROUP_WORDS, population_need
from sitefare.people.words import MONTH_NAMES, nutrient_name


def cover_through_the_year(view: View) -> list[Block]:
    """Return cover by group and calendar month: a chart, a table and what it comes to."""
    fed = view.appraisal.fed
    found = group_coverage_by_month(fed, population_need(view.base))
    least = least_adequate(found).group
    return [
        Paragraph("Each person fed gets the same ration, whatever the group."),
        Figure(
            cover_by_month(_frame(found, least), view.formats, f"a {GROUP_WORDS[least]}"),
            f"Share of the daily requirement of a {GROUP_WORDS[least]}, the group covered least, that "
            "an equal headline ration covers, by calendar month of a full year.",
            half=True,
        ),
        _table(view, found),
    ]


def cover_words(view: View) -> Bullets:
    """Say what cover by group and month comes to."""
    fed = view.appraisal.fed
    found = group_coverage_by_month(fed, population_need(view.base))
    said = (sentence(words) for words in adequacy_words(fed, found))
    return Bullets((*said, "Group by group and month by month it stands in the annex on people."))


def _frame(found: GroupCoverage, group: str) -> pd.DataFrame:
    """Lay one group's cover out by nutrient and month, least covered nutrient last."""
    ranked = sorted(found.share[group].items(), key=lambda pair: -float(pair[1][0].mean()))
    return pd.DataFrame(
        [
            {"what": nutrient_name(name), "month": month + 1, "share": float(share[0, month])}
            for name, share in ranked
            for month in range(12)
        ]
    )


def _table(view: View, found: GroupCoverage) -> Table:
    """Return each group's mean adequacy, its leanest month and its scarcest nutrient."""
    f = view.formats
    rows = []
    for group, adequacy in found.adequacy.items():
        month = int(np.argmin(adequacy[0]))
        mean = {name: float(day_mean(x)[0, 0]) for name, x in found.share[group].items()}
        scarce = min(mean, key=lambda name: (mean[name], name))
        words = GROUP_WORDS[group]
        rows.append(
            (
                words[:1].upper() + words[1:],
                f.share(float(day_mean(adequacy)[0, 0])),
                f"{f.share(float(adequacy[0, month]))}, {MONTH_NAMES[month][:3]}",
                f"{lowered(nutrient_name(scarce))}, {f.share(mean[scarce])}",
            )
        )
    columns = (
        Column("Group", weight=2),
        Column("Mean adequacy", "of the year", "right", weight=1.2),
        Column("Leanest month", align="right", weight=1.3),
        Column("Scarcest", align="right", weight=1.3),
    )
    note = "Mean adequacy: mean over nutrients of the shares covered, none counting above 100 %."
    return Table(
        columns,
        tuple(rows),
        "Cover by group",
        note,
        wide=True,
        anchor="adequacy-table",
        layout="half",
    )
