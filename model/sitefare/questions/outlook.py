"""What could happen to every figure, how surely is that known, and are the draws enough?

Every figure of the draws stands with its sampling error; the advice says how many draws bring
the worst of them within what a reader would notice.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal
from sitefare.arrays import Array
from sitefare.assumptions.draws import MOST_DRAWS
from sitefare.questions.chances import CashEnd, Chance, cash_end, chances
from sitefare.questions.fan import Fan, fan
from sitefare.questions.sampling_error import (
    SHARES,
    Between,
    draws_for,
    draws_for_chance,
    mean,
    percentile,
)
from sitefare.questions.uncertainty import MONTHS_A_YEAR, UNDEFINED_AT_MOST, Uncertainty

#: Error that a chance may have, in parts of one, before more draws are advised. [1]
CHANCE_ERROR = 0.01

#: Error that a percentile may have, of its value or of P90 less P10, the larger. [1]
FIGURE_ERROR = 0.02

#: Indicators that the advice is about.
HEADLINES = ("people_fed", "cost_per_person_day", "npv", "capex", "operating_cost_year")

NOTHING = Between(None, None, None)


@dataclass(frozen=True)
class Figure:
    """One indicator: at base, its P10, P50 and P90 and its mean with their sampling errors.

    `base` is nan or inf where there is no answer; `reason` says what draws have none.
    """

    name: str
    base: float
    ends: Mapping[float, Between]
    mean: Between
    reason: str

    def scale(self, end: Between) -> float:
        """Return what a percentile's error is held against. [same unit]

        Its value or the distance from P10 to P90, the larger: a value near 0 is no measure.
        """
        values = [e.value for e in self.ends.values() if e.value is not None]
        return max(abs(end.value or 0.0), max(values) - min(values)) if values else 0.0


@dataclass(frozen=True)
class Enough:
    """Whether the draws are enough: worst errors, and how many draws bring them within bounds.

    `chance` is the worst error of a chance [1], `figure` that of a percentile as a share of
    its figure's scale [1] and `name` whose it is; `needed` is a power of two, or None where
    more draws than can be made would be needed.
    """

    chance: float
    figure: float
    name: str
    needed: int | None


@dataclass(frozen=True)
class Outlook:
    """What draws say of one plan: figures, chances, when cash ends, fans of cash, enough draws.

    `cash` is the fan of real project cash so far, `balance` that of the cash held with the
    funding planned.
    """

    figures: Mapping[str, Figure]
    chances: tuple[Chance, ...]
    cash_end: CashEnd
    cash: Fan
    balance: Fan
    enough: Enough
    count: int
    seed: int


def figure(name: str, base: float, draws: Array, reason: str) -> Figure:
    """Return one indicator's figures from its draws, (draws, 1)."""
    x = draws[:, 0]
    undefined = np.isnan(x)
    ordered = np.sort(x[~undefined])
    if np.mean(undefined) > UNDEFINED_AT_MOST:
        return Figure(name, base, dict.fromkeys(SHARES, NOTHING), NOTHING, reason)
    ends = {share: percentile(ordered, share) for share in SHARES}
    return Figure(name, base, ends, mean(x), reason)


def enough(figures: Iterable[Figure], found: Iterable[Chance], count: int) -> Enough:
    """Say how large the worst errors are, and how many draws would bring them within bounds."""
    halves = [c.share.half or 0.0 for c in found]
    needed = [draws_for_chance(c.share.value, CHANCE_ERROR) for c in found if c.share.value]
    worst, name = 0.0, ""
    for one in figures:
        for end in one.ends.values():
            scale = one.scale(end)
            if end.half is None or scale == 0.0:
                continue
            needed.append(draws_for(end, count, FIGURE_ERROR * scale) or count)
            if end.half / scale > worst:
                worst, name = end.half / scale, one.name
    most = max([*needed, 0])
    return Enough(max([*halves, 0.0]), worst, name, None if most >= MOST_DRAWS else most)


def outlook(appraisal: Appraisal, drawn: Uncertainty) -> Outlook | None:
    """Return what the draws say of an appraisal, each figure with its sampling error.

    None without draws.
    """
    ending = cash_end(appraisal, drawn)
    if ending is None or drawn.cumulative is None or drawn.balance is None:
        return None
    figures = {
        name: figure(name, float(appraisal.indicators[name][0, 0]), x, drawn.spreads[name].reason)
        for name, x in drawn.draws.items()
    }
    found = chances(appraisal, drawn)
    money = appraisal.finances
    return Outlook(
        figures,
        found,
        ending,
        fan(drawn.cumulative, money.cumulative_real[0, ::MONTHS_A_YEAR]),
        fan(drawn.balance, money.cash_balance[0, ::MONTHS_A_YEAR]),
        enough([figures[name] for name in HEADLINES], found, drawn.count),
        drawn.count,
        drawn.seed,
    )
