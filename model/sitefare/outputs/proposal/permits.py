"""Permits to confirm, and the environmental and social screening."""

from sitefare.assumptions.declaration import build_all
from sitefare.assumptions.permits import Permit, permits
from sitefare.assumptions.screening import ScreeningInputs
from sitefare.outputs.document import Block, Column, Heading, Paragraph, Table
from sitefare.outputs.proposal.risks import figure_words
from sitefare.outputs.proposal.steps import moments
from sitefare.outputs.proposal.view import View

#: The step a permit stands before, in words, and the moment of the plan at which it comes.
BEFORE = {
    "spending": ("the first spending", "decision"),
    "building": ("building", "prepared"),
    "water": ("water is drawn", "last_of_building"),
    "stocking": ("fish are bought", "stocked"),
    "selling": ("food leaves the farm", "first_crop"),
}


def permits_section(view: View) -> list[Block]:
    """Return the permits to confirm and the screening."""
    found = permits(view.base)
    held = sum(one.held for one in found)
    return [
        Heading(1, "Permits and screening", "permits"),
        Paragraph(
            f"{held} of {len(found)} consents are shown by a document held. None is assumed: names of "
            "authorities are general, and the authority of the place says what applies. A hatchery with "
            "hormones would need a permit of its own and is not planned."
        ),
        _permits(view, found),
        Heading(2, "Environmental and social screening", "screening"),
        Paragraph(_screened(view)),
        _screening(view),
    ]


def _permits(view: View, found: tuple[Permit, ...]) -> Table:
    """Return the table of permits, by the step they stand before."""
    when = moments(view)
    label = view.appraisal.case.timeline.label
    lines = []
    for one in found:
        step, moment = BEFORE[one.inputs.before]
        lines.append(
            (
                one.inputs.title,
                one.inputs.grants,
                _status(one),
                f"{step}, {label(when[moment])}",
                one.inputs.why,
            )
        )
    columns = (
        Column("Permit or consent", weight=2.2),
        Column("Granted by", weight=1.8),
        Column("What is held", weight=1.8),
        Column("Needed before", weight=1.7),
        Column("Without it", weight=2.4),
    )
    return Table(
        columns, tuple(lines), "Permits and consents to confirm", wide=True, anchor="permit-table"
    )


def _status(one: Permit) -> str:
    """Say what is held of a permit."""
    if one.paper is None:
        return "to confirm; no document asked for yet"
    words = [one.paper.status]
    if one.paper.status == "held":
        words += [x for x in (one.paper.document, one.paper.date) if x]
        words += [f"lapses {one.paper.expiry}"] if one.paper.expiry else []
    return ", ".join(words)


def _screened(view: View) -> str:
    """Say whether the screening is held, and what the table is meanwhile."""
    paper = view.evidence.items.get("screening")
    if paper is not None and paper.status == "held":
        return "The screening is held; [the evidence](#evidence) names the document."
    return (
        "The screening itself is still missing: this is the list it starts from, with the risk before "
        "any measure."
    )


def _screening(view: View) -> Table:
    """Return the questions of the screening, with this farm's figures."""
    lines = tuple(
        (
            one.title,
            one.question + _figure(view, one.figure),
            one.rating,
            one.measure,
            one.who,
        )
        for one in build_all(ScreeningInputs, view.base).values()
    )
    columns = (
        Column("Screened", weight=1.4),
        Column("Question", weight=2.6),
        Column("Risk", weight=0.7),
        Column("Measure", weight=3),
        Column("Who", weight=1.1),
    )
    caption = "Environmental and social screening"
    return Table(columns, lines, caption, wide=True, anchor="screening-table")


def _figure(view: View, name: str) -> str:
    """Write this farm's figure beside a question."""
    if name == "none":
        return ""
    if name == "discharge":
        uses = view.appraisal.flows.water_uses_m3
        cubic = sum(view.full_mean(uses[k]) for k in ("discharge", "sludge") if k in uses)
        return f" Here {view.formats.number(cubic, 3)} m³ a year."
    return f" Here {figure_words(view, name, view.value(name))}."
