"""Which shares of the beds feed most people, or feed each at least cost, within given limits?

Linear programming with SciPy's HiGHS. Feeding and cost are taken as straight lines between farms
that grow one crop each, so a mix is their weighted mean. Least cost per person is a ratio of two
straight lines and becomes a linear programme by the change of variables of Charnes & Cooper
(1962, Naval Research Logistics Quarterly 9, 181–186).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import linprog

from sitefare.errors import DesignError

Numbers = npt.NDArray[np.float64]

#: Shadow prices below this share of the greatest are noise of the solver. [1]
NOISE = 1e-9


@dataclass(frozen=True)
class Group:
    """Crops that together may take at most a share of the beds."""

    title: str
    members: Numbers
    most: float


@dataclass(frozen=True)
class Beds:
    """What a whole bed area planted with one crop gives, and how far each crop may go.

    Attributes
    ----------
    crops : sequence of str
        Keys, in the order of every column.
    demands : sequence of str
        What each row of `feeds` is: a food, with its month where each month counts.
    feeds : array, shape (demands, crops)
        People that each demand would let a farm of that crop alone feed. [person]
    in_ground : array, shape (12, crops)
        1 in months in which the crop holds its share, else 0. [1]
    least, most : array, shape (crops,)
        Bounds of each crop's share. [1]
    groups : sequence of Group
        Limits on crops together.
    cost : array, shape (crops,)
        Present value of all costs of a farm of that crop alone. [money]
    """

    crops: Sequence[str]
    demands: Sequence[str]
    feeds: Numbers
    in_ground: Numbers
    least: Numbers
    most: Numbers
    groups: Sequence[Group]
    cost: Numbers


@dataclass(frozen=True)
class Limit:
    """One limit of the programme, how much of it is used, and what easing it would bring.

    `kind` is beds, most, least, group or demand; `worth` is people (most people) or money a
    person (least cost) for a whole unit of the limit; for a demand it is its weight, all adding
    to 1.
    """

    title: str
    kind: str
    bound: float
    used: float
    worth: float

    @property
    def binds(self) -> bool:
        """Whether easing the limit would change the answer."""
        return self.worth != 0.0


@dataclass(frozen=True)
class Solution:
    """Shares by crop, what they feed and cost by the straight lines, and the limits."""

    shares: dict[str, float]
    people: float
    cost: float
    limits: tuple[Limit, ...]


def most_people(beds: Beds) -> Solution:
    """Return the shares that feed most people.

    Raises
    ------
    DesignError
        If no shares satisfy the limits.
    """
    n = len(beds.crops)
    needs = np.hstack([-beds.feeds, np.ones((len(beds.demands), 1))])
    rows, tops = _limits(beds)
    upper = np.vstack([needs, np.hstack([rows, np.zeros((len(rows), 1))])])
    found = linprog(
        np.append(np.zeros(n), -1.0),
        A_ub=upper,
        b_ub=np.append(np.zeros(len(needs)), tops),
        bounds=[*zip(beds.least, beds.most, strict=True), (0.0, None)],
        method="highs",
    )
    _check(found, beds)
    shares, people = found.x[:n], float(found.x[n])
    duals = -np.asarray(found.ineqlin.marginals)
    edges = np.column_stack([-found.lower.marginals[:n], -found.upper.marginals[:n]])
    return _solution(beds, shares, people, duals, edges)


def least_cost(beds: Beds) -> Solution:
    """Return the shares that feed each person at least cost; `cost` is money a person.

    The part of the cost that no crop escapes is the same whatever is planted; each crop adds
    the rest by its share.

    Raises
    ------
    DesignError
        If no shares satisfy the limits, or none feeds anybody.
    """
    n, fixed = len(beds.crops), float(np.min(beds.cost))
    rows, tops = _limits(beds)
    eye = np.eye(n)
    upper = np.vstack([
        np.hstack([-beds.feeds, np.zeros((len(beds.demands), 1))]),
        np.hstack([rows, -tops[:, None]]),
        np.hstack([-eye, beds.least[:, None]]),
        np.hstack([eye, -beds.most[:, None]]),
    ])  # fmt: skip
    right = np.append(-np.ones(len(beds.demands)), np.zeros(len(rows) + 2 * n))
    # Money is scaled to the least cost, so that the solver's tolerances mean the same everywhere.
    scale = fixed if fixed > 0 else 1.0
    found = linprog(
        np.append(beds.cost - fixed, fixed) / scale,
        A_ub=upper, b_ub=right, bounds=[(None, None)] * n + [(0.0, None)], method="highs",
    )  # fmt: skip
    _check(found, beds)
    per_person = float(found.x[n])
    shares, people = found.x[:n] / per_person, 1.0 / per_person
    duals = -np.asarray(found.ineqlin.marginals) * scale
    first, last = len(beds.demands), len(beds.demands) + len(rows)
    edges = np.column_stack([duals[last : last + n], -duals[last + n :]]) * per_person
    limits = np.concatenate([duals[:first], -duals[first:last] * per_person])
    return _solution(beds, shares, people, limits, edges)


def _limits(beds: Beds) -> tuple[Numbers, Numbers]:
    """Return the rows that hold the beds of each month and the groups, and their right sides."""
    rows = [*beds.in_ground, *(g.members for g in beds.groups)]
    tops = [1.0] * len(beds.in_ground) + [g.most for g in beds.groups]
    return np.asarray(rows, dtype=np.float64), np.asarray(tops)


def _check(found: object, beds: Beds) -> None:
    """Refuse limits that no mix satisfies.

    Raises
    ------
    DesignError
        Naming the limits that clash.
    """
    if getattr(found, "success", False):
        return
    clash = [
        f"{crop} (least {low:.2g}, most {high:.2g})"
        for crop, low, high in zip(beds.crops, beds.least, beds.most, strict=True)
        if low > high
    ]
    least = float(np.sum(beds.least))
    if clash:
        why = "the least share lies above the most of " + ", ".join(clash)
    elif least > 1.0:
        why = f"the least shares add to {least:.3g} of the beds"
    elif any(float(np.sum(g.members * beds.least)) > g.most for g in beds.groups):
        why = "the least shares of one kind of crop lie above the kind's most"
    else:
        why = "no crop allowed feeds anybody by this ration"
    msg = f"no crop mix satisfies the limits: {why}; "
    msg += "change mix.….least, mix.….most or mix_group.….most"
    raise DesignError(msg)


def _solution(
    beds: Beds, shares: Numbers, people: float, duals: Numbers, edges: Numbers
) -> Solution:
    """Put the answer and its limits together; `edges` are worths of (least, most) a crop."""
    demands, months = len(beds.demands), len(beds.in_ground)
    floor = NOISE * max(float(np.max(np.abs(duals))), float(np.max(np.abs(edges))), 1.0)

    def clean(x: float) -> float:
        return 0.0 if abs(x) <= floor else float(x)

    weights = duals[:demands] / max(float(np.sum(duals[:demands])), 1e-300)
    fed = np.einsum("dc,c->d", beds.feeds, shares)
    limits = [
        Limit(title, "demand", people, float(fed[i]), clean(float(weights[i])))
        for i, title in enumerate(beds.demands)
    ]
    beds_worth = clean(float(np.sum(duals[demands : demands + months])))
    fullest = float(np.max(np.einsum("mc,c->m", beds.in_ground, shares)))
    limits.append(Limit("all beds", "beds", 1.0, fullest, beds_worth))
    for i, group in enumerate(beds.groups):
        used = float(np.sum(group.members * shares))
        worth = clean(float(duals[demands + months + i]))
        limits.append(Limit(group.title, "group", group.most, used, worth))
    for i, crop in enumerate(beds.crops):
        for kind, bound, side in (("least", beds.least, 0), ("most", beds.most, 1)):
            worth = clean(float(edges[i, side]))
            limits.append(Limit(crop, kind, float(bound[i]), float(shares[i]), worth))
    fixed = float(np.min(beds.cost))
    total = fixed + float(np.sum((beds.cost - fixed) * shares))
    mix = {crop: float(share) for crop, share in zip(beds.crops, shares, strict=True)}
    return Solution(mix, people, total / people if people > 0 else np.inf, tuple(limits))
