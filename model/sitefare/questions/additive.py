"""How does an answer depend on each uncertain number, from draws that are there anyway?

Each number gets a smooth curve: a cubic spline of its rank among the draws, orthonormal, fitted
with those of all others (an additive model, fitted by backfitting: Hastie & Tibshirani 1990,
Generalized Additive Models); numbers that do not stand out get a straight line, or a bent one
where the draws allow it. Products of the strongest numbers are added where they stand out from
noise. The squared size of a curve is its share of the spread; what noise adds to it is taken off
(as in the adjusted R², Ezekiel 1930). Numbers that are correlated share a part of the spread
besides: twice the mean product of their curves.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.interpolate import BSpline

Flat = npt.NDArray[np.float64]
Ranks = npt.NDArray[np.int64]

#: Pieces of the cubic spline; with the constant left out there are as many terms plus two. Six
#: meet the value of a quadratic payoff to 2 %, four to 6 %; more take up noise. [1]
PIECES = 6

#: Blocks of draws for the error of each share (delete-a-block jackknife). [1]
BLOCKS = 16

#: Numbers fitted together, at most, and draws needed for each term of theirs. [1]
TOGETHER, DRAWS_A_TERM = 24, 10

#: Terms of a number that does not stand out, at most, and draws needed for each of all of them.
WEAK_TERMS, DRAWS_A_WEAK_TERM = 2, 3

#: Times that all curves are fitted in turn, at most, and the step over the rest that ends it. [1]
ROUNDS, STILL = 24, 1e-4

#: Standard errors from which a curve or a product stands out from noise. [1]
STANDS_OUT, PRODUCT_STANDS_OUT = 5.0, 3.5

#: Numbers whose products are tried: straight ones, and bent ones. [1]
STRAIGHT, BENT = 12, 6

#: Least share of the spread of a number whose products are tried. [1]
ACTS = 0.01

#: Fewest draws from which curves are fitted. [1]
FEWEST = 256


def orthonormal(columns: Flat) -> Flat:
    """Return columns of mean 0, mean square 1, uncorrelated, that span the same (Gram–Schmidt)."""
    made: list[Flat] = []
    for column in columns.T:
        x = column - column.mean()
        for _ in range(2):
            for other in made:
                x = x - np.mean(x * other) * other
        size = np.sqrt(np.mean(x**2))
        if size > 1e-9:  # noqa: PLR2004
            made.append(x / size)
    return np.stack(made, axis=1)


def spline_basis(draws: int, pieces: int = PIECES) -> Flat:
    """Return an orthonormal cubic spline over the ranks of so many draws, (draws, pieces + 2). [1]

    Row i belongs to the draw of rank i; knots stand at equal shares of the draws. The first
    column is straight, the second bent once.
    """
    knots = np.concatenate([np.zeros(3), np.linspace(0.0, 1.0, pieces + 1), np.ones(3)])
    place = (np.arange(draws) + 0.5) / draws
    bent = BSpline.design_matrix(place, knots, 3).toarray()[:, 1:]
    return orthonormal(np.column_stack([place, place**2, bent]))


def ranks(x: Flat) -> Ranks:
    """Return the rank of each draw from 0; equal draws in the order they come."""
    order = np.argsort(x, kind="stable")
    found = np.empty(x.size, dtype=np.int64)
    found[order] = np.arange(x.size)
    return found


@dataclass(frozen=True)
class Product:
    """Two numbers that act together: their names, the curve by draw, its share of the spread."""

    first: str
    second: str
    curve: Flat
    share: float


@dataclass(frozen=True)
class Additive:
    """An answer's spread shared among uncertain numbers.

    `terms` are (rows, terms) of curves over `basis`, of which the first `counts` (rows,) are
    fitted; `moves` (rows, blocks, terms) is what leaving out one block of draws adds to them,
    `left_out` (blocks, 2) mean and variance without each; `noise` over the draws is the variance
    that noise gives each term; `pairs` holds the share of correlated pairs besides their own.
    """

    names: tuple[str, ...]
    mean: float
    variance: float
    basis: Flat
    ranks: Ranks
    terms: Flat
    counts: Ranks
    moves: Flat
    left_out: Flat
    noise: float
    products: tuple[Product, ...]
    pairs: Mapping[tuple[str, str], float]

    @property
    def shares(self) -> dict[str, float]:
        """Share of the variance by number, first order; unbiased, so it may lie below zero. [1]"""
        found = self._share(self.terms, self.counts)
        return dict(zip(self.names, found.tolist(), strict=True))

    def paired(self, names: Collection[str]) -> float:
        """Return what correlated pairs among some numbers add to the sum of their shares. [1]"""
        return sum(x for (a, b), x in self.pairs.items() if a in names and b in names)

    @property
    def errors(self) -> dict[str, float]:
        """Standard error of each share. [1]"""
        moved = self._share(self.terms[:, None, :] + self.moves, self.counts[:, None])
        left_out = moved * self.variance / self.left_out[:, 1]
        size = left_out.shape[1]
        spread = np.sum((left_out - left_out.mean(axis=1, keepdims=True)) ** 2, axis=1)
        return dict(zip(self.names, np.sqrt((size - 1) / size * spread).tolist(), strict=True))

    def _share(self, terms: Flat, counts: Ranks) -> Flat:
        """Return shares of curves, what noise adds taken off."""
        raw = np.sum(terms**2, axis=-1) - counts * self.noise / self.ranks.shape[1]
        return np.asarray(raw / self.variance)

    def curve(self, name: str, block: int | None = None) -> Flat:
        """Return the curve of one number by draw, around zero; with one block left out, if asked.

        It is shrunk so that its variance is the unbiased share. [unit of the answer]
        """
        i = self.names.index(name)
        terms = self.terms[i] if block is None else self.terms[i] + self.moves[i, block]
        raw = float(np.sum(terms**2))
        kept = float(self._share(terms, self.counts[i])) * self.variance
        if raw <= 0 or kept <= 0:
            return np.zeros(self.ranks.shape[1])
        shape: Flat = (self.basis @ terms)[self.ranks[i]]
        return shape * float(np.sqrt(kept / raw))


def fitted(
    columns: Mapping[str, Flat],
    answer: Flat,
    pieces: int = PIECES,
    correlated: Iterable[tuple[str, str]] = (),
) -> Additive:
    """Share an answer's spread among uncertain numbers.

    Parameters
    ----------
    columns : mapping of array, shape (draws,)
        Each number by draw; what is the same in every draw is left out. [any unit]
    answer : array, shape (draws,)
        The answer by draw, finite. [any unit]
    pieces : int
        Pieces of the spline. [1]
    correlated : iterable of pairs of str, optional
        Names that are drawn together; all others are independent.
    """
    names = tuple(name for name, x in columns.items() if x.size and x.min() < x.max())
    basis = spline_basis(answer.size, pieces)
    rank = np.stack([ranks(columns[name]) for name in names])
    mean, variance = float(answer.mean()), float(answer.var())
    rest = answer - mean
    alone = np.stack([basis.T @ rest[np.argsort(r)] for r in rank]) / answer.size
    strong = _strong(np.sum(alone**2, axis=1), basis, variance)
    together = [both for both in correlated if both[0] in names and both[1] in names]
    linked = {names.index(name) for both in together for name in both}
    counts, order = _counts(np.sum(alone**2, axis=1), basis, strong, linked)
    terms, rest = _backfitted(rest, basis, rank, {i: int(counts[i]) for i in order})
    used = int(sum(counts[order])) + 1
    free = max(answer.size - used, 1)
    crowd = answer.size / free
    noise = crowd * float(np.sum(rest**2)) / free
    edges = np.linspace(0, answer.size, BLOCKS + 1).astype(int)
    moves = np.zeros((len(names), BLOCKS, basis.shape[1]))
    for i in order:
        own = basis[rank[i], : counts[i]]
        summed = np.add.reduceat(own * rest[:, None], edges[:-1], axis=0)
        moves[i, :, : counts[i]] = -crowd * summed / (answer.size - np.diff(edges))[:, None]
    sizes = np.sum(terms**2, axis=1)
    acting = sorted((i for i in strong if sizes[i] > ACTS * variance), key=lambda i: -sizes[i])
    products = products_of([names[i] for i in acting], rank[acting], rest, variance)
    left_out = np.array([_moments(np.delete(answer, slice(*x))) for x in pairwise(edges)])
    pairs = _pairs(names, basis, rank, terms, together)
    return Additive(
        names, mean, variance, basis, rank, terms, counts, moves, left_out, noise, products,
        {both: x / variance for both, x in pairs.items()},
    )  # fmt: skip


def _counts(
    sizes: Flat, basis: Flat, strong: Sequence[int], linked: Collection[int]
) -> tuple[Ranks, list[int]]:
    """Return how many terms each number gets, and which numbers are fitted beside each other.

    All are, where the draws allow it; else the strong ones, those that are correlated with
    others (alone each would take the others' part too), and the largest of the rest. The others
    get none: so few draws do not tell their part from chance.
    """
    draws, terms = basis.shape
    most = draws // DRAWS_A_WEAK_TERM
    few = min(WEAK_TERMS, terms, max(most // sizes.size, 1))
    counts = np.full(sizes.size, few, dtype=np.int64)
    counts[list(strong)] = terms
    rest = sorted(set(range(sizes.size)) - set(strong), key=lambda i: (i not in linked, -sizes[i]))
    room = max(most - terms * len(strong), 0) // few
    counts[rest[room:]] = 0
    return counts, [*strong, *rest[:room]]


def _pairs(
    names: Sequence[str],
    basis: Flat,
    rank: Ranks,
    terms: Flat,
    correlated: Sequence[tuple[str, str]],
) -> dict[tuple[str, str], float]:
    """Return twice the mean product of the curves of each correlated pair."""
    place = {name: i for i, name in enumerate(names)}
    needed = {place[name] for both in correlated for name in both}
    curves = {i: (basis @ terms[i])[rank[i]] for i in needed}
    return {
        (a, b): 2.0 * float(np.mean(curves[place[a]] * curves[place[b]])) for a, b in correlated
    }


def _moments(x: Flat) -> tuple[float, float]:
    """Return mean and variance."""
    return float(x.mean()), float(x.var())


def _strong(sizes: Flat, basis: Flat, variance: float) -> list[int]:
    """Return the numbers to fit together, strongest first: those that stand out from noise."""
    draws, terms = basis.shape
    bar = (terms + STANDS_OUT * np.sqrt(2.0 * terms)) * variance / draws
    most = min(TOGETHER, draws // (DRAWS_A_TERM * terms))
    order = np.argsort(-sizes, kind="stable")[:most]
    return [int(i) for i in order if sizes[i] > bar]


def _backfitted(
    rest: Flat, basis: Flat, rank: Ranks, counts: Mapping[int, int]
) -> tuple[Flat, Flat]:
    """Fit curves of so many terms in turn on what the others leave, until they stay."""
    terms = np.zeros((rank.shape[0], basis.shape[1]))
    for _ in range(ROUNDS):
        moved = 0.0
        for i, count in counts.items():
            own = basis[rank[i], :count]
            step = rest @ own / rest.size
            terms[i, :count] += step
            rest = rest - own @ step
            moved = max(moved, float(np.max(np.abs(step))))
        if moved < STILL * np.sqrt(np.mean(rest**2)):
            break
    return terms, rest


def products_of(
    names: Sequence[str], rank: Ranks, rest: Flat, variance: float
) -> tuple[Product, ...]:
    """Return the products of numbers that stand out from what the curves leave.

    The largest is taken first and its part taken out before the next is tried, for points of a
    sequence in many dimensions are never quite independent.

    Parameters
    ----------
    names : sequence of str
        The numbers, strongest first.
    rank : array, shape (numbers, draws)
        Their ranks.
    rest : array, shape (draws,)
        What the curves leave of the answer. [unit of the answer]
    variance : float
        The answer's variance. [unit of the answer, squared]
    """
    tried = _tried(rank, rest.size)
    found: list[Product] = []
    while tried:
        left = float(np.mean(rest**2))
        sizes = [float(np.mean(both * rest)) for _, _, both in tried]
        best = int(np.argmax(np.abs(sizes)))
        if sizes[best] ** 2 <= PRODUCT_STANDS_OUT**2 * left / rest.size:
            break
        i, j, both = tried.pop(best)
        rest = rest - sizes[best] * both
        kept = sizes[best] ** 2 - left / rest.size
        curve = both * np.sign(sizes[best]) * np.sqrt(kept)
        found.append(Product(names[i], names[j], curve, kept / variance))
    return tuple(found)


def _tried(rank: Ranks, draws: int) -> list[tuple[int, int, Flat]]:
    """Return pairs of numbers with a product of straight or bent shapes of theirs."""
    straight = (np.arange(draws) + 0.5) / draws - 0.5
    shapes = orthonormal(np.stack([straight, straight**2], axis=1))
    made = []
    for i in range(min(len(rank), STRAIGHT)):
        for j in range(i + 1, min(len(rank), STRAIGHT)):
            for a, b in ((0, 0), (0, 1), (1, 0), (1, 1)) if j < BENT else ((0, 0),):
                both = shapes[rank[i], a] * shapes[rank[j], b]
                made.append((i, j, (both - both.mean()) / both.std()))
    return made
