"""Commands that move assumptions: bars, switching values, goals, events.

`tornado` prints bars, `switch` switching values, `goal` the value that gives an answer, `stress`
what named events do.
"""

import sys
from collections.abc import Callable, Sequence
from typing import Annotated, Any

import typer
from rich.table import Table

from sitefare.commands.options import (
    DEFAULT_SCENARIO,
    DEFAULT_SEED,
    Design,
    Folder,
    Json,
    Scenario,
    Seed,
    Settings,
    Site,
    case_of,
    checked,
    err,
    finite,
    out,
    working,
)

Indicator = Annotated[str, typer.Argument(help="An indicator, such as npv.")]
Row = Annotated[str, typer.Argument(help="An assumption's name, such as wage.worker.")]
Top = Annotated[int, typer.Option(min=1, help="Lines printed.")]


def add(app: typer.Typer) -> None:
    """Put the commands on the app."""
    for command in (tornado, switch, goal, stress):
        app.command()(command)


def _told(
    as_json: bool,  # noqa: FBT001
    found: Callable[[], dict[str, Any]],
    shown: Sequence[str | Table],
) -> None:
    """Print an answer as JSON or as it is shown."""
    from sitefare.outputs.answers import as_json as json_text  # noqa: PLC0415
    from sitefare.outputs.terminal import print_whole  # noqa: PLC0415

    if as_json:
        sys.stdout.write(json_text(found()))
        return
    for one in shown:
        if isinstance(one, str):
            out.print(one, highlight=False, markup=False)
        else:
            print_whole(out, one)


def tornado(
    site: Site,
    indicator: Indicator = "npv",
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    *,
    groups: Annotated[bool, typer.Option(help="Bars of groups, by joint draws.")] = False,
    top: Top = 20,
    seed: Seed = DEFAULT_SEED,
    as_json: Json = False,
    folder: Folder = None,
) -> None:
    """Print which assumptions move an indicator most, alone or as groups."""
    from sitefare.outputs import answers  # noqa: PLC0415
    from sitefare.outputs.numbers import Formats  # noqa: PLC0415
    from sitefare.questions.grouping import group_tornado  # noqa: PLC0415
    from sitefare.questions.moving import check_indicator  # noqa: PLC0415
    from sitefare.questions.tornado import tornado as bars_of  # noqa: PLC0415
    from sitefare.questions.tornado import with_steps  # noqa: PLC0415
    from sitefare.sizing import plan_for  # noqa: PLC0415

    checked(0, seed)
    plan = plan_for(case_of(folder, site, scenario, settings, design))
    check_indicator(plan, indicator)
    formats = Formats("en", plan.case.currency)
    if groups:
        with working("Drawing each group", as_json=as_json) as progress:
            joint = group_tornado(plan, (indicator,), seed=seed, stage=progress.stage)[indicator]
        _told(as_json, lambda: answers.groups_json(joint), [answers.groups_table(joint, formats)])
        return
    with err.status("Swinging every assumption"):
        found = with_steps(plan, bars_of(plan, indicator), top)
    shown = answers.tornado_table(plan.case, found, formats, top)
    _told(as_json, lambda: answers.tornado_json(plan.case, found), [shown])


def switch(
    site: Site,
    indicator: Indicator = "npv",
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    *,
    target: Annotated[
        float | None, typer.Option(help="The number to meet; the usual one if left out.")
    ] = None,
    top: Top = 20,
    as_json: Json = False,
    folder: Folder = None,
) -> None:
    """Print how far each assumption must move, alone, before the decision changes."""
    from sitefare.outputs import answers  # noqa: PLC0415
    from sitefare.outputs.numbers import Formats  # noqa: PLC0415
    from sitefare.questions.switching import decision, switching  # noqa: PLC0415
    from sitefare.sizing import plan_for  # noqa: PLC0415

    finite("--target", target)
    plan = plan_for(case_of(folder, site, scenario, settings, design))
    asked = decision(plan, indicator, target)
    with err.status("Searching every assumption"):
        found = switching(plan, asked)
    formats = Formats("en", plan.case.currency)
    shown = answers.switches_shown(plan.case, found, formats, top)
    _told(as_json, lambda: answers.switches_json(plan.case, found), shown)


def goal(
    site: Site,
    name: Row,
    indicator: Indicator,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    *,
    target: Annotated[float, typer.Option("--to", help="What the indicator shall be.")],
    resize: Annotated[
        bool | None,
        typer.Option(help="Make a farm for each value, or keep the one built."),
    ] = None,
    as_json: Json = False,
    folder: Folder = None,
) -> None:
    """Print the value of one assumption at which an indicator meets a target."""
    from sitefare.outputs import answers  # noqa: PLC0415
    from sitefare.outputs.numbers import Formats  # noqa: PLC0415
    from sitefare.questions.goal import goal_seek  # noqa: PLC0415
    from sitefare.sizing import plan_for  # noqa: PLC0415

    finite("--to", target)
    plan = plan_for(case_of(folder, site, scenario, settings, design))
    with err.status(f"Seeking {name}"):
        found = goal_seek(plan, name, indicator, target, resize=resize)
    words = answers.goal_words(plan.case, found, Formats("en", plan.case.currency))
    _told(as_json, lambda: answers.goal_json(plan.case, found), [words])


def stress(
    site: Site,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    *,
    events: Annotated[
        list[str] | None,
        typer.Option("--event", help="Only this event; several happen together too."),
    ] = None,
    as_json: Json = False,
    folder: Folder = None,
) -> None:
    """Print what named events do to cash and people fed, alone and together."""
    from sitefare.outputs import answers  # noqa: PLC0415
    from sitefare.outputs.numbers import Formats  # noqa: PLC0415
    from sitefare.questions.stress import stress as stress_tests  # noqa: PLC0415
    from sitefare.sizing import plan_for  # noqa: PLC0415

    plan = plan_for(case_of(folder, site, scenario, settings, design))
    with err.status("Laying events over the base"):
        found = stress_tests(plan, events)
    shown = answers.stress_shown(plan.case, found, Formats("en", plan.case.currency))
    _told(as_json, lambda: answers.stress_json(found), shown)
