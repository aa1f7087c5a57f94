"""Which assumptions move together in the draws?

A table correlation.csv names two rows, or groups of rows with `*` for the key, and a rank
correlation. Later layers win, then lines that name rows over lines that name groups. Rows
redrawn every year, fixed rows and choices are not moved by the table. `mixing` makes the draws.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import lru_cache
from itertools import product
from pathlib import Path

from sitefare.assumptions.files import Line, nearest, read_lines, require_columns, shown
from sitefare.assumptions.rows import TAIL, check_tail, declared_field, known_names
from sitefare.errors import AssumptionError

#: The table's name in any layer, and its columns.
FILE = "correlation.csv"
COLUMNS = ("name_a", "name_b", "rank_correlation", *TAIL)


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
    # Shared rows are correlated with each other even where no one site uses both of them.
    sites = sorted({site_of(key) for key in held} | {""})
    found: dict[frozenset[str], tuple[tuple[int, int], Pair]] = {}
    for level, pairs in enumerate(layers):
        for pair in pairs:
            for site in [pair.site] if pair.site else sites:
                for both in _reached(pair, site, held):
                    _settle(found, both, (level, -pair.groups), pair)
    listed = []
    for both, (_, pair) in found.items():
        first, second = in_order(both)
        listed.append(Entry(first, second, pair))
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


def in_force(
    keys: Iterable[str], layers: Sequence[Sequence[Pair]]
) -> list[tuple[Pair, list[tuple[str, str]]]]:
    """Return each line that moves draws of these keys, and the pairs of keys it decides."""
    found: dict[Pair, list[tuple[str, str]]] = {}
    for e in entries(sorted(set(keys)), layers):
        if e.pair.rank != 0.0:
            found.setdefault(e.pair, []).append((e.first, e.second))
    order = {pair: n for n, pair in enumerate(p for pairs in layers for p in pairs)}
    return sorted(found.items(), key=lambda item: order[item[0]])


def without_effect(keys: Iterable[str], layers: Sequence[Sequence[Pair]]) -> list[Pair]:
    """Return the lines that move no draw of these keys: a row is fixed, or redrawn every year."""
    acting = {pair for pair, _ in in_force(keys, layers)}
    return [p for pairs in layers for p in pairs if p not in acting and p.rank != 0.0]
