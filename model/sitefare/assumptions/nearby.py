"""Which correlations clash, and which value of one of them would let all hold together?"""

from collections.abc import Callable, Collection, Mapping, Sequence

from sitefare.assumptions.triangle import lower_triangle

Scores = Mapping[tuple[str, str], float]
Pairs = Collection[tuple[str, str]]


def holds(keys: Sequence[str], scores: Scores, implied: Pairs) -> bool:
    """Say whether correlations of normal scores can hold together."""
    return not lower_triangle(keys, scores, implied).failed


def consistent_set(keys: Sequence[str], scores: Scores, implied: Pairs) -> list[str]:
    """Return the smallest part of clashing keys that still clashes: without any one, it holds."""
    clash = list(keys)
    for key in list(clash):
        fewer = [k for k in clash if k != key]
        if not holds(fewer, scores, implied):
            clash = fewer
    return clash


def nearest_value(
    keys: Sequence[str],
    scores: Scores,
    implied: Pairs,
    moved: Sequence[tuple[str, str]],
    rank: float,
    score_of: Callable[[float], float],
) -> float | None:
    """Return the rank correlation of two decimals nearest to one given that lets all hold. [1]

    `moved` are the pairs of keys that the line gives; None where no value of it does.
    """
    for value in sorted((n / 100.0 for n in range(-100, 101)), key=lambda x: abs(x - rank)):
        tried = {**scores, **dict.fromkeys(moved, score_of(value))}
        if holds(keys, tried, implied):
            return value
    return None
