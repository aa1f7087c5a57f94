"""How are draws mixed so that assumptions move together?

Draws follow a Gaussian copula: the normal scores of the rows named are mixed by the lower
triangle of their correlations, and a rank correlation r becomes the correlation 2 sin(π r / 6)
of normal scores (Pearson 1907; the purpose and the triangle are those of Iman and Conover
1982). Each row keeps its own distribution, and a row that no line names keeps its draws.

Rows shared by all sites come first, then each site's own, by name; a row is mixed with rows
before it only, and a site's rows with those shared rows only that the site uses. Rows of two
sites are linked only through what they share, unless a line names both as `name@site`.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

import numpy as np
from scipy.special import ndtr, ndtri

from sitefare.arrays import Array
from sitefare.assumptions.correlation import Entry, Pair, entries, in_order, site_of
from sitefare.assumptions.nearby import consistent_set, nearest_value
from sitefare.assumptions.triangle import Triangle, lower_triangle
from sitefare.errors import AssumptionError

#: Weights of the columns of uniform numbers, as normal scores, that make one row's score. [1]
Weights = dict[str, float]

#: Probabilities stay this far from 0 and 1, half the step of a scrambled point. [1]
EDGE = 2.0**-31


def score_correlation(rank: float) -> float:
    """Return the correlation of normal scores that gives a rank correlation [1]. [1]

    r = 2 sin(π r_s / 6), exact for the bivariate normal (Pearson 1907).
    """
    return 2.0 * float(np.sin(np.pi * rank / 6.0))


@lru_cache(maxsize=64)
def mixing(
    keys: tuple[str, ...], layers: tuple[tuple[Pair, ...], ...]
) -> Mapping[str, tuple[tuple[str, float], ...]]:
    """Return how each correlated key is mixed from normal scores: its terms in order.

    Rows that all sites share are mixed first, then each site's own on top of the shared rows
    that this site uses. A key without an earlier key beside it is not listed: its draw stays.

    Raises
    ------
    AssumptionError
        If the correlations cannot hold together, naming the rows that clash.
    """
    listed = entries(keys, layers)
    known: dict[str, Weights] = {}
    for site in sorted({site_of(key) for key in keys} | {""}):
        inside = [e for e in listed if _concerns(e, site, set(keys))]
        for group in _together(inside):
            if any(site_of(key) == site for key in group):
                _mix(group, [e for e in inside if e.first in group], known)
    plain = {key: {key: 1.0} for key in known}
    return {
        key: tuple((k, w) for k, w in found.items() if w != 0.0)
        for key, found in known.items()
        if found != plain[key]
    }


def _concerns(e: Entry, site: str, keys: set[str]) -> bool:
    """Say whether a site's rows are mixed by an entry: its own, and shared rows it uses."""
    places = {site_of(e.first), site_of(e.second)}
    if places == {""}:
        return not any(f"{key}@{site}" in keys for key in (e.first, e.second))
    return site in places and max(places) == site


def _mix(group: Sequence[str], inside: Sequence[Entry], known: dict[str, Weights]) -> None:
    """Add the weights of a site's rows in one group to those known."""
    scores, implied = _scores(inside), set()
    for n, b in enumerate(group):
        for a in (x for x in group[:n] if (x, b) not in scores):
            if a in known and b in known and site_of(b):
                scores[a, b] = sum(w * known[b].get(k, 0.0) for k, w in known[a].items())
            elif site_of(a) not in ("", site_of(b)):
                implied.add((a, b))
    made = lower_triangle(group, scores, implied)
    if made.failed:
        _refuse(group, inside, made, scores, implied)
    directions: list[Weights] = []
    for key, row in zip(group, made.rows, strict=True):
        before = _summed(row[:-1], directions)
        if key not in known:
            known[key] = _summed((1.0, row[-1]), (before, {key: 1.0}))
            directions.append({key: 1.0})
        else:
            rest = _summed((1.0, -1.0), (known[key], before))
            directions.append({k: w / row[-1] for k, w in rest.items()} if row[-1] else {})


def _summed(weights: Sequence[float], vectors: Sequence[Weights]) -> Weights:
    """Return a weighted sum of vectors over columns, in a fixed order."""
    total: Weights = {}
    for weight, vector in zip(weights, vectors, strict=True):
        if weight != 0.0:
            for key, w in vector.items():
                total[key] = total.get(key, 0.0) + weight * w
    return total


def _scores(listed: Sequence[Entry]) -> dict[tuple[str, str], float]:
    """Return the correlations of normal scores by pair of keys."""
    return {(e.first, e.second): score_correlation(e.pair.rank) for e in listed}


def _together(listed: Sequence[Entry]) -> list[list[str]]:
    """Part the correlated keys into groups that have no correlation with each other."""
    group_of: dict[str, set[str]] = {}
    for e in listed:
        if e.pair.rank == 0.0:
            continue
        joined = group_of.get(e.first, {e.first}) | group_of.get(e.second, {e.second})
        for key in joined:
            group_of[key] = joined
    groups = {frozenset(group) for group in group_of.values()}
    return sorted((in_order(group) for group in groups), key=lambda group: group[0])


def _refuse(
    group: Sequence[str],
    listed: Sequence[Entry],
    made: Triangle,
    scores: Mapping[tuple[str, str], float],
    implied: set[tuple[str, str]],
) -> None:
    """Refuse correlations that cannot hold together: which clash, and what would do."""
    clash = consistent_set(group[: made.failed], scores, implied)
    inside = [e for e in listed if e.first in clash and e.second in clash and e.pair.rank]
    msg = f"these rank correlations cannot hold together: {_named(inside)}"
    best: tuple[float, Pair, float] | None = None
    for pair in dict.fromkeys(e.pair for e in inside):
        moved = [(e.first, e.second) for e in listed if e.pair is pair]
        value = nearest_value(group, scores, implied, moved, pair.rank, score_correlation)
        if value is not None and (best is None or abs(value - pair.rank) < best[0]):
            best = (abs(value - pair.rank), pair, value)
    if best is None:
        raise AssumptionError(msg + "; no one line mends it: bring them all nearer to 0")
    _, pair, value = best
    mend = f"{pair.a} with {pair.b} ({pair.where}) at {value:g} is the nearest that would do"
    msg = f"{msg}; {mend}"
    raise AssumptionError(msg)


#: Pairs of rows that a refusal names for one line of the table.
NAMED = 2


def _named(listed: Sequence[Entry]) -> str:
    """Name clashing pairs line by line of the table, a few of each."""
    words = []
    for pair in dict.fromkeys(e.pair for e in listed):
        both = [f"{e.first} and {e.second}" for e in listed if e.pair is pair]
        more = f" and {len(both) - NAMED} more pairs" if len(both) > NAMED else ""
        words.append(f"{', '.join(both[:NAMED])}{more} {pair.rank:g} ({pair.where})")
    return "; ".join(words)


def correlated(
    columns: Mapping[str, Array],
    layers: Sequence[Sequence[Pair]],
    wanted: Iterable[str] | None = None,
) -> dict[str, Array]:
    """Return columns of uniform numbers, (draws, 1), with the rank correlations asked for. [1]

    Every draw is mixed alone, in a fixed order of sums, so that it depends on its own numbers
    only. `wanted` limits the columns that are mixed to those somebody reads.
    """
    terms = mixing(tuple(sorted(columns)), tuple(tuple(pairs) for pairs in layers))
    made = dict(columns)
    scores: dict[str, Array] = {}
    for key in terms if wanted is None else sorted(set(wanted) & set(terms)):
        total = np.zeros(1)
        for other, weight in terms[key]:
            if other not in scores:
                scores[other] = ndtri(np.clip(columns[other], EDGE, 1.0 - EDGE))
            total = total + weight * scores[other]
        made[key] = np.asarray(ndtr(total))
    return made
