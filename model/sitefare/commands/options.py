"""What every command shares: its options, its consoles, how words become a case."""

import math
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from sitefare.assumptions.case import Case, make_case
from sitefare.assumptions.draws import check_draws
from sitefare.assumptions.library import Library, project_library, read_library
from sitefare.errors import SitefareError
from sitefare.outputs.catalogue import check_language
from sitefare.outputs.progress import Progress

out = Console()
err = Console(stderr=True)

Site = Annotated[str, typer.Argument(help="A folder of assumptions/sites.")]
Scenario = Annotated[str, typer.Option(help="A file of assumptions/scenarios, without .csv.")]
Design = Annotated[
    str, typer.Option(help="A file of assumptions/designs laid over the site's own farm.")
]
Settings = Annotated[
    list[str] | None,
    typer.Option("--set", help="name=value or name=low:base:high, a unit after it if you like."),
]
Draws = Annotated[int, typer.Option(help="Draws for the ranges: a power of two, or 0 for none.")]
ManyDraws = Annotated[int, typer.Option(help="Draws: a power of two, 256 or more.")]
Seed = Annotated[int, typer.Option(help="Seed of the draws.")]
Json = Annotated[bool, typer.Option("--json", help="Print numbers as JSON.")]
Folder = Annotated[
    Path | None,
    typer.Option("--assumptions", help="The assumptions folder, if not found by itself."),
]
Language = Annotated[str, typer.Option(help="Language of labels, numbers and dates: en, fr, ar.")]
HouseStyle = Annotated[
    Path | None,
    typer.Option("--house-style", help="A .docx whose styles the Word file wears."),
]
Target = Annotated[Path, typer.Option("-o", "--output", help="Folder to write into.")]

DEFAULT_SCENARIO = "as_planned"
DEFAULT_DRAWS = 2048
DEFAULT_SEED = 1

#: Seconds from which a command that is mostly quick tells how far it is, off a terminal. [s]
QUIET = 3.0


def library(folder: Path | None) -> Library:
    """Read the assumptions given, or those of the project around."""
    return read_library(folder) if folder else project_library()


def checked(draws: int, seed: int, language: str = "en", output: Path | None = None) -> None:
    """Refuse options before any work starts.

    Raises
    ------
    SitefareError
        Naming the option and what is accepted.
    """
    check_draws(draws, seed)
    check_language(language)
    if output is not None and not str(output).strip(". "):
        msg = "give a folder to write into with -o"
        raise SitefareError(msg)
    if output is not None and output.is_file():
        msg = f"{output} is a file; give a folder to write into with -o"
        raise SitefareError(msg)


def working(title: str, *, as_json: bool = False) -> Progress:
    """Return what tells how far a command is: quiet where no terminal is, unless it takes long."""
    return Progress(err, as_json=as_json, title=title, quiet=QUIET)


def finite(option: str, number: float | None) -> None:
    """Refuse a number that is none, or has no end.

    Raises
    ------
    SitefareError
        Naming the option.
    """
    if number is not None and not math.isfinite(number):
        msg = f"{option} takes a number; found {number}"
        raise SitefareError(msg)


def chart_file(path: Path | None) -> None:
    """Refuse a chart's file before any work starts.

    Raises
    ------
    SitefareError
        If it is no .svg file, or stands in no folder.
    """
    if path is not None and path.suffix.lower() != ".svg":
        msg = f"--chart {path}: a chart is written as a .svg file"
        raise SitefareError(msg)
    if path is not None and not path.parent.is_dir():
        msg = f"--chart {path}: the folder {path.parent} is not there"
        raise SitefareError(msg)


def house_style_file(path: Path | None) -> str:
    """Return where a house style stands, empty for ours; refuse one before any work starts.

    Raises
    ------
    SitefareError
        If it is no .docx, or lacks one of our style names.
    """
    from sitefare.outputs.docx_reference import opened  # noqa: PLC0415

    if path is None:
        return ""
    opened(path)
    return str(path.resolve())


def case_of(
    folder: Path | None, site: str, scenario: str, settings: list[str] | None, design: str = ""
) -> Case:
    """Resolve a case from command-line words."""
    return make_case(library(folder), site, scenario, settings or [], design)
