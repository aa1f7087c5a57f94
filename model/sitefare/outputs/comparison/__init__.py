"""Which of several alternatives first, how surely, and what would change it?

An alternative is a site, a design and a scenario. All are judged by one ration and on common
draws; gates come before ranks. The document is for whoever must defend a ranking; the numbers of
every alternative stand in files beside it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sitefare import __version__
from sitefare.assumptions.library import project_library
from sitefare.outputs.comparison.annex import indicators
from sitefare.outputs.comparison.answer import answer
from sitefare.outputs.comparison.asking import (
    Appraised,
    as_lines,
    keep,
    kept,
    of_lines,
    of_runs,
    stated_weights,
)
from sitefare.outputs.comparison.criteria import criteria
from sitefare.outputs.comparison.fed import rations
from sitefare.outputs.comparison.files import frame_of, numbers_of, write_frame
from sitefare.outputs.comparison.gates import gates
from sitefare.outputs.comparison.naming import said
from sitefare.outputs.comparison.order import order
from sitefare.outputs.comparison.regrets import regrets
from sitefare.outputs.comparison.score import score
from sitefare.outputs.comparison.seen import Seen
from sitefare.outputs.comparison.sensitive import sensitive
from sitefare.outputs.comparison.turns import turns
from sitefare.outputs.document import Block, Document, Metadata
from sitefare.outputs.numbers import Formats
from sitefare.outputs.results import write_results
from sitefare.outputs.translation import translated
from sitefare.outputs.written import written
from sitefare.questions.alternatives import alternatives as product_of
from sitefare.questions.comparing import compare
from sitefare.questions.criteria import criteria_of, weighted
from sitefare.questions.figures import RATIO
from sitefare.questions.turning import turning

__all__ = [
    "Appraised",
    "Comparison",
    "as_lines",
    "keep",
    "make_comparison",
    "of_appraised",
    "of_runs",
    "stated_weights",
]

#: Sections in order; each takes what is seen and returns its blocks, its heading first.
SECTIONS: tuple[Callable[[Seen], list[Block]], ...] = (
    answer,
    order,
    criteria,
    regrets,
    turns,
    score,
    rations,
    sensitive,
    gates,
)


@dataclass(frozen=True)
class Comparison:
    """A finished comparison: what was found, as its document shows it."""

    seen: Seen
    document: Document

    @property
    def results(self) -> dict[str, Any]:
        """What comparison.json holds, as plain values."""
        return numbers_of(self.seen)

    @property
    def order(self) -> tuple[str, ...]:
        """The alternatives in order, a line of text each."""
        return tuple(
            f"{line.rank or 'not ranked'}: {self.seen.name(line)}"
            for line in self.seen.compared.lines
        )

    def write(self, folder: str | Path, house_style: str | Path = "") -> list[Path]:
        """Write comparison.html, .pdf, .docx, .json, .csv and .parquet into a folder.

        Returns
        -------
        list of Path
            The files written.
        """
        numbers = Path(folder) / "comparison.json"
        files = written(self.document, folder, "comparison", house_style)
        write_results(self.results, numbers)
        return [*files, numbers, *write_frame(frame_of(self.seen), Path(folder))]


def make_comparison(
    sites: Sequence[str],
    scenarios: str | Sequence[str] = "as_planned",
    settings: Sequence[str] = (),
    draws: int = 2048,
    seed: int = 1,
    language: str = "en",
    root: Path | None = None,
    *,
    designs: Sequence[str] = (),
    alternatives: Sequence[str] = (),
    by: str = RATIO,
    weights: Sequence[str] = (),
    assumptions: str | Path = "",
    appraised: str | Path = "",
) -> Comparison:
    """Appraise alternatives on common draws and tell the comparison as a document.

    `alternatives` are lines of text that stand in place of sites, designs and scenarios; where
    `appraised` names a file that `keep` has made, nothing is appraised anew.

    Raises
    ------
    RunError
        If fewer than two alternatives are named, one stands twice, the figure orders nothing, or
        a weight is refused.
    AssumptionError
        If a site, a design, a scenario or a setting is refused, or headline rations differ.
    DesignError
        If no farm can be built or run safely.
    """
    stated = stated_weights(weights)
    if str(appraised):
        return of_appraised(kept(Path(appraised)), stated, language)
    library = project_library(root, assumptions)
    weighted(criteria_of(library), stated)
    several = [scenarios] if isinstance(scenarios, str) else scenarios
    asked = (
        of_lines(alternatives) if alternatives else product_of(sites, designs, several, settings)
    )
    compared = compare(library.folder, asked, draws, seed, by)
    return of_appraised(Appraised(compared, turning(compared)), stated, language)


def of_appraised(
    found: Appraised, weights: Mapping[str, float], language: str = "en"
) -> Comparison:
    """Tell a comparison that has been made already as a document.

    Raises
    ------
    RunError
        If a weight is refused.
    """
    weighted(found.compared.criteria, weights)
    seen = Seen(found.compared, found.turned, Formats(language, "USD"), weights)
    return Comparison(seen, _document(seen))


def _document(seen: Seen) -> Document:
    """Build the document of a comparison."""
    lines = seen.compared.lines
    scenarios = list(dict.fromkeys(said(line.alternative.scenario) for line in lines))
    places = list(dict.fromkeys(line.place for line in lines))
    invented = " (invented)" if any(line.demonstration for line in lines) else ""
    metadata = Metadata(
        title=f"{len(lines)} alternatives for an aquaponic farm, compared",
        site=places[0] if len(places) == 1 else f"{len(places)} sites{invented}",
        scenario=scenarios[0] if len(scenarios) == 1 else f"{len(scenarios)} scenarios",
        date=max(line.date for line in lines),
        input_hash="-".join(line.input_hash[:6] for line in lines[:4]),
        version=__version__,
        language=seen.formats.language,
        draft=True,
        missing=tuple(sorted({gate.title for line in lines for gate in line.shut})),
    )
    blocks: list[Block] = [block for section in SECTIONS for block in section(seen)]
    return translated(Document(metadata, (*blocks, *indicators(seen))))
