"""Water and nutrients: where they come from, where they go, and what a field would take."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from sitefare.appraisal import compared_with_field
from sitefare.arrays import Array
from sitefare.farm import alternative
from sitefare.outputs import charts
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table, plain
from sitefare.outputs.proposal.view import View, sentence

#: Uses of water in words, in the order they are told.
USES = {
    "transpiration": "Given to the air by plants",
    "evaporation": "Evaporated from open water",
    "pads": "Evaporated by cooling pads",
    "pad_bleed": "Let go from cooling pads",
    "product": "Carried off in the harvest",
    "wash": "Washing and packing",
    "leaks": "Leaks and splash",
    "sludge": "Drained with sludge",
    "rain_overflow": "Rain that overflows open beds",
    "discharge": "Let go against salt and nitrate",
    "filling": "First filling",
}

#: The same uses beside a chart, short.
SHORT = {
    "transpiration": "Plants",
    "evaporation": "Open water",
    "pads": "Cooling pads",
    "pad_bleed": "Bleed of pads",
    "product": "Harvest",
    "wash": "Washing",
    "leaks": "Leaks",
    "sludge": "Sludge",
    "rain_overflow": "Rain overflow",
    "discharge": "Discharge",
}

#: Elements told, and the parts of each balance: what comes in, then where it goes.
ELEMENTS = ("nitrogen", "phosphorus", "potassium")
COMES = {"feed": "In feed", "source": "In source water", "dosed": "Dosed"}
#: Share of what comes in below which a part is told as nothing. [1]
LEAST = 0.002

#: Share of a source under which it is told and not drawn. [1]
FEW = 0.05

GOES = {
    "fish": "Fish",
    "plants": "Plants",
    "solids": "Solids",
    "gas": "Gas",
    "exchange": "Leaves with water",
    "discharge": "Leaves with water",
    "stored": "Held in the water, more than before",
}


def water(view: View) -> list[Block]:
    """Return water by use and month, litres a kilogram, and the field beside."""
    f, uses = view.formats, _used(view)
    total = sum(view.full_mean(flow) for flow in uses.values())
    rain = view.full_mean(view.appraisal.flows.rain_m3)
    rows = [(USES[k], f.number(m3), f.share(m3 / total)) for k, m3 in _sizes(view, uses).items()]
    return [
        Heading(2, "Water", "water"),
        Figure(
            charts.water(_monthly(view, uses), f),
            "Where water goes, by month of full production.",
            half=True,
        ),
        Table(
            (Column("Use"), Column("Water", "m³/year", "right"), Column("Share", align="right")),
            (*rows, ("All water", f.number(total), f.share(1.0))),
            "Water of a full-production year by use",
            f"{f.number(rain)} m³ of it is rain, the rest make-up water. Rows may not add up by rounding.",
            anchor="water-table",
            layout="half",
            strong_rows=(len(rows),),
        ),
        Paragraph(_field(view) + _field_sources(view)),
    ]


def water_sources(view: View) -> list[Block]:
    """Draw where water comes from by month; a sentence where one source gives nearly all."""
    flows = view.appraisal.flows
    sources = {"Make-up water": flows.water_makeup_m3, "Rain": flows.rain_m3}
    total = sum(view.full_mean(flow) for flow in sources.values())
    rain = view.full_mean(flows.rain_m3) / total if total else 0.0
    if not FEW < rain < 1.0 - FEW:
        share = view.formats.share(rain)
        return [
            Paragraph(
                f"Rain that is caught and used gives {share} of the water, make-up water the rest."
            )
        ]
    frame = pd.DataFrame(
        [
            {"month": m + 1, "what": name, "amount": float(x)}
            for name, flow in sources.items()
            for m, x in enumerate(view.full_season(flow))
        ]
    )
    words = (
        "Where water comes from: rain that is caught and used, and make-up water that must be bought or "
        "drawn. Together they are what the uses take."
    )
    return [Figure(charts.water(frame, view.formats, by="source"), words, half=True)]


def _used(view: View) -> dict[str, Array]:
    """Return the uses that take water in full production, the first filling left out."""
    flows = view.appraisal.flows.water_uses_m3
    return {k: flows[k] for k in USES if k != "filling" and view.full_mean(flows[k]) > 0.0}


def _sizes(view: View, uses: Mapping[str, Array]) -> dict[str, float]:
    """Return each use's yearly water, the largest first. [m3/year]"""
    sizes = {k: view.full_mean(flow) for k, flow in uses.items()}
    return dict(sorted(sizes.items(), key=lambda item: -item[1]))


def _monthly(view: View, uses: Mapping[str, Array]) -> pd.DataFrame:
    """Return the uses by calendar month."""
    return pd.DataFrame(
        [
            {"month": m + 1, "what": SHORT[k], "amount": float(x)}
            for k, flow in uses.items()
            for m, x in enumerate(view.full_season(flow))
        ]
    )


def _field(view: View) -> str:
    """Say litres a kilogram, and how the farm stands beside a field here."""
    f = view.formats
    crop, fish = view.value("litres_per_kg_crop"), view.value("litres_per_kg_fish")
    each = (
        f"Of the make-up water {f.number(crop, 2)} L are counted for a kilogram of vegetables and "
        f"{f.number(fish, 2)} L for a kilogram of live fish. "
    )
    made = view.appraisal
    found = compared_with_field(view.base, made.design, made.flows, made.case.timeline)
    return each + plain(sentence(alternative.sentence(found)))


def _field_sources(view: View) -> str:
    """Cite what evaporation and the field's water rest on."""
    cited = view.behind("field.*", "field_crop.*", "transpiration.*", "water.*")
    return f" Evaporation and the field's need follow printed methods{cited}." if cited else ""


def nutrients(view: View) -> Table:
    """Return where nitrogen, phosphorus and potassium come from and go in a typical year."""
    f, season = view.formats, view.appraisal.flows.season
    parts = {e: {k: _sum(season.get(f"{e}_{k}_kg")) for k in (*COMES, *GOES)} for e in ELEMENTS}
    dosed = view.full_mean(view.appraisal.flows.dosing_kg["phosphorus"])
    parts["phosphorus"] |= {
        "dosed": dosed,
        "plants": (parts["phosphorus"]["plants"] or 0.0) + dosed,
    }
    gained = {e: sum(parts[e][k] or 0.0 for k in COMES) for e in ELEMENTS}
    names = dict.fromkeys([*COMES.values(), *GOES.values()])
    told = [(name, [_amount(parts[e], name, gained[e]) for e in ELEMENTS]) for name in names]
    rows = [
        (name, *(f.number(x) if x is not None else "–" for x in amounts))
        for name, amounts in told
        if any(amounts)
    ]
    come = sum(row[0] in COMES.values() for row in rows)
    total = ("All that comes in", *(f.number(gained[e]) for e in ELEMENTS))
    return Table(
        (Column("Part"), *(Column(e.capitalize(), "kg/year", "right") for e in ELEMENTS)),
        (*rows[:come], total, *rows[come:]),
        "Nitrogen, phosphorus and potassium of a typical year: what comes in, then where it goes",
        "The parts after the total add up to it, but for rounding"
        f"{view.behind('nutrients.*', 'treatment.*')}.",
        anchor="nutrient-table",
        strong_rows=(come,),
        layout="half",
    )


def _sum(season: Array | None) -> float | None:
    """Return a season's yearly sum of the first draw, none where there is no such part."""
    return None if season is None else float(np.sum(season[0]))


def _amount(parts: Mapping[str, float | None], name: str, whole: float) -> float | None:
    """Return what an element's parts of one name come to; a thousandth of the whole is nothing."""
    found = [parts[k] for k, said in {**COMES, **GOES}.items() if said == name]
    given = [x for x in found if x is not None]
    if not given:
        return None
    return sum(given) if abs(sum(given)) > LEAST * whole else 0.0
