"""Is it reasonable, the evidence, and the annexes of the bill and the register."""

from sitefare.outputs.citations import UNLISTED
from sitefare.outputs.document import (
    Block,
    Caution,
    Column,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.proposal.gathered import gathered, printed
from sitefare.outputs.proposal.made import letters, row_anchor
from sitefare.outputs.proposal.site import fact_words
from sitefare.outputs.proposal.view import View, printed_unit
from sitefare.outputs.register import register


def reasonableness(view: View) -> list[Block]:
    """Return the table of figures against published bands."""
    found = view.bands
    lines = tuple(
        (
            b.title,
            view.band_figure(b),
            b.band,
            b.verdict,
            plain(b.why) + view.behind(f"band.{b.key}.*"),
        )
        for b in found
    )
    outside = [b for b in found if b.outside]
    words = (
        f"Outside their band: {len(outside)} of {len(found)} figures; each is a reason to look again."
        if outside
        else "No figure that applies lies outside its band."
    )
    columns = (
        Column("Figure", weight=2.2),
        Column("Here", align="right", weight=1.5),
        Column("Band", weight=1.8),
        Column("Verdict", weight=0.9),
        Column("Why it matters", weight=3),
    )
    return [
        Heading(1, "Is it reasonable?", "reasonableness"),
        Paragraph(words),
        Table(
            columns,
            lines,
            "Figures against bands of published farms and of judgement",
            wide=True,
            anchor="bands-table",
            rich=(4,),
        ),
    ]


def proof(view: View) -> list[Block]:
    """Return the evidence annex."""
    lines = tuple(
        (
            item.supports,
            item.title,
            item.status,
            item.document or "–",
            item.date or "–",
            item.expiry or "–",
        )
        for item in view.evidence.items.values()
    )
    columns = (
        Column("Headline assumption", weight=2),
        Column("Document", weight=2),
        Column("Status", weight=1),
        Column("Reference", weight=1.6),
        Column("Date", weight=0.9),
        Column("Expiry", weight=0.9),
    )
    return [
        Heading(1, "Annex: evidence", "evidence", annex=True),
        *_lapsing(view),
        Table(
            columns,
            lines,
            "Evidence held, requested and missing",
            wide=True,
            anchor="evidence-table",
        ),
        *_unsupplied(view),
    ]


def _unsupplied(view: View) -> list[Block]:
    """Return the site facts that were not supplied."""
    missing = [name for name, given in view.appraisal.case.facts if not given]
    if not missing:
        return []
    rows = tuple(
        (fact_words(view, name), name.partition(".")[0].replace("_", " ")) for name in missing
    )
    return [
        Table(
            (Column("Site fact", weight=3), Column("Of", weight=1.4)),
            rows,
            "Site facts not supplied, for which wide defaults stand",
            wide=True,
            anchor="unsupplied-table",
            layout="dense",
        )
    ]


def _lapsing(view: View) -> list[Block]:
    """Warn of documents that lapse before the farm runs."""
    timeline = view.appraisal.case.timeline
    opening = timeline.label(min(timeline.construction + 1, timeline.months))
    titles = view.evidence.lapsed_before(opening)
    if not titles:
        return []
    words = "; ".join(plain(title) for title in titles)
    return [
        Caution(
            f"Held but lapsing before the farm opens in {opening}: {words}.", "caution", "Renew"
        )
    ]


def bill(view: View) -> list[Block]:
    """Return the bill of quantities."""
    f = view.formats
    lines = tuple(
        (
            item.item + (" (essential)" if item.essential else ""),
            f.number(item.quantity),
            printed_unit(item.per),
            item.unit_price,
            item.landed_cost,
            f.number(item.life) if item.life else "–",
            item.origin,
        )
        for item in view.appraisal.finances.capital_items
        if item.landed_cost != 0
    )
    columns = (
        Column("Item"),
        Column("Quantity", align="right"),
        Column("Unit"),
        Column("Unit cost", f.currency, "right", f.amount),
        Column("Cost", f.currency, "right", f.amount),
        Column("Life", "years", "right"),
        Column("Origin"),
    )
    return [
        Heading(1, "Annex: bill of quantities", "bill", annex=True),
        Table(
            columns,
            lines,
            f"Bill of quantities, delivered and installed, {view.price_date} prices",
            "Essential items cannot be removed by a budget, a scenario or a setting.",
            wide=True,
            anchor="bill-table",
        ),
    ]


def months_words(months: str) -> str:
    """Shorten twelve months to their least and greatest; words stay as they are."""
    parts = months.split()
    if len(parts) != 24 or parts[0] != "jan":  # noqa: PLR2004
        return months
    numbers = sorted(parts[1::2], key=float)
    return f"{numbers[0]} to {numbers[-1]} by month"


def layer_words(layer: str) -> str:
    """Shorten a layer to its kind: the document is of one site and one scenario."""
    return "default" if "not supplied" in layer else layer.split(" ", maxsplit=1)[0]


def assumptions(view: View) -> list[Block]:
    """Return the register; its sources are listed as references after it."""
    case = view.appraisal.case
    entries = [e for e in register(case) if printed(e.name)]
    moves = letters(view)
    lines = tuple(
        (
            name,
            low,
            months_words(base),
            high,
            printed_unit(unit),
            layer_words(layer),
            source,
            moves.get(name, ""),
        )
        for name, low, base, high, unit, layer, source in sorted(gathered(entries))
    )
    columns = (
        Column("Name", weight=2.2),
        Column("Low", align="right", weight=0.9),
        Column("Base", align="right", weight=1.25),
        Column("High", align="right", weight=0.95),
        Column("Unit", weight=1.4),
        Column("Layer", weight=1.3),
        Column("Source", weight=1.8),
        Column("Moves", weight=1),
    )
    judged = sum(e.basis in ("judgement", "invented") for e in entries)
    cited = sum(e.source not in UNLISTED for e in entries)
    return [
        Heading(1, "Annex: register of assumptions", "register", annex=True),
        Paragraph(
            f"{view.formats.count(len(entries))} values stand here in {view.formats.count(len(lines))} lines, of an item table the one with a range; fixed "
            f"values of one table and source share a line, from least to greatest. {view.formats.count(judged)} of them are judgement or "
            f"invented; {view.formats.count(cited)} cite a source, and say so where the number is judged from it. Prices stand in "
            "the currency and at the date of their source; the appraisal moves them to "
            f"{view.price_date}. The rest stand in the tables behind this document, where any of them can be changed."
        ),
        Table(
            columns,
            lines,
            "Every value in force, with the layer and source that gave it",
            "Layer: where the value in force stands; a default stands for a site fact that was not supplied. "
            "Moves: the letters of the [headline figures](#made) that the row moves most.",
            wide=True,
            sortable=True,
            anchor="register-table",
            layout="dense",
            row_anchors=tuple(
                row_anchor(n) if low and high else "" for n, low, _, high, *_ in lines
            ),
            rich=(6, 7),
        ),
    ]
