"""How do thousands of places become one Parquet file, whatever one of them does?

Places go to workers in chunks; each chunk's lines are a part on disk, named for everything they
rest on. A screen stopped at any moment goes on where it was; the whole file is put together in
the table's order when every part is there.
"""

import hashlib
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd
from rich.table import Table

from sitefare.assumptions.library import library_once
from sitefare.assumptions.places import Place
from sitefare.outputs.charts_map import places_map
from sitefare.outputs.drawn import svg
from sitefare.outputs.held import held
from sitefare.outputs.numbers import Formats
from sitefare.outputs.progress import Progress
from sitefare.outputs.run_table import Run
from sitefare.outputs.stored import Inputs, remove_halves, written_whole
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.figures import RATIO
from sitefare.questions.screening import Asked, less_is_better, screened, side_by_side, stem_of
from sitefare.workers import Workers

#: Places that one task appraises.
CHUNK = 8

#: The whole screen, and where its parts stand until then.
TABLE, PARTS = "places.parquet", "parts"

#: How the ends of a range are named after their indicator.
ENDS = {"_low": ", P10", "_high": ", P90"}


@dataclass(frozen=True)
class Task:
    """Some places for a worker, where the assumptions stand, and a stamp of their common tables."""

    places: tuple[Place, ...]
    asked: Asked
    assumptions: Path
    stamp: str = ""


def lines_of(task: Task) -> bytes:
    """Appraise the places of a task; return their lines as Parquet."""
    library = library_once(task.assumptions, task.stamp)
    return parquet([screened(library, place, task.asked) for place in task.places])


def line_of(task: Task) -> dict[str, Any]:
    """Appraise the one place of a task; return its line."""
    library = library_once(task.assumptions, task.stamp)
    return screened(library, task.places[0], task.asked)


def parquet(lines: Sequence[dict[str, object]]) -> bytes:
    """Return lines as the bytes of a Parquet file, each page with its checksum."""
    made = io.BytesIO()
    pd.DataFrame(lines).to_parquet(made, index=False, write_page_checksum=True)
    return made.getvalue()


def read_part(path: Path) -> pd.DataFrame | None:
    """Read a part back; None, and away with it, where it is not there or not as it was written."""
    try:
        found = pd.read_parquet(path, page_checksum_verification=True)
    except FileNotFoundError:
        return None
    except (OSError, ValueError):
        path.unlink()
        return None
    return found.dropna(axis=1, how="all")


def screen(
    places: Sequence[Place],
    asked: Asked,
    assumptions: Path,
    output: Path,
    workers: Workers,
    progress: Progress,
    limit: float | None = None,
) -> tuple[pd.DataFrame, dict[str, str]]:
    """Appraise places into output/places.parquet, doing only the parts that are not there.

    `limit` is the time that one place may take; places that share a task with one that hangs or
    loses its worker are tried once more, each alone. [s]

    Returns
    -------
    DataFrame, dict
        The lines in the table's order; reasons of places that have none for want of a worker.
    """
    with held(output):
        making = _Making(asked, assumptions, Inputs(assumptions), workers, progress, limit)
        return _screen(places, output, making)


@dataclass(frozen=True)
class _Making:
    """A screen at work: what is asked, who works, and what is told."""

    asked: Asked
    assumptions: Path
    inputs: Inputs
    workers: Workers
    progress: Progress
    limit: float | None

    def task(self, places: tuple[Place, ...]) -> Task:
        """Return the task of some places."""
        return Task(places, self.asked, self.assumptions, self.inputs.stamp)

    def together(self, chunks: Sequence[tuple[Place, ...]]) -> Iterator[tuple[int, bytes | None]]:
        """Yield the lines of places appraised some at a time, None where there are none."""
        ended = self.progress.stage(f"screened, {CHUNK} places a task", len(chunks))
        longest = None if self.limit is None else self.limit * CHUNK
        tasks = [self.task(places) for places in chunks]
        for outcome in self.workers.each(lines_of, tasks, longest):
            yield outcome.number, outcome.answer
            ended(not outcome.done)

    def alone(self, places: Sequence[Place]) -> tuple[dict[str, dict[str, Any]], dict[str, str]]:
        """Return lines and failures of places appraised each alone, by place."""
        ended = self.progress.stage("screened, each alone", len(places))
        lines: dict[str, dict[str, Any]] = {}
        failed: dict[str, str] = {}
        tasks = [self.task((place,)) for place in places]
        for outcome in self.workers.each(line_of, tasks, self.limit):
            key = places[outcome.number].key
            if outcome.answer is None:
                failed[key] = outcome.failure
            else:
                lines[key] = outcome.answer
            ended(not outcome.done)
        return lines, failed


def _screen(
    places: Sequence[Place], output: Path, making: _Making
) -> tuple[pd.DataFrame, dict[str, str]]:
    """Screen places into a folder that is held."""
    folder = output / PARTS
    folder.mkdir(parents=True, exist_ok=True)
    remove_halves(output)
    chunks = [tuple(places[i : i + CHUNK]) for i in range(0, len(places), CHUNK)]
    keys = [_key(chunk, making.asked, making.inputs) for chunk in chunks]
    parts = [folder / f"{key}.parquet" for key in keys]
    frames = dict(enumerate(read_part(path) for path in parts))
    missing = [i for i, frame in frames.items() if frame is None]
    for number, content in making.together([chunks[i] for i in missing]):
        if content is not None:
            written_whole(parts[missing[number]], content)
            frames[missing[number]] = read_part(parts[missing[number]])
    lost = [i for i in missing if frames[i] is None]
    found, failed = making.alone([place for i in lost for place in chunks[i]]) if lost else ({}, {})
    for i in lost:
        lines = [found.get(place.key) or _failed_line(place, failed) for place in chunks[i]]
        if all(place.key in found for place in chunks[i]):
            written_whole(parts[i], parquet(lines))
        frames[i] = pd.DataFrame(lines).dropna(axis=1, how="all")
    whole = pd.concat([frame for frame in frames.values() if frame is not None], ignore_index=True)
    made = io.BytesIO()
    whole.to_parquet(made, index=False)
    written_whole(output / TABLE, made.getvalue())
    if not failed:
        for path in set(folder.iterdir()) - set(parts):
            path.unlink()
    return whole, failed


def _failed_line(place: Place, failed: Mapping[str, str]) -> dict[str, Any]:
    """Return the line of a place that no worker answered for."""
    return {
        "place": place.key,
        "like": place.like,
        "longitude": place.longitude,
        "status": "failed",
        "reason": failed[place.key],
    }


def _key(places: Sequence[Place], asked: Asked, inputs: Inputs) -> str:
    """Return a key of everything the lines of some places rest on."""
    digest = hashlib.sha256("\n".join(asked.keys).encode())
    for place in places:
        run = Run(place.key, place.like, asked.scenario, asked.settings, asked.draws, asked.seed,
                  documents=False, design=asked.design)  # fmt: skip
        digest.update(f"{inputs.key(run)}\n{place.told}\n".encode())
        for value in place.given:
            if value.name == "climate.weather_file":
                path = place.folder / place.line.cells[value.columns[0]]
                digest.update(inputs.digest(path).encode())
    return digest.hexdigest()[:32]


def printed_indicator(name: str) -> str:
    """Name an indicator with its unit, for heads and axes."""
    stem = stem_of(name)
    end = ENDS.get(name.removeprefix(stem), "")
    if stem == RATIO:
        return f"Cost over the local price of the same food{end}"
    found = INDICATORS.get(stem)
    if found is None:
        return name.replace("_", " ").capitalize()
    unit = found.unit.replace("money", "USD")
    return f"{found.title}{end} [{unit}]" if unit != "1" else f"{found.title}{end}"


def mapped(lines: pd.DataFrame, by: str) -> pd.DataFrame | None:
    """Return places with their values, money in USD; None where none has a longitude and one."""
    if "longitude" not in lines:
        return None
    frame = lines[["place", "longitude", "latitude"]].assign(
        value=side_by_side(lines, by, "--rank")
    )
    return None if frame.dropna().empty else frame


def screen_map(lines: pd.DataFrame, by: str, output: Path) -> Path | None:
    """Draw the places kept to output/map.svg, coloured by an indicator; None with none to draw."""
    path = output / "map.svg"
    frame = mapped(lines, by)
    if frame is None:
        path.unlink(missing_ok=True)
        return None
    picture = places_map(
        frame, printed_indicator(by), Formats("en"), less_is_better=less_is_better(by)
    )
    written_whole(path, svg(picture.wide).encode())
    return path


def compared(lines: pd.DataFrame, by: str) -> pd.DataFrame:
    """Return places side by side: an indicator with its ends, people, and money in US dollars.

    Returns
    -------
    DataFrame with columns place, like, value, low, high, people_fed, cost_per_person_day [USD],
    capex [USD], gates_shut and values_given
    """
    found = lines[["place", "like", "people_fed", "gates_shut", "values_given"]].copy()
    for column, name in (("value", by), ("low", f"{by}_low"), ("high", f"{by}_high")):
        if name in lines and lines[name].notna().any():
            found[column] = side_by_side(lines, name, "--rank")
        else:
            found[column] = float("nan")
    for name in ("cost_per_person_day", "capex"):
        found[name] = side_by_side(lines, name, "--rank")
    return found


def screened_table(lines: pd.DataFrame, by: str) -> Table:
    """Lay the first places of a screen out for a terminal."""
    f = Formats("en")
    table = Table(box=None, pad_edge=False)
    table.add_column("Place")
    title = printed_indicator(by)
    heads = (title, "People fed", "Capital [USD]", "Gates shut")
    for head in heads:
        table.add_column(head, justify="left" if head == heads[-1] else "right")
    for _, line in compared(lines, by).iterrows():
        ends = f.span(line["low"], line["high"], f.number)
        shown = f.number(line["value"]) + (f" ({ends})" if ends else "")
        table.add_row(
            str(line["place"]), shown, f.number(line["people_fed"]), f.amount(line["capex"]),
            str(line["gates_shut"]) or "none",
        )  # fmt: skip
    return table
