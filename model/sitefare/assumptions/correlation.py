"""Which assumptions move together in the draws, and can all that is asked of them hold at once?

A table correlation.csv names two rows, or groups of rows with `*` for the key, and a rank
correlation. Draws follow a Gaussian copula: the normal scores of the rows named are mixed by
the lower triangle of their correlations, and a rank correlation r becomes the correlation
2 sin(π r / 6) of normal scores (Pearson 1907; the purpose and the triangle are those of Iman
and Conover 1982). Each row keeps its own distribution, and a row that no line names keeps its
draws. Rows redrawn every year, fixed rows and choices are not moved by the table.

Rows shared by all sites come first, then each site's own, by name; a row is mixed with rows
before it only. Rows of two different sites are linked only through what they share, unless a
line names both as `name@site`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import lru_cache
from itertools import product
from pathlib import Path

import numpy as np
from scipy.special import ndtr, ndtri

from sitefare.arrays import Array
from sitefare.assumptions.files import Line, nearest, read_lines, require_columns, shown
from sitefare.assumptions.nearby import consistent_set, nearest_value
from sitefare.assumptions.rows import TAIL, check_tail, declared_field, known_names
from sitefare.assumptions.triangle import Triangle, lower_triangle
from sitefare.errors import AssumptionError

#: The table's name in any layer, and its columns.
FILE = "correlation.csv"
COLUMNS = ("name_a", "name_b", "rank_correlation", *TAIL)

#: Probabilities stay this far from 0 and 1, half the step of a scrambled point. [1]
EDGE = 2.0**-31


@dataclass(frozen=True)
class Pair:
    """One line of a table: two names or groups, their rank correlation, where it stands.

    `site` is the site whose own table gives it, empty for common/ and scenarios.
    """

    a: str
    b: str
    rank: float
    basis: str
    source: str
    note: str
    where: str
    site: str = ""

    @property
    def names(self) -> tuple[str, str]:
        """Both names."""
        return self.a, self.b

    @property
    def groups(self) -> int:
        """How many of the two names are groups."""
        return ("*" in self.a) + ("*" in self.b)


def score_correlation(rank: float) -> float:
    """Return the correlation of normal scores that gives a rank correlation [1]. [1]

    r = 2 sin(π r_s / 6), exact for the bivariate normal (Pearson 1907).
    """
    return 2.0 * float(np.sin(np.pi * rank / 6.0))


def read_pairs(path: Path, sources: Mapping[str, str], site: str = "") -> tuple[Pair, ...]:
    """Read one table of correlations; none where there is no file.

    Raises
    ------
    AssumptionError
        If a name is not declared, a correlation lies outside −1 to 1, or a pair repeats.
    """
    if not path.exists():
        return ()
    header, lines = read_lines(path)
    require_columns(shown(path), header, COLUMNS)
    found: dict[frozenset[str], Pair] = {}
    for line in lines:
        pair = _pair(line, sources, site)
        same = found.setdefault(frozenset(pair.names), pair)
        if same is not pair:
            line.refuse("name_b", f"this pair stands already in {same.where}")
    return tuple(found.values())


def _pair(line: Line, sources: Mapping[str, str], site: str) -> Pair:
    """Make a checked pair of one line."""
    check_tail(line, sources)
    for column in ("name_a", "name_b"):
        _check_name(line, column)
    a, b = line.cells["name_a"], line.cells["name_b"]
    if a == b and "*" not in a:
        line.refuse("name_b", "another row is accepted: a row always moves with itself")
    rank = line.number_in("rank_correlation")
    if rank is None or not -1.0 <= rank <= 1.0:
        line.refuse("rank_correlation", "-1 to 1 is accepted")
    tail = (line.cells["basis"], line.cells["source"], line.cells["note"])
    return Pair(a, b, rank, *tail, f"{line.file} line {line.number}", site)


def _check_name(line: Line, column: str) -> None:
    """Refuse a name that no declaration stands behind."""
    name, _, _ = line.cells[column].partition("@")
    found = declared_field(name)
    if found is None or ("*" in name and not found[0].keyed):
        key = name.split(".")[1] if name.count(".") > 1 else "*"
        known = (n.replace("KEY", key) for n in known_names())
        accepted = "a declared name is accepted, with * for the key of a group"
        line.refuse(column, accepted + nearest(name, known))
    if found[3].kind != "quantity":
        line.refuse(column, f"a row with a range is accepted; {name} is a {found[3].kind}")


def check_names(pairs: Iterable[Pair], names: Iterable[str], sites: Iterable[str]) -> None:
    """Refuse a pair whose row is not among a case's rows, or whose site is unknown.

    Raises
    ------
    AssumptionError
        Naming the line and the nearest known name.
    """
    known, places = set(names), set(sites)
    for pair in pairs:
        for whole in pair.names:
            name, _, site = whole.partition("@")
            if "*" not in name and name not in known:
                msg = f"{pair.where}: '{name}' is no assumption here{nearest(name, known)}"
                raise AssumptionError(msg)
            if site and site not in places:
                msg = f"{pair.where}: '{site}' is no site{nearest(site, places)}"
                raise AssumptionError(msg)


def site_of(key: str) -> str:
    """Return the site that a key of a draw belongs to; empty for a shared row."""
    return key.partition("@")[2]


def in_order(keys: Iterable[str]) -> list[str]:
    """Order keys as draws are mixed: shared rows by name, then each site's own by name."""
    return sorted(set(keys), key=lambda key: (site_of(key), key))


@dataclass(frozen=True)
class Entry:
    """A correlation between two keys, and the line that gives it."""

    first: str
    second: str
    pair: Pair


def entries(keys: Sequence[str], layers: Sequence[Sequence[Pair]]) -> list[Entry]:
    """Return which keys are correlated: later layers win, then lines with fewer groups.

    Parameters
    ----------
    keys : sequence of str
        Keys of all draws made together.
    layers : sequence of sequences of Pair
        Tables in order: common/, sites, scenario.

    Raises
    ------
    AssumptionError
        If two lines of equal standing give one pair different values, or a site's own table
        correlates two rows that all sites share.
    """
    held = set(keys)
    sites = sorted({site_of(key) for key in held} - {""}) or [""]
    found: dict[frozenset[str], tuple[tuple[int, int], Pair]] = {}
    for level, pairs in enumerate(layers):
        for pair in pairs:
            for site in [pair.site] if pair.site else sites:
                for both in _reached(pair, site, held):
                    _settle(found, both, (level, -pair.groups), pair)
    listed = [Entry(*in_order(both), pair) for both, (_, pair) in found.items()]
    return sorted(listed, key=lambda e: (e.first, e.second))


def _settle(
    found: dict[frozenset[str], tuple[tuple[int, int], Pair]],
    both: frozenset[str],
    standing: tuple[int, int],
    pair: Pair,
) -> None:
    """Keep the line of the higher standing for two keys."""
    before = found.get(both)
    if before is not None and before[0] == standing and before[1].rank != pair.rank:
        one, two = sorted(both)
        msg = (
            f"{pair.where} and {before[1].where} give {one} and {two} different correlations: "
            "name the two rows in a line of their own"
        )
        raise AssumptionError(msg)
    if before is None or standing >= before[0]:
        found[both] = (standing, pair)


def _reached(pair: Pair, site: str, held: set[str]) -> list[frozenset[str]]:
    """List the pairs of keys that a line reaches at one site."""
    places = [place for place in map(site_of, pair.names) if place]
    here = places[0] if len(places) == 1 else site
    ends = [_keys_named(name, here, held) for name in pair.names]
    both = {frozenset(two) for two in product(*ends) if two[0] != two[1]}
    shared = [two for two in both if not any(site_of(key) for key in two)]
    if pair.site and shared:
        msg = (
            f"{pair.where}: {' and '.join(sorted(shared[0]))} are shared by all sites; put this "
            "line into common/ or a scenario, or give the site rows of its own"
        )
        raise AssumptionError(msg)
    return sorted(both, key=sorted)


def _keys_named(name: str, site: str, held: set[str]) -> list[str]:
    """List the keys that a name or group stands for at one site."""
    bare, _, place = name.partition("@")
    if "*" not in bare:
        choices = [f"{bare}@{place}"] if place else [f"{bare}@{site}", bare]
        return [key for key in choices if key in held][:1]
    matched = _matching(bare, frozenset(held))
    wanted = place or site
    own = [key for key in matched if site_of(key) == wanted]
    names = {key.partition("@")[0] for key in own}
    return own + [k for k in matched if not place and not site_of(k) and k not in names]


@lru_cache(maxsize=256)
def _matching(group: str, held: frozenset[str]) -> tuple[str, ...]:
    """List the keys of a group, sorted."""
    return tuple(sorted(k for k in held if fnmatchcase(k.partition("@")[0], group)))


@lru_cache(maxsize=64)
def mixing(
    keys: tuple[str, ...], layers: tuple[tuple[Pair, ...], ...]
) -> Mapping[str, tuple[tuple[str, float], ...]]:
    """Return how each correlated key is mixed from normal scores: its terms in order.

    A key without an earlier key beside it is not listed: its draw stays as it is.

    Raises
    ------
    AssumptionError
        If the correlations cannot hold together, naming the rows that clash.
    """
    listed = entries(keys, layers)
    found: dict[str, tuple[tuple[str, float], ...]] = {}
    for group in _together(listed):
        inside = [e for e in listed if e.first in group]
        made = lower_triangle(group, _scores(inside), _implied(group, inside))
        if made.failed:
            _refuse(group, inside, made)
        for key, row in zip(group, made.rows, strict=True):
            terms = tuple((k, w) for k, w in zip(group, row, strict=False) if w != 0.0)
            if terms != ((key, 1.0),):
                found[key] = terms
    return found


def _scores(listed: Sequence[Entry]) -> dict[tuple[str, str], float]:
    """Return the correlations of normal scores by pair of keys."""
    return {(e.first, e.second): score_correlation(e.pair.rank) for e in listed}


def _implied(group: Sequence[str], listed: Sequence[Entry]) -> set[tuple[str, str]]:
    """List the pairs of two sites that no line names: what they share decides."""
    named = {(e.first, e.second) for e in listed}
    return {
        (a, b)
        for j, b in enumerate(group)
        for a in group[:j]
        if site_of(a) and site_of(a) != site_of(b) and (a, b) not in named
    }


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


def _refuse(group: Sequence[str], listed: Sequence[Entry], made: Triangle) -> None:
    """Refuse correlations that cannot hold together: which clash, and what would do."""
    scores, implied = _scores(listed), _implied(group, listed)
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
    raise AssumptionError(f"{msg}; {mend}")


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
