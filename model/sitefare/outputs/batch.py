"""How does a table of runs become results and documents, whatever one run does?

First every run is appraised and its results written; then documents are made for the runs that
ask for them. A run that fails is told at the end and harms no other.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from sitefare.appraisal import appraise
from sitefare.assumptions.case import make_case
from sitefare.assumptions.files import Line, read_lines, require_columns
from sitefare.assumptions.library import Library, read_library
from sitefare.errors import RunError, SitefareError
from sitefare.outputs.results import results, write_results
from sitefare.outputs.runs import run_notebook
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for

COLUMNS = ("run", "site", "scenario", "settings", "draws", "seed", "documents")


@dataclass(frozen=True)
class Run:
    """One line of a table of runs; settings are parted by semicolons in their cell."""

    name: str
    site: str
    scenario: str
    settings: tuple[str, ...]
    draws: int
    seed: int
    documents: bool
    wrong: str = ""


def read_runs(path: Path) -> list[Run]:
    """Read a table of runs.

    Raises
    ------
    AssumptionError
        If a column is unknown, a name repeats or would leave the folder, or a cell is refused.
    """
    header, lines = read_lines(path)
    require_columns(path.name, header, COLUMNS)
    runs = [_run(line) for line in lines]
    for line, run in zip(lines, runs, strict=True):
        if [other.name for other in runs].count(run.name) > 1:
            line.refuse("run", "each run needs a name of its own")
    return runs


def _run(line: Line) -> Run:
    """Make one run of a line; what is wrong with its options is told when its turn comes."""
    name = line.cells["run"]
    if not name or not all(c.isalnum() or c in "-_." for c in name) or name.startswith("."):
        line.refuse("run", "a name of letters, digits, '-', '_' and '.' is accepted")
    settings = tuple(s.strip() for s in line.cells["settings"].split(";") if s.strip())
    given = (line.cells["site"], line.cells["scenario"], settings)
    try:
        draws, seed = (_whole(line, column) for column in ("draws", "seed"))
        if line.cells["documents"] not in ("yes", "no"):
            line.refuse("documents", "yes or no is accepted")
    except SitefareError as error:
        return Run(name, *given, 0, 0, documents=False, wrong=str(error))
    return Run(name, *given, draws, seed, documents=line.cells["documents"] == "yes")


def _whole(line: Line, column: str) -> int:
    """Read a whole number from 0."""
    number = line.number_in(column)
    if number is None or number != int(number) or number < 0:
        line.refuse(column, "a whole number from 0 is accepted")
    return int(number)


def _appraised(run: Run, library: Library, folder: Path) -> dict[str, Any]:
    """Appraise one run, write its results, return its line of the table."""
    if run.wrong:
        raise RunError(run.wrong)
    plan = plan_for(make_case(library, run.site, run.scenario, run.settings))
    found = results(appraise(plan), uncertainty(plan, run.draws, run.seed))
    folder.mkdir(parents=True, exist_ok=True)
    write_results(found, folder / "results.json")
    flat = {
        f"{name}{end}": entry.get(key)
        for name, entry in found["indicators"].items()
        for key, end in (("value", ""), ("low", "_low"), ("high", "_high"))
    }
    return {"currency": found["case"]["currency"], **flat}


def _documents(run: Run, root: Path, folder: Path) -> None:
    """Write one run's proposal."""
    parameters = {
        "site": run.site,
        "scenario": run.scenario,
        "settings": list(run.settings),
        "draws": run.draws,
        "seed": run.seed,
    }
    run_notebook(root / "notebooks" / "proposal.ipynb", parameters, folder)


def run_batch(path: Path, output: Path, root: Path, console: Console) -> dict[str, str]:
    """Run a table of runs into a folder; return the runs that failed, each with its reason.

    Raises
    ------
    AssumptionError
        If the table itself or the library is refused.
    """
    runs = read_runs(path)
    library = read_library(root / "assumptions")
    lines: list[dict[str, Any]] = []
    failed: dict[str, str] = {}
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=console) as progress:
        task = progress.add_task("appraising", total=len(runs))
        for run in runs:
            lines.append(_guarded_line(run, library, output, failed))
            progress.advance(task)
        wanted = [run for run in runs if run.documents and run.name not in failed]
        task = progress.add_task("writing documents", total=len(wanted))
        for run in wanted:
            try:
                _documents(run, root, output / run.name)
            except SitefareError as error:
                failed[run.name] = str(error)
            progress.advance(task)
    output.mkdir(parents=True, exist_ok=True)
    for line in lines:
        line |= {"status": "failed" if line["run"] in failed else "done"}
        line |= {"reason": failed.get(line["run"], "")}
    pd.DataFrame(lines).to_parquet(output / "runs.parquet", index=False)
    return failed


def _guarded_line(
    run: Run, library: Library, output: Path, failed: dict[str, str]
) -> dict[str, Any]:
    """Return a run's line of the table; note its reason where it fails."""
    line: dict[str, Any] = {"run": run.name, "site": run.site, "scenario": run.scenario}
    try:
        return line | _appraised(run, library, output / run.name)
    except SitefareError as error:
        failed[run.name] = str(error)
    except Exception as error:  # noqa: BLE001 one run must never stop the others
        failed[run.name] = f"unexpected {type(error).__name__}: {error}"
    return line
