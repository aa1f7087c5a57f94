"""How long did each run of a batch take, over all its starts?

Times change from start to start, so they stand apart from what must not: in the manifest, and
while a batch is at work in a journal, a line an outcome. A batch that was killed finds the journal
and goes on counting; a line that was cut short is left out.
"""

import json
from collections.abc import Iterator
from pathlib import Path

from sitefare.outputs.run_table import MANIFEST

#: The journal's name while a batch is at work.
JOURNAL = ".times.jsonl"


class Times:
    """Seconds by run, and by the key of what it rests on: a changed run starts anew."""

    def __init__(self, folder: Path) -> None:
        self._journal = folder / JOURNAL
        self._known: dict[tuple[str, str], float] = {}
        for line in (*_manifest(folder / MANIFEST), *_journal(self._journal)):
            try:
                self._add(str(line["run"]), str(line["key"]), float(line["seconds"]))
            except (KeyError, TypeError, ValueError):
                continue

    def _add(self, run: str, key: str, seconds: float) -> None:
        """Add to what is known. [s]"""
        self._known[run, key] = self._known.get((run, key), 0.0) + seconds

    def note(self, run: str, key: str, seconds: float) -> None:
        """Note the time that one stage of a run took, so that it outlives this process. [s]"""
        self._add(run, key, seconds)
        line = json.dumps({"run": run, "key": key, "seconds": seconds}, ensure_ascii=False)
        with self._journal.open("a", encoding="utf-8", newline="\n") as file:
            file.write(f"\n{line}")

    def of(self, run: str, key: str) -> float | None:
        """Return the time that a run took in all, None where nobody noted one. [s]"""
        return self._known.get((run, key))

    def close(self) -> None:
        """Remove the journal: the manifest holds what it told."""
        self._journal.unlink(missing_ok=True)


def _manifest(path: Path) -> list[dict[str, str]]:
    """Read the runs of an earlier manifest; none where it is not there or cannot be read."""
    try:
        found: list[dict[str, str]] = json.loads(path.read_text(encoding="utf-8"))["runs"]
    except (OSError, ValueError, KeyError, TypeError):
        return []
    return found if isinstance(found, list) else []


def _journal(path: Path) -> Iterator[dict[str, str]]:
    """Yield the lines of a journal that can be read."""
    if path.is_file():
        for text in path.read_text(encoding="utf-8", errors="replace").splitlines():
            try:
                yield json.loads(text)
            except ValueError:
                continue
