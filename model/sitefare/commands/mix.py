"""The command that looks for a better crop mix."""

from dataclasses import asdict
from enum import StrEnum
from typing import Annotated

import typer
from rich.table import Table

from sitefare.commands.options import (
    DEFAULT_SCENARIO,
    Design,
    Folder,
    Json,
    Scenario,
    Settings,
    Site,
    case_of,
    err,
    out,
)
from sitefare.outputs import answers
from sitefare.outputs.numbers import Formats
from sitefare.outputs.proposal.planting import limit_sentences, mix_finding
from sitefare.questions.crop_mix import crop_mix, grown
from sitefare.sizing import plan_for


class AimChoice(StrEnum):
    """What a mix is looked for."""

    most_people = "most_people"
    least_cost = "least_cost"


Aim = Annotated[AimChoice, typer.Option(help="What the mix should serve.")]


def add(app: typer.Typer) -> None:
    """Put the command on the app."""
    app.command("mix")(mix)


def mix(
    site: Site,
    *,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    aim: Aim = AimChoice.most_people,
    as_json: Json = False,
    folder: Folder = None,
) -> None:
    """Find the crop mix that feeds most people, or each at least cost, on the same beds."""
    plan = plan_for(case_of(folder, site, scenario, settings, design))
    with err.status("Trying crop mixes"):
        found = crop_mix(plan, aim.value)
    if as_json:
        typer.echo(answers.as_json(asdict(found)), nl=False)
        return
    formats = Formats("en", plan.case.currency)
    out.print(mix_finding(found, formats, plan.case.currency), highlight=False)
    table = Table(box=None, pad_edge=False)
    table.add_column("Crop")
    table.add_column("Planned", justify="right")
    table.add_column("Found", justify="right")
    for key in grown(found):
        now, then = (one.shares.get(key, 0.0) for one in (found.planned, found.found))
        table.add_row(key.replace("_", " "), f"{now:.0%}", f"{then:.0%}")
    out.print(table)
    for said in limit_sentences(found, formats, plan.case.currency):
        out.print(said.replace("**", ""), highlight=False, markup=False)
