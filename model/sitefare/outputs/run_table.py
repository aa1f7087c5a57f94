"""Which runs does a table ask for?

A run is a site, with its own farm or a design laid over it, under a scenario with settings, draws
and a seed; some ask for documents too.
"""

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from sitefare.assumptions.files import Line, read_lines, require_columns
from sitefare.errors import AssumptionError, SitefareError
from sitefare.outputs.catalogue import SOURCE, check_language

#: Files of a whole batch, beside its runs' folders.
TABLE, MANIFEST, INDEX = "runs.parquet", "manifest.json", "index.html"

COLUMNS = ("run", "site", "scenario", "settings", "draws", "seed", "documents")

#: Columns that a table may leave out.
OPTIONAL = ("design", "language")


@dataclass(frozen=True)
class Run:
    """One line of a table of runs; settings are parted by semicolons in their cell.

    `language` is that of its documents; `wrong` says why it cannot be begun.
    """

    name: str
    site: str
    scenario: str
    settings: tuple[str, ...]
    draws: int
    seed: int
    documents: bool
    wrong: str = ""
    design: str = ""
    language: str = SOURCE


def read_runs(path: Path) -> list[Run]:
    """Read a table of runs.

    Raises
    ------
    AssumptionError
        If a column is unknown, there is no line, a name repeats or would leave the folder, or a
        cell is refused.
    """
    header, lines = read_lines(path)
    require_columns(path.name, [x for x in header if x not in OPTIONAL], COLUMNS)
    if not lines:
        msg = f"{path.name}: no line stands below the columns; a line is a run"
        raise AssumptionError(msg)
    runs = [_run(line) for line in lines]
    times = Counter(run.name.casefold() for run in runs)
    for line, run in zip(lines, runs, strict=True):
        if times[run.name.casefold()] > 1:
            line.refuse("run", "each run needs a name of its own")
    return runs


def _run(line: Line) -> Run:
    """Make one run of a line; what is wrong with its options is told when its turn comes."""
    name = line.cells["run"]
    if not name or not all(c.isalnum() or c in "-_." for c in name) or name.startswith("."):
        line.refuse("run", "a name of letters, digits, '-', '_' and '.' is accepted")
    if name.lower() in (TABLE, MANIFEST, INDEX):
        line.refuse("run", "the batch's own file is called that; give the run another name")
    settings = tuple(s.strip() for s in line.cells["settings"].split(";") if s.strip())
    design, language = (line.cells.get(column, "") for column in OPTIONAL)
    given = (line.cells["site"], line.cells["scenario"], settings)
    try:
        draws, seed = (_whole(line, column) for column in ("draws", "seed"))
        if line.cells["documents"] not in ("yes", "no"):
            line.refuse("documents", "yes or no is accepted")
        if language:
            check_language(language)
    except SitefareError as error:
        return Run(name, *given, 0, 0, documents=False, wrong=str(error), design=design)
    asked = line.cells["documents"] == "yes"
    return Run(
        name, *given, draws, seed, documents=asked, design=design, language=language or SOURCE
    )


def _whole(line: Line, column: str) -> int:
    """Read a whole number from 0."""
    number = line.number_in(column)
    if number is None or number != int(number) or number < 0:
        line.refuse(column, "a whole number from 0 is accepted")
    return int(number)
