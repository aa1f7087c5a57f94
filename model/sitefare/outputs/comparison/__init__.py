"""Which of several sites first? One table, one chart, gates before ranks.

All sites are judged by one ration and on common draws; costs are compared with the local price
of the same food, and shown in US dollars so that they stand side by side.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from sitefare import __version__
from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import project_library
from sitefare.errors import RunError
from sitefare.outputs import charts
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Column,
    Document,
    Figure,
    Heading,
    Metadata,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.numbers import Formats
from sitefare.outputs.proposal.view import row_words
from sitefare.outputs.results import results, write_results
from sitefare.outputs.translation import translated
from sitefare.outputs.written import written
from sitefare.questions.comparing import Order, SiteLine, check_sites, compare_sites


@dataclass(frozen=True)
class Comparison:
    """A finished comparison: its lines in order, its document and its results."""

    lines: tuple[SiteLine, ...]
    document: Document
    results: dict[str, Any]

    def write(self, folder: str | Path, house_style: str | Path = "") -> list[Path]:
        """Write comparison.html, comparison.pdf, comparison.docx and comparison.json into a folder.

        Returns
        -------
        list of Path
            The files written.
        """
        numbers = Path(folder) / "comparison.json"
        files = written(self.document, folder, "comparison", house_style)
        write_results(self.results, numbers)
        return [*files, numbers]


def make_comparison(
    sites: Sequence[str],
    scenario: str,
    settings: Sequence[str] = (),
    draws: int = 2048,
    seed: int = 1,
    language: str = "en",
    root: Path | None = None,
) -> Comparison:
    """Appraise several sites on common draws and tell the comparison as a document.

    Raises
    ------
    RunError
        If fewer than two different sites are named.
    AssumptionError
        If a site, the scenario or a setting is refused, or headline rations differ.
    """
    check_sites(sites)
    library = project_library(root)
    cases = [make_case(library, site, scenario, settings) for site in sites]
    rations = {case.rows["people.headline"].text for case in cases}
    if len(rations) > 1:
        msg = f"sites are compared by one ration; these name {', '.join(sorted(rations))}"
        raise RunError(msg)
    order = compare_sites(cases, draws, seed)
    return Comparison(order.lines, _document(order, language), _results(order))


def _results(order: Order) -> dict[str, Any]:
    """Return ranks, gates, refusals and every site's results."""
    ranks = [
        {
            "site": line.appraisal.case.site,
            "rank": line.rank or None,
            "gates": {gate.title: gate.state for gate in line.gates},
        }
        for line in order.lines
    ]
    sites = {x.appraisal.case.site: results(x.appraisal, x.drawn) for x in order.lines}
    return {"order": ranks, "refused": dict(order.refused), "sites": sites}


def _document(order: Order, language: str) -> Document:
    """Build the document of a comparison."""
    lines = order.lines
    first = lines[0].appraisal.case
    f = Formats(language, "USD")
    ration = lines[0].appraisal.fed.rations[lines[0].appraisal.fed.headline].title
    missing = sorted({gate.title for line in lines for gate in line.shut})
    metadata = Metadata(
        title=f"{len(lines)} sites for an aquaponic farm, compared",
        site=f"{len(lines)} sites",
        scenario=first.scenario.replace("_", " "),
        date=max(line.appraisal.case.timeline.label(0) for line in lines),
        input_hash="-".join(line.appraisal.case.input_hash[:6] for line in lines),
        version=__version__,
        language=language,
        draft=True,
        missing=tuple(missing),
    )
    blocks: list[Block] = [
        Heading(1, "The order", "order"),
        Paragraph(_finding(lines, f), "lead"),
        Paragraph(
            f"Every site is judged by one ration, {plain(ration)}, on the same draws. Gates come before "
            "ranks: a site with a gate shut is listed, not ranked. Ranks follow the cost of a person-day "
            "over the local price of the same food."
        ),
        _table(lines, f),
        _figure(lines, f),
        _rations(lines, f),
        Heading(1, "What each is sensitive to", "sensitive"),
        Bullets(tuple(_sensitive(line, f) for line in lines)),
        Heading(1, "Gates", "gates"),
        _gates(lines),
        Caution(
            "Not investment advice. A rank says which site to study first, not what to build; "
            "quotes and a licensed engineer come before building.",
            "caution",
            "Before money is spent",
        ),
    ]
    if order.refused:
        words = "; ".join(f"{plain(site)}: {plain(why)}" for site, why in order.refused.items())
        blocks.insert(1, Caution(words, "stop", "Cannot be built or run safely as asked"))
    if any(line.appraisal.case.demonstration for line in lines):
        words = "These places, their people and their prices are invented."
        blocks.insert(1, Caution(words, "caution", "Demonstration data"))
    return translated(Document(metadata, tuple(blocks)))


def _name(line: SiteLine) -> str:
    """Name a site as printed."""
    return line.appraisal.case.rows["place.name"].text


def _usd(line: SiteLine, name: str) -> float:
    """Return a money indicator in US dollars at the appraisal-date rate."""
    return float(line.appraisal.indicators[name][0, 0]) / line.appraisal.case.exchange_rate


def _finding(lines: Sequence[SiteLine], f: Formats) -> str:
    """Say which site comes first, how surely, and which are not ranked."""
    ranked = [line for line in lines if line.rank]
    shut = [line for line in lines if not line.rank]
    words = ""
    if ranked:
        best = ranked[0]
        words = (
            f"Nobody is fed in every month of a full year at {plain(_name(best))}, nor at any site "
            "ranked, so no cost orders them."
            if not np.isfinite(best.ratio)
            else f"**{plain(_name(best))}** comes first: a person-day costs {f.number(best.ratio, 2)} times the "
            f"local price of the same food."
        )
        if best.drawn.count and np.isfinite(best.ratio):
            words += (
                f" It is the cheapest by that measure in {f.share(best.chance_best)} of the draws."
            )
    none = [plain(_name(line)) for line in ranked[1:] if not np.isfinite(line.ratio)]
    if none and np.isfinite(ranked[0].ratio):
        words += f" Last, feeding nobody by this ration: {' and '.join(none)}."
    if shut:
        names = " and ".join(plain(_name(line)) for line in shut)
        words += f" Not ranked while a gate is shut: {names}."
    return words.strip()


def _table(lines: Sequence[SiteLine], f: Formats) -> Table:
    """Return the table of all sites."""
    rows = tuple(
        (
            f"{line.rank}" if line.rank else "not ranked",
            _name(line),
            f.number(line.ratio, 2),
            f.span(line.ratio_spread.low, line.ratio_spread.high, lambda x: f.number(x, 2)),
            _usd(line, "cost_per_person_day"),
            _usd(line, "alternative_cost_person_day"),
            f.number(float(line.appraisal.indicators["people_fed"][0, 0]), 2),
            _usd(line, "capex"),
            _usd(line, "subsidy_year_after_grant"),
            f"{sum(g for _, g in line.appraisal.case.facts)} of {len(line.appraisal.case.facts)}",
        )
        for line in lines
    )
    columns = (
        Column("Rank", weight=0.9),
        Column("Site", weight=2.2),
        Column("Cost over local price", align="right", weight=1.1),
        Column("P10–P90", align="right", weight=1),
        Column("Person-day", "USD", "right", f.amount, weight=1.1),
        Column("Same food locally", "USD", "right", f.amount, weight=1.1),
        Column("People fed", align="right", weight=0.9),
        Column("Capital", "USD", "right", f.amount, weight=1.1),
        Column("Needed a year after the grant", "USD", "right", f.amount, weight=1.4),
        Column("Site facts supplied", align="right", weight=1.1),
    )
    by = dict.fromkeys(x.appraisal.fed.rations[x.appraisal.fed.headline].title for x in lines)
    note = (
        f"People are counted by {'; '.join(map(plain, by))}. A site that rests on defaults (few facts "
        "supplied) is known less well than its range shows."
    )
    return Table(columns, rows, "Sites in order", note, wide=True, anchor="sites-table")


def _figure(lines: Sequence[SiteLine], f: Formats) -> Figure:
    """Draw cost over local price with its range."""
    frame = pd.DataFrame(
        [
            {
                "site": _name(line),
                "value": line.ratio if np.isfinite(line.ratio) else None,
                "low": line.ratio_spread.low if line.ratio_spread.low is not None else line.ratio,
                "high": line.ratio_spread.high
                if line.ratio_spread.high is not None
                else line.ratio,
                "gated": not line.rank,
            }
            for line in lines
        ]
    )
    picture = charts.sites(
        frame,
        "Cost of a person-day",
        "times the local price",
        f,
        reference=1.0,
        reference_label="local price",
    )
    return Figure(
        picture, "Cost of a person-day over the local price of the same food, base and P10–P90."
    )


def _rations(lines: Sequence[SiteLine], f: Formats) -> Table:
    """Return people fed and cost by every ration, sites side by side."""
    titles = dict.fromkeys(name for line in lines for name in line.appraisal.fed.rations)
    first = {n: r for line in lines for n, r in line.appraisal.fed.rations.items()}
    rows = tuple(
        (f"{first[name].title} ({first[name].basis.replace('_', ' ')})", *(
            _fed_cell(line, name, f) for line in lines
        ))
        for name in titles
    )  # fmt: skip
    columns = (
        Column("Ration (months counted)", weight=2),
        *(Column(_name(line), "people; USD a person-day", "right", weight=1.3) for line in lines),
    )
    note = (
        "The cost of each ration carries the whole farm. A ration that feeds nobody in some month of a "
        "full year, and is counted by the worst month, has no cost."
    )
    return Table(
        columns, rows, "People fed by each ration", note, wide=True, anchor="site-rations-table"
    )


def _fed_cell(line: SiteLine, name: str, f: Formats) -> str:
    """Write people and cost of one ration at one site; an en dash where there is none."""
    found = line.appraisal.indicators
    if f"people_fed.{name}" not in found:
        return "–"
    people = float(found[f"people_fed.{name}"][0, 0])
    cost = _usd(line, f"cost_per_person_day.{name}")
    digits = 3 if people >= 100 else 2  # noqa: PLR2004
    return f"{f.number(people, digits)}; {f.amount(cost) if np.isfinite(cost) else '–'}"


def _sensitive(line: SiteLine, f: Formats) -> str:
    """Name what moves a site's cost most."""
    currency = line.appraisal.case.currency
    parts = [
        f"{plain(row_words(bar.row))} ({f.answer(bar.low_result, f.amount)} to {f.answer(bar.high_result, f.amount)})"
        for bar in line.sensitive_to
    ]
    return (
        f"**{plain(_name(line))}** ({currency} a person-day at low and high): {'; '.join(parts)}."
    )


def _gates(lines: Sequence[SiteLine]) -> Table:
    """Return every gate of every site."""
    titles = [gate.title for gate in lines[0].gates]
    rows = tuple(
        (title, *(next(g.state for g in line.gates if g.title == title) for line in lines))
        for title in titles
    )
    columns = (Column("Gate", weight=2), *(Column(_name(line), weight=1.3) for line in lines))
    return Table(columns, rows, "Gates: open, asked for, or shut", anchor="gates-table")
