"""What would it be worth to know before deciding?

The expected value of perfect information is what the best choice in each draw brings, on
average, over the choice that is best on average (Raiffa & Schlaifer 1961, Applied Statistical
Decision Theory). Knowing one number, or a group, is worth what choosing by the average that
remains would bring: the curve of each option's payoff on that number, fitted on the draws
(Strong, Oakley & Brennan 2014, Medical Decision Making 34). A value within what a curve fitted to
noise alone would bring is not told from nothing. No check is perfect, so each value is a ceiling.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.questions.additive import BLOCKS, Additive, Flat

#: Curves of noise alone, and the share of them that a value must exceed. [1]
CHANCES, BEYOND = 100, 0.95

#: Standard errors from which a value stands out. [1]
STANDS_OUT = 2.0


@dataclass(frozen=True)
class Worth:
    """A value of information with its standard error; `told` says if it stands out from chance."""

    value: float
    error: float
    told: bool = True


def gain(payoffs: Flat) -> float:
    """Return mean of the best less best of the means, for payoffs (draws, options). [money]"""
    best = int(np.argmax(payoffs.mean(axis=0)))
    return float(np.mean(payoffs.max(axis=1) - payoffs[:, best]))


def with_none(payoffs: Flat) -> Flat:
    """Add the option of doing nothing, worth 0, to payoffs (draws,) or (draws, options)."""
    table = payoffs[:, None] if payoffs.ndim == 1 else payoffs
    return np.concatenate([table, np.zeros((table.shape[0], 1))], axis=1)


def jackknifed(estimates: Sequence[float]) -> float:
    """Return the standard error from estimates that each leave one block of draws out."""
    x = np.asarray(estimates)
    return float(np.sqrt((x.size - 1) / x.size * np.sum((x - x.mean()) ** 2)))


def perfect(payoffs: Flat) -> Worth:
    """Return the expected value of perfect information, payoffs (draws, options). [money]

    Its error leaves out one block of draws at a time.
    """
    blocks = np.array_split(np.arange(payoffs.shape[0]), min(BLOCKS, payoffs.shape[0]))
    left = [gain(np.delete(payoffs, block, axis=0)) for block in blocks]
    return Worth(gain(payoffs), jackknifed(left))


def discrete(chances: Flat, payoffs: Flat) -> float:
    """Return perfect information's value for a table of (states, options) and their chances."""
    best = np.sum(chances * payoffs.max(axis=1))
    return float(best - np.max(np.sum(chances[:, None] * payoffs, axis=0)))


def curve_of(model: Additive, names: Iterable[str], block: int | None = None) -> Flat:
    """Return what knowing some numbers together tells of a payoff, by draw, around zero.

    The curves of the numbers and of products within them, scaled so that their variance is the
    unbiased sum of their shares. [money]
    """
    known = [name for name in names if name in model.names]
    curve = np.zeros(model.ranks.shape[1])
    for name in known:
        curve = curve + model.curve(name, block)
    inside = [p for p in model.products if p.first in known and p.second in known]
    for product in inside:
        curve = curve + product.curve
    if len(known) > 1:
        shares = model.shares
        kept = sum(shares[name] for name in known) + sum(p.share for p in inside)
        kept += model.paired(known)
        raw = float(curve.var())
        curve = curve * np.sqrt(max(kept, 0.0) * model.variance / raw) if raw > 0 else curve
    return curve


def partial(
    models: Sequence[Additive],
    names: Sequence[str],
    *,
    none: bool = True,
    chance: float | None = None,
) -> Worth:
    """Return the value of knowing some numbers together before choosing. [money]

    Parameters
    ----------
    models : sequence of Additive
        The fitted payoff of each option.
    names : sequence of str
        Keys of the numbers learnt.
    none : bool
        Whether choosing nothing, worth 0, is an option too.
    chance : float, optional
        What `by_chance` gives, if it is known. [money]
    """
    value = _gained(models, names, none=none)
    if value <= 0:
        return Worth(0.0, 0.0, told=False)
    bar = by_chance(models, none=none) if chance is None else chance
    left = [_gained(models, names, block, none=none) for block in range(BLOCKS)]
    error = jackknifed(left)
    return Worth(value, error, value > max(bar, STANDS_OUT * error))


def _gained(
    models: Sequence[Additive], names: Sequence[str], block: int | None = None, *, none: bool
) -> float:
    """Return the gain from choosing by the fitted payoffs."""
    means = [m.mean if block is None else float(m.left_out[block, 0]) for m in models]
    pairs = zip(means, models, strict=True)
    table = np.stack([mean + curve_of(m, names, block) for mean, m in pairs], axis=1)
    return gain(with_none(table) if none else table)


def by_chance(models: Sequence[Additive], *, none: bool = True, seed: int = 1) -> float:
    """Return the value that a number without any meaning reaches in 1 of 20 fits. [money]

    Terms of its curve are of the size that noise gives them, shrunk as those of real numbers.
    """
    rng = np.random.default_rng(seed)
    found = []
    for _ in range(CHANCES):
        options = []
        for model in models:
            draws, terms = model.basis.shape
            made = rng.standard_normal(terms) * np.sqrt(model.noise / draws)
            raw = float(np.sum(made**2))
            kept = max(raw - terms * model.noise / draws, 0.0)
            options.append(model.mean + np.sqrt(kept / raw) * (model.basis @ made))
        table = np.stack(options, axis=1)
        found.append(gain(with_none(table) if none else table))
    return float(np.quantile(found, BEYOND, method="inverted_cdf"))
