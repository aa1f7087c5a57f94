"""The command that makes a table of runs into results and documents."""

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import typer

from sitefare.assumptions.library import find_root
from sitefare.commands.options import Folder, Json, Target, checked, err, out
from sitefare.errors import RunError

#: Seconds that one run's appraisal, or its documents, may take unless told. [s]
LIMIT = 900.0

WorkerCount = Annotated[
    int, typer.Option("--workers", help="Processes; 0 for one for each core of this machine.")
]
ClusterAddress = Annotated[
    str, typer.Option("--cluster", help="Address of a Dask scheduler; its workers do the work.")
]


def add(app: typer.Typer) -> None:
    """Put the command on the app."""
    app.command("batch")(batch)


def failures(reasons: Mapping[str, str]) -> None:
    """Say of each run or place that failed why."""
    for name, reason in reasons.items():
        err.print(f"failed: {name}: {reason}", highlight=False, markup=False, soft_wrap=True)


def batch(
    runs: Annotated[
        Path,
        typer.Argument(
            help="CSV of runs: run, site, scenario, settings, draws, seed, documents; "
            "design and language if you like."
        ),
    ],
    output: Target,
    workers: WorkerCount = 0,
    cluster: ClusterAddress = "",
    limit: Annotated[float, typer.Option(help="Seconds that one run may take.")] = LIMIT,
    as_json: Json = False,  # noqa: FBT002
    folder: Folder = None,
) -> None:
    """Appraise every run of a table; write documents for those that ask; go on where it stopped."""
    from sitefare.outputs.batch import run_batch  # noqa: PLC0415
    from sitefare.outputs.progress import Progress  # noqa: PLC0415
    from sitefare.outputs.run_table import INDEX, read_runs  # noqa: PLC0415
    from sitefare.workers import workers as made_workers  # noqa: PLC0415

    checked(0, 0, output=output)
    if not limit > 0:
        msg = f"--limit takes seconds above 0; found {limit:g}"
        raise RunError(msg)
    asked = read_runs(runs)
    own = folder or find_root(Path.cwd()) / "assumptions"
    with made_workers(workers, cluster) as work, Progress(err, as_json=as_json) as progress:
        done = run_batch(asked, output.resolve(), own.resolve(), work, progress, limit)
    if as_json:
        numbers = {
            "runs": len(asked), "kept": len(done.kept), "failed": dict(done.failed),
            "folder": str(output), "index": str(output / INDEX),
        }  # fmt: skip
        sys.stdout.write(json.dumps(numbers, indent=1, ensure_ascii=False) + "\n")
    else:
        failures(done.failed)
        words = f"{len(asked) - len(done.failed)} of {len(asked)} runs done"
        kept = f", {len(done.kept)} of them from before" if done.kept else ""
        out.print(f"{words}{kept}: {output / INDEX}", highlight=False, markup=False, soft_wrap=True)
    if done.failed:
        raise typer.Exit(1)
