"""What share of the spread is each group's, by a design made for the question?

Two independent sets of draws, A and B; for each part (a group of rows, or one row) a third set
that is A but for the part, which is B's. First order by Saltelli et al. 2010 (Computer Physics
Communications 181, table 2 b), total by Jansen 1999 (the same, table 2 f). Nothing is fitted, so
sudden steps and every kind of acting together are counted. It takes (parts + 2) × draws
appraisals. Correlated rows must stand in one part.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from sitefare.appraisal import Plan, appraise_many, sampled_values
from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values
from sitefare.questions.additive import Flat
from sitefare.questions.groups import group_of
from sitefare.questions.influence import OCCURRENCE, Influence, Shares, answers_in
from sitefare.questions.scoring import scale_for
from sitefare.stages import Stage, untold

#: What is added to the seed for the second set of draws.
SECOND_SEED = 1_000_003

#: Resamples of the draws for the errors. [1]
RESAMPLES = 200


def first_order(a: Flat, b: Flat, mixed: Flat) -> Flat:
    """Return first-order shares; answers are (…, draws), `mixed` those of A with a part of B. [1]

    mean of b (mixed − a) ÷ variance, answers centred on their mean (Saltelli et al. 2010).
    """
    both = np.concatenate([a, b], axis=-1)
    centre = both.mean(axis=-1, keepdims=True)
    return np.asarray(np.mean((b - centre) * (mixed - a), axis=-1) / both.var(axis=-1))


def total(a: Flat, b: Flat, mixed: Flat) -> Flat:
    """Return total shares: half the mean of (a − mixed)² ÷ variance (Jansen 1999). [1]"""
    both = np.concatenate([a, b], axis=-1)
    return np.asarray(0.5 * np.mean((a - mixed) ** 2, axis=-1) / both.var(axis=-1))


def shares(name: str, a: Flat, b: Flat, mixed: Flat, seed: int = 1) -> Shares:
    """Return the shares of one part, with errors by resampling the draws (Efron 1979)."""
    rng = np.random.default_rng(seed)
    firsts, totals = [], []
    for _ in range(RESAMPLES):
        pick = rng.integers(0, a.size, a.size)
        firsts.append(float(first_order(a[pick], b[pick], mixed[pick])))
        totals.append(float(total(a[pick], b[pick], mixed[pick])))
    return Shares(
        name,
        float(first_order(a, b, mixed)),
        float(np.std(firsts)),
        float(total(a, b, mixed)),
        float(np.std(totals)),
    )


def parts_by_group(plan: Plan, values: Values) -> dict[str, list[str]]:
    """Return the names of uncertain values by group; events stand with year-to-year chance."""
    names = [*plan.case.uncertain, *(n for n in values if n.startswith(OCCURRENCE))]
    parts: dict[str, list[str]] = {}
    for name in names:
        parts.setdefault(group_of(name), []).append(name)
    return parts


def shuffled(values: Values, draws: int, seed: int) -> dict[str, Array | str]:
    """Put the draws in another order, so that two scrambles of one sequence are independent."""
    order = np.random.default_rng(seed).permutation(draws)
    return {
        name: x if isinstance(x, str) or x.shape[0] != draws else x[order]
        for name, x in values.items()
    }


def designed(
    plan: Plan,
    indicators: Sequence[str],
    draws: int,
    seed: int,
    parts: Mapping[str, Sequence[str]] | None = None,
    stage: Stage = untold,
) -> dict[str, Influence]:
    """Share the spread of indicators among parts by a design of their own.

    Parameters
    ----------
    plan : Plan
        What is appraised.
    indicators : sequence of str
        Indicators; one that is the same in every draw is left out.
    draws, seed : int
        Draws of each set, a power of two, and their seed. [1]
    parts : mapping of sequence of str, optional
        Names of values by part; the groups by meaning where not given.
    stage : function
        Begins a stage that is told of draws done.
    """
    first = dict(sampled_values(plan, draws, seed))
    second = shuffled(sampled_values(plan, draws, seed + SECOND_SEED), draws, seed)
    parts = parts_by_group(plan, first) if parts is None else parts
    ended = stage("draws", (len(parts) + 2) * draws)
    a, b = (appraise_many(plan, values, ended) for values in (first, second))
    mixed = {
        part: appraise_many(plan, first | {name: second[name] for name in names}, ended)
        for part, names in parts.items()
    }
    found = {}
    for indicator in indicators:
        one, other = answers_in(a, indicator), answers_in(b, indicator)
        scale = scale_for(np.concatenate([one, other]))
        if scale.kind == "still":
            continue
        ends = scale.scored(one), scale.scored(other)
        lines = [
            shares(part, *ends, scale.scored(answers_in(x, indicator)), seed=seed)
            for part, x in mixed.items()
        ]
        ordered = tuple(sorted(lines, key=lambda s: (-s.total, s.name)))
        left = 1.0 - sum(line.first for line in ordered)
        found[indicator] = Influence(indicator, scale, draws, (), ordered, left)
    return found
