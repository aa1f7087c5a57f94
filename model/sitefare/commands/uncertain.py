"""What could happen to one case, with sampling errors."""

import sys

import typer

from sitefare.commands.options import (
    DEFAULT_DRAWS,
    DEFAULT_SCENARIO,
    DEFAULT_SEED,
    Design,
    Draws,
    Folder,
    Json,
    Scenario,
    Seed,
    Settings,
    Site,
    case_of,
    checked,
    out,
    working,
)


def uncertain(
    site: Site,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    draws: Draws = DEFAULT_DRAWS,
    seed: Seed = DEFAULT_SEED,
    as_json: Json = False,  # noqa: FBT002
    folder: Folder = None,
) -> None:
    """Print ranges, chances, when cash runs out and whether the draws are enough."""
    from sitefare.outputs.results import as_json as json_text  # noqa: PLC0415
    from sitefare.outputs.uncertain import print_study, study_of  # noqa: PLC0415

    checked(draws, seed)
    case = case_of(folder, site, scenario, settings, design)
    with working(f"Drawing {draws:,} times", as_json=as_json) as progress:
        study = study_of(case, draws, seed, stage=progress.stage)
    if as_json:
        sys.stdout.write(json_text(study.results))
    else:
        print_study(out, study)


def add(app: typer.Typer) -> None:
    """Put the command beside the others."""
    app.command()(uncertain)
