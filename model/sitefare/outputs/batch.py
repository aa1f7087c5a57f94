"""How does a table of runs become results and documents, whatever one run does?

First every run is appraised; its results are written and all become one Parquet file. Then
documents are made for the runs that ask for them. Runs go to workers, which hand back whole files;
this process alone writes. What is whole on disk already and rests on the same inputs is left as it
is, so that a batch stopped at any moment goes on where it was and ends with the same bytes.
"""

import io
import json
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import pandas as pd

from sitefare.appraisal import appraise
from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import library_once, read_library
from sitefare.errors import RunError
from sitefare.outputs.progress import Progress
from sitefare.outputs.results import as_json, package_versions, results
from sitefare.outputs.run_table import Run
from sitefare.outputs.stored import (
    Inputs,
    place,
    place_failure,
    read_stamp,
    remove_halves,
    whole,
    written_whole,
)
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for
from sitefare.workers import Workers

R = TypeVar("R")

RESULTS = "results.json"

#: Files of a whole batch, beside its runs' folders.
TABLE, MANIFEST = "runs.parquet", "manifest.json"


@dataclass(frozen=True)
class Task:
    """One run for a worker, and where the assumptions stand."""

    run: Run
    root: Path


@dataclass(frozen=True)
class Batch:
    """What became of a table of runs.

    `failed` holds reasons, `seconds` the time of what was done now [s]; `kept` names runs that were
    whole already.
    """

    runs: tuple[Run, ...]
    failed: Mapping[str, str]
    seconds: Mapping[str, float]
    kept: frozenset[str]


def appraised(task: Task) -> str:
    """Appraise one run; return what its results.json holds.

    Raises
    ------
    SitefareError
        If the run is refused.
    """
    run = task.run
    if run.wrong:
        raise RunError(run.wrong)
    case = make_case(
        library_once(task.root / "assumptions"), run.site, run.scenario, run.settings, run.design
    )
    plan = plan_for(case)
    return as_json(results(appraise(plan), uncertainty(plan, run.draws, run.seed)))


def documents(task: Task) -> dict[str, bytes]:
    """Make one run's proposal, with no kernel; return its files by name.

    Raises
    ------
    SitefareError
        If the run is refused.
    """
    from sitefare.outputs.proposal import make_proposal  # noqa: PLC0415

    run = task.run
    made = make_proposal(
        run.site, run.scenario, run.settings, run.draws, run.seed, root=task.root, design=run.design
    )
    with tempfile.TemporaryDirectory(prefix="sitefare-") as folder:
        return {path.name: path.read_bytes() for path in made.write(folder)}


@dataclass
class _Making:
    """A batch at work: where it writes, who works, and what has become of runs so far."""

    output: Path
    root: Path
    workers: Workers
    progress: Progress
    limit: float | None
    keys: Mapping[str, str]
    failed: dict[str, str]
    seconds: dict[str, float]

    def whole(self, run: Run, *, documents: bool) -> bool:
        """Say whether a run is on disk already, whole and resting on the same inputs."""
        return whole(self.output / run.name, self.keys[run.name], documents=documents)

    def stage(
        self, title: str, function: Callable[[Task], R], runs: Sequence[Run]
    ) -> Iterator[tuple[Run, R]]:
        """Yield what workers answer for each run; note the others' reasons."""
        ended = self.progress.stage(title, len(runs))
        tasks = [Task(run, self.root) for run in runs]
        for outcome in self.workers.each(function, tasks, self.limit):
            run = runs[outcome.number]
            self.seconds[run.name] = self.seconds.get(run.name, 0.0) + outcome.seconds
            if outcome.answer is None:
                self.failed[run.name] = outcome.failure
            else:
                yield run, outcome.answer
            ended(not outcome.done)


def run_batch(
    runs: Sequence[Run],
    output: Path,
    root: Path,
    workers: Workers,
    progress: Progress,
    limit: float | None = None,
) -> Batch:
    """Appraise runs and write their documents into a folder, doing only what is not there.

    Parameters
    ----------
    runs : sequence of Run
        Runs with names of their own.
    output, root : Path
        Folder to write into; the project's root.
    workers : Workers
        Who does the work.
    progress : Progress
        Who tells how far it is.
    limit : float, optional
        Time that one run's appraisal, or one run's documents, may take. [s]

    Raises
    ------
    AssumptionError
        If the library is refused.
    """
    read_library(root / "assumptions")
    output.mkdir(parents=True, exist_ok=True)
    remove_halves(output)
    inputs = Inputs(root / "assumptions")
    keys = {run.name: inputs.key(run) for run in runs}
    making = _Making(output, root, workers, progress, limit, keys, {}, {})
    kept = _appraise(making, runs)
    written_whole(output / TABLE, _table(runs, making))
    kept -= _document(making, [r for r in runs if r.documents and r.name not in making.failed])
    batch = Batch(tuple(runs), making.failed, making.seconds, frozenset(kept))
    written_whole(output / MANIFEST, _manifest(batch, making).encode())
    return batch


def _appraise(making: _Making, runs: Sequence[Run]) -> set[str]:
    """Write the results of every run that has none; return the runs left as they were."""
    kept = {run.name for run in runs if making.whole(run, documents=False)}
    new = [run for run in runs if run.name not in kept]
    for run, found in making.stage("appraised", appraised, new):
        files = {RESULTS: found.encode()}
        place(making.output / run.name, files, making.keys[run.name], documents=False)
    for run in new:
        if run.name in making.failed:
            key, why = making.keys[run.name], making.failed[run.name]
            place_failure(making.output / run.name, key, why)
    return kept


def _document(making: _Making, runs: Sequence[Run]) -> set[str]:
    """Write the documents of every run that has none; return those runs."""
    new = [run for run in runs if not making.whole(run, documents=True)]
    for run, files in making.stage("documents", documents, new):
        place(making.output / run.name, files, making.keys[run.name], documents=True)
    return {run.name for run in new}


def _stored(making: _Making, run: Run) -> dict[str, Any]:
    """Read a run's results back; nothing where it failed."""
    if run.name in making.failed:
        return {}
    text = (making.output / run.name / RESULTS).read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def _table(runs: Sequence[Run], making: _Making) -> bytes:
    """Return the Parquet file of all runs, a line each: indicators with their ends, and status."""
    lines = []
    for run in runs:
        found = _stored(making, run)
        line: dict[str, Any] = {"run": run.name, "site": run.site, "design": run.design}
        line["scenario"] = run.scenario
        if found:
            line["currency"] = found["case"]["currency"]
        for name, entry in found.get("indicators", {}).items():
            ends = (("value", ""), ("low", "_low"), ("high", "_high"))
            line |= {f"{name}{end}": entry.get(key) for key, end in ends}
        line["status"] = "failed" if run.name in making.failed else "done"
        line["reason"] = making.failed.get(run.name, "")
        lines.append(line)
    made = io.BytesIO()
    pd.DataFrame(lines).to_parquet(made, index=False)
    return made.getvalue()


def _manifest(batch: Batch, making: _Making) -> str:
    """Return what every run rests on, what became of it and how long it took."""
    lines = []
    for run in batch.runs:
        found, stamp = _stored(making, run), read_stamp(making.output / run.name)
        lines.append({
            "run": run.name,
            "site": run.site,
            "design": run.design,
            "scenario": run.scenario,
            "settings": list(run.settings),
            "draws": run.draws,
            "seed": run.seed,
            "status": "failed" if run.name in batch.failed else "done",
            "reason": batch.failed.get(run.name, ""),
            "input_hash": found["provenance"]["input_hash"] if found else "",
            "key": making.keys[run.name],
            "files": dict(stamp.files) if stamp else {},
            "seconds": round(batch.seconds.get(run.name, 0.0), 3),
        })  # fmt: skip
    whole_batch = {"versions": package_versions(), "runs": lines}
    return json.dumps(whole_batch, indent=1, ensure_ascii=False) + "\n"
