"""A proposal: one appraisal told in the order a funder reads.

`make_proposal` appraises and builds the document; `Proposal.write` makes its files.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sitefare import __version__
from sitefare.appraisal import appraise
from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import project_library
from sitefare.outputs.citations import cited
from sitefare.outputs.document import Document, Metadata
from sitefare.outputs.numbers import Formats
from sitefare.outputs.proposal.alternatives import alternatives
from sitefare.outputs.proposal.cashflow import cash
from sitefare.outputs.proposal.check_first import check_first
from sitefare.outputs.proposal.closing import assumptions, bill, proof, reasonableness
from sitefare.outputs.proposal.design import design_sheet
from sitefare.outputs.proposal.feeding import people
from sitefare.outputs.proposal.front import front
from sitefare.outputs.proposal.made import made
from sitefare.outputs.proposal.money import after_grant, budget, costs, funding
from sitefare.outputs.proposal.paying import books
from sitefare.outputs.proposal.people_annex import people_annex
from sitefare.outputs.proposal.permits import permits_section
from sitefare.outputs.proposal.planting import planting
from sitefare.outputs.proposal.reach import reach
from sitefare.outputs.proposal.results_table import results_table
from sitefare.outputs.proposal.risks import register_of_risks, risks
from sitefare.outputs.proposal.sensitivity import sensitivity
from sitefare.outputs.proposal.site import farm, harvest, place
from sitefare.outputs.proposal.steps import plan
from sitefare.outputs.proposal.stress import stress
from sitefare.outputs.proposal.summary import summary
from sitefare.outputs.proposal.uncertainty import together
from sitefare.outputs.proposal.uncertainty import uncertainty as could_happen
from sitefare.outputs.proposal.view import View
from sitefare.outputs.results import results, write_results
from sitefare.outputs.translation import translated
from sitefare.outputs.workbook.made import Made
from sitefare.outputs.written import written
from sitefare.questions.tornado import swings
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for

#: The body, in the order a funder reads, then the annexes.
SECTIONS = (
    summary,
    place,
    farm,
    harvest,
    people,
    reach,
    alternatives,
    costs,
    funding,
    after_grant,
    cash,
    reasonableness,
    sensitivity,
    could_happen,
    check_first,
    stress,
    risks,
    permits_section,
    plan,
    results_table,
    register_of_risks,
    proof,
    made,
    people_annex,
    planting,
    budget,
    books,
    bill,
    design_sheet,
    together,
    assumptions,
)


@dataclass(frozen=True)
class Proposal:
    """A finished proposal: its document and its results."""

    view: View
    document: Document
    results: dict[str, Any]

    def write(self, folder: str | Path, house_style: str | Path = "") -> list[Path]:
        """Write proposal.html, .pdf and .docx, workbook.xlsx and results.json into a folder.

        Returns
        -------
        list of Path
            The files written.
        """
        # As for Word files: most commands write no workbook.
        from sitefare.outputs.workbook.book import workbook  # noqa: PLC0415

        numbers = Path(folder) / "results.json"
        files = written(self.document, folder, "proposal", house_style)
        write_results(self.results, numbers)
        book = Path(folder) / "workbook.xlsx"
        book.write_bytes(workbook(workings(self.view)))
        return [*files, book, numbers]


def make_proposal(
    site: str,
    scenario: str,
    settings: Sequence[str] = (),
    draws: int = 2048,
    seed: int = 1,
    language: str = "en",
    root: Path | None = None,
    design: str = "",
    assumptions: str | Path = "",
) -> Proposal:
    """Appraise one case and tell it as a document.

    Assumptions are those of a project's `root`, or of a folder given as such.

    Raises
    ------
    AssumptionError
        If the site, the scenario or a setting is refused.
    DesignError
        If the farm cannot be built or run safely.
    """
    sized = plan_for(
        make_case(project_library(root, assumptions), site, scenario, settings, design)
    )
    view = View(
        appraise(sized),
        uncertainty(sized, draws, seed),
        swings(sized),
        Formats(language, sized.case.currency),
    )
    return Proposal(view, document(view), results(view.appraisal, view.drawn))


def workings(view: View) -> Made:
    """Return what the workbook of an appraisal is made from."""
    ends = {name: (x.low, x.high) for name, x in view.drawn.spreads.items()}
    return Made(
        view.appraisal,
        view.base,
        spans=ends,
        draws=view.drawn.count,
        draft=view.evidence.draft,
        missing=tuple(view.evidence.missing),
    )


def document(view: View) -> Document:
    """Build the document of an appraisal."""
    case = view.appraisal.case
    metadata = Metadata(
        title=f"{view.place}: proposal for an aquaponic farm",
        site=view.place,
        scenario=case.variant,
        date=case.timeline.label(0),
        input_hash=case.input_hash,
        version=__version__,
        subtitle=f"{view.proposer.status.replace('_', '-').capitalize()} · {case.variant} · prices of {view.price_date}",
        language=view.formats.language,
        draft=view.evidence.draft,
        missing=tuple(view.evidence.missing),
        cover=front(view),
    )
    blocks = [block for section in SECTIONS for block in section(view)]
    return translated(Document(metadata, cited(blocks, case.library.sources)))
