"""Which assumptions belong together, and how far does each group of them move the answer?

A group's bar is P10 to P90 of joint draws of its rows alone, all others at base. Sending every
row of a group to its bad end at once would not do: with twenty rows that happens about never,
and a group would look wide for having many rows. Joint draws keep the bar as likely as the bar
of a single row, and keep what is correlated together. Rows redrawn each year are redrawn.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Plan, appraise, appraise_many
from sitefare.arrays import Array, order_statistic
from sitefare.assumptions.case import Case, base_values, draw_values
from sitefare.assumptions.declaration import Values
from sitefare.questions.groups import GROUPS, OTHER, group_of
from sitefare.questions.tornado import width
from sitefare.stages import Stage, untold

#: Draws of one group; P10 and P90 are then the 26th from either end.
DRAWS = 256


def members(case: Case) -> dict[str, list[str]]:
    """Return the uncertain rows by group, in the order of the table."""
    found: dict[str, list[str]] = {}
    for name in case.uncertain:
        found.setdefault(group_of(name), []).append(name)
    return {g: found[g] for g in (*GROUPS, OTHER) if g in found}


@dataclass(frozen=True)
class GroupBar:
    """One group's bar: P10 and P90 of the answer when its rows alone are drawn together."""

    group: str
    rows: int
    low_result: float
    high_result: float

    @property
    def width(self) -> float:
        """Distance between the ends; infinite where one end has no answer."""
        return width(self.low_result, self.high_result)


@dataclass(frozen=True)
class GroupTornado:
    """Bars of one indicator by group, widest first, and its base."""

    indicator: str
    base: float
    bars: tuple[GroupBar, ...]
    draws: int


def group_values(case: Case, drawn: Values, names: Iterable[str]) -> Values:
    """Return values with the named rows as drawn and every other at base.

    Events happen or not, by year, with the chances that are drawn; else their chance stays.
    """
    values: dict[str, Array | str] = base_values(case)
    for name in names:
        values[name] = drawn[name]
        if name.startswith("event."):
            occurs = f"occurrence.{name.split('.')[1]}"
            values[occurs] = drawn[occurs]
    return values


def group_tornado(
    plan: Plan,
    indicators: Iterable[str],
    draws: int = DRAWS,
    seed: int = 1,
    stage: Stage = untold,
) -> dict[str, GroupTornado]:
    """Return each indicator's bars by group, widest first; `stage` is told of draws done."""
    wanted, drawn = list(indicators), draw_values(plan.case, draws, seed)
    base = appraise(plan).indicators
    bars: dict[str, list[GroupBar]] = {name: [] for name in wanted}
    groups = members(plan.case)
    ended = stage("draws of all groups", len(groups) * draws)
    for group, names in groups.items():
        found = appraise_many(plan, group_values(plan.case, drawn, names), ended)
        for name in wanted:
            low, high = ends(found[name])
            bars[name].append(GroupBar(group, len(names), low, high))
    return {
        name: GroupTornado(
            name, float(base[name][0, 0]), tuple(sorted(bars[name], key=_widest)), draws
        )
        for name in wanted
    }


def _widest(bar: GroupBar) -> tuple[float, str]:
    """Order bars by width, then by name."""
    return -bar.width, bar.group


def ends(x: Array) -> tuple[float, float]:
    """Return P10 and P90 of draws, (draws, 1); 'never' ranks above every number."""
    known = np.sort(x[:, 0][~np.isnan(x[:, 0])])
    if not known.size:
        return float("nan"), float("nan")
    return order_statistic(known, 0.1), order_statistic(known, 0.9)
