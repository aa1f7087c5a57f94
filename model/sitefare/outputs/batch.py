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
from sitefare.outputs.batch_index import SHOWN, RunLine, index_page
from sitefare.outputs.batch_times import Times
from sitefare.outputs.held import held
from sitefare.outputs.progress import Progress
from sitefare.outputs.results import PACKAGES, as_json, package_versions, results
from sitefare.outputs.run_table import INDEX, MANIFEST, TABLE, Run
from sitefare.outputs.stored import (
    WRITERS,
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

#: What runs and their documents are made with.
VERSIONS = (*PACKAGES, *WRITERS)


@dataclass(frozen=True)
class Task:
    """One run for a worker, where the assumptions stand, and a stamp of their common tables."""

    run: Run
    assumptions: Path
    stamp: str = ""


@dataclass(frozen=True)
class Batch:
    """What became of a table of runs.

    `failed` holds reasons; `kept` names runs that were whole already.
    """

    runs: tuple[Run, ...]
    failed: Mapping[str, str]
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
        library_once(task.assumptions, task.stamp), run.site, run.scenario, run.settings, run.design
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
        run.site,
        run.scenario,
        run.settings,
        run.draws,
        run.seed,
        run.language,
        design=run.design,
        assumptions=task.assumptions,
    )
    with tempfile.TemporaryDirectory(prefix="sitefare-") as folder:
        return {path.name: path.read_bytes() for path in made.write(folder)}


@dataclass
class _Making:
    """A batch at work: where it writes, who works, and what has become of runs so far."""

    output: Path
    assumptions: Path
    workers: Workers
    progress: Progress
    limit: float | None
    keys: Mapping[str, str]
    stamp: str
    failed: dict[str, str]
    times: Times

    def whole(self, run: Run, *, documents: bool) -> bool:
        """Say whether a run is on disk already, whole and resting on the same inputs."""
        return whole(self.output / run.name, self.keys[run.name], documents=documents)

    def stage(
        self, title: str, function: Callable[[Task], R], runs: Sequence[Run]
    ) -> Iterator[tuple[Run, R]]:
        """Yield what workers answer for each run; note the others' reasons."""
        ended = self.progress.stage(title, len(runs))
        tasks = [Task(run, self.assumptions, self.stamp) for run in runs]
        for outcome in self.workers.each(function, tasks, self.limit):
            run = runs[outcome.number]
            self.times.note(run.name, self.keys[run.name], outcome.seconds)
            if outcome.answer is None:
                self.failed[run.name] = outcome.failure
            else:
                yield run, outcome.answer
            ended(not outcome.done)


def run_batch(
    runs: Sequence[Run],
    output: Path,
    assumptions: Path,
    workers: Workers,
    progress: Progress,
    limit: float | None = None,
) -> Batch:
    """Appraise runs and write their documents into a folder, doing only what is not there.

    Parameters
    ----------
    runs : sequence of Run
        Runs with names of their own.
    output, assumptions : Path
        Folder to write into; folder of assumptions.
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
    RunError
        If another command is writing into the folder.
    """
    read_library(assumptions)
    with held(output):
        remove_halves(output)
        inputs = Inputs(assumptions)
        keys = {run.name: inputs.key(run) for run in runs}
        (output / INDEX).unlink(missing_ok=True)  # it tells of a batch that is done
        making = _Making(
            output, assumptions, workers, progress, limit, keys, inputs.stamp, {}, Times(output)
        )
        kept = _appraise(making, runs)
        written_whole(output / TABLE, _table(runs, making))
        kept -= _document(making, [r for r in runs if r.documents and r.name not in making.failed])
        lines = [_line(run, making) for run in runs]
        written_whole(output / MANIFEST, _manifest(lines, making.times).encode())
        making.times.close()
        written_whole(output / INDEX, index_page(lines, package_versions(VERSIONS)).encode())
    return Batch(tuple(runs), making.failed, frozenset(kept))


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
    """Read a run's results back; nothing where there are none."""
    if not making.whole(run, documents=False):
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


def _line(run: Run, making: _Making) -> RunLine:
    """Return one run as it stands on disk; of its indicators those that the page compares."""
    found = _stored(making, run)
    if found:
        found = {
            "case": found["case"],
            "indicators": {name: found["indicators"][name] for name in SHOWN},
            "rations": found["rations"],
            "provenance": found["provenance"],
        }
    stamp = read_stamp(making.output / run.name)
    files = dict(stamp.files) if stamp else {}
    key = making.keys[run.name]
    return RunLine(run, key, found, files, making.failed.get(run.name, ""))


def _manifest(lines: Sequence[RunLine], times: Times) -> str:
    """Return what every run rests on, what became of it and how long it took."""
    told = [
        {
            "run": line.run.name,
            "site": line.run.site,
            "design": line.run.design,
            "scenario": line.run.scenario,
            "settings": list(line.run.settings),
            "draws": line.run.draws,
            "seed": line.run.seed,
            "language": line.run.language,
            "status": "failed" if line.failure else "done",
            "reason": line.failure,
            "input_hash": line.found["provenance"]["input_hash"] if line.found else "",
            "key": line.key,
            "files": dict(line.files),
            "seconds": _rounded(times.of(line.run.name, line.key)),
        }
        for line in lines
    ]
    whole_batch = {"versions": package_versions(VERSIONS), "runs": told}
    return json.dumps(whole_batch, indent=1, ensure_ascii=False) + "\n"


def _rounded(seconds: float | None) -> float | None:
    """Round a time to milliseconds. [s]"""
    return None if seconds is None else round(seconds, 3)
