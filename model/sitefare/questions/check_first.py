"""Which numbers should be checked first, how, at what cost, and is that worth it?

A check (a quote, a water test, a season's trial) settles the rows that its patterns name: one at
a time, an item's together, or all of them. Where knowing the rows could change the decision the
checks rank by what that is worth less what the check costs. Where no draw would decide otherwise,
they rank by a second measure: the share of the decisive figure's spread that rests on rows which
no document stands behind.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase

import numpy as np

from sitefare.appraisal import Appraisal
from sitefare.arrays import Array
from sitefare.assumptions.case import Case, base_values
from sitefare.assumptions.declaration import build_all, choice, inputs, quantity, text
from sitefare.assumptions.rows import Row
from sitefare.questions.additive import FEWEST, Additive, fitted
from sitefare.questions.decision import Stake, stake
from sitefare.questions.influence import MOST, Influence, influence, redrawn
from sitefare.questions.information import Worth, by_chance, partial, perfect, with_none
from sitefare.questions.uncertainty import Uncertainty
from sitefare.questions.weakest import UNSUPPORTED

#: Levels, in times the even one, at which the worth of knowing is also told. [1]
LEVELS = (0.5, 0.75, 1.0, 1.5, 2.0)


@inputs("check_cost", keyed=True, measure="cost")
class CheckInputs:
    """One kind of check: what it settles, what it costs, how long it takes."""

    title: str = text(doc="The check in words")
    settles: str = text(doc="Patterns of the rows it settles, apart by spaces")
    covers: str = choice(
        "row", "item", "all", doc="Whether one check settles a row, an item or all"
    )
    weeks: Array = quantity("week", low=0, high=520, varies="choice", doc="Weeks until it is known")
    cost: Array = quantity(
        "money", low=0, high=1e9, varies="choice", doc="Cost of one check, the user's to replace"
    )


@dataclass(frozen=True)
class Check:
    """One check of a site: the rows it settles, strongest first, and what it would bring.

    `share` is of the decisive figure's spread, `soft` that of rows without support; `worth` is of
    knowing the rows before deciding, at most. [1, money, week]
    """

    title: str
    rows: tuple[Row, ...]
    cost: float
    weeks: float
    share: float
    soft: float
    error: float
    worth: Worth

    @property
    def net(self) -> float:
        """Worth less cost. [money]"""
        return self.worth.value - self.cost

    @property
    def bases(self) -> tuple[str, ...]:
        """Bases of the rows, as often found first."""
        found = [row.basis for row in self.rows]
        return tuple(sorted(set(found), key=lambda basis: (-found.count(basis), basis)))


@dataclass(frozen=True)
class CheckList:
    """The checks of one site in order, and what the decision and its spread rest on.

    `soft` is the share of the spread on rows without support, `told` what curves tell of the
    spread at all; `by_level` is the worth of knowing everything at other levels of the funder's.
    """

    stake: Stake
    influence: Influence
    everything: Worth
    by_level: tuple[tuple[float, Worth], ...]
    checks: tuple[Check, ...]
    soft: float
    told: float
    decides: bool


def kind_of(name: str, kinds: Mapping[str, CheckInputs]) -> str:
    """Return the key of the first kind of check whose patterns name a row; '' if none does."""
    for key, kind in kinds.items():
        if any(fnmatchcase(name, pattern) for pattern in kind.settles.split()):
            return key
    return ""


def idle_patterns(case: Case) -> list[str]:
    """Name the patterns of the table of checks that fit no row of a case."""
    kinds = build_all(CheckInputs, base_values(case))
    return [
        f"check_cost.{key}: '{pattern}' fits no row, so the check settles nothing by it"
        for key, kind in kinds.items()
        for pattern in kind.settles.split()
        if not any(fnmatchcase(name, pattern) for name in case.rows)
    ]


def settled_together(case: Case, names: Sequence[str]) -> dict[tuple[str, str], list[str]]:
    """Group rows by the check that settles them: (kind, what it covers) → names."""
    kinds = build_all(CheckInputs, base_values(case))
    found: dict[tuple[str, str], list[str]] = {}
    for name in names:
        key = kind_of(name, kinds)
        if key:
            scope = {"row": name, "item": name.rpartition(".")[0], "all": ""}[kinds[key].covers]
            found.setdefault((key, scope), []).append(name)
    return found


def check_first(base: Appraisal, drawn: Uncertainty) -> CheckList | None:
    """Rank the checks of a site; None with fewer than 256 draws.

    Parameters
    ----------
    base : Appraisal
        The plan at its base values.
    drawn : Uncertainty
        Its draws.
    """
    if drawn.count < FEWEST:
        return None
    columns = redrawn(base.plan, drawn)
    at_stake = stake(base, {name: x[:MOST] for name, x in drawn.draws.items()})
    shared = influence(base.plan, drawn, at_stake.decided_by, columns)
    if shared is None or shared.model is None:
        return None
    payoff = at_stake.at()
    everything = perfect(with_none(payoff))
    model = fitted(columns, payoff) if everything.value > 0 else None
    checks = _checks(base.case, shared.model, model)
    decides = any(check.worth.told for check in checks)
    order = _by_net if decides else _by_soft
    named = {base.case.key(name): base.case.rows[name] for name in base.case.uncertain}
    soft = sum(x for k, x in shared.model.shares.items() if k in named and _is_soft(named[k]))
    told = sum(shared.model.shares.values())
    levels = [at_stake.even * times for times in LEVELS] if np.isfinite(at_stake.even) else []
    return CheckList(
        at_stake, shared, everything,
        tuple((level, perfect(with_none(at_stake.at(level)))) for level in levels),
        tuple(sorted(checks, key=order)), soft, told, decides,
    )  # fmt: skip


def _is_soft(row: Row) -> bool:
    """Say whether no document stands behind a row."""
    return row.basis in UNSUPPORTED


def _by_net(check: Check) -> tuple[bool, float, float, str]:
    """Order by worth less cost; those that tell nothing last."""
    return (not check.worth.told, -check.net, -check.soft, check.title)


def _by_soft(check: Check) -> tuple[float, str]:
    """Order by the share of the spread on rows without support."""
    return (-check.soft, check.title)


def _checks(case: Case, shares: Additive, payoff: Additive | None) -> list[Check]:
    """Return every check of a site with its share and worth."""
    kinds = build_all(CheckInputs, base_values(case))
    share, error = shares.shares, shares.errors
    chance = 0.0 if payoff is None else by_chance([payoff])
    found = []
    for (key, _), names in settled_together(case, case.uncertain).items():
        keys = {name: case.key(name) for name in names if case.key(name) in share}
        if not keys:
            continue
        ordered = sorted(keys, key=lambda name: -share[keys[name]])
        rows = tuple(case.rows[name] for name in ordered)
        kind = kinds[key]
        worth = Worth(0.0, 0.0, told=False)
        if payoff is not None:
            worth = partial([payoff], list(keys.values()), chance=chance)
        found.append(
            Check(
                kind.title, rows, float(kind.cost[0, 0]), float(kind.weeks[0, 0]),
                sum(share[k] for k in keys.values()),
                sum(share[keys[row.name]] for row in rows if _is_soft(row)),
                sum(error[k] ** 2 for k in keys.values()) ** 0.5,
                worth,
            )
        )  # fmt: skip
    return found


def row_worths(base: Appraisal, drawn: Uncertainty, names: Sequence[str]) -> dict[str, Worth]:
    """Return what knowing single rows is worth before deciding on one site. [money]"""
    payoff = stake(base, {name: x[:MOST] for name, x in drawn.draws.items()}).at()
    model = fitted(redrawn(base.plan, drawn), payoff)
    chance = by_chance([model])
    return {name: partial([model], [base.case.key(name)], chance=chance) for name in names}
