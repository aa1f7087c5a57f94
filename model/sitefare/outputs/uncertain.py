"""What draws say of one case, as a document of its own, as numbers and at the terminal."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from sitefare import __version__
from sitefare.appraisal import appraise
from sitefare.assumptions.case import Case, make_case
from sitefare.assumptions.library import project_library
from sitefare.outputs.citations import cited
from sitefare.outputs.document import Document, Metadata
from sitefare.outputs.numbers import NBSP, Formats
from sitefare.outputs.proposal.uncertainty import (
    SHOWN,
    cash_words,
    enough_words,
    middle_words,
    share_words,
    together,
    uncertainty,
)
from sitefare.outputs.proposal.view import View
from sitefare.outputs.results import rounded, unit_in, write_results
from sitefare.outputs.terminal import print_whole, printed_unit, shown
from sitefare.outputs.translation import translated
from sitefare.outputs.written import written
from sitefare.questions.dictionary import INDICATORS
from sitefare.questions.fan import Fan
from sitefare.questions.outlook import Outlook, outlook
from sitefare.questions.sampling_error import Between
from sitefare.questions.tornado import swings
from sitefare.questions.uncertainty import uncertainty as drawn_of
from sitefare.sizing import plan_for
from sitefare.stages import Stage, untold


@dataclass(frozen=True)
class Study:
    """What draws say of one case: its view, outlook (None without draws), document, numbers."""

    view: View
    outlook: Outlook | None
    document: Document
    results: dict[str, Any]

    def write(self, folder: str | Path, house_style: str | Path = "") -> list[Path]:
        """Write uncertainty.html, .pdf, .docx and .json into a folder.

        Returns
        -------
        list of Path
            The files written.
        """
        numbers = Path(folder) / "uncertainty.json"
        files = written(self.document, folder, "uncertainty", house_style)
        write_results(self.results, numbers)
        return [*files, numbers]


def make_study(
    site: str,
    scenario: str,
    settings: Sequence[str] = (),
    draws: int = 2048,
    seed: int = 1,
    language: str = "en",
    root: Path | None = None,
    design: str = "",
) -> Study:
    """Appraise one case over draws and tell what could happen.

    Raises
    ------
    AssumptionError
        If the site, the scenario, a setting or the draws are refused.
    DesignError
        If the farm cannot be built or run safely.
    """
    case = make_case(project_library(root), site, scenario, settings, design)
    return study_of(case, draws, seed, language)


def study_of(
    case: Case, draws: int, seed: int, language: str = "en", stage: Stage = untold
) -> Study:
    """Appraise a resolved case over draws and tell what could happen; `stage` hears of draws."""
    sized = plan_for(case)
    formats = Formats(language, sized.case.currency)
    view = View(
        appraise(sized),
        drawn_of(sized, draws, seed, ended=stage("draws", draws)),
        swings(sized),
        formats,
    )
    found = outlook(view.appraisal, view.drawn)
    return Study(view, found, _document(view), as_numbers(sized.case, found))


def _document(view: View) -> Document:
    """Build the document of a study."""
    case = view.appraisal.case
    metadata = Metadata(
        title=f"{view.place}: what could happen",
        site=view.place,
        scenario=case.variant,
        date=case.timeline.label(0),
        input_hash=case.input_hash,
        version=__version__,
        subtitle=f"{case.variant} · prices of {view.price_date}",
        language=view.formats.language,
        draft=view.evidence.draft,
        missing=tuple(view.evidence.missing),
    )
    blocks = (*uncertainty(view), *together(view))
    return translated(Document(metadata, cited(blocks, case.library.sources)))


def as_numbers(case: Case, found: Outlook | None) -> dict[str, Any]:
    """Return what uncertainty.json holds, as plain Python values."""
    head: dict[str, Any] = {
        "case": {
            "site": case.site,
            "design": case.design,
            "scenario": case.scenario,
            "settings": list(case.settings),
            "currency": case.currency,
            "appraisal_date": case.timeline.label(0),
            "demonstration_data": case.demonstration,
            "input_hash": case.input_hash,
        },
        "draws": 0 if found is None else found.count,
    }
    if found is None:
        return head
    ending = found.cash_end
    return head | {
        "seed": found.seed,
        "level": 0.95,
        "indicators": {
            name: {
                "unit": unit_in(INDICATORS[name].unit, case.currency),
                "value": _number(one.base),
                **{f"p{round(100 * edge)}": _ends(end) for edge, end in one.ends.items()},
                "mean": _ends(one.mean),
                **({"reason": one.reason} if one.reason else {}),
            }
            for name, one in found.figures.items()
            if name in INDICATORS
        },
        "chances": {c.key: {"meaning": c.words, **_ends(c.share)} for c in found.chances},
        "cash_ends": {
            **_ends(ending.ever),
            "month": {f"p{round(100 * edge)}": m for edge, m in ending.months.items()},
            "month_base": ending.base,
            "by_year": [rounded(float(x)) for x in ending.by_year],
        },
        "cash_by_year": _lines(found.cash),
        "balance_by_year": _lines(found.balance),
        "enough": {
            "chance_error": rounded(found.enough.chance),
            "figure_error": rounded(found.enough.figure),
            "draws_needed": found.enough.needed,
        },
    }


def _number(x: float | None) -> float | None:
    """Return a number for JSON, None where there is no answer."""
    return None if x is None or not abs(x) < float("inf") else rounded(x)


def _ends(found: Between) -> dict[str, float | None]:
    """Return a figure with the ends of its sampling error."""
    return {k: _number(getattr(found, k)) for k in ("value", "low", "high")}


def _lines(found: Fan) -> dict[str, list[float]]:
    """Return a fan's percentiles by year. [money]"""
    named = {f"p{round(100 * edge)}": found.line(edge) for edge in found.edges}
    named["base"] = found.base
    return {name: [rounded(float(x)) for x in line] for name, line in named.items()}


def chance_lines(study: Study) -> str:
    """Return the chances as lines of name and whole per cent, for a notebook to compare."""
    if study.outlook is None:
        return "no draws"
    f = study.view.formats
    lines = [f"{one.key}: {f.share(one.share.value)}" for one in study.outlook.chances]
    return "\n".join(line.replace(NBSP, " ") for line in lines)


def print_study(console: Console, study: Study) -> None:
    """Print what could happen: figures, chances, when cash runs out, whether draws suffice."""
    view, found = study.view, study.outlook
    case = view.appraisal.case
    console.print(f"{case.site}, {case.names}: what could happen", style="bold", highlight=False)
    if found is None:
        _say(console, "No draws were asked for: there are no ranges.")
        return
    print_whole(console, _figures(case, found))
    _say(console, f"People are fed by the ration {view.appraisal.fed.headline}.")
    print_whole(console, _chances(view, found))
    for words in (cash_words(view, found), middle_words(view, found), enough_words(view, found)):
        _say(console, f"– {words}")
    if case.demonstration:
        _say(console, "Demonstration data: some rows are invented. Not investment advice.")


def _say(console: Console, words: str) -> None:
    console.print(words.replace(NBSP, " "), highlight=False, markup=False)


def _figures(case: Case, found: Outlook) -> Table:
    """Lay the figures out with their sampling errors."""
    table = Table(box=None, pad_edge=False)
    table.add_column("Indicator", min_width=12, overflow="fold")
    for head in ("Base", "P10", "P50", "P90", "Mean"):
        table.add_column(head, justify="right", no_wrap=True, overflow="ignore")
    table.add_column("Unit", no_wrap=True, overflow="ignore")
    for name in SHOWN:
        one = found.figures[name]
        factor, unit = printed_unit(name, unit_in(INDICATORS[name].unit, case.currency))
        base = _number(one.base)
        cells = [shown(None if base is None else base * factor)]
        for end in (*one.ends.values(), one.mean):
            half = "" if end.half is None else f"±{float(f'{end.half * factor:.2g}'):,.10g}"
            cells.append(shown(None if end.value is None else end.value * factor) + half)
        table.add_row(*(Text(word) for word in (INDICATORS[name].title, *cells, unit)))
    return table


def _chances(view: View, found: Outlook) -> Table:
    """Lay the chances out with their sampling errors."""
    table = Table(box=None, pad_edge=False, title="\nChances", title_justify="left")
    table.add_column("What happens", min_width=24, overflow="fold")
    for head in ("Chance", "Sampling error"):
        table.add_column(head, justify="right", no_wrap=True, overflow="ignore")
    for one in found.chances:
        words = (one.words, *share_words(view, one.share))
        table.add_row(*(Text(word.replace(NBSP, " ")) for word in words))
    return table
