"""How much of an answer's spread comes from each uncertain number, and from groups of them?

First order: the share of the variance that would go, on average, if the number were known.
Total: the share that would be left if it alone stayed unknown; it counts what the number does
together with others. From the draws at hand both come by fitted curves (`additive`); a group's
shares are the sums of its rows', of what its correlated rows share and of the products that touch
it, so they are at least what is stated, totals above all, and what no curve explains is told as
`left`. A row's share is of its own curve, without what it tells of rows correlated with it.
`influence_design` gives both by a design of its own, without curves.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Plan, sampled_values
from sitefare.arrays import Array
from sitefare.assumptions.correlation import in_force
from sitefare.assumptions.declaration import Values
from sitefare.questions.additive import FEWEST, Additive, Flat, fitted
from sitefare.questions.figures import RATIO, ratio_of
from sitefare.questions.groups import group_of
from sitefare.questions.scoring import Scale, scale_for
from sitefare.questions.uncertainty import Uncertainty

#: Draws that are used at most: the first of a Sobol sequence are themselves one. [1]
MOST = 16_384

#: First word of the values that hold whether an event happens.
OCCURRENCE = "occurrence."


@dataclass(frozen=True)
class Shares:
    """First-order and total share of the spread of one row or group, with standard errors. [1]"""

    name: str
    first: float
    first_error: float
    total: float
    total_error: float


@dataclass(frozen=True)
class Influence:
    """Where the spread of an indicator comes from; `left` is what nothing here explains. [1]"""

    indicator: str
    scale: Scale
    draws: int
    rows: tuple[Shares, ...]
    groups: tuple[Shares, ...]
    left: float
    model: Additive | None = None


def row_of(key: str) -> str:
    """Return the name of the row behind the key of a draw, without its site."""
    return key.partition("@")[0]


def regressors(plan: Plan, values: Values) -> dict[str, Flat]:
    """Return every uncertain number by draw, by the key of its row; yearly ones as life means.

    Events stand beside the rows as the share of years in which they happen.
    """
    case = plan.case
    names = [(case.key(name), name) for name in case.uncertain]
    names += [(f"{n}@{case.site}", n) for n in values if n.startswith(OCCURRENCE)]
    found = {}
    for key, name in names:
        x = values[name]
        if not isinstance(x, str) and x.shape[0] > 1:
            found[key] = np.ascontiguousarray(x[:, 0] if x.shape[1] == 1 else x.mean(axis=1))
    return found


def redrawn(plan: Plan, drawn: Uncertainty) -> dict[str, Flat]:
    """Draw the uncertain numbers behind an uncertainty again: the same seed gives the same."""
    count = min(drawn.count, MOST)
    return regressors(plan, sampled_values(plan, count, drawn.seed))


def correlated(plan: Plan) -> list[tuple[str, str]]:
    """Return the pairs of keys that are drawn together."""
    case = plan.case
    keys = [case.key(name) for name in case.uncertain if case.rows[name].varies == "life"]
    acting = in_force(keys, case.moving_together(keys))
    return [both for _, pairs in acting for both in pairs]


def answers_in(indicators: Mapping[str, Array], name: str) -> Array:
    """Return an indicator's draws, or those of the cost over the local price, (draws, 1)."""
    return ratio_of(indicators) if name == RATIO else indicators[name]


def influence(
    plan: Plan, drawn: Uncertainty, indicator: str, columns: Mapping[str, Flat] | None = None
) -> Influence | None:
    """Share the spread of an indicator among rows and groups, from draws at hand.

    None where there are fewer than 256 draws or the indicator is the same in all of them.

    Parameters
    ----------
    plan : Plan
        What was appraised.
    drawn : Uncertainty
        Its draws.
    indicator : str
        Name of the indicator, or of the cost over the local price.
    columns : mapping of array, optional
        The uncertain numbers by draw, if they have been drawn again before. [any unit]
    """
    if drawn.count < FEWEST:
        return None
    answers = answers_in(drawn.draws, indicator)[:MOST]
    scale = scale_for(answers)
    if scale.kind == "still":
        return None
    held = redrawn(plan, drawn) if columns is None else columns
    made = fitted(held, scale.scored(answers), correlated=correlated(plan))
    rows = summed(made, row_of)
    groups = summed(made, lambda key: group_of(row_of(key)))
    told = sum(made.shares.values()) + sum(made.pairs.values())
    left = 1.0 - told - sum(p.share for p in made.products)
    return Influence(indicator, scale, answers.shape[0], rows, groups, left, made)


def summed(model: Additive, part_of: Callable[[str], str]) -> tuple[Shares, ...]:
    """Sum shares by part, largest total first; a product counts to every part it touches.

    A product inside one part is of first order there. Errors are of the curves.
    """
    shares, errors = model.shares, model.errors
    keys: dict[str, list[str]] = {}
    for key in shares:
        keys.setdefault(part_of(key), []).append(key)
    first = {
        part: sum(shares[key] for key in inside) + model.paired(set(inside))
        for part, inside in keys.items()
    }
    error = {part: sum(errors[key] ** 2 for key in inside) ** 0.5 for part, inside in keys.items()}
    beside = dict.fromkeys(keys, 0.0)
    together = [(part_of(p.first), part_of(p.second), p.share) for p in model.products]
    for one, other, share in together:
        if one == other:
            first[one] += share
        else:
            beside[one] += share
            beside[other] += share
    made = [Shares(n, x, error[n], x + beside[n], error[n]) for n, x in first.items()]
    return tuple(sorted(made, key=lambda s: (-s.total, s.name)))
