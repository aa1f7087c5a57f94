"""The command that sets sites, designs and scenarios side by side."""

import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from sitefare.assumptions.library import find_root
from sitefare.commands.options import (
    DEFAULT_DRAWS,
    DEFAULT_SCENARIO,
    DEFAULT_SEED,
    Draws,
    Folder,
    HouseStyle,
    Json,
    Language,
    Seed,
    Settings,
    checked,
    err,
    house_style_file,
    library,
    out,
)
from sitefare.commands.runs import ClusterAddress, WorkerCount, failures
from sitefare.errors import RunError
from sitefare.questions.alternatives import Alternative, alternatives
from sitefare.questions.figures import RATIO
from sitefare.stages import Stage

#: Alternatives that are appraised while another process starts and reads the assumptions.
FEW = 12


def add(app: typer.Typer) -> None:
    """Put the command on the app."""
    app.command("compare")(compare)


def compare(
    sites: Annotated[list[str] | None, typer.Argument(help="Site folders.")] = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="Folder to write into.")
    ] = None,
    designs: Annotated[
        list[str] | None,
        typer.Option("--design", help="Designs at every site, '' its own; may be repeated."),
    ] = None,
    scenarios: Annotated[
        list[str] | None, typer.Option("--scenario", help="Scenarios; may be repeated.")
    ] = None,
    runs: Annotated[
        Path | None,
        typer.Option(
            help="CSV of runs, as batch takes: its lines, not sites, with --draws and --seed."
        ),
    ] = None,
    by: Annotated[str, typer.Option(help="Indicator that puts them in order.")] = RATIO,
    weights: Annotated[
        list[str] | None,
        typer.Option("--weight", help="criterion=number for the score; may be repeated."),
    ] = None,
    settings: Settings = None,
    draws: Draws = DEFAULT_DRAWS,
    seed: Seed = DEFAULT_SEED,
    language: Language = "en",
    styled: HouseStyle = None,
    workers: WorkerCount = 0,
    cluster: ClusterAddress = "",
    as_json: Json = False,  # noqa: FBT002
    folder: Folder = None,
) -> None:
    """Compare sites, designs and scenarios: gates first, then the order by one indicator."""
    from sitefare.outputs.comparison import (  # noqa: PLC0415
        Appraised,
        of_appraised,
        stated_weights,
    )
    from sitefare.outputs.progress import Progress  # noqa: PLC0415
    from sitefare.outputs.results import as_json as json_text  # noqa: PLC0415
    from sitefare.questions.comparing import compare as compared  # noqa: PLC0415
    from sitefare.questions.criteria import criteria_of, weighted  # noqa: PLC0415
    from sitefare.questions.turning import turning  # noqa: PLC0415

    if output is None and not as_json:
        msg = "give a folder to write into with -o, or ask for numbers with --json"
        raise RunError(msg)
    checked(draws, seed, language, output)
    worn = house_style_file(styled)
    asked = _asked(sites or [], designs or [], scenarios or [], settings or [], runs)
    known = library(folder)
    stated = stated_weights(weights or [])
    weighted(criteria_of(known), stated)
    with _workers(len(asked), workers, cluster) as work, Progress(err, as_json=as_json) as told:
        lines = compared(known.folder, asked, draws, seed, by, work, told.stage)
        found = Appraised(lines, turning(lines))
        made: list[Path] = []
        if output is not None:
            parameters = _parameters(asked, sites or [], designs, scenarios, settings, runs) | {
                "by": by, "weights": weights or [], "draws": draws, "seed": seed,
                "language": language, "house_style": worn,
                "assumptions": str(folder.resolve()) if folder else "",
            }  # fmt: skip
            made = _documents(found, parameters, output, told.stage)
    if as_json:
        sys.stdout.write(json_text(of_appraised(found, stated, language).results))
    else:
        failures(lines.refused)
        for path in made:
            out.print(f"{path}", highlight=False, markup=False, soft_wrap=True)
    if lines.refused:
        raise typer.Exit(1)


def _asked(
    sites: Sequence[str],
    designs: Sequence[str],
    scenarios: Sequence[str],
    settings: Sequence[str],
    runs: Path | None,
) -> tuple[Alternative, ...]:
    """Return the alternatives asked for: the lines of a table, or every site with every design.

    Raises
    ------
    RunError
        If both are asked for, or fewer than two alternatives.
    """
    from sitefare.outputs.comparison import of_runs  # noqa: PLC0415

    if runs is None:
        return alternatives(sites, designs, scenarios or [DEFAULT_SCENARIO], settings)
    given = {"sites": sites, "--design": designs, "--scenario": scenarios, "--set": settings}
    beside = [name for name, words in given.items() if words]
    if beside:
        msg = f"--runs names the alternatives itself; leave out {' and '.join(beside)}"
        raise RunError(msg)
    return of_runs(runs)


def _workers(tasks: int, count: int, cluster: str) -> Any:  # noqa: ANN401
    """Return who appraises; one process is this one, so that few alternatives start no other."""
    from sitefare.workers import Here, cores  # noqa: PLC0415
    from sitefare.workers import workers as made_workers  # noqa: PLC0415

    wanted = count or min(cores(), max(tasks // FEW, 1))
    return Here() if wanted == 1 and not cluster else made_workers(wanted, cluster)


def _parameters(
    asked: Sequence[Alternative],
    sites: list[str],
    designs: list[str] | None,
    scenarios: list[str] | None,
    settings: list[str] | None,
    runs: Path | None,
) -> dict[str, Any]:
    """Return what the notebook is told to compare: a product, or alternatives one by one."""
    from sitefare.outputs.comparison import as_lines  # noqa: PLC0415

    if runs is not None:
        return {"sites": [], "alternatives": as_lines(asked)}
    return {
        "sites": sites,
        "designs": designs or [],
        "scenarios": scenarios or [DEFAULT_SCENARIO],
        "settings": settings or [],
    }


def _documents(
    found: Any,  # noqa: ANN401
    parameters: dict[str, Any],
    output: Path,
    stage: Stage,
) -> list[Path]:
    """Run the notebook on what has been appraised already; return the files it wrote."""
    from sitefare.outputs.comparison import keep  # noqa: PLC0415
    from sitefare.outputs.runs import run_notebook  # noqa: PLC0415

    notebook = find_root(Path.cwd()) / "notebooks" / "comparison.ipynb"
    with tempfile.TemporaryDirectory(prefix="sitefare-") as name:
        kept = keep(found, Path(name))
        asked = {**parameters, "appraised": str(kept)}
        made = run_notebook(notebook, asked, output.resolve(), stage)
    return [output / path.name for path in made]
