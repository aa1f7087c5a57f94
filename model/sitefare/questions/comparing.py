"""Which site would feed people best for the money, once it passes its gates?

Sites are appraised on common draws, so that shared uncertainty cancels. A site whose gate is
shut (a document missing, water too salty) is listed apart; the rest rank by cost per
person-day over the local price of the same food, at one ration.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal, Plan, appraise
from sitefare.arrays import Array
from sitefare.assumptions.case import Case, base_values
from sitefare.assumptions.evidence import evidence
from sitefare.errors import DesignError, RunError
from sitefare.questions.tornado import Bar, tornado
from sitefare.questions.uncertainty import Spread, Uncertainty, spread, uncertainty
from sitefare.sizing import plan_for

#: Saltier source water is generally too salty (Somerville et al. 2014, FAO 589 s.3.4). [dS/m]
SALTY = 1.5

#: The measure that ranks sites: cost over the local price of the same food. [1]
RATIO = "cost_over_alternative"


@dataclass(frozen=True)
class Gate:
    """One condition before ranking: open, shut, or asked for."""

    title: str
    state: str
    why: str


@dataclass(frozen=True)
class SiteLine:
    """One site of a comparison; `rank` is 0 where a gate is shut."""

    appraisal: Appraisal
    drawn: Uncertainty
    ratio: float
    ratio_spread: Spread
    gates: tuple[Gate, ...]
    sensitive_to: tuple[Bar, ...]
    chance_best: float
    rank: int

    @property
    def shut(self) -> list[Gate]:
        """Gates that keep the site out of the ranking."""
        return [gate for gate in self.gates if gate.state == "shut"]


def gates(case: Case) -> tuple[Gate, ...]:
    """Return the gates of a site: documents marked as gates, and its source water's salt."""
    values = base_values(case)
    states = {"held": "open", "requested": "asked for", "missing": "shut"}
    found = [
        Gate(item.title, states[item.status], item.document or item.status)
        for item in evidence(values).items.values()
        if item.gate == "yes"
    ]
    salt = case.rows["source_water.conductivity"].base
    state = "shut" if salt > SALTY else "open"
    found.append(Gate("Source water not too salty", state, f"{salt:.2g} dS/m; limit {SALTY:g}"))
    return tuple(found)


def ratio_of(indicators: Mapping[str, Array]) -> Array:
    """Return cost per person-day over the alternative's, (draws, 1). [1]"""
    alternative = indicators["alternative_cost_person_day"]
    cost = indicators["cost_per_person_day"]
    known = alternative > 0
    return np.where(known, cost / np.where(known, alternative, 1.0), np.nan)


@dataclass(frozen=True)
class Order:
    """Sites in order, and those whose farm cannot be built or run safely, each with why."""

    lines: tuple[SiteLine, ...]
    refused: Mapping[str, str]


def check_sites(sites: Sequence[str]) -> None:
    """Refuse a comparison of fewer than two different sites.

    Raises
    ------
    RunError
        Naming the sites given.
    """
    if len(set(sites)) < max(len(sites), 2):
        msg = f"a comparison needs two or more different sites; found {', '.join(sites) or 'none'}"
        raise RunError(msg)


def compare_sites(cases: Sequence[Case], draws: int, seed: int, sensitive: int = 3) -> Order:
    """Appraise sites on common draws; ranked ones first, in order, then those with a shut gate.

    Raises
    ------
    DesignError
        If no site's farm can be built or run safely.
    """
    plans, refused = _plans(cases)
    keys = sorted({p.case.key(name) for p in plans for name in p.case.uncertain})
    found = [uncertainty(plan, draws, seed, keys) for plan in plans]
    best = _chance_best([ratio_of(f.draws) for f in found]) if draws else [0.0] * len(plans)
    lines = [
        _line(plan, drawn, chance, sensitive)
        for plan, drawn, chance in zip(plans, found, best, strict=True)
    ]
    order = sorted(
        lines, key=lambda x: (bool(x.shut), np.isnan(x.ratio), x.ratio, x.appraisal.case.site)
    )
    return Order(tuple(_ranked(line, i) for i, line in enumerate(order, 1)), refused)


def _plans(cases: Sequence[Case]) -> tuple[list[Plan], dict[str, str]]:
    """Size every farm; a refusal bars its own site, not the others."""
    plans: list[Plan] = []
    refused: dict[str, str] = {}
    for case in cases:
        try:
            plans.append(plan_for(case))
        except DesignError as error:
            refused[case.site] = str(error)
    if not plans:
        words = "; ".join(f"{site}: {why}" for site, why in refused.items())
        msg = f"no site's farm can be built as asked: {words}"
        raise DesignError(msg)
    return plans, refused


def _chance_best(ratios: list[Array]) -> list[float]:
    """Return the share of draws in which each site has the lowest ratio."""
    table = np.concatenate(ratios, axis=1)
    table = np.where(np.isnan(table), np.inf, table)
    winner = np.argmin(table, axis=1)
    return [float(np.mean(winner == i)) for i in range(table.shape[1])]


def _line(plan: Plan, drawn: Uncertainty, chance: float, sensitive: int) -> SiteLine:
    """Put one site's line together."""
    base = appraise(plan)
    ratio = float(ratio_of(base.indicators)[0, 0])
    ratios = ratio_of(drawn.draws) if drawn.count else np.full((1, 1), ratio)
    bars = tornado(plan, "cost_per_person_day").bars[:sensitive]
    return SiteLine(
        appraisal=base, drawn=drawn, ratio=ratio, ratio_spread=spread(ratios, "nobody is fed"),
        gates=gates(plan.case), sensitive_to=bars, chance_best=chance, rank=0,
    )  # fmt: skip


def _ranked(line: SiteLine, place: int) -> SiteLine:
    """Give a line its place, or none where a gate is shut."""
    return SiteLine(**{**line.__dict__, "rank": 0 if line.shut else place})
