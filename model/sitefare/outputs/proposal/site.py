"""The place and the farm: climate, water, people, sizes, what protects the fish, what it weighs."""

from functools import partial

import numpy as np
import pandas as pd

from sitefare.assumptions.declaration import build_all
from sitefare.assumptions.rows import Row
from sitefare.outputs import charts
from sitefare.outputs.document import (
    Block,
    Bullets,
    Column,
    Figure,
    Heading,
    Paragraph,
    Table,
    plain,
)
from sitefare.outputs.drawing import lowered
from sitefare.outputs.proposal import balances
from sitefare.outputs.proposal import design as design_blocks
from sitefare.outputs.proposal.view import View, row_value, row_words, sentence
from sitefare.people.need import PopulationInputs


def place(view: View) -> list[Block]:
    """Return the section on the place."""
    f, rows = view.formats, view.appraisal.case.rows
    groups = build_all(PopulationInputs, view.base)
    people = sum(float(group.persons[0, 0]) for group in groups.values())
    women = sum(float(g.persons[0, 0]) for g in groups.values() if g.sex == "female")
    north = rows["place.latitude"].base
    where = f"{f.decimal(abs(north), 1)}° {'north' if north >= 0 else 'south'}"
    facts = view.appraisal.case.facts
    given = sum(supplied for _, supplied in facts)
    rest = (
        ""
        if given == len(facts)
        else "; [](#unsupplied-table) names the rest, which take wide defaults"
    )
    return [
        Heading(1, "The place", "place"),
        Paragraph(
            f"{plain(view.place)} lies at {where}, {f.count(rows['place.elevation'].base, 'm')} above the "
            f"sea. {f.number(people)} people live there, {f.number(women)} of them counted as women "
            f"and girls. The scenario is {plain(view.appraisal.case.variant)}. "
            f"{given} of {len(facts)} site facts were supplied{rest}."
        ),
        _temperatures(view),
        _site_table(view),
    ]


#: Foods of a completed ration that a site may name.
BASKET = ("staple", "pulse", "oil")


def fact_words(view: View, fact: str) -> str:
    """Name a site fact in words; a table by its own name."""
    row = view.appraisal.case.rows.get(fact)
    tables = {
        "acceptance": "Which foods people here eat",
        "allowance": "How tax law writes off works and equipment, by class",
    }
    tables |= {f"completion.{food}": f"{food.capitalize()} that people buy" for food in BASKET}
    if fact in tables:
        return tables[fact]
    return row_words(row) if row else fact.replace("_", " ")


def _temperatures(view: View) -> Figure:
    """Draw outdoor air, indoor air and water by month."""
    season = view.appraisal.flows.season
    kinds = {
        "Outdoor air": view.base["climate.temperature"],
        "Indoor air": season["indoor_temperature"],
        "Water": season["water_temperature"],
    }
    lines = [
        {"month": m + 1, "what": what, "celsius": float(np.broadcast_to(x, (1, 12))[0, m])}
        for what, x in kinds.items()
        if not isinstance(x, str)
        for m in range(12)
    ]
    picture = charts.temperatures(pd.DataFrame(lines), view.formats)
    return Figure(
        picture,
        "Monthly means in a typical year, indoor air at the plants. Single days lie further apart.",
        half=True,
    )


#: What binds or is oversized, told in the body; the design sheet holds all. [1]
TOLD = 6

#: Site facts that the place section prints, by name.
PRINTED = (
    "source_water.conductivity",
    "source_water.alkalinity",
    "place.design_temperature_low",
    "place.design_temperature_high",
    "place.design_wind",
    "place.footprint_available",
    "tariff.electricity",
    "wage.worker",
    "price.feed",
    "freight.imported",
    "economy.inflation",
    "economy.income_tax",
    "economy.exchange_rate",
)


def _site_table(view: View) -> Table:
    """Return the table of what the appraisal takes from the site."""
    case, f = view.appraisal.case, view.formats
    rows = [case.rows[name] for name in PRINTED]
    lines = tuple(
        (
            row_words(row),
            row_value(row, row.base, case.currency, f),
            f.span(row.low, row.high, partial(_worded, view, row))
            if row.low is not None
            else "fixed",
            row.basis,
        )
        for row in rows
    )
    columns = (
        Column("Fact", weight=2.5),
        Column("Value", align="right", weight=1.5),
        Column("P10–P90", align="right", weight=1.9),
        Column("Basis", weight=1.3),
    )
    return Table(
        columns,
        lines,
        f"What the site gives, money at {view.price_date} prices",
        wide=True,
        anchor="site-table",
        layout="half",
    )


def _worded(view: View, row: Row, x: float) -> str:
    """Write a value of a row."""
    return row_value(row, x, view.appraisal.case.currency, view.formats)


def farm(view: View) -> list[Block]:
    """Return the section on the farm: sizes, limits, life support, loads."""
    f, design = view.formats, view.appraisal.design
    return [
        Heading(1, "The farm", "farm"),
        Paragraph(
            f"The farm keeps {plain(_species(view))} and grows in {f.number(design.bed_area)} m² of "
            f"{design.bed_kind} beds {design_blocks.WHERE[design.enclosure]}. Bacteria turn fish waste "
            "into plant food; plants take up part; the rest leaves as sludge, gas and discharge; the "
            f"water returns to the fish{view.behind('species.*', 'bed.*', 'nitrification.*', 'farm_design.*')}. "
            "It is sized once, at base values, and stays the same in every draw."
        ),
        *design_blocks.drawing(view.sheet, f),
        design_blocks.sizes(view.sheet, f, short=True),
        *design_blocks.heat(view.sheet, f),
        Bullets(tuple(sentence(limit) for limit in (*design.limits[:TOLD], *_shortfalls(view)))),
        design_blocks.life(view.sheet, f),
        design_blocks.floors(view.sheet),
        Paragraph(
            "All that binds or is oversized, targets and alarms, how fish are fed, and the calendars of stocking and planting stand "
            "in the [design sheet](#design-sheet)."
        ),
    ]


def _shortfalls(view: View) -> list[str]:
    """Say in how many draws the design gives less than the draw asks."""
    if not view.drawn.count:
        return []
    short = view.drawn.chance("feed_share_borne", 1.0 - 1e-9)
    words = (
        f"In {view.formats.share(short)} of the draws the bacteria turn over less ammonia than the fish "
        "make in some month, and the fish are fed less."
    )
    return [words, *_deaths(view)]


def _deaths(view: View) -> list[str]:
    """Say in how many draws water kills fish, and the fullest tank dies before help comes."""
    f, comes = view.formats, view.appraisal.design.response_minutes
    killed = view.drawn.chance("water_lives_share", 0.5)
    late = view.drawn.chance("minutes_without_air", comes)
    words = (
        f"In {f.share(late)} of the draws the fish of the fullest tank in the warmest month last less "
        f"long without air than the {f.number(comes, 2)} minutes until help comes."
    )
    if killed <= 0.0:
        return [words]
    died = (
        f"In {f.share(killed)} of the draws some month's water passes what the fish survive: all "
        "that stand die, and tanks are stocked again when it is over."
    )
    return [words, died]


def _species(view: View) -> str:
    """Name the species, with its permit's state."""
    item = view.evidence.items.get("species_permit")
    state = item.status if item else "missing"
    return f"{view.appraisal.design.species} (permit {state})"


def harvest(view: View) -> list[Block]:
    """Return the section on what the farm grows."""
    f, flows, design = view.formats, view.appraisal.flows, view.appraisal.design
    foods = {**flows.crop_kg, f"{design.species} (live)": flows.fish_live_kg}
    frame = pd.DataFrame(
        [
            {"month": m + 1, "what": name.replace("_", " ").capitalize(), "kg": float(amount)}
            for name, flow in foods.items()
            for m, amount in enumerate(view.full_season(flow))
        ]
    )
    lines = []
    for name, flow in flows.crop_kg.items():
        kg = view.full_mean(flow)
        area = design.bed_area * _share(view, name)
        lines.append((name.replace("_", " "), f.number(kg), f.number(kg / area) if area else "–"))
    fish = view.full_mean(flows.fish_live_kg)
    lines.append((f"{design.species}, live weight", f.number(fish), "–"))
    notes = tuple(sentence(note) for note in flows.notes)
    return [
        Heading(1, "What it grows", "harvest"),
        Paragraph(
            "Yields are built from weight per plant, plants and plantings a year at a stated light and "
            f"warmth, less what is culled{_crop_sources(view)}; fish from growth by temperature and feed"
            f"{view.behind(f'species.{design.species}.*')}."
        ),
        *([Bullets(notes)] if notes else []),
        Figure(
            charts.harvest(frame, f),
            "Marketable harvest by calendar month in full production, expected event losses taken off, "
            f"fish by live weight. Each row is shaded from nothing to its own best month.{_spread(view)}",
            half=True,
        ),
        Table(
            (
                Column("Food"),
                Column("Harvest", "kg/year", "right"),
                Column("Yield", "kg/m² of its bed a year", "right"),
            ),
            tuple(lines),
            "Harvest of a full-production year",
            anchor="harvest-table",
            layout="half",
        ),
        *_utilities(view),
    ]


def _spread(view: View) -> str:
    """Say how far a year's vegetables lie apart over the draws; nothing without draws."""
    found = view.drawn.spreads.get("vegetables_marketable_kg_year")
    if found is None or found.low is None or found.high is None:
        return ""
    span = view.formats.span(
        found.low, found.high, lambda x: view.formats.number(x, unit="kg of vegetables a year")
    )
    return f" 8 in 10 draws give {span}."


def _crop_sources(view: View) -> str:
    """Cite the sources behind the crops planted."""
    planted = [name for name in view.appraisal.flows.crop_kg if _share(view, name) > 0]
    return view.behind(*(f"crop.{name}.*" for name in planted))


def _share(view: View, crop: str) -> float:
    """Return a crop's share of the bed. [1]"""
    share = view.base[f"plan.{crop}.share"]
    return 0.0 if isinstance(share, str) else float(share[0, 0])


def _utilities(view: View) -> list[Block]:
    """Return water, nutrients and electricity."""
    f, flows = view.formats, view.appraisal.flows
    uses = {
        name.replace("_", " ").capitalize(): flow for name, flow in flows.electricity_kwh.items()
    }

    def frame(parts: dict[str, object]) -> pd.DataFrame:
        return pd.DataFrame(
            [
                {"month": m + 1, "what": what, "amount": float(x)}
                for what, flow in parts.items()
                for m, x in enumerate(view.full_season(flow))  # type: ignore[arg-type]
            ]
        )

    used = {name: flow for name, flow in uses.items() if view.full_mean(flow) > 0}
    sources = {
        "Grid power": flows.grid_kwh,
        "Solar power": flows.pv_kwh,
        "Generator power": flows.generator_kwh,
    }
    given = {name: flow for name, flow in sources.items() if view.full_mean(flow) > 0}
    total = sum(view.full_mean(flow) for flow in given.values())
    most = max(given, key=lambda name: view.full_mean(given[name]))
    share = view.full_mean(given[most]) / total
    by_source: Block = (
        Paragraph(
            f"{'All' if len(given) == 1 else f.share(share)} of the electricity is {lowered(most)}."
        )
        if share > 1.0 - balances.FEW
        else Figure(
            charts.energy(frame(dict(given)), f, by="source"),
            "Electricity by source and month, solar power straight or through the battery. What no standby "
            "carries while the grid is down is not supplied.",
            half=True,
        )
    )
    return [
        *balances.water(view),
        Heading(2, "Nutrients and electricity", "utilities"),
        balances.nutrients(view),
        Figure(
            charts.energy(frame(dict(used)), f),
            "Electricity by use and month in full production.",
            half=True,
        ),
        *balances.water_sources(view),
        by_source,
    ]
