"""On which scale is an indicator's spread shared out?

A share of variance needs a finite number in every draw that no few draws decide. Where all
draws are finite and the 1 % furthest from the mean carry at most half of the variance, the
figure itself is used. Else its rank is: a 'never' ranks above every number, equal answers share
their mean rank, and draws without any meaning (at most 5 %) stand in the middle. Where more are
undefined, the scale is whether there is an answer at all.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array
from sitefare.questions.uncertainty import UNDEFINED_AT_MOST

#: Share of the variance that the 1 % furthest draws may carry before ranks are used. [1]
FEW_CARRY = 0.5

Kind = Literal["value", "rank", "answered", "still"]

WORDS = {
    "value": "the figure itself",
    "rank": "the figure's rank among the draws, for a few draws lie very far out",
    "answered": "whether there is an answer at all",
    "still": "nothing: the figure is the same in every draw",
}


@dataclass(frozen=True)
class Scale:
    """A scale set by reference draws; `ordered` are these, sorted, undefined ones left out."""

    kind: Kind
    ordered: npt.NDArray[np.float64]

    @property
    def words(self) -> str:
        """What is shared out, in words."""
        return WORDS[self.kind]

    def scored(self, x: Array) -> npt.NDArray[np.float64]:
        """Return the score of answers, (draws,) from (draws, 1). [1 or the answer's unit]"""
        flat = x[:, 0]
        if self.kind == "value":
            return flat
        if self.kind == "answered":
            return np.isfinite(flat).astype(np.float64)
        below = np.searchsorted(self.ordered, flat, side="left")
        upto = np.searchsorted(self.ordered, flat, side="right")
        rank = (below + upto) / (2.0 * max(self.ordered.size, 1))
        return np.where(np.isnan(flat), 0.5, rank)


def carried_by_few(x: npt.NDArray[np.float64]) -> float:
    """Return the share of the variance that the 1 % furthest from the mean carry. [1]"""
    squares = np.sort((x - x.mean()) ** 2)
    count = max(x.size // 100, 1)
    total = float(squares.sum())
    return float(squares[-count:].sum()) / total if total > 0 else 0.0


def scale_for(x: Array) -> Scale:
    """Choose the scale of an indicator from its draws, (draws, 1)."""
    flat = x[:, 0]
    known = np.sort(flat[~np.isnan(flat)])
    undefined = 1.0 - known.size / flat.size
    if undefined > UNDEFINED_AT_MOST:
        mixed = bool(np.any(np.isfinite(flat)))
        return Scale("answered" if mixed and undefined < 1 else "still", known)
    if known[0] == known[-1]:
        return Scale("still", known)
    if undefined == 0 and np.all(np.isfinite(flat)) and carried_by_few(flat) <= FEW_CARRY:
        return Scale("value", known)
    return Scale("rank", known)
