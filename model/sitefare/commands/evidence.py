"""Commands about evidence: what the spread comes from, what to check first, which site."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer
from rich.table import Table
from rich.text import Text

from sitefare.appraisal import Appraisal
from sitefare.appraisal import appraise as run_appraisal
from sitefare.commands.options import (
    DEFAULT_DRAWS,
    DEFAULT_SCENARIO,
    DEFAULT_SEED,
    Design,
    Folder,
    Json,
    ManyDraws,
    Scenario,
    Seed,
    Settings,
    Site,
    case_of,
    chart_file,
    checked,
    err,
    out,
    working,
)
from sitefare.errors import RunError
from sitefare.questions.check_first import Check
from sitefare.questions.influence import Influence, Shares

#: Rows named by `influence`, and checks by `check-first`. [1]
ROWS, CHECKS = 12, 12

#: Draws below which a spread is not shared out. [1]
LEAST_DRAWS = 256


def add(app: typer.Typer) -> None:
    """Put the commands on the app."""
    app.command("influence")(influence)
    app.command("check-first")(check_first)
    app.command("which-site")(which_site)


def influence(
    site: Site,
    indicator: Annotated[str, typer.Argument(help="An indicator, such as npv.")] = "npv",
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    draws: ManyDraws = DEFAULT_DRAWS,
    seed: Seed = DEFAULT_SEED,
    totals: Annotated[
        int, typer.Option(help="Draws of a sample of its own that adds total shares; 0 for none.")
    ] = 0,
    chart: Annotated[Path | None, typer.Option(help="Write the chart to this .svg file.")] = None,
    as_json: Json = False,  # noqa: FBT002
    folder: Folder = None,
) -> None:
    """Print which rows and groups of rows an indicator's spread comes from."""
    from sitefare.outputs import answers  # noqa: PLC0415
    from sitefare.outputs import answers_evidence as told  # noqa: PLC0415
    from sitefare.outputs.drawn import svg  # noqa: PLC0415
    from sitefare.outputs.numbers import Formats  # noqa: PLC0415
    from sitefare.outputs.proposal.check_first import influence_picture  # noqa: PLC0415
    from sitefare.questions.figures import RATIO  # noqa: PLC0415
    from sitefare.questions.influence import influence as shared  # noqa: PLC0415
    from sitefare.questions.influence_design import designed  # noqa: PLC0415
    from sitefare.questions.uncertainty import uncertainty  # noqa: PLC0415

    checked(draws, seed)
    checked(totals, seed)
    chart_file(chart)
    base = _base(folder, site, scenario, settings, design)
    if indicator not in {*base.indicators, RATIO}:
        msg = f"'{indicator}' is not an indicator; `sitefare appraise` prints them all"
        raise RunError(msg)
    with working(f"Sharing out the spread of {indicator}", as_json=as_json) as progress:
        if totals:
            every = designed(base.plan, [indicator], totals, seed, stage=progress.stage)
            found = every.get(indicator)
        else:
            ended = progress.stage("draws", draws)
            drawn = uncertainty(base.plan, draws, seed, ended=ended)
            found = shared(base.plan, drawn, indicator)
    if found is None:
        few = draws < LEAST_DRAWS and not totals
        why = f"{draws} draws are too few: give 256 or more" if few else "no draw moves it"
        msg = f"{indicator}: its spread cannot be shared out, {why}"
        raise RunError(msg)
    if as_json:
        sys.stdout.write(answers.as_json(told.influence_json(found)))
    else:
        _print_influence(found, totals=bool(totals))
    if chart is not None:
        formats = Formats("en", base.case.currency)
        picture = influence_picture(found, formats, totals=bool(totals))
        chart.write_text(svg(picture.wide), encoding="utf-8", newline="\n")
        err.print(str(chart), highlight=False)


def _print_influence(found: Influence, *, totals: bool) -> None:
    """Print shares of the spread, groups first."""
    out.print(f"Spread of {found.scale.words}; {found.draws} draws", highlight=False)
    _shares("Groups of rows", found.groups, whole=totals)
    if found.rows:
        _shares("Strongest rows", found.rows[:ROWS], whole=False)
    out.print(f"Acting together, and steps: {_share(found.left)}", highlight=False)


def check_first(
    site: Site,
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    draws: ManyDraws = DEFAULT_DRAWS,
    seed: Seed = DEFAULT_SEED,
    as_json: Json = False,  # noqa: FBT002
    folder: Folder = None,
) -> None:
    """Print what to check first: how, at what cost, and what knowing it is worth."""
    from sitefare.outputs import answers, checks  # noqa: PLC0415
    from sitefare.outputs import answers_evidence as told  # noqa: PLC0415
    from sitefare.outputs.numbers import Formats  # noqa: PLC0415
    from sitefare.questions.check_first import check_first as found_checks  # noqa: PLC0415
    from sitefare.questions.uncertainty import uncertainty  # noqa: PLC0415

    checked(draws, seed)
    base = _base(folder, site, scenario, settings, design)
    with working("Weighing the evidence", as_json=as_json) as progress:
        ended = progress.stage("draws", draws)
        found = found_checks(base, uncertainty(base.plan, draws, seed, ended=ended))
    if found is None:
        msg = "the list needs at least 256 draws and a figure that differs among them"
        raise RunError(msg)
    if as_json:
        sys.stdout.write(answers.as_json(told.checks_json(found, base.case.currency)))
        return
    f = Formats("en", base.case.currency)
    said = (checks.decision_words, checks.spread_words)
    for words in (*(say(found, f) for say in said), checks.order_words(found)):
        out.print(words, highlight=False, markup=False)
    levels = [
        (f.number(level, 2), f.amount(worth.value, 2), f.amount(worth.error, 2))
        for level, worth in found.by_level
    ]
    unit = "capital cost" if found.stake.payoff == "npv" else "local price"
    _print("Knowing everything", (f"Times {unit}", f"Worth {f.currency}", "±"), levels)
    lines = [
        (
            check.title, checks.settled_words(check), f.amount(check.cost), f.count(check.weeks),
            f.share(max(check.soft, 0.0)), f.amount(check.worth.value, 2), f.amount(check.net, 2),
        )
        for check in checks.listed(found, CHECKS)
    ]  # fmt: skip
    heads = ("How", "Settles", f"Cost {f.currency}", "Weeks", "Share", "Worth", "Net")
    _print("Check these first", heads, lines)
    _sources(found.checks[:3])


def which_site(
    sites: Annotated[list[str], typer.Argument(help="Two or more site folders.")],
    scenario: Scenario = DEFAULT_SCENARIO,
    design: Design = "",
    settings: Settings = None,
    draws: ManyDraws = 1024,
    seed: Seed = DEFAULT_SEED,
    as_json: Json = False,  # noqa: FBT002
    folder: Folder = None,
) -> None:
    """Print what it would be worth to know more before choosing among sites."""
    from sitefare.outputs import answers  # noqa: PLC0415
    from sitefare.outputs import answers_evidence as told  # noqa: PLC0415
    from sitefare.outputs.numbers import Formats  # noqa: PLC0415
    from sitefare.questions.alternatives import check_sites  # noqa: PLC0415
    from sitefare.questions.which_site import which_site as chosen  # noqa: PLC0415

    checked(draws, seed)
    check_sites(sites)
    bases = [_base(folder, site, scenario, settings, design) for site in sites]
    with working(f"Weighing {len(sites)} sites", as_json=as_json) as progress:
        found = chosen(bases, draws, seed, progress.stage)
    if as_json:
        sys.stdout.write(answers.as_json(told.choice_json(found)))
        return
    f = Formats("en", "USD")
    lines = [
        (site, f.amount(mean), f.share(best))
        for site, mean, best in zip(found.sites, found.means, found.best_in, strict=True)
    ]
    _print("Payoff of funding", ("Site", "Mean USD", "Best in draws"), lines)
    worths = [("one of them, or none", found.or_none), ("one of them", found.one_of)]
    worths += [(f"one of them, by {part}", worth) for part, worth in found.parts if worth.told]
    lines = [(name, f.amount(w.value, 2), f.amount(w.error, 2)) for name, w in worths]
    _print("Worth of knowing", ("Before choosing", "USD at most", "±"), lines)


def _base(
    folder: Path | None, site: str, scenario: str, settings: list[str] | None, design: str
) -> Appraisal:
    """Appraise a case at its base values."""
    from sitefare.sizing import plan_for  # noqa: PLC0415

    return run_appraisal(plan_for(case_of(folder, site, scenario, settings, design)))


def _shares(title: str, lines: Sequence[Shares], *, whole: bool) -> None:
    """Print shares of the spread with their errors."""
    rows = [
        (s.name, _share(s.first), _share(s.first_error))
        + ((_share(s.total), _share(s.total_error)) if whole else ())
        for s in lines
    ]
    _print(title, ("", "First order", "±", *(("Total", "±") if whole else ())), rows)


def _share(x: float) -> str:
    """Write a share of the spread to a tenth of one per cent."""
    return f"{100.0 * x:.1f} %".replace("-", "\N{MINUS SIGN}")


def _sources(found: Sequence[Check]) -> None:
    """Print basis and source of the strongest rows of the first checks."""
    rows = [
        (row.name, row.basis, f"{row.source} {row.locator}".strip())
        for check in found
        for row in check.rows[:3]
    ]
    _print("What these rows rest on", ("Row", "Basis", "Source"), rows)


def _print(title: str, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print a plain table; the first columns are words, the rest numbers."""
    from sitefare.outputs.terminal import print_whole  # noqa: PLC0415

    table = Table(title=f"\n{title}", title_justify="left", box=None, padding=(0, 2, 0, 0))
    words = {"", "How", "Settles", "Row", "Basis", "Source", "Site", "Before choosing"}
    for head in heads:
        table.add_column(head, justify="left" if head in words else "right", overflow="fold")
    for row in rows:
        table.add_row(*(Text(word) for word in row))
    print_whole(out, table)
