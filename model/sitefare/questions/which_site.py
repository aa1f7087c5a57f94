"""What would it be worth to know more before choosing among sites?

Sites are appraised on common draws, so that a shared row is the same number at all of them. The
choice is one site or none; and, since a programme may have to choose one, one site without none.
Payoffs are those of each site's decision, in US dollars at the appraisal date.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal, appraise_many, sampled_values
from sitefare.errors import RunError
from sitefare.questions.additive import FEWEST, Additive, fitted
from sitefare.questions.decision import stake
from sitefare.questions.groups import group_of
from sitefare.questions.influence import correlated, regressors, row_of
from sitefare.questions.information import Worth, by_chance, partial, perfect, with_none
from sitefare.stages import Stage, untold


@dataclass(frozen=True)
class SiteChoice:
    """Value of knowing before choosing among sites. [USD]

    `or_none` may choose none, `one_of` must choose a site; `means` are the sites' mean payoffs and
    `best_in` the share of draws in which each is best of all sites. `parts` hold, by group of
    rows, what knowing that group is worth where a site must be chosen.
    """

    sites: tuple[str, ...]
    means: tuple[float, ...]
    best_in: tuple[float, ...]
    or_none: Worth
    one_of: Worth
    parts: tuple[tuple[str, Worth], ...]


def which_site(
    bases: Sequence[Appraisal], draws: int, seed: int, stage: Stage = untold
) -> SiteChoice:
    """Return what knowing is worth before choosing among sites.

    Parameters
    ----------
    bases : sequence of Appraisal
        The plan of each site at its base values.
    draws, seed : int
        Draws, a power of two, and their seed. [1]
    stage : function
        Begins a stage that is told of draws done.

    Raises
    ------
    RunError
        If there are fewer than two sites or fewer than 256 draws.
    """
    if len(bases) < 2 or draws < FEWEST:  # noqa: PLR2004
        msg = f"choosing needs two sites and {FEWEST} draws; found {len(bases)} and {draws}"
        raise RunError(msg)
    cases = [base.case for base in bases]
    keys = sorted({case.key(name) for case in cases for name in case.uncertain})
    payoffs, models = [], []
    ended = stage("draws of all sites", len(bases) * draws)
    for base in bases:
        values = sampled_values(base.plan, draws, seed, keys)
        worth = stake(base, appraise_many(base.plan, values, ended)).at() / base.case.exchange_rate
        payoffs.append(worth)
        columns = regressors(base.plan, values)
        models.append(fitted(columns, worth, correlated=correlated(base.plan)))
    table = np.stack(payoffs, axis=1)
    best = np.argmax(table, axis=1)
    return SiteChoice(
        tuple(case.site for case in cases),
        tuple(table.mean(axis=0).tolist()),
        tuple(float(np.mean(best == i)) for i in range(len(cases))),
        perfect(with_none(table)),
        perfect(table),
        _by_group(models),
    )


def _by_group(models: Sequence[Additive]) -> tuple[tuple[str, Worth], ...]:
    """Return what knowing each group is worth where a site must be chosen, most first. [USD]"""
    groups: dict[str, list[str]] = {}
    for key in dict.fromkeys(name for model in models for name in model.names):
        groups.setdefault(group_of(row_of(key)), []).append(key)
    chance = by_chance(models, none=False)
    found = [
        (group, partial(models, names, none=False, chance=chance))
        for group, names in groups.items()
    ]
    return tuple(sorted(found, key=lambda part: (-part[1].value, part[0])))
