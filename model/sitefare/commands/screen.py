"""The command that screens many places."""

import json
import math
import sys
from pathlib import Path
from typing import Annotated

import typer

from sitefare.commands.options import (
    DEFAULT_SCENARIO,
    DEFAULT_SEED,
    Design,
    Folder,
    HouseStyle,
    Json,
    Language,
    Scenario,
    Seed,
    Settings,
    Target,
    checked,
    err,
    house_style_file,
    library,
    out,
)
from sitefare.commands.runs import ClusterAddress, WorkerCount, failures
from sitefare.errors import RunError
from sitefare.questions.figures import RATIO

#: Draws of each place, and seconds that it may take, unless told.
DRAWS, LIMIT = 256, 300.0


def add(app: typer.Typer) -> None:
    """Put the command on the app."""
    app.command("screen")(screen)


def screen(
    table: Annotated[Path, typer.Argument(help="CSV of places: place, like, longitude, values.")],
    output: Target,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    draws: Annotated[int, typer.Option(help="Draws of each place: a power of two, or 0.")] = DRAWS,
    seed: Seed = DEFAULT_SEED,
    where: Annotated[
        list[str] | None,
        typer.Option(help="Keep places that meet it, such as people_fed>=50; money in USD."),
    ] = None,
    rank: Annotated[str, typer.Option(help="Indicator to rank by; money in USD.")] = RATIO,
    first: Annotated[int, typer.Option(help="How many places to show.")] = 10,
    make_sites: Annotated[  # noqa: FBT002
        bool, typer.Option("--make-sites", help="Turn the places shown into site folders.")
    ] = False,
    language: Language = "en",
    styled: HouseStyle = None,
    workers: WorkerCount = 0,
    cluster: ClusterAddress = "",
    limit: Annotated[float, typer.Option(help="Seconds that one place may take.")] = LIMIT,
    as_json: Json = False,  # noqa: FBT002
    folder: Folder = None,
) -> None:
    """Appraise many places with their uncertainty; filter, rank and map them."""
    from sitefare.assumptions.places import read_places  # noqa: PLC0415
    from sitefare.outputs.held import held  # noqa: PLC0415
    from sitefare.outputs.placesite import place_folder  # noqa: PLC0415
    from sitefare.outputs.progress import Progress  # noqa: PLC0415
    from sitefare.outputs.screen import TABLE, screen_map, screened_table  # noqa: PLC0415
    from sitefare.outputs.screen import screen as appraised  # noqa: PLC0415
    from sitefare.outputs.screen_document import Screened, screen_document  # noqa: PLC0415
    from sitefare.outputs.written import written  # noqa: PLC0415
    from sitefare.questions.screening import asked_of, check_asked, filtered, ranked  # noqa: PLC0415
    from sitefare.workers import workers as made_workers  # noqa: PLC0415

    checked(draws, seed, language, output)
    worn = house_style_file(styled)
    check_asked(where or [], rank)
    _check_numbers(limit, first)
    known = library(folder)
    places = read_places(table, known)
    asked = asked_of(known, places, scenario, settings or [], draws, seed, design)
    with made_workers(workers, cluster) as work, Progress(err, as_json=as_json) as progress:
        lines, failed = appraised(
            places, asked, known.folder.resolve(), output, work, progress, limit
        )
    refused = lines[lines["status"] == "failed"]
    failed |= dict(zip(refused["place"], refused["reason"], strict=True))
    if not as_json:
        failures(failed)
    if not (lines["status"] == "done").any():
        msg = f"none of {len(places)} places could be appraised"
        raise RunError(msg)
    best = ranked(filtered(lines, where or []), rank)
    told = Screened(lines, best, failed, asked, rank, where or [], first)
    with held(output):
        screen_map(best, rank, output)
        written(screen_document(told, language), output, "screen", worn)
    made = [place for place in places if place.key in set(best["place"].head(first))]
    folders = [place_folder(known, place) for place in made] if make_sites else []
    if as_json:
        numbers = {
            "places": len(places), "kept": len(best), "failed": failed,
            "first": json.loads(best.head(first).to_json(orient="records", double_precision=10)),
            "sites": [path.name for path in folders],
        }  # fmt: skip
        sys.stdout.write(json.dumps(numbers, indent=1, ensure_ascii=False) + "\n")
    else:
        out.print(screened_table(best.head(first), rank))
        rations = sorted(set(best["ration"].head(first)))
        kept = f"{len(best)} of {len(places)} places kept: {output / TABLE}"
        for words in (*(f"People by {ration}" for ration in rations), kept, *map(str, folders)):
            out.print(words, highlight=False, markup=False, soft_wrap=True)
    if failed:
        raise typer.Exit(1)


def _check_numbers(limit: float, first: int) -> None:
    """Refuse a time or a count that none could be.

    Raises
    ------
    RunError
        Naming the option.
    """
    if not 0 < limit < math.inf:
        msg = f"--limit takes seconds above 0; found {limit:g}"
        raise RunError(msg)
    if first < 1:
        msg = f"--first takes a whole number from 1; found {first}"
        raise RunError(msg)
