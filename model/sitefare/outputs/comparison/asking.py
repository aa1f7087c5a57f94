"""Which alternatives and weights are asked for, in words that a notebook's parameters can hold?

What was appraised already travels to the notebook's kernel in a file of this machine, made and
read by one version of the project, and is never kept.
"""

import csv
import io
import math
import pickle
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sitefare.errors import RunError
from sitefare.outputs.run_table import read_runs
from sitefare.questions.alternatives import Alternative, check_alternatives
from sitefare.questions.comparing import Compared
from sitefare.questions.turning import Against

#: What an alternative's line holds, in this order; settings are parted by semicolons.
FIELDS = ("title", "site", "design", "scenario", "settings")

#: Where appraised lines stand until the notebook has read them.
KEPT = "appraised"


def of_runs(table: Path) -> tuple[Alternative, ...]:
    """Return the lines of a table of runs as alternatives; draws and seed are the comparison's.

    Raises
    ------
    AssumptionError
        If the table is refused.
    RunError
        If a line is refused, there are fewer than two, or one stands twice.
    """
    made = []
    for run in read_runs(table):
        if run.wrong:
            raise RunError(run.wrong)
        design = getattr(run, "design", "")
        made.append(Alternative(run.site, run.scenario, run.settings, design, run.name))
    check_alternatives(made)
    return tuple(made)


def as_lines(asked: Sequence[Alternative]) -> list[str]:
    """Write alternatives as lines of text, one each."""
    return [_line((x.title, x.site, x.design, x.scenario, "; ".join(x.settings))) for x in asked]


def _line(cells: Sequence[str]) -> str:
    """Write cells as one line of CSV."""
    text = io.StringIO()
    csv.writer(text, lineterminator="").writerow(cells)
    return text.getvalue()


def of_lines(lines: Sequence[str]) -> tuple[Alternative, ...]:
    """Read alternatives from lines of text.

    Raises
    ------
    RunError
        If a line has not the right cells, there are fewer than two, or one stands twice.
    """
    made = []
    for line in lines:
        cells = [cell.strip() for cell in next(csv.reader([line]), [])]
        if len(cells) != len(FIELDS):
            msg = f"alternative '{line}': {', '.join(FIELDS)} are accepted, parted by commas"
            raise RunError(msg)
        title, site, design, scenario, settings = cells
        given = tuple(x.strip() for x in settings.split(";") if x.strip())
        made.append(Alternative(site, scenario, given, design, title))
    check_alternatives(made)
    return tuple(made)


def stated_weights(words: Sequence[str]) -> dict[str, float]:
    """Read weights such as cost=3.

    Raises
    ------
    RunError
        If one is not criterion=number, or a criterion stands twice.
    """
    found: dict[str, float] = {}
    for word in words:
        key, _, given = (part.strip() for part in word.partition("="))
        try:
            number = float(given)
        except ValueError:
            number = math.nan
        if not key or not math.isfinite(number):
            msg = f"--weight {word}: write criterion=number"
            raise RunError(msg)
        if key in found:
            msg = f"--weight {word}: {key} has a weight already"
            raise RunError(msg)
        found[key] = number
    return found


@dataclass(frozen=True)
class Appraised:
    """What is dear to find out: the alternatives appraised, and what would change their order."""

    compared: Compared
    turned: tuple[Against, ...]


def keep(found: Appraised, folder: Path) -> Path:
    """Put appraised lines into a private folder for the notebook's kernel; return the file."""
    path = folder / KEPT
    path.write_bytes(pickle.dumps(found))
    return path


def kept(path: Path) -> Appraised:
    """Read lines that `keep` has put there.

    Raises
    ------
    RunError
        If the file is not there, or does not hold a comparison.
    """
    try:
        found = pickle.loads(path.read_bytes())  # noqa: S301 our own file of this very run
    except (OSError, pickle.UnpicklingError, EOFError) as error:
        msg = f"{path.name}: no appraised alternatives are there ({error})"
        raise RunError(msg) from error
    if not isinstance(found, Appraised):
        msg = f"{path.name} does not hold appraised alternatives"
        raise RunError(msg)
    return found
