"""What of a batch is on disk already, and how does a run's folder become whole or not at all?

Beside a run's files stands `run.json`, written last: what the files rest on (a key of inputs,
versions and options), how large each is and a digest of all. A run is whole when its key is the one
asked and every file it names is there as it was written. A file is written under another name and
renamed.
"""

import hashlib
import json
import os
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sitefare.assumptions.library import tables
from sitefare.outputs.results import PACKAGES, package_versions
from sitefare.outputs.run_table import Run

#: Libraries that documents' bytes rest on, beside those of figures.
WRITERS = ("altair", "babel", "jinja2", "python-docx", "typst", "vl-convert-python", "xlsxwriter")

#: The file that says of a folder what is in it.
STAMP = "run.json"

#: Files that a batch makes in a run's folder; no other is ever removed from it.
MADE = frozenset(
    {STAMP, "results.json", "workbook.xlsx", *(f"proposal.{x}" for x in ("html", "pdf", "docx"))}
)


@dataclass(frozen=True)
class Stamp:
    """What a run's folder holds: its key, its files by name and size [byte], or why it failed.

    `digest` is that of all files' contents.
    """

    key: str
    files: Mapping[str, int]
    documents: bool
    failure: str = ""
    digest: str = ""


class Inputs:
    """What runs rest on, each file read once."""

    def __init__(self, assumptions: Path) -> None:
        self._assumptions = assumptions
        self._digests: dict[Path, str] = {}
        self._common = self._folder(assumptions / "common")
        self._versions = json.dumps(package_versions((*PACKAGES, *WRITERS)), sort_keys=True)

    @property
    def stamp(self) -> str:
        """Tell common/ from what it was before: a worker that read it then reads it anew."""
        return hashlib.sha256(self._common.encode()).hexdigest()[:16]

    def key(self, run: Run) -> str:
        """Return a key of everything a run's figures rest on; any change of it changes the key."""
        scenarios = self._assumptions / "scenarios"
        designs = self._assumptions / "designs"
        laid = [designs / f"{run.design}.csv", *tables(designs / run.design)] if run.design else []
        own = [
            *laid,
            scenarios / f"{run.scenario}.csv",
            *tables(scenarios / run.scenario),
        ]
        parts = [
            self._versions,
            self._common,
            self._folder(self._assumptions / "sites" / run.site),
            *(self.digest(path) for path in own),
            *(str(x) for x in (run.site, run.design, run.scenario, run.settings)),
            *(str(x) for x in (run.draws, run.seed, run.language)),
        ]
        return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:32]

    def _folder(self, folder: Path) -> str:
        """Return a digest of all files of a folder and those in it, names and contents."""
        paths = sorted(p for p in folder.rglob("*") if p.is_file() and not p.name.startswith("."))
        named = [(path.relative_to(folder).as_posix(), path) for path in paths]
        return "\n".join(f"{name} {self.digest(path)}" for name, path in named)

    def digest(self, path: Path) -> str:
        """Return a digest of one file; that of nothing where it is not there."""
        if path not in self._digests:
            found = path.read_bytes() if path.is_file() else b""
            self._digests[path] = hashlib.sha256(found).hexdigest()
        return self._digests[path]


def read_stamp(folder: Path) -> Stamp | None:
    """Read what a run's folder holds; None where it was never finished or cannot be read."""
    try:
        found = json.loads((folder / STAMP).read_text(encoding="utf-8"))
        names = ("key", "files", "documents", "failure", "digest")
        return Stamp(*(found[name] for name in names))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def whole(folder: Path, key: str, *, documents: bool) -> bool:
    """Say whether a run is whole on disk: as asked, and every file there as it was written."""
    stamp = read_stamp(folder)
    if stamp is None or stamp.failure or stamp.key != key or (documents and not stamp.documents):
        return False
    there = all(
        (folder / name).is_file() and (folder / name).stat().st_size == size
        for name, size in stamp.files.items()
    )
    if not there:
        return False
    return _digest({name: (folder / name).read_bytes() for name in stamp.files}) == stamp.digest


def _digest(files: Mapping[str, bytes]) -> str:
    """Return a digest of files' contents, in the order of their names."""
    digest = hashlib.sha256()
    for _, content in sorted(files.items()):
        digest.update(content)
    return digest.hexdigest()


def place(folder: Path, files: Mapping[str, bytes], key: str, *, documents: bool) -> None:
    """Put a run's files into its folder, each whole under its name, and stamp them last.

    Files of an earlier run under other names are removed.
    """
    folder.mkdir(parents=True, exist_ok=True)
    _cleared(folder, files)
    for name, content in files.items():
        written_whole(folder / name, content)
    sizes = {name: len(content) for name, content in sorted(files.items())}
    _stamped(folder, Stamp(key, sizes, documents, digest=_digest(files)))


def place_failure(folder: Path, key: str, failure: str) -> None:
    """Note in a run's folder why there is nothing in it; what an earlier run left is removed."""
    folder.mkdir(parents=True, exist_ok=True)
    _cleared(folder, ())
    _stamped(folder, Stamp(key, {}, documents=False, failure=failure))


def _cleared(folder: Path, kept: Collection[str]) -> None:
    """Remove a folder's stamp, then what an earlier run left; what others put there stays."""
    stamp = read_stamp(folder)
    ours = MADE | frozenset(stamp.files if stamp else ())
    (folder / STAMP).unlink(missing_ok=True)
    for path in folder.iterdir():
        if path.is_file() and path.name in ours and path.name not in kept:
            path.unlink()


def _stamped(folder: Path, stamp: Stamp) -> None:
    """Write a folder's stamp."""
    fields: dict[str, Any] = {
        "key": stamp.key,
        "files": dict(stamp.files),
        "documents": stamp.documents,
        "failure": stamp.failure,
        "digest": stamp.digest,
    }
    text = json.dumps(fields, indent=1, ensure_ascii=False) + "\n"
    written_whole(folder / STAMP, text.encode())


def written_whole(path: Path, content: bytes) -> None:
    """Write a file so that it appears whole under its name, or not at all."""
    making = path.with_name(f".making-{os.getpid()}-{path.name}")
    try:
        with making.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        making.replace(path)
    except OSError:
        # A full disk: what stands there would take the room of the next try.
        making.unlink(missing_ok=True)
        raise


def remove_halves(folder: Path) -> None:
    """Remove what a stopped batch left half-written, in a folder and those in it."""
    for path in [*folder.glob(".making-*"), *folder.glob("*/.making-*")]:
        if path.is_file():
            path.unlink(missing_ok=True)
