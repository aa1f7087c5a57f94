"""What was asked of a batch, what became of it, and how do its runs compare? One page says.

The page stands in the batch's folder and links to every run's files. It is made of what is on
disk alone, so that it is the same, to the byte, however often the batch was interrupted; times
stand in the manifest.
"""

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from sitefare import __version__
from sitefare.outputs import charts
from sitefare.outputs.catalogue import SOURCE
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Cell,
    Column,
    Document,
    Figure,
    Heading,
    Metadata,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.markup import file_link
from sitefare.outputs.numbers import Formats
from sitefare.outputs.page import page
from sitefare.outputs.run_table import Run
from sitefare.outputs.translation import translated

#: Runs that the chart shows, and failures that the first lines name.
DRAWN, NAMED = 24, 4

#: Files of a run that are linked to, and what each is called.
FILES = {
    "proposal.pdf": "PDF",
    "proposal.docx": "Word",
    "workbook.xlsx": "workbook",
    "results.json": "results",
}

#: Indicators that the page compares.
SHOWN = (
    "people_fed", "cost_per_person_day", "capex", "payback_years", "subsidy_year_after_grant",
)  # fmt: skip

#: The reason of a payback that does not come within the years appraised.
NOT_WITHIN = re.compile(r"not within (\d+) years")

#: The page that a run's name leads to.
PAGE = "proposal.html"


@dataclass(frozen=True)
class RunLine:
    """One run as it stands on disk: what its results.json holds, its files, why it failed.

    `found` is empty where the run was not appraised; one that was may still lack its documents.
    `files` are the names in its folder with their sizes [byte].
    """

    run: Run
    key: str
    found: Mapping[str, Any]
    files: Mapping[str, int]
    failure: str = ""

    def entry(self, name: str) -> Mapping[str, Any]:
        """Return an indicator as results.json has it; nothing where there is none."""
        entry: Mapping[str, Any] = self.found.get("indicators", {}).get(name, {})
        return entry

    def number(self, name: str, end: str = "value") -> float | None:
        """Return an indicator's value or one of its ends. [its unit]"""
        x: float | None = self.entry(name).get(end)
        return x

    def usd(self, name: str, end: str = "value") -> float | None:
        """Return a money indicator at the appraisal date's rate. [USD]"""
        x = self.number(name, end)
        return None if x is None else x / float(self.found["case"]["exchange_rate"])

    @property
    def ration(self) -> str:
        """The ration that the run counts people by, as printed."""
        if not self.found:
            return ""
        name = self.entry("people_fed").get("ration", "")
        return str(self.found["rations"].get(name, {}).get("title", name))

    @property
    def variant(self) -> str:
        """Design, where it is not the site's own, and scenario, as documents print them."""
        return ", ".join(x for x in (self.run.design, self.run.scenario) if x).replace("_", " ")

    @property
    def name(self) -> str:
        """The run's name as markup, leading to its page where there is one."""
        own = self.run.name
        return file_link(own, own, PAGE) if PAGE in self.files else plain(own)


def index_page(lines: Sequence[RunLine], versions: Mapping[str, str]) -> str:
    """Return the page of a batch.

    Parameters
    ----------
    lines : sequence of RunLine
        Every run in the table's order.
    versions : mapping
        Versions of what the runs were made with.
    """
    return page(index_document(lines, versions))


def index_document(lines: Sequence[RunLine], versions: Mapping[str, str]) -> Document:
    """Return the page's document: first what became of the runs, last what they rest on."""
    f = Formats(_language(lines), "USD")
    failed = [line for line in lines if line.failure]
    blocks: list[Block] = [
        Heading(1, "What was asked, and what became of it", "asked"),
        Paragraph(_outcome(lines, failed), "lead"),
        *_told(lines, failed, f),
        *_demonstration(lines),
        Heading(1, "All runs compared", "runs"),
        _table(lines, f),
        *_figure(lines, f),
        *_failures(failed),
        Heading(1, "What the runs rest on", "rests"),
        Paragraph(f"Made with {', '.join(f'{plain(k)} {plain(v)}' for k, v in versions.items())}."),
        _rests(lines),
        Caution(
            "Not investment advice. The page compares figures that were reckoned; quotes and a "
            "licensed engineer come before building.",
            "caution",
            "Before money is spent",
        ),
    ]
    return translated(Document(_metadata(lines), tuple(blocks)))


def _language(lines: Sequence[RunLine]) -> str:
    """Return the language that all runs ask for, English where they differ."""
    asked = {line.run.language for line in lines}
    return asked.pop() if len(asked) == 1 else SOURCE


def _metadata(lines: Sequence[RunLine]) -> Metadata:
    """Say what the page is about; its date is the latest appraisal's, none where no run is done."""
    sites, scenarios = (
        list(dict.fromkeys(getattr(line.run, name) for line in lines))
        for name in ("site", "scenario")
    )
    dates = [line.found["case"]["appraisal_date"] for line in lines if line.found]
    keys = hashlib.sha256("\n".join(line.key for line in lines).encode())
    return Metadata(
        title=f"{_counted(len(lines), 'run')} of an aquaponic farm, compared",
        site=_counted(len(sites), "site"),
        scenario=_few(scenarios, "scenario"),
        date=max(dates, default=""),
        input_hash=keys.hexdigest()[:12],
        version=__version__,
        language=_language(lines),
        draft=True,
    )


def _counted(number: int, what: str) -> str:
    """Write a count with its noun."""
    return f"{number:,} {what}" if number == 1 else f"{number:,} {what}s"


def _few(names: Sequence[str], what: str) -> str:
    """Name the only one, or count them."""
    return names[0].replace("_", " ") if len(names) == 1 else _counted(len(names), what)


def _outcome(lines: Sequence[RunLine], failed: Sequence[RunLine]) -> str:
    """Say how many runs are done and how many failed."""
    done = len(lines) - len(failed)
    written = sum(PAGE in line.files for line in lines)
    if not failed:
        first = "The run is done" if done == 1 else f"All {_counted(done, 'run')} are done"
    else:
        first = f"**{done:,} of {_counted(len(lines), 'run')} done, {len(failed):,} failed**"
    asked = any(line.run.documents for line in lines)
    documents = f"; {written:,} with documents" if asked or written else ""
    documents = documents or "; no documents were asked for"
    return f"{first}{documents}."


def _told(lines: Sequence[RunLine], failed: Sequence[RunLine], f: Formats) -> list[Block]:
    """Say which runs failed, and by each ration which costs least and which feeds most people."""
    items = [f"**{plain(x.run.name)}** failed: {plain(x.failure)}." for x in failed[:NAMED]]
    if failed[NAMED:]:
        items.append(f"{len(failed) - NAMED:,} more failed; [](#failed-table) says why.")
    for ration in dict.fromkeys(line.ration for line in lines if line.found):
        own = [line for line in lines if line.found and line.ration == ration]
        costed = [line for line in own if line.usd("cost_per_person_day") is not None]
        fed = [line for line in own if line.number("people_fed")]
        if len(own) == 1 or not costed or not fed:
            continue
        cheap = min(costed, key=lambda line: line.usd("cost_per_person_day") or 0.0)
        most = max(fed, key=lambda line: line.number("people_fed") or 0.0)
        by = f"of {_counted(len(own), 'run')}, people counted by {plain(ration)}"
        items.append(f"Least cost of a person-day {by}: {cheap.name}, {_person_day(cheap, f)}.")
        items.append(f"Most people fed {by}: {most.name}, {_person_day(most, f)}.")
    return [Bullets(tuple(items))] if items else []


def _person_day(line: RunLine, f: Formats) -> str:
    """Write people fed and what a person-day costs."""
    people, cost = line.number("people_fed"), line.usd("cost_per_person_day")
    costs = "no cost" if cost is None else f"{f.money(cost)} a person-day"
    span = f.span(*_ends(line), f.amount)
    return f"{f.number(people)} people at {costs}" + (f" (P10–P90 {span})" if span else "")


def _ends(line: RunLine) -> tuple[float | None, float | None]:
    """Return P10 and P90 of the cost of a person-day. [USD]"""
    low, high = (line.usd("cost_per_person_day", end) for end in ("low", "high"))
    return low, high


def _demonstration(lines: Sequence[RunLine]) -> list[Block]:
    """Say where figures rest on invented data."""
    own = [x for x in lines if x.found and x.found["case"]["demonstration_data"]]
    if not own:
        return []
    which = "These places" if len(own) == len([x for x in lines if x.found]) else "Some places"
    words = f"{which}, their people and their prices are invented."
    return [Caution(words, "caution", "Demonstration data")]


def _table(lines: Sequence[RunLine], f: Formats) -> Table:
    """Compare all runs, and link to their files."""
    rations = list(dict.fromkeys(line.ration for line in lines if line.found))
    several, designed = len(rations) > 1, any(line.run.design for line in lines)
    rows = tuple(_row(line, f, several=several) for line in lines)
    columns = (
        Column("Run"),
        Column("Site"),
        Column("Design, scenario" if designed else "Scenario"),
        *([Column("People counted by")] if several else []),
        Column("People fed", align="right", formatter=f.number),
        Column("Person-day", "USD", "right", f.amount),
        Column("P10–P90", "USD", "right"),
        Column("Capital", "USD", "right", f.amount),
        Column("Payback", "years", "right", lambda x: f.decimal(x, 1)),
        Column("Needed a year after the grant", "USD", "right", f.amount),
        Column("Files"),
    )
    by = "" if several or not rations else f", people counted by {plain(rations[0])}"
    note = (
        "Money is at each run's appraisal date and that day's rate. The name of a run leads to its "
        "page where documents were asked for. A dash stands where there is no answer; the results "
        "of the run tell the reason."
    )
    outside = sum(_outside(line) for line in lines)
    if outside:
        note += (
            f" In {_counted(outside, 'run')} the base costs less or more than P10–P90: most draws "
            "lie on one side of it."
        )
    last = len(columns) - 1
    return Table(
        columns, rows, f"All runs{by}", note, wide=True, sortable=True, anchor="runs-table",
        rich=(0, last),
    )  # fmt: skip


def _outside(line: RunLine) -> bool:
    """Say whether the base cost of a person-day lies outside its own range."""
    cost, (low, high) = line.usd("cost_per_person_day"), _ends(line)
    if cost is None:
        return False
    return (low is not None and cost < low) or (high is not None and cost > high)


def _payback(line: RunLine) -> Cell:
    """Return the payback, or that it lies beyond the years appraised. [year]"""
    beyond = NOT_WITHIN.match(str(line.entry("payback_years").get("reason", "")))
    found = line.number("payback_years")
    return f"over {beyond[1]}" if found is None and beyond else found


def _row(line: RunLine, f: Formats, *, several: bool) -> tuple[Cell, ...]:
    """Return one run's line."""
    run = line.run
    files = " ".join(
        file_link(words, run.name, name) for name, words in FILES.items() if name in line.files
    )
    failed = f"[failed](#{_failed_anchor(run)})" if line.failure else ""
    return (
        line.name,
        run.site,
        line.variant,
        *([line.ration or None] if several else []),
        line.number("people_fed"),
        line.usd("cost_per_person_day"),
        f.span(*_ends(line), f.amount) or None,
        line.usd("capex"),
        _payback(line),
        line.usd("subsidy_year_after_grant"),
        "; ".join(part for part in (failed, files) if part) or None,
    )


def _failed_anchor(run: Run) -> str:
    """Return the anchor of a failed run's line; names may hold letters that anchors do not."""
    return f"failed-{hashlib.sha256(run.name.encode()).hexdigest()[:8]}"


def _figure(lines: Sequence[RunLine], f: Formats) -> list[Block]:
    """Draw the cost of a person-day of the cheapest runs that count people by one ration."""
    rations = [line.ration for line in lines if line.usd("cost_per_person_day") is not None]
    if len(rations) < 2:  # noqa: PLR2004
        return []
    ration = max(dict.fromkeys(rations), key=rations.count)
    own = sorted(
        (x for x in lines if x.ration == ration and x.usd("cost_per_person_day") is not None),
        key=lambda x: x.usd("cost_per_person_day") or 0.0,
    )
    frame = pd.DataFrame(
        [
            {
                "site": x.run.name,
                "value": x.usd("cost_per_person_day"),
                "low": _ends(x)[0],
                "high": _ends(x)[1],
            }
            for x in own[:DRAWN]
        ]
    )
    title = f"{own[0].run.name} costs least a person-day: {_person_day(own[0], f)}"
    picture = charts.sites(frame, "Cost of a person-day", "USD", f, title=title)
    which = (
        f"The {DRAWN} with the least cost of {len(own):,} runs"
        if len(own) > DRAWN
        else f"{_counted(len(own), 'run')}, least cost first"
    )
    caption = f"{which}; people counted by {plain(ration)}; base and P10–P90."
    if any(None in _ends(x) and _ends(x) != (None, None) for x in own[:DRAWN]):
        caption += " A dot alone has a range that is open: in some draws nobody is fed."
    return [Figure(picture, caption)]


def _failures(failed: Sequence[RunLine]) -> list[Block]:
    """List every run that failed, with the reason."""
    if not failed:
        return []
    rows = tuple((x.run.name, x.run.site, x.variant, x.failure) for x in failed)
    columns = (Column("Run"), Column("Site"), Column("Scenario"), Column("Why"))
    note = "Put right what a line says and start the same batch again: only what is open is made."
    table = Table(
        columns, rows, "Runs that failed, and why", note, wide=True, anchor="failed-table",
        row_anchors=tuple(_failed_anchor(x.run) for x in failed),
    )  # fmt: skip
    return [Heading(1, "Runs that failed", "failed"), table]


def _rests(lines: Sequence[RunLine]) -> Table:
    """Say what each run rests on: settings, draws, seed, date, and the hash of its inputs."""
    rows = tuple(
        (
            line.run.name,
            "; ".join(line.run.settings) or None,
            f"{line.run.draws:,}",
            f"{line.run.seed}",
            line.found["case"]["appraisal_date"] if line.found else None,
            line.found["provenance"]["input_hash"] if line.found else None,
        )
        for line in lines
    )
    columns = (
        Column("Run"),
        Column("Settings"),
        Column("Draws", align="right"),
        Column("Seed", align="right"),
        Column("Appraisal date"),
        Column("Inputs"),
    )
    note = (
        "The same inputs, draws and seed give the same figures. [manifest.json](./manifest.json) "
        "holds the same with the time each run took, [runs.parquet](./runs.parquet) every "
        "indicator of every run."
    )
    return Table(
        columns, rows, "What each run rests on", note, wide=True, sortable=True,
        anchor="rests-table",
    )  # fmt: skip
