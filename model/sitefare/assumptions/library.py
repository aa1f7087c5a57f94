"""Which value of every assumption is in force for a site and a scenario, and which layer gave it?

Layers, later wins, whole rows at a time: common/, sites/NAME/, designs/NAME.csv where a design
other than the site's own is asked for, scenarios/NAME.csv (and item tables in designs/NAME/ and
scenarios/NAME/), then overrides from the command line.
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import NoReturn

from sitefare.assumptions import correlation
from sitefare.assumptions.correlation import Pair
from sitefare.assumptions.declaration import DECLARED, Spec
from sitefare.assumptions.files import nearest, read_lines, require_columns, shown
from sitefare.assumptions.rows import (
    MONTHLY_COLUMNS,
    ROW_COLUMNS,
    Row,
    check_header,
    row_from_line,
    rows_from_item,
)
from sitefare.assumptions.weather import is_hourly
from sitefare.errors import AssumptionError

#: Columns of which a filled line has at least one.
ANSWERS = ("base", *(c for c in MONTHLY_COLUMNS if c not in ROW_COLUMNS))

SOURCE_COLUMNS = ("source", "citation", "status")


@dataclass(frozen=True)
class Source:
    """One source: its citation, and how well it is known."""

    citation: str
    status: str


@dataclass(frozen=True)
class Layer:
    """Rows of one layer by name, in order of appearance, and which of them move together."""

    name: str
    rows: Mapping[str, Row]
    pairs: tuple[Pair, ...] = ()


@dataclass(frozen=True)
class Library:
    """A folder of assumptions read once: common rows and sources, and where sites stand."""

    folder: Path
    version: str
    sources: Mapping[str, Source]
    common: Layer

    @property
    def sites(self) -> list[str]:
        """Names of the site folders."""
        folders = [p for p in (self.folder / "sites").iterdir() if p.is_dir()]
        return sorted(p.name for p in folders if not p.name.startswith("."))

    def site_pairs(self, name: str) -> tuple[Pair, ...]:
        """Read which rows move together by a site's own table."""
        known = {key: source.citation for key, source in self.sources.items()}
        return correlation.read_pairs(self.folder / "sites" / name / correlation.FILE, known, name)

    @property
    def scenarios(self) -> list[str]:
        """Names of the scenario files."""
        return [path.stem for path in tables(self.folder / "scenarios")]

    @property
    def designs(self) -> list[str]:
        """Names of the design files."""
        return [path.stem for path in tables(self.folder / "designs")]

    def site(self, name: str) -> Layer:
        """Read the layer of one site.

        Raises
        ------
        AssumptionError
            If there is no such site, or a file of it is refused.
        """
        folder = self.folder / "sites" / name
        if name not in self.sites:
            hint = nearest(name, self.sites) or f"; those there are {', '.join(self.sites)}"
            msg = f"site '{name}' is not in {self.folder.name}/sites{hint}"
            raise AssumptionError(msg)
        check_filled(name, tables(folder))
        return read_layer(f"site {name}", tables(folder), self.sources)

    def scenario(self, name: str) -> Layer:
        """Read the layer of one scenario.

        Raises
        ------
        AssumptionError
            If there is no such scenario, or it is refused.
        """
        return self._over("scenario", name, self.scenarios)

    def design(self, name: str) -> Layer:
        """Read the layer of one design: a farm that is laid over a site's own.

        Raises
        ------
        AssumptionError
            If there is no such design, or it is refused.
        """
        return self._over("design", name, self.designs)

    def _over(self, kind: str, name: str, known: list[str]) -> Layer:
        """Read a layer that is meant for any site.

        Raises
        ------
        AssumptionError
            If it is not there, or is refused, or holds money in another currency than USD.
        """
        start = self.folder / f"{kind}s"
        if name not in known:
            hint = nearest(name, known) or f"; those there are {', '.join(known) or 'none'}"
            msg = f"{kind} '{name}' is not in {self.folder.name}/{start.name}{hint}"
            raise AssumptionError(msg)
        files = [start / f"{name}.csv", *tables(start / name)]
        layer = read_layer(f"{kind} {name}", files, self.sources)
        for row in layer.rows.values():
            if row.currency not in ("", "USD"):
                msg = f"{row.where}: {row.name} is in {row.currency}; a {kind} uses USD"
                raise AssumptionError(msg)
        return layer


def find_root(start: Path) -> Path:
    """Walk up to the project's root, the folder that holds assumptions/ and notebooks/.

    Raises
    ------
    AssumptionError
        If there is none.
    """
    for folder in (start, *start.parents):
        if (folder / "assumptions" / "common").is_dir():
            return folder
    msg = "no folder assumptions/common was found here or above: run sitefare inside a checkout"
    raise AssumptionError(msg)


def read_library(folder: Path) -> Library:
    """Read common/ and the sources of an assumptions folder.

    Raises
    ------
    AssumptionError
        If a file of it is refused.
    """
    common = folder / "common"
    if not common.is_dir():
        msg = f"'{folder.name}' is no assumptions folder: it has no common/ in it"
        raise AssumptionError(msg)
    sources = read_sources(common / "sources.csv")
    files = [p for p in tables(common) if p.name != "sources.csv"]
    version = (common / "VERSION").read_text(encoding="utf-8").strip()
    return Library(folder, version, sources, read_layer("common", files, sources))


@lru_cache(maxsize=2)
def library_once(folder: Path, stamp: str = "") -> Library:
    """Read the assumptions of a folder once in this process, for a worker's many tasks.

    `stamp` tells contents apart, as `stamp_of` does: what was read before a change is not
    taken for what stands there now.
    """
    del stamp
    return read_library(folder)


def stamp_of(folder: Path) -> str:
    """Hash the files of an assumptions folder, hourly weather and version included."""
    found = (p for p in folder.rglob("*") if p.is_file() and not p.name.startswith("."))
    files = sorted(found)
    return fingerprint(files, "\n".join(str(p.relative_to(folder)) for p in files))


def project_library(root: Path | None = None, folder: str | Path = "") -> Library:
    """Read a folder of assumptions, else those of a project, or of the one around us.

    Raises
    ------
    AssumptionError
        If there is no project, or a file of it is refused.
    """
    own = Path(folder) if str(folder).strip() else (root or find_root(Path.cwd())) / "assumptions"
    return read_library(own)


def read_sources(path: Path) -> dict[str, Source]:
    """Read the list of sources.

    Raises
    ------
    AssumptionError
        If a source repeats or lacks its citation.
    """
    header, lines = read_lines(path)
    require_columns(shown(path), header, SOURCE_COLUMNS)
    sources: dict[str, Source] = {}
    for line in lines:
        key = line.cells["source"]
        if key in sources or not key:
            line.refuse("source", "each source stands once, under a key of its own")
        if not line.cells["citation"]:
            line.refuse("citation", "a citation is needed")
        sources[key] = Source(line.cells["citation"], line.cells["status"])
    return sources


def tables(folder: Path) -> list[Path]:
    """List the tables of a folder, without weather files and what a spreadsheet leaves behind."""
    found = sorted(p for p in folder.glob("*.csv") if not p.name.startswith(("~$", ".")))
    return [p for p in found if not is_hourly(p)]


def check_filled(site: str, files: Iterable[Path]) -> None:
    """Refuse a site whose tables hold lines that nobody has answered yet.

    Raises
    ------
    AssumptionError
        Saying how many lines, the first of them, and which form asks for them.
    """
    lines = [(path.stem, line.cells) for path in files for line in read_lines(path)[1]]
    blank = [
        cells.get("name") or f"{table}.{cells.get('key', '')}"
        for table, cells in lines
        if not any(cells.get(column) for column in (*ANSWERS, "source"))
    ]
    if blank:
        first = ", ".join(blank[:3]) + (" …" if len(blank) > 3 else "")  # noqa: PLR2004
        msg = (
            f"site '{site}': {len(blank)} of {len(lines)} lines are not filled in yet ({first}); "
            "FORM.md in its folder asks for them"
        )
        raise AssumptionError(msg)


def read_layer(name: str, files: Iterable[Path], sources: Mapping[str, Source]) -> Layer:
    """Read the files of one layer.

    Raises
    ------
    AssumptionError
        If a row is refused, or one name stands twice in the layer.
    """
    rows: dict[str, Row] = {}
    pairs: tuple[Pair, ...] = ()
    known = {key: source.citation for key, source in sources.items()}
    for path in files:
        if path.name == correlation.FILE:
            pairs = correlation.read_pairs(path, known, name.partition("site ")[2])
            continue
        for row in _rows_of(path, name, known):
            if row.name in rows:
                msg = f"{row.where}: {row.name} stands already in {rows[row.name].where}"
                raise AssumptionError(msg)
            rows[row.name] = row
    return Layer(name, rows, pairs)


def _rows_of(path: Path, layer: str, sources: Mapping[str, str]) -> Iterable[Row]:
    """Yield the rows of one file, whatever its form."""
    header, lines = read_lines(path)
    declared = DECLARED.get(path.stem)
    form = check_header(shown(path), header, declared)
    for line in lines:
        if form == "items" and declared is not None:
            yield from rows_from_item(line, declared, layer, sources)
        else:
            yield row_from_line(line, layer, sources)


def layered(layers: Iterable[Layer]) -> dict[str, Row]:
    """Lay the layers over each other; a later row replaces the whole row.

    Raises
    ------
    AssumptionError
        If a row cannot stand beside the others: an item left incomplete, two names that are
        equal once dots are underscores.
    """
    rows: dict[str, Row] = {}
    for layer in layers:
        rows.update(layer.rows)
    check_complete(rows)
    check_distinct(rows)
    return rows


def check_complete(rows: Mapping[str, Row]) -> None:
    """Refuse a set of rows in which a declared value is missing.

    Raises
    ------
    AssumptionError
        Naming every missing row of the first class that lacks some, and where they belong.
    """
    keys: dict[str, dict[str, None]] = {}
    for name in rows:
        prefix, _, rest = name.partition(".")
        keys.setdefault(prefix, {})[rest.partition(".")[0] + "."] = None
    for declared in DECLARED.values():
        starts = list(keys.get(declared.prefix, {})) if declared.keyed else [""]
        missing = {
            f"{declared.prefix}.{start}{field}": spec
            for start in starts
            for field, spec in declared.specs.items()
            if f"{declared.prefix}.{start}{field}" not in rows
        }
        if missing:
            _refuse_missing(missing)


def _refuse_missing(missing: Mapping[str, Spec]) -> NoReturn:
    """Refuse missing rows, saying what they mean and which file they belong in."""
    name, spec = next(iter(missing.items()))
    required = spec.fact == "required"
    kind = "required site fact" if required else "required value"
    file = "climate.csv" if spec.kind == "monthly" else "site.csv"
    where = f"the site's {file}" if required else "a file of common/"
    also = f"; missing too: {', '.join(list(missing)[1:])}" if len(missing) > 1 else ""
    msg = (
        f"{name} is missing: a {kind} in {spec.unit} ({spec.doc.rstrip('.')}); add its row to "
        f"{where}{also}"
    )
    raise AssumptionError(msg)


def check_distinct(rows: Mapping[str, Row]) -> None:
    """Refuse two names that become one when dots are underscores.

    Raises
    ------
    AssumptionError
        Naming both.
    """
    seen: dict[str, str] = {}
    for name in rows:
        flat = name.replace(".", "_")
        if flat in seen:
            msg = f"{rows[name].where}: {name} and {seen[flat]} read the same with underscores"
            raise AssumptionError(msg)
        seen[flat] = name


def fingerprint(paths: Iterable[Path], extra: str) -> str:
    """Hash input files and settings, by content, to 16 hexadecimal digits."""
    digest = hashlib.sha256(extra.encode())
    for path in sorted(paths, key=lambda p: p.name):
        digest.update(
            path.name.encode() + b"\0" + path.read_bytes().replace(b"\r\n", b"\n") + b"\0"
        )
    return digest.hexdigest()[:16]
