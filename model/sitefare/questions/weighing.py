"""Which alternative scores best by several criteria, and how much does that hang on the weights?

The score is a weighted sum. Each criterion runs from 0 at its worst to 1 at its best, in a
straight line between: the worst and best of the alternatives compared, or the ends its table
states, beyond which nothing counts. Its weight is what that whole step is worth beside the
others' (swing weights). An alternative without an answer by a criterion scores as the worst; one
that feeds nobody is not scored, and in a draw in which it feeds nobody it is not first.

Weights are asked about in three ways: at which weight of one criterion the first changes, the
others keeping their proportions; in what share of all possible weights each is first (stochastic
multicriteria acceptability analysis; Lahdelma, Hokkanen and Salminen 1998, European Journal of
Operational Research 106, 137-143); and, at the weights stated, in what share of common draws.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import qmc, rankdata

from sitefare.arrays import Array, blocks
from sitefare.errors import RunError
from sitefare.questions.comparing import Compared
from sitefare.questions.criteria import FACTS, GIVEN, NEED, PAPERS, Criterion, weighted
from sitefare.questions.lines import Line
from sitefare.questions.ranking import best_in

#: Weights tried of all possible ones, a power of two, and their seed. [1]
POINTS, SEED = 16_384, 1

#: Weights scored together. [1]
CHUNK = 2048

#: What an alternative that feeds nobody has none of.
PEOPLE = "people_fed"

#: Places named where a criterion drops out. [1]
NAMED = 3

#: Differences of scores below this are rounding. [1]
NONE = 1e-12


@dataclass(frozen=True)
class Scale:
    """A criterion that tells the alternatives apart: its share of all weights, and its ends.

    `worst` and `best` are in the figure's unit, money in USD; `stated` says that its table gives
    them.
    """

    criterion: Criterion
    share: float
    worst: float
    best: float
    stated: bool


@dataclass(frozen=True)
class Score:
    """One alternative's score, 0 to 1 (below or above only in draws).

    `values` are its figures by criterion, nan without an answer; `points` where they lie from
    worst (0) to best (1); `parts` are points times weight, which sum to `score`. `chance_first`
    is over common draws, None without; `weights_first` is the share of all possible weights
    that put it first, and `typical` the mean of those weights, None where there are none.
    """

    line: Line
    rank: int
    score: float
    values: Mapping[str, float]
    points: Mapping[str, float]
    parts: Mapping[str, float]
    chance_first: float | None
    weights_first: float
    typical: Mapping[str, float] | None


@dataclass(frozen=True)
class Change:
    """A criterion's share of all weights at which another comes first, and who that is."""

    share: float
    line: Line


@dataclass(frozen=True)
class Threshold:
    """How far one criterion's weight may move, others in proportion; None: all the way."""

    scale: Scale
    below: Change | None
    above: Change | None


@dataclass(frozen=True)
class Weighed:
    """Scores in order, the criteria behind them, and those that drop out, each with why.

    `unscored` are alternatives whose gates are open and that feed nobody.
    """

    scales: tuple[Scale, ...]
    dropped: tuple[tuple[Criterion, str], ...]
    scores: tuple[Score, ...]
    thresholds: tuple[Threshold, ...]
    unscored: tuple[Line, ...] = ()


def weighing(compared: Compared, weights: Mapping[str, float] | None = None) -> Weighed:
    """Return the score of every alternative whose gates are open, by stated weights.

    Parameters
    ----------
    compared : Compared
        Alternatives, and the criteria of their library.
    weights : mapping, optional
        Weights by criterion, in place of the table's. [1]

    Raises
    ------
    RunError
        If a weight is refused, fewer than two alternatives have open gates and feed anybody, or
        no criterion tells them apart.
    """
    lines = [line for line in compared.ranked if line.values.get(PEOPLE, 1.0) > 0]
    unscored = tuple(line for line in compared.ranked if line.values.get(PEOPLE, 1.0) <= 0)
    criteria = weighted(compared.criteria, weights or {})
    if len(lines) < 2:  # noqa: PLR2004
        fed = " and that feed anybody" if unscored else ""
        msg = f"a score needs two alternatives whose gates are open{fed}; found {len(lines)}"
        raise RunError(msg)
    scales, dropped = _scales(criteria, lines)
    share = np.array([one.share for one in scales])
    values = np.array([[value_of(one.criterion, line) for one in scales] for line in lines])
    points = np.stack([_points(one, values[:, k]) for k, one in enumerate(scales)], axis=1)
    parts = points * share
    total = parts.sum(axis=1)
    order = sorted(range(len(lines)), key=lambda i: (-total[i], lines[i].name))
    chance = _over_draws(scales, lines)
    first, typical = acceptability(points)
    rank = rankdata(-np.round(total, 12), method="min")
    keys = [one.criterion.key for one in scales]
    scores = [
        Score(
            lines[i],
            int(rank[i]),
            float(total[i]),
            _named(keys, values[i]),
            _named(keys, points[i]),
            _named(keys, parts[i]),
            None if chance is None else float(chance[i]),
            float(first[i]),
            _named(keys, typical[i]) if first[i] > 0 else None,
        )
        for i in order
    ]
    found = [
        Threshold(one, *_changes(points[order], share, k, [lines[i] for i in order]))
        for k, one in enumerate(scales)
    ]
    return Weighed(tuple(scales), tuple(dropped), tuple(scores), tuple(found), unscored)


def _named(keys: Sequence[str], numbers: Array) -> dict[str, float]:
    """Return numbers by criterion."""
    return dict(zip(keys, numbers.tolist(), strict=True))


def value_of(criterion: Criterion, line: Line) -> float:
    """Return an alternative's figure by a criterion, money in USD; nan without an answer."""
    if criterion.figure == NEED:
        return float("nan") if line.need is None else line.need.score
    if criterion.figure in (FACTS, PAPERS):
        held, of = line.facts if criterion.figure == FACTS else line.papers
        return held / of if of else float("nan")
    if criterion.figure not in line.values:
        return float("nan")
    found = line.usd(criterion.figure)
    return found if np.isfinite(found) else float("nan")


def _scales(
    criteria: Sequence[Criterion], lines: Sequence[Line]
) -> tuple[list[Scale], list[tuple[Criterion, str]]]:
    """Return the criteria that tell alternatives apart, with their ends, and those that do not."""
    kept: list[tuple[Criterion, float, float]] = []
    dropped: list[tuple[Criterion, str]] = []
    for one in criteria:
        if one.weight == 0:
            dropped.append((one, "its weight is 0"))
            continue
        x = np.array([value_of(one, line) for line in lines])
        why = _why_not(one, x, lines)
        if why:
            dropped.append((one, why))
            continue
        found = x[np.isfinite(x)]
        low, high = float(found.min()), float(found.max())
        worst, best = (low, high) if one.better == "more" else (high, low)
        if one.worst is not None and one.best is not None:
            worst, best = one.worst, one.best
        kept.append((one, worst, best))
    if not kept:
        words = "; ".join(f"{one.key}: {why}" for one, why in dropped)
        msg = f"no criterion tells the alternatives apart: {words}"
        raise RunError(msg)
    whole = sum(one.weight for one, _, _ in kept)
    return [
        Scale(one, one.weight / whole, worst, best, one.worst is not None)
        for one, worst, best in kept
    ], dropped


def _why_not(one: Criterion, x: Array, lines: Sequence[Line]) -> str:
    """Say why a criterion drops out; nothing where it tells alternatives apart."""
    if one.figure == NEED:
        lacking = list(dict.fromkeys(line.place for line in lines if line.need is None))
        if lacking:
            more = f" and {len(lacking) - NAMED} more" if len(lacking) > NAMED else ""
            return f"no score is supplied for {', '.join(lacking[:NAMED])}{more}"
        scales = sorted({line.need.scale for line in lines if line.need is not None})
        if len(scales) > 1:
            return f"scores are on different scales: {', '.join(s or 'none named' for s in scales)}"
    if not np.isfinite(x).any():
        return "no alternative has an answer"
    if np.isfinite(x).all() and x.min() == x.max():
        return "it is the same for all"
    return ""


def _points(scale: Scale, x: Array) -> Array:
    """Return where values lie from worst (0) to best (1) at base; no answer is 0, same shape."""
    known = np.isfinite(x)
    if scale.worst == scale.best:
        return known.astype(np.float64)
    found = (np.where(known, x, scale.worst) - scale.worst) / (scale.best - scale.worst)
    return np.clip(found, 0.0, 1.0) if scale.stated else found + 0.0  # no minus zero


def _drawn_points(scale: Scale, lines: Sequence[Line]) -> Array:
    """Return points of every line in every draw, (draws or 1, lines).

    The scale is the base's; values beyond its ends go on in a straight line unless they are
    stated. No answer scores 0, or as the lowest of its draw if that is below.
    """
    one = scale.criterion
    if one.figure in GIVEN:
        return _points(scale, np.array([value_of(one, line) for line in lines]))[None, :]
    x = np.stack([line.usd_draws(one.figure) for line in lines], axis=1)
    known = np.isfinite(x)
    found = _points(scale, np.where(known, x, np.nan))
    least = np.minimum(np.where(known, found, 0.0).min(axis=1, keepdims=True), 0.0)
    return np.where(known, found, least)


def _over_draws(scales: Sequence[Scale], lines: Sequence[Line]) -> Array | None:
    """Return the share of draws in which each feeds people and scores best, (lines,), or None."""
    figures = {one.criterion.figure for one in scales} - set(GIVEN)
    if not all(line.draws and figures <= set(line.draws) for line in lines):
        return None
    total = sum((one.share * _drawn_points(one, lines) for one in scales), np.zeros((1, 1)))
    if all(PEOPLE in line.draws for line in lines):
        fed = np.stack([line.draws[PEOPLE] > 0 for line in lines], axis=1)
        total = np.where(fed, total, -np.inf)
    return np.asarray(best_in(total).mean(axis=0))


def possible_weights(criteria: int, points: int = POINTS) -> Array:
    """Return weights spread evenly over all that sum to 1, (points, criteria). [1]

    The first of n shares is beta (1, n - 1) distributed, and what it leaves is parted likewise
    among the rest (stick breaking; Devroye 1986, Non-uniform random variate generation, chapter
    XI.4). The uniform numbers are one scrambled Sobol sequence, so that few points go far.
    """
    if criteria == 1:
        return np.ones((points, 1))
    engine = qmc.Sobol(criteria - 1, scramble=True, rng=np.random.default_rng(SEED))
    uniform = engine.random(points)
    left = np.ones(points)
    shares = []
    for k in range(criteria - 1):
        keeps = (1.0 - uniform[:, k]) ** (1.0 / (criteria - 1 - k))
        shares.append(left * (1.0 - keeps))
        left = left * keeps
    return np.stack([*shares, left], axis=1)


def acceptability(points: Array, count: int = POINTS) -> tuple[Array, Array]:
    """Return the share of all weights that put each first, and the mean of those weights.

    Parameters
    ----------
    points : array, shape (lines, criteria)
        Where each lies from worst (0) to best (1). [1]
    count : int
        Weights tried, a power of two. [1]

    Returns
    -------
    (array, array)
        Shares, (lines,), and weights, (lines, criteria); nan where no weight puts one first. [1]
    """
    weight = possible_weights(points.shape[1], count)
    first, summed = np.zeros(len(points)), np.zeros(points.shape)
    for some in blocks(count, CHUNK):
        w = weight[some]
        score = np.zeros((len(w), len(points)))
        for k in range(points.shape[1]):
            score += w[:, k : k + 1] * points[:, k]
        best = best_in(np.round(score, 12))
        first += best.sum(axis=0)
        for k in range(points.shape[1]):
            summed[:, k] += (best * w[:, k : k + 1]).sum(axis=0)
    whole = np.where(first > 0, first, np.nan)
    return first / count, summed / whole[:, None]


def _changes(
    points: Array, share: Array, k: int, lines: Sequence[Line]
) -> tuple[Change | None, Change | None]:
    """Return the weight of criterion k below and above its own at which the first changes.

    Lines are in order of their score. The others' weights keep their proportions, so that the
    lead of the first over another is linear in the weight, and each change is exact.
    """
    rest = 1.0 - share[k]
    if rest <= NONE:
        return None, None
    others = (points * share).sum(axis=1) - points[:, k] * share[k]
    own = points[0, k] - points[:, k]
    left = (others[0] - others) / rest
    with np.errstate(divide="ignore", invalid="ignore"):
        at = left / (left - own)
    above = [(float(at[i]), i) for i in range(1, len(lines)) if own[i] < -NONE]
    below = [(float(at[i]), i) for i in range(1, len(lines)) if left[i] < -NONE]
    return (
        _change(max((x for x, _ in below), default=None), below, left, lines),
        _change(min((x for x, _ in above), default=None), above, own, lines),
    )


def _change(
    at: float | None, found: Sequence[tuple[float, int]], lead: Array, lines: Sequence[Line]
) -> Change | None:
    """Name who comes first beyond a weight: of those that cross there, the one furthest ahead."""
    if at is None:
        return None
    crossing = [i for x, i in found if abs(x - at) <= NONE]
    return Change(at, lines[min(crossing, key=lambda i: (lead[i], lines[i].name))])
