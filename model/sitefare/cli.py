"""The command line: parse, call, print. Every failure is one sentence and a non-zero exit."""

import os
import signal
import sys
from collections.abc import Callable
from io import TextIOWrapper
from pathlib import Path
from types import ModuleType
from typing import Annotated

import typer

from sitefare.appraisal import appraise as run_appraisal
from sitefare.assumptions.library import find_root
from sitefare.commands import (
    choose,
    compare,
    evidence,
    house_style,
    mix,
    runs,
    screen,
    sensitivity,
    uncertain,
)
from sitefare.commands.options import (
    DEFAULT_DRAWS,
    DEFAULT_SCENARIO,
    DEFAULT_SEED,
    Design,
    Draws,
    Folder,
    HouseStyle,
    Json,
    Language,
    Scenario,
    Seed,
    Settings,
    Site,
    Target,
    case_of,
    chart_file,
    checked,
    err,
    house_style_file,
    library,
    out,
    working,
)
from sitefare.errors import SitefareError

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Turn a place, a farm and sourced assumptions into a project appraisal.",
)
#: Modules whose commands stand beside those below.
ADDED: tuple[ModuleType, ...] = (
    choose,
    compare,
    evidence,
    house_style,
    mix,
    runs,
    screen,
    sensitivity,
    uncertain,
)

#: Exit codes after Ctrl-C and after a request to end, and of an unexpected failure.
STOPPED, ENDED, UNEXPECTED = 130, 143, 70


@app.command()
def propose(
    site: Site,
    output: Target,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    draws: Draws = DEFAULT_DRAWS,
    seed: Seed = DEFAULT_SEED,
    language: Language = "en",
    styled: HouseStyle = None,
    folder: Folder = None,
) -> None:
    """Write a proposal: notebook, page, PDF, Word file, workbook and results.json."""
    from sitefare.outputs.runs import run_notebook  # noqa: PLC0415

    checked(draws, seed, language, output)
    worn = house_style_file(styled)
    case_of(folder, site, scenario, settings, design)
    notebook = find_root(Path.cwd()) / "notebooks" / "proposal.ipynb"
    parameters = {
        "site": site,
        "scenario": scenario,
        "design": design,
        "settings": settings or [],
        "draws": draws,
        "seed": seed,
        "language": language,
        "house_style": worn,
        "assumptions": str(folder.resolve()) if folder else "",
    }
    with working(f"Appraising {site}, {scenario}, and writing its proposal") as progress:
        made = run_notebook(notebook, parameters, output.resolve(), progress.stage)
    for path in made:
        out.print(f"{output / path.name}", highlight=False)


@app.command()
def appraise(
    site: Site,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    draws: Draws = 0,
    seed: Seed = DEFAULT_SEED,
    as_json: Json = False,  # noqa: FBT002
    folder: Folder = None,
) -> None:
    """Print the indicators of one case."""
    from sitefare.outputs.results import as_json as json_text  # noqa: PLC0415
    from sitefare.outputs.results import results  # noqa: PLC0415
    from sitefare.outputs.terminal import (  # noqa: PLC0415
        indicator_table,
        print_whole,
        rations_table,
    )
    from sitefare.questions.uncertainty import uncertainty  # noqa: PLC0415
    from sitefare.sizing import plan_for  # noqa: PLC0415

    checked(draws, seed)
    plan = plan_for(case_of(folder, site, scenario, settings, design))
    with working("Appraising", as_json=as_json) as progress:
        ended = progress.stage("draws", draws)
        found = results(run_appraisal(plan), uncertainty(plan, draws, seed, ended=ended))
    if as_json:
        sys.stdout.write(json_text(found))
    else:
        print_whole(out, indicator_table(found))
        print_whole(out, rations_table(found))


@app.command()
def explain(
    site: Site,
    indicator: Annotated[str, typer.Argument(help="An indicator of money, such as npv.")],
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    chart: Annotated[Path | None, typer.Option(help="Write the chart to this .svg file.")] = None,
    language: Annotated[str, typer.Option(help="Language of the chart: en, fr, ar.")] = "en",
    folder: Folder = None,
) -> None:
    """Print the terms that make an indicator, and the rows that move each of them most."""
    from sitefare.outputs.drawn import svg  # noqa: PLC0415
    from sitefare.outputs.explained import explained_chart, explained_table  # noqa: PLC0415
    from sitefare.outputs.numbers import Formats  # noqa: PLC0415
    from sitefare.outputs.terminal import print_whole  # noqa: PLC0415
    from sitefare.questions.explaining import explain as explained  # noqa: PLC0415
    from sitefare.sizing import plan_for  # noqa: PLC0415

    checked(0, 0, language)
    chart_file(chart)
    plan = plan_for(case_of(folder, site, scenario, settings, design))
    with err.status(f"Explaining {indicator}"):
        made = explained(plan, indicator)
    print_whole(out, explained_table(made))
    if chart is not None:
        picture = explained_chart(made, Formats(language, plan.case.currency))
        chart.write_text(svg(picture.wide), encoding="utf-8", newline="\n")
        out.print(str(chart), highlight=False)


@app.command()
def design(
    site: Site,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="Folder for design.html, .pdf, .docx, .svg, .json."),
    ] = None,
    language: Language = "en",
    styled: HouseStyle = None,
    folder: Folder = None,
) -> None:
    """Print the design sheet a builder needs; with -o write it as files."""
    from sitefare.outputs.design_document import make_design  # noqa: PLC0415
    from sitefare.outputs.terminal import print_design  # noqa: PLC0415
    from sitefare.sizing import plan_for  # noqa: PLC0415

    checked(0, 0, language, output)
    worn = house_style_file(styled)
    plan = plan_for(case_of(folder, site, scenario, settings, design))
    made = make_design(plan, language)
    if output is None:
        print_design(out, made.sheet)
        return
    with err.status(f"Writing the design sheet of {site}, {scenario}"):
        files = made.write(output, worn)
    for path in files:
        out.print(str(path), highlight=False)


@app.command()
def check(folder: Folder = None) -> None:
    """Read every assumption file and say what is wrong or weak."""
    from sitefare.outputs.checking import check_all  # noqa: PLC0415

    problems = 0
    for line in check_all(library(folder)):
        problems += line.refused
        (err if line.refused else out).print(
            line.text, highlight=False, markup=False, soft_wrap=True
        )
    if problems:
        raise typer.Exit(1)


@app.command()
def register(
    site: Site,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    find: Annotated[str, typer.Option(help="Only names that hold this text.")] = "",
    csv_file: Annotated[
        Path | None, typer.Option("--csv", help="Write to this file instead.")
    ] = None,
    folder: Folder = None,
) -> None:
    """Print every value in force, with the layer and the source that gave it."""
    from sitefare.outputs.register import as_csv  # noqa: PLC0415
    from sitefare.outputs.terminal import print_unwrapped, register_table  # noqa: PLC0415
    from sitefare.sizing import plan_for  # noqa: PLC0415

    case = plan_for(case_of(folder, site, scenario, settings, design)).case
    if csv_file is not None:
        csv_file.write_text(as_csv(case), encoding="utf-8-sig", newline="\n")
        out.print(str(csv_file), highlight=False)
    else:
        table = register_table(case, find)
        if not table.row_count:
            msg = f"no name holds '{find}'"
            raise SitefareError(msg)
        print_unwrapped(out, table)


@app.command()
def new(
    site: Annotated[str, typer.Argument(help="Name of the new site's folder.")],
    folder: Folder = None,
) -> None:
    """Make a site to fill in, with a one-page field form."""
    from sitefare.outputs.newsite import new_site  # noqa: PLC0415

    for path in new_site(library(folder), site):
        out.print(str(path), highlight=False)


for module in ADDED:
    module.add(app)


def guarded(run: Callable[[], object]) -> int:
    """Run a command; return its exit code, with one sentence for any failure."""
    try:
        run()
    except SystemExit as stop:
        if stop.code in (STOPPED, ENDED):
            err.print("sitefare: stopped")
        raise
    except SitefareError as error:
        err.print(f"sitefare: {error}", highlight=False, markup=False, soft_wrap=True)
        return 1
    except OSError as error:
        where = f" ({error.filename})" if error.filename else ""
        err.print(f"sitefare: {error.strerror or error}{where}", highlight=False, markup=False)
        return 1
    except KeyboardInterrupt:
        err.print("sitefare: stopped")
        return STOPPED
    except Exception as error:
        if os.environ.get("SITEFARE_DEBUG"):
            raise
        kind = type(error).__name__
        words = f"sitefare: an unexpected failure ({kind}: {error}); SITEFARE_DEBUG=1 shows where"
        err.print(words, highlight=False, markup=False, soft_wrap=True)
        return UNEXPECTED
    return 0


def end(*_: object) -> None:
    """Leave as after Ctrl-C when asked to end, so that nothing half-made stays.

    Raises
    ------
    SystemExit
        Always.
    """
    raise SystemExit(ENDED)


def main() -> None:
    """Run the command line; a terminal that lacks a sign shows a stand-in."""
    signal.signal(signal.SIGTERM, end)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    sys.exit(guarded(app))
