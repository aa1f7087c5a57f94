"""The command that chooses farms for a budget."""

import math
import sys
from collections.abc import Sequence
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from sitefare.assumptions.files import nearest
from sitefare.commands.options import (
    DEFAULT_SCENARIO,
    DEFAULT_SEED,
    Folder,
    HouseStyle,
    Json,
    Language,
    Seed,
    Settings,
    checked,
    house_style_file,
    library,
    out,
    working,
)
from sitefare.commands.runs import ClusterAddress, WorkerCount
from sitefare.errors import RunError
from sitefare.questions.choosing import Portfolio, RegionLimit, Terms

#: Limits that a region may have, by name.
REGION_LIMITS = ("most_capital", "least_people", "most_farms")


class AimChoice(StrEnum):
    """What the set should serve."""

    most_people = "most_people"
    least_cost = "least_cost"


class BasisChoice(StrEnum):
    """What each farm is counted by."""

    base = "base"
    mean = "mean"
    careful = "careful"


def add(app: typer.Typer) -> None:
    """Put the command on the app."""
    app.command("choose")(choose)


def choose(
    sites: Annotated[list[str], typer.Argument(help="Site folders to choose from.")],
    budget: Annotated[float, typer.Option(help="Capital at most, in USD.")] = math.inf,
    least_people: Annotated[float, typer.Option(help="People to feed at least.")] = 0.0,
    aim: Annotated[AimChoice, typer.Option(help="What is sought.")] = AimChoice.most_people,
    basis: Annotated[BasisChoice, typer.Option(help="What is counted.")] = BasisChoice.mean,
    scenarios: Annotated[
        list[str] | None, typer.Option("--scenario", help="Scenarios to try; may be repeated.")
    ] = None,
    designs: Annotated[
        list[str] | None,
        typer.Option("--design", help="Designs to try beside each site's own; may be repeated."),
    ] = None,
    areas: Annotated[
        list[float] | None,
        typer.Option("--bed-area", help="Bed areas to try, in m2; may be repeated."),
    ] = None,
    regions: Annotated[
        list[str] | None, typer.Option("--region", help="SITE=REGION; may be repeated.")
    ] = None,
    limits: Annotated[
        list[str] | None,
        typer.Option("--limit", help=f"REGION.NAME=number; names: {', '.join(REGION_LIMITS)}."),
    ] = None,
    others: Annotated[int, typer.Option(help="Next-best sets to show.")] = 3,
    settings: Settings = None,
    draws: Annotated[int, typer.Option(help="Draws for mean and careful: a power of two.")] = 256,
    seed: Seed = DEFAULT_SEED,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="Folder for choice.html, .pdf, .docx, .json."),
    ] = None,
    language: Language = "en",
    styled: HouseStyle = None,
    workers: WorkerCount = 1,
    cluster: ClusterAddress = "",
    as_json: Json = False,  # noqa: FBT002
    folder: Folder = None,
) -> None:
    """Choose the farms and sizes that feed most people within a budget, or cost least."""
    from sitefare.assumptions.case import make_case  # noqa: PLC0415
    from sitefare.outputs import answers  # noqa: PLC0415
    from sitefare.outputs.choice import make_choice, numbers_of  # noqa: PLC0415
    from sitefare.questions.candidates import BASES, offer  # noqa: PLC0415
    from sitefare.questions.choosing import portfolio  # noqa: PLC0415
    from sitefare.workers import Here  # noqa: PLC0415
    from sitefare.workers import workers as made_workers  # noqa: PLC0415

    checked(draws, seed, language, output)
    _check_numbers(budget, least_people, others)
    worn = house_style_file(styled)
    if basis is not BasisChoice.base and draws == 0:
        msg = f"--basis {basis} needs draws; give --draws 256, or --basis base"
        raise RunError(msg)
    where = _region_of(sites, regions or [])
    terms = Terms(aim.value, budget, least_people, _region_limits(limits or []))
    known = library(folder)
    cases = [
        (make_case(known, site, scenario, settings or [], design), where.get(site, ""))
        for site in dict.fromkeys(sites)
        for design in ("", *(designs or []))
        for scenario in scenarios or [DEFAULT_SCENARIO]
    ]
    title = f"Appraising farms at {len(set(sites))} sites"
    many = workers != 1 or cluster
    hands = made_workers(workers, cluster) if many else Here()
    with hands as work, working(title, as_json=as_json) as progress:
        offered = offer(cases, areas or [], basis.value, draws, seed, work, progress.stage)
        found = portfolio(offered.candidates, terms, others)
    files: list[Path] = []
    if output is not None:
        own = [case for case, _ in cases]
        made = make_choice(own, offered, found, basis.value, draws, seed, language)
        files = made.write(output, worn)
    if as_json:
        numbers = numbers_of(found, offered, basis.value)
        numbers |= {"files": [path.name for path in files]} if files else {}
        sys.stdout.write(answers.as_json(numbers))
        return
    for why in offered.refused:
        out.print(f"Left out: {why[0]}: {why[1]}", highlight=False, markup=False, soft_wrap=True)
    out.print(f"People by {offered.candidates[0].ration}", highlight=False, markup=False)
    _shown(found, BASES[basis.value])
    for path in files:
        out.print(str(path), highlight=False, markup=False, soft_wrap=True)


def _named(word: str, option: str) -> tuple[str, str]:
    """Split NAME=value.

    Raises
    ------
    RunError
        If it has no equals sign or an empty side.
    """
    name, _, given = (part.strip() for part in word.partition("="))
    if not name or not given:
        msg = f"{option} {word}: write NAME=value"
        raise RunError(msg)
    return name, given


def _check_numbers(budget: float, least_people: float, others: int) -> None:
    """Refuse limits that are none, before any work starts.

    Raises
    ------
    RunError
        Naming the option and what it takes.
    """
    for option, number in (("--budget", budget), ("--least-people", least_people)):
        if not number >= 0:
            msg = f"{option} takes a number from 0; found {number:g}"
            raise RunError(msg)
    if others < 0:
        msg = f"--others takes a whole number from 0; found {others}"
        raise RunError(msg)


def _region_of(sites: Sequence[str], words: Sequence[str]) -> dict[str, str]:
    """Read the regions of sites such as kaldre=hills.

    Raises
    ------
    RunError
        If a site is not among those to choose from, or has two regions.
    """
    found: dict[str, str] = {}
    for word in words:
        site, region = _named(word, "--region")
        if site not in sites:
            msg = f"--region {word}: '{site}' is not among the sites given{nearest(site, sites)}"
            raise RunError(msg)
        if found.setdefault(site, region) != region:
            msg = f"--region {word}: {site} is in {found[site]} already"
            raise RunError(msg)
    return found


def _region_limits(words: Sequence[str]) -> dict[str, RegionLimit]:
    """Read limits of regions such as hills.least_people=40.

    Raises
    ------
    RunError
        If a limit is not known, or its value is no number from 0.
    """
    found: dict[str, dict[str, float]] = {}
    for word in words:
        name, given = _named(word, "--limit")
        region, _, limit = name.rpartition(".")
        if not region or limit not in REGION_LIMITS:
            msg = f"--limit {word}: write REGION.NAME=number with {', '.join(REGION_LIMITS)}"
            raise RunError(msg)
        try:
            number = float(given)
        except ValueError:
            number = math.nan
        if not number >= 0:
            msg = f"--limit {word}: a number from 0 is accepted; found '{given}'"
            raise RunError(msg)
        found.setdefault(region, {})[limit] = number
    return {region: RegionLimit(**asked) for region, asked in found.items()}


def _shown(found: Portfolio, basis: str) -> None:
    """Print the set, what its limits cost, and the sets that come next."""
    from sitefare.outputs.answers import grid  # noqa: PLC0415
    from sitefare.outputs.numbers import Formats  # noqa: PLC0415
    from sitefare.outputs.terminal import print_whole  # noqa: PLC0415
    from sitefare.questions.choosing import AIMS, EASED  # noqa: PLC0415

    f, terms = Formats("en", "USD"), found.terms
    lines = [
        (one.title, f.number(one.people), f.amount(one.capital), f.amount(one.cost))
        for one in found.best.farms
    ]
    best = found.best
    lines.append(("All", f.number(best.people), f.amount(best.capital), f.amount(best.cost)))
    heads = ("Farm", "People fed", "Capital USD", "Cost USD a year")
    print_whole(out, grid(f"{AIMS[terms.aim].capitalize()}, counted by {basis}", heads, lines))
    gained = "people" if terms.aim == "most_people" else "USD a year saved"
    prices = [
        (
            x.title,
            f.amount(x.bound),
            f.amount(x.used),
            f.amount(x.gain) if x.gain else "0",
            "never" if x.turns is None else f.amount(x.turns, 4),
        )
        for x in found.prices
    ]
    if prices:
        title = f"\nLimits; gain in {gained} if a limit is {EASED:.0%} easier"
        print_whole(out, grid(title, ("Limit", "Bound", "Used", "Gain", "Better from"), prices))
    rows = [
        ("; ".join(x.title for x in one.farms) or "none", f.number(one.people),
         f.amount(one.capital), f.amount(one.cost))
        for one in found.others
    ]  # fmt: skip
    if rows:
        heads = ("Next-best set", "People fed", "Capital USD", "Cost USD a year")
        print_whole(out, grid("\nSets that come next", heads, rows))
