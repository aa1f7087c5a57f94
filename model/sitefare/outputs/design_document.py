"""The design sheet as files: one page, one PDF, a Word file, the drawing, and the numbers.

`make_design` runs the farm of one case; `DesignFiles.write` makes design.html, design.pdf,
design.docx, design.svg and design.json.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sitefare import __version__
from sitefare.appraisal import Plan
from sitefare.assumptions.evidence import evidence
from sitefare.outputs.citations import cited
from sitefare.outputs.design_sheet import DesignSheet, as_data, make_sheet
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Document,
    Heading,
    Metadata,
    Paragraph,
    plain,
)
from sitefare.outputs.numbers import Formats
from sitefare.outputs.planview import plan_drawing
from sitefare.outputs.proposal import design as blocks
from sitefare.outputs.proposal.view import sentence
from sitefare.outputs.results import as_json
from sitefare.outputs.translation import translated
from sitefare.outputs.written import written


@dataclass(frozen=True)
class DesignFiles:
    """A finished design sheet: its data and its document."""

    sheet: DesignSheet
    formats: Formats
    document: Document

    def write(self, folder: str | Path, house_style: str | Path = "") -> list[Path]:
        """Write design.html, design.pdf, design.docx, design.svg and design.json into a folder.

        Returns
        -------
        list of Path
            The files written.
        """
        files = written(self.document, folder, "design", house_style)
        picture = plan_drawing(self.sheet.plan, self.sheet.needs, self.formats)
        drawing, numbers = (Path(folder) / f"design.{kind}" for kind in ("svg", "json"))
        drawing.write_text(picture.wide_svg + "\n", encoding="utf-8", newline="\n")
        numbers.write_text(as_json(as_data(self.sheet)), encoding="utf-8", newline="\n")
        return [*files, drawing, numbers]


def make_design(plan: Plan, language: str = "en") -> DesignFiles:
    """Return the design sheet of a plan."""
    made, formats = make_sheet(plan), Formats(language, plan.case.currency)
    return DesignFiles(made, formats, document(made, formats))


def document(made: DesignSheet, f: Formats) -> Document:
    """Build the document of a design sheet."""
    case, held = made.case, evidence(made.values)
    place = case.rows["place.name"].text
    scenario = case.variant
    metadata = Metadata(
        title=f"{place}: design sheet of an aquaponic farm",
        site=place,
        scenario=scenario,
        date=case.timeline.label(0),
        input_hash=case.input_hash,
        version=__version__,
        subtitle=f"Sizes at base values · {scenario}",
        language=f.language,
        draft=held.draft,
        missing=tuple(held.missing),
    )
    return translated(Document(metadata, cited(_blocks(made, f, place), case.library.sources)))


def _blocks(made: DesignSheet, f: Formats, place: str) -> Sequence[Block]:
    """Return the sheet's blocks in a builder's order."""
    design = made.design
    demonstration = (
        [Caution("Some rows are invented: demonstration data.", "caution", "Demonstration data")]
        if made.case.demonstration
        else []
    )
    return [
        Heading(1, "The farm at a glance", "glance"),
        Paragraph(
            f"{plain(place)}: {plain(made.parts.species.title)} in {design.tank_count} tanks and "
            f"{f.number(design.bed_area)} m² of {design.bed_kind} beds "
            f"{blocks.WHERE[design.enclosure]}. Sized once, at base values.",
            "lead",
        ),
        *demonstration,
        *blocks.drawing(made, f),
        *blocks.heat(made, f),
        blocks.life(made, f),
        blocks.floors(made),
        Heading(2, "What binds and what is oversized", "limits"),
        Bullets(tuple(sentence(limit) for limit in design.limits)),
        Heading(1, "Design sheet", "design-sheet"),
        *blocks.annex(made, f),
    ]
