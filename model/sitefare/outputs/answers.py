"""What the commands on sensitivity and stress print, as tables and as JSON."""

import json
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from rich.table import Table
from rich.text import Text

from sitefare.assumptions.case import Case
from sitefare.assumptions.rows import Row
from sitefare.outputs.numbers import Formats
from sitefare.outputs.proposal.view import row_value
from sitefare.questions.goal import End, Goal
from sitefare.questions.grouping import GroupTornado
from sitefare.questions.stress import Effect, Stresses
from sitefare.questions.switching import Switch, Switches
from sitefare.questions.tornado import Tornado

#: Significant digits of JSON numbers, as in results.json.
DIGITS = 10


def clean(x: object) -> Any:  # noqa: ANN401
    """Make a value fit for JSON: ten digits, and null for what has no answer."""
    if isinstance(x, dict):
        return {str(k): clean(v) for k, v in x.items()}
    if isinstance(x, list | tuple):
        return [clean(v) for v in x]
    if isinstance(x, bool | np.bool_):
        return bool(x)
    if isinstance(x, float | np.floating):
        return float(f"{float(x):.{DIGITS}g}") if np.isfinite(x) else None
    return x


def unit_of(case: Case, row: Row) -> str:
    """Return a row's unit with the site's currency in it."""
    return row.spec.unit.replace("money", case.currency)


def as_json(found: dict[str, Any]) -> str:
    """Write an answer as JSON."""
    return json.dumps(clean(found), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def grid(title: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> Table:
    """Lay a plain table out: the first column is words, the rest stand right.

    Numbers are never cut; long names and heads take more lines.
    """
    table = Table(title=title or None, title_justify="left", box=None, padding=(0, 2, 0, 0))
    table.add_column(heads[0], min_width=16, overflow="fold")
    for head in heads[1:]:
        stacked = head.replace(" ", "\n")
        table.add_column(stacked, justify="right", no_wrap=True, overflow="ignore")
    for row in rows:
        table.add_row(*(Text(word) for word in row))
    return table


def _of(case: Case, row: Row, x: float | None, formats: Formats) -> str:
    """Write a row's value with its unit."""
    return row_value(row, x, case.currency, formats)


def _shown(x: float, formats: Formats) -> str:
    """Write an indicator's value; 'none' where it has no answer."""
    return formats.number(x) if np.isfinite(x) else "none"


def tornado_table(case: Case, found: Tornado, formats: Formats, top: int) -> Table:
    """Lay the widest bars out."""
    rows = [
        (
            bar.row.name + _marks(step=bar.step, yearly=bar.row.varies == "year"),
            _of(case, bar.row, bar.row.low, formats),
            _of(case, bar.row, bar.row.high, formats),
            _shown(bar.low_result, formats),
            _shown(bar.high_result, formats),
        )
        for bar in found.bars[:top]
    ]
    title = f"{found.indicator}: {_shown(found.base, formats)} at base"
    return grid(title, ("Assumption", "Low", "High", "At low", "At high"), rows)


def _marks(*, step: bool, yearly: bool = False) -> str:
    """Say what is special of a row's bar."""
    said = [w for w, true in (("a step", step), ("all years alike", yearly)) if true]
    return f" ({', '.join(said)})" if said else ""


def tornado_json(case: Case, found: Tornado) -> dict[str, Any]:
    """Return every bar as plain values."""
    bars = [
        {
            "name": bar.row.name, "unit": unit_of(case, bar.row), "low": bar.row.low,
            "high": bar.row.high, "at_low": bar.low_result, "at_high": bar.high_result,
            "step": bar.step, "varies": bar.row.varies, "basis": bar.row.basis,
        }
        for bar in found.bars
    ]  # fmt: skip
    return {"indicator": found.indicator, "base": found.base, "bars": bars}


def groups_table(found: GroupTornado, formats: Formats) -> Table:
    """Lay the groups' bars out."""
    rows = [
        (bar.group, str(bar.rows), *(_shown(x, formats) for x in (bar.low_result, bar.high_result)))
        for bar in found.bars
    ]
    title = (
        f"{found.indicator}: {_shown(found.base, formats)} at base; P10 and P90 of {found.draws} "
        "joint draws of one group alone"
    )
    return grid(title, ("Group", "Rows", "P10", "P90"), rows)


def groups_json(found: GroupTornado) -> dict[str, Any]:
    """Return every group's bar as plain values."""
    bars = [
        {"group": b.group, "rows": b.rows, "p10": b.low_result, "p90": b.high_result}
        for b in found.bars
    ]
    return {
        "indicator": found.indicator, "base": found.base, "draws": found.draws, "groups": bars,
    }  # fmt: skip


def switches_shown(case: Case, found: Switches, formats: Formats, top: int) -> list[str | Table]:
    """Say the decision; lay the nearest switching values out, then the rows that have none."""
    asked = found.decision
    goal = asked.against or formats.number(asked.target)
    title = (
        f"{asked.indicator} against {goal} ({asked.words}); now {_shown(found.gap, formats)} away; "
        f"{len(found.found)} of {len(found.rows)} assumptions change it alone"
    )
    rows = found.rows[:top]
    changing = [_switch(case, x, formats) for x in rows if x.value is not None]
    others = [_nearest(case, x, formats) for x in rows if x.value is None]
    made: list[str | Table] = [title]
    if changing:
        heads = ("Assumption", "Now", "Switches at", "Change", "Percentile")
        made.append(grid("", heads, changing))
    if others:
        made.append(grid("", ("Never alone", "Now", "Nearest at", "Still away"), others))
    return made


def _switch(case: Case, x: Switch, formats: Formats) -> tuple[str, ...]:
    """Return the line of a row that changes the decision alone."""
    name = x.row.name + _marks(step=x.jump)
    change = formats.share(x.change) if np.isfinite(x.change) else "–"
    now, at = (_of(case, x.row, n, formats) for n in (x.row.base, x.value))
    return name, now, at, change, f"P{100 * x.place:.0f}"


def _nearest(case: Case, x: Switch, formats: Formats) -> tuple[str, ...]:
    """Return the line of a row that never changes the decision alone."""
    now, best = (_of(case, x.row, n, formats) for n in (x.row.base, x.best))
    return x.row.name, now, best, _shown(x.best_answer, formats)


def switches_json(case: Case, found: Switches) -> dict[str, Any]:
    """Return every row's switching value as plain values."""
    rows = [
        {
            "name": x.row.name, "unit": unit_of(case, x.row), "base": x.row.base, "value": x.value,
            "change": x.change, "probability": x.place if x.value is not None else None,
            "inside": x.inside, "step": x.jump, "searched": [x.lowest, x.highest],
            "best": x.best, "gap_at_best": x.best_answer,
        }
        for x in found.rows
    ]  # fmt: skip
    asked = found.decision
    target = asked.against or asked.target
    return {"indicator": asked.indicator, "target": target, "gap": found.gap, "rows": rows}


def goal_words(case: Case, found: Goal, formats: Formats) -> str:
    """Say the answer of a goal sought in one sentence."""

    def end(one: End) -> str:
        return f"{_of(case, found.row, one.value, formats)} gives {formats.number(one.answer, 5)}"

    farm = "each with a farm made for it" if found.resized else "the farm as it is built"
    if found.value is None:
        return (
            f"{found.indicator} {formats.number(found.target, 5)} is jumped over: {found.row.name} "
            f"{end(found.below)}, {end(found.above)} ({farm})"
        )
    value = formats.number(found.value, 6)
    unit = unit_of(case, found.row)
    return (
        f"{found.row.name} {value}{'' if unit == '1' else f' {unit}'} gives {found.indicator} "
        f"{formats.number(found.answer, 5)} ({farm})"
    )


def goal_json(case: Case, found: Goal) -> dict[str, Any]:
    """Return the answer of a goal sought as plain values."""
    ends = {
        name: {"value": end.value, "answer": end.answer, "bed_area": end.plan.design.bed_area}
        for name, end in (("below", found.below), ("above", found.above))
    }
    return {
        "name": found.row.name, "unit": unit_of(case, found.row), "indicator": found.indicator,
        "target": found.target, "base": found.base, "value": found.value, "answer": found.answer,
        "resized": found.resized, **ends,
    }  # fmt: skip


def stress_shown(case: Case, found: Stresses, formats: Formats) -> list[str | Table]:
    """Lay every event's effect out: when, cash, people and worth."""
    label = case.timeline.label
    effects = (*found.effects, *found.combined)
    least = formats.money(float(found.cash.min()))
    when = [(e.title, label(e.begins), label(e.ends)) for e in effects]
    cash = [
        (
            e.title,
            formats.amount(e.lowest_cash),
            "–" if e.out_of_money is None else label(e.out_of_money),
            formats.amount(e.most_lost),
            formats.amount(e.extra_funding),
        )
        for e in effects
    ]
    people = [
        (
            e.title,
            formats.number(e.people_lost / 12.0),
            "never" if e.recovery is None else str(e.recovery),
            formats.amount(e.npv_change),
            formats.amount(e.cost_per_person_day),
        )
        for e in effects
    ]
    return [
        grid("Events over the base case", ("Event", "From", "To"), when),
        grid(
            f"\nCash, in {case.currency}; lowest at base {least}",
            ("Event", "Lowest cash", "Out of money", "Cash lost", "More funds"),
            cash,
        ),
        grid(
            f"\nPeople fed and worth, in {case.currency}",
            ("Event", "Person-years lost", "Months to recover", "NPV change", "Cost a person-day"),
            people,
        ),
    ]


def stress_json(found: Stresses) -> dict[str, Any]:
    """Return every event's effect as plain values."""
    return {
        "base": {
            "lowest_cash": float(found.cash.min()),
            **{k: float(found.base.indicators[k][0, 0]) for k in ("npv", "cost_per_person_day")},
        },
        "events": [_effect(e) for e in found.effects],
        "together": [_effect(e) for e in found.combined],
    }


def _effect(e: Effect) -> dict[str, Any]:
    """Return one effect as plain values, cash by month left out."""
    return {k: v for k, v in vars(e).items() if k != "cash"}
