"""The results table: what will be counted, against which target, how, by whom."""

import numpy as np

from sitefare.outputs.document import (
    Block,
    Caution,
    Cell,
    Column,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.drawing import lowered
from sitefare.outputs.proposal.view import View
from sitefare.questions.results_frame import Result, ResultsFrame, results_frame

LEVEL_WORDS = {"output": "Outputs", "outcome": "Outcomes", "impact": "Impact"}

#: Last of the first years. [year]
EARLY = 3

#: Share over the monitoring budget from which the gap is a caution. [1]
OVER = 1.0


def results_table(view: View) -> list[Block]:
    """Return the section with the results table, and how each result is measured."""
    frame = results_frame(view.appraisal)
    return [
        Heading(1, "Results table", "results-table"),
        Paragraph(
            "Targets of outputs come from this appraisal's own years, at base values and "
            "appraisal-date prices; production counts as full from year "
            f"{frame.first_full}. 'Fed by ration' counts {plain(view.ration)}. Outcomes in diets are blank: they are measured in households before "
            "the start and after, with a comparison group, and are never modelled."
        ),
        _early(view, frame),
        _full(view, frame),
        _means(view, frame),
        *_cost(view, frame),
    ]


def _parted(frame: ResultsFrame) -> list[tuple[str, list[Result]]]:
    """Part the rows by level."""
    return [
        (title, [one for one in frame.results if one.row.level == level])
        for level, title in LEVEL_WORDS.items()
        if any(one.row.level == level for one in frame.results)
    ]


def _rows_of(
    frame: ResultsFrame, cells: int, made: dict[str, tuple[Cell, ...]]
) -> tuple[tuple[tuple[Cell, ...], ...], tuple[int, ...]]:
    """Put rows under their level's head."""
    rows: list[tuple[Cell, ...]] = []
    heads = []
    for title, results in _parted(frame):
        shown = [made[one.key] for one in results if one.key in made]
        if shown:
            heads.append(len(rows))
            rows.extend([(title, *("" for _ in range(cells - 1))), *shown])
    return tuple(rows), tuple(heads)


def _early(view: View, frame: ResultsFrame) -> Table:
    """Return targets of the first years; rows to be measured have none and are left out."""
    shown = [i for i, year in enumerate(frame.years) if year <= EARLY]
    made: dict[str, tuple[Cell, ...]] = {
        one.key: (_named(view, one), *(_target(view, one, i) for i in shown))
        for one in frame.results
        if one.modelled
    }
    rows, heads = _rows_of(frame, len(shown) + 1, made)
    columns = (
        Column("Indicator [unit]", weight=4),
        *(Column(f"Year {frame.years[i]}", align="right", weight=1.7) for i in shown),
    )
    note = (
        "Each year stands for itself. People reached and fed are means of the year's months; in "
        "ramp-up each month counts by itself, later the worst month, so an early year may stand above "
        "a full one."
    )
    return Table(
        columns,
        rows,
        "Targets of the first years",
        note,
        wide=True,
        anchor="early-targets",
        head_rows=heads,
        layout="half",
    )


def _full(view: View, frame: ResultsFrame) -> Table:
    """Return the baseline and the targets of full production and of the last year."""
    last = len(frame.years) - 1
    full = frame.years.index(frame.first_full)
    shown = sorted({full, last})
    made: dict[str, tuple[Cell, ...]] = {
        one.key: (
            _named(view, one),
            one.row.baseline or "survey",
            *(_target(view, one, i) for i in shown),
        )
        for one in frame.results
    }
    rows, heads = _rows_of(frame, len(shown) + 2, made)
    columns = (
        Column("Indicator [unit]", weight=4),
        Column("Before", align="right", weight=1.7),
        *(Column(f"Year {frame.years[i]}", align="right", weight=1.7) for i in shown),
    )
    note = (
        "A blank is to be measured; its target is agreed once the survey before the start has set "
        "where it stands."
    )
    return Table(
        columns,
        rows,
        f"Where it stands before, in full production from year {frame.first_full}, and last",
        note,
        wide=True,
        anchor="full-targets",
        head_rows=heads,
        layout="half",
    )


def _named(view: View, one: Result) -> str:
    """Return the indicator with its unit."""
    unit = one.row.unit_words.replace("money", view.formats.currency).replace("m3", "m³")
    return f"{one.row.short} [{unit}]"


def _target(view: View, one: Result, i: int) -> str:
    """Write one target; nothing where it is to be measured."""
    x = one.targets[i]
    if not np.isfinite(x):
        return ""
    return view.people(x) if one.row.unit_words == "people" else view.formats.number(x, 3)


def _means(view: View, frame: ResultsFrame) -> Table:
    """Return means of verification, frequency, who collects, what must hold, and the cost."""
    made: dict[str, tuple[Cell, ...]] = {
        one.key: (
            one.row.title,
            one.row.means,
            f"{one.row.frequency}: {lowered(one.row.who)}",
            one.row.assumption,
            view.formats.amount(one.cost) if one.cost > 0 else "–",
        )
        for one in frame.results
    }
    rows, heads = _rows_of(frame, 5, made)
    columns = (
        Column("Indicator", weight=2.8),
        Column("Means of verification", weight=2.4),
        Column("How often, who", weight=1.8),
        Column("What must hold", weight=2.4),
        Column("Cost", f"{view.formats.currency} a year", "right", weight=0.9),
    )
    note = (
        "A dash: collected with the row above or with the farm's own books, at no cost of its own."
    )
    return Table(
        columns,
        rows,
        "How each indicator is measured, what must hold, and what collecting costs",
        note,
        wide=True,
        anchor="means-table",
        head_rows=heads,
    )


def _cost(view: View, frame: ResultsFrame) -> list[Block]:
    """Set what collecting costs beside the budget's line for monitoring."""
    f = view.formats
    money = view.appraisal.finances
    held = -view.full_mean(money.at_date("monitoring")) if "monitoring" in money.lines else 0.0
    said = (
        f"Collecting all of it costs {f.money(frame.cost)} a year; the budget's line for monitoring "
        f"holds {f.money(held)} a year."
    )
    if frame.cost > OVER * held:
        return [
            Caution(
                plain(f"{said} The surveys need money from elsewhere, or rows must go."),
                "caution",
                "Monitoring is not fully paid for",
            )
        ]
    return [Paragraph(plain(said))]
