"""The builder's sheet as blocks: drawing, sizes, targets, calendars; short in the body, long in the annex."""

from sitefare.farm.parts import parts_of
from sitefare.farm.stocking import feeding_table
from sitefare.farm.targets import Target
from sitefare.outputs.citations import source_words
from sitefare.outputs.design_sheet import DesignSheet
from sitefare.outputs.document import (
    Block,
    Bullets,
    Caution,
    Cell,
    Column,
    Figure,
    Heading,
    Paragraph,
    Table,
)
from sitefare.outputs.numbers import Formats
from sitefare.outputs.planview import plan_drawing
from sitefare.outputs.proposal.view import View, printed_unit, sentence

#: Lines that the body shows; the annex holds them all.
SHORT = (
    "Bed area",
    "Covered area",
    "Ground taken",
    "All fish tanks",
    "Volume of each tank",
    "All water",
    "Sump",
    "Flow",
    "Tank volumes an hour",
    "Head the water is lifted against",
    "Plants started in a mean week",
    "Fish tanks",
    "Density at harvest",
    "Days between stockings",
    "Feed",
    "Lifting of water",
    "Blowers",
    "Lamps",
    "Fans at their largest flow",
    "Generator",
    "Solar array",
    "Grid connection",
    "Heat load of the air",
    "Heat load of the water",
    "Cooling load, lamps and sun included",
    "Posts, whole people",
)

#: How each enclosure is said after "grows".
WHERE = {
    "open": "in the open",
    "shade_net": "under shade net",
    "single_film": "under single film",
    "double_film": "under double film",
    "polycarbonate": "under polycarbonate",
    "warehouse": "in a warehouse",
    "basement": "in a basement",
}


def drawing(made: DesignSheet, f: Formats) -> list[Block]:
    """Return the plan view with what it rests on."""
    words = (
        "The farm from above, to scale. Areas and counts are the design's; how they lie is a proposal, "
        "and so are the rooms, of which only the sum is the design's. The ground's orientation is not "
        "known: the ring takes the north arrow, to be marked on site. Tanks carry the numbers of the stocking calendar; the grid "
        "names places, such as C4. Not a construction drawing: a licensed engineer draws that."
    )
    return [
        Figure(plan_drawing(made.plan, made.needs, f), words, anchor="plan-view"),
        Bullets(tuple(sentence(note) for note in made.notes)),
    ]


def sizes(made: DesignSheet, f: Formats, *, short: bool) -> Table:
    """Return the sheet's lines under the names of their groups."""
    rows: list[tuple[Cell, ...]] = []
    heads: list[int] = []
    group = ""
    for line in made.lines:
        if short and line.what not in SHORT:
            continue
        if line.group != group and not short:
            group = line.group
            heads.append(len(rows))
            rows.append((group, "", "", ""))
        rows.append((line.what, f.number(line.number), printed_unit(line.unit), line.note))
    columns = (
        Column("What", weight=3),
        Column("Amount", align="right", weight=1),
        Column("Unit", weight=1),
        Column("Note", weight=2.2),
    )
    if short:
        return Table(
            columns[:3],
            tuple(row[:3] for row in rows),
            "Main sizes, flows, powers and loads",
            "The [design sheet](#design-sheet) holds every line.",
            anchor="design-table",
            layout="folded",
        )
    return Table(
        columns,
        tuple(rows),
        "Design sheet: areas, volumes, flows, powers, heat and loads",
        wide=True,
        head_rows=tuple(heads),
        anchor="sheet-table",
        layout="dense",
    )


def heat(made: DesignSheet, f: Formats) -> list[Block]:
    """Say what the design hours ask of heaters and coolers."""
    outside, inside = made.number("Outdoors at the 99 % design hour"), None
    air, water = made.number("Heat load of the air"), made.number("Heat load of the water")
    per_area = made.number("Heat load of the air over covered ground")
    inside = made.number("Indoors then, night set point")
    cold = f"At the 99 % design hour it is {f.number(outside)} °C outdoors: "
    parts = []
    if air is not None:
        parts.append(
            f"to hold {f.number(inside)} °C indoors the air asks {f.number(air)} kW, {f.number(per_area)} W/m² of covered ground"
        )
    if water is not None:
        parts.append(f"the water asks {f.number(water)} kW to stay at its target")
    cold += " and ".join(parts) if parts else "neither air nor water is heated"
    cooling = made.number("Cooling load, lamps and sun included")
    warm = f"At the 1 % hour it is {f.number(made.number('Outdoors at the 1 % design hour'))} °C outdoors"
    warm += (
        f" and the coolers carry {f.number(cooling)} kW." if cooling else f": {_uncooled(made)}."
    )
    return [Paragraph(f"{cold}. {warm}")]


def _uncooled(made: DesignSheet) -> str:
    """Say what a house without coolers comes to in the warmest hours."""
    if made.parts.design.cooling == "pad_and_fan":
        return "what the pads reach then hangs on that hour's wet bulb, which must be asked of the weather service"
    return "shade and moving air are all that cools, and nothing falls below outdoors"


def life(made: DesignSheet, f: Formats) -> Caution:
    """Return what protects the fish: minutes, back-up, response."""
    design = made.design
    minutes = f.number(design.life_support_minutes, 2)
    start, response = f.number(design.backup_start_minutes, 2), f.number(design.response_minutes, 2)
    return Caution(
        f"Without power the fish have about **{minutes} minutes**. The back-up starts after "
        f"{start} min and a trained person can be there in {response} min. At commercial density "
        "fish can die within ten minutes without air: standby air, an independent alarm and a "
        "person on call are not optional.",
        "stop",
        "Life support",
    )


def floors(made: DesignSheet) -> Caution:
    """Return the caution of loads and electricity, with this farm's numbers."""
    return Caution(
        f"Water and gravel are heavy. {sentence(made.floors)} A licensed engineer must check any floor, roof or "
        "slope before it carries beds or tanks. Electricity stands near water: residual-current protection and "
        "fittings rated for wet places, to local code.",
        "caution",
        "Structure and electricity",
    )


def watched(made: DesignSheet, f: Formats) -> Table:
    """Return targets and alarms, when they are checked, what is done, and whose figures they are."""
    rows = tuple(
        (t.title, _range(t, f), _alarm(t, f), t.check, t.act, _source(made, t))
        for t in made.targets
    )
    columns = (
        Column("Watched", weight=2.4),
        Column("Target", weight=1),
        Column("Alarm", weight=1.2),
        Column("Check", weight=1.6),
        Column("At the alarm", weight=2.2),
        Column("Source", weight=1.3),
    )
    return Table(
        columns,
        rows,
        "Targets, alarms, checks and what is done",
        "Temperatures are the fish's own; alkalinity and un-ionised ammonia are reckoned from pH.",
        wide=True,
        anchor="target-table",
        rich=(5,),
    )


def _source(made: DesignSheet, target: Target) -> str:
    """Cite the source of a target's row, as markup."""
    row = made.source_row(target)
    return target.source if row is None else source_words(row.source, row.locator, "published")


def _range(target: Target, f: Formats) -> str:
    """Write a target's ends with their unit; two figures of what is reckoned."""
    low, high, unit = target.low, target.high, target.unit
    if low is None and high == 0.0:
        return "none"
    if low is None:
        return f"at most {f.number(high, _figures(target), unit)}"
    if high is None:
        return f"at least {f.number(low, unit=unit)}"
    digits = _figures(target)
    return f"{f.number(low, digits)} to {f.number(high, digits, unit)}"


def _alarm(target: Target, f: Formats) -> str:
    """Write an alarm's ends with their unit."""
    low, high, unit = target.alarm_low, target.alarm_high, target.unit
    if low is None:
        return f"above {f.number(high, _figures(target), unit)}"
    if high is None:
        return f"below {f.number(low, unit=unit)}"
    digits = _figures(target)
    return f"below {f.number(low, digits)}, above {f.number(high, digits, unit)}"


def _figures(target: Target) -> int:
    """Return the figures a target is worth: two where it is reckoned from others."""
    return 2 if target.key in ("unionised_ammonia", "alkalinity") else 3


def stocked(made: DesignSheet, f: Formats) -> Table:
    """Return the stocking calendar, tank by tank."""
    rows = tuple(
        (
            f"T{c.tank}",
            c.stocked.isoformat(),
            f.count(c.fingerlings),
            f.number(c.stocked_kg),
            c.harvested.isoformat()[:7] if c.harvested else "beyond",
            f.number(c.harvest_kg),
        )
        for c in made.stocking
    )
    columns = (
        Column("Tank", weight=0.7),
        Column("Stocked", "date", weight=1.4),
        Column("Fingerlings", "fish", "right", weight=1.4),
        Column("Stocked", "kg", "right", weight=1.1),
        Column("Harvest", "month", weight=1.1),
        Column("Harvest", "kg live", "right", weight=1.1),
    )
    return Table(
        columns,
        rows,
        "Stocking calendar of the first two years of running",
        "To the day as planned; a crew moves them by weeks. Kilograms before rare events and a new team's "
        "learning. Beyond: harvested after the appraisal ends.",
        wide=True,
        anchor="cohorts-table",
        layout="folded",
    )


def planted(made: DesignSheet, f: Formats) -> list[Table]:
    """Return first dates by crop, then plants to set out by crop and month."""
    return [_first_dates(made, f), _months(made, f)]


def _first_dates(made: DesignSheet, f: Formats) -> Table:
    """Return each crop's bed, weekly plants, first dates and idle months."""
    names = [f.month_name(m) for m in range(1, 13)]
    rows = tuple(
        (
            p.title,
            f.number(p.area),
            f.number(sum(p.plants) / 52.0),
            p.first.isoformat(),
            p.harvest.isoformat(),
            ", ".join(names[m] for m in p.idle) or "none",
        )
        for p in made.planting
    )
    columns = (
        Column("Crop"),
        Column("Bed", "m²", "right"),
        Column("Plants", "a mean week", "right"),
        Column("First planting"),
        Column("First harvest"),
        Column("Months without planting"),
    )
    caption = "Planting calendar: first dates and idle months"
    return Table(columns, rows, caption, wide=True, anchor="planting-table")


def _months(made: DesignSheet, f: Formats) -> Table:
    """Return plants to set out each week, by crop and month."""
    names = [f.month_name(m) for m in range(1, 13)]
    return Table(
        (
            Column("Crop", weight=1.7),
            Column("Nursery", "days", "right", weight=0.9),
            *(Column(name, align="right", weight=0.8) for name in names),
            Column("On the bed", "days to cut", "right", weight=1.2),
        ),
        tuple(
            _succession(made, crop, f) for crop in dict.fromkeys(x.crop for x in made.succession)
        ),
        "Succession: plants to set out each week, by month of a full year",
        "Sow so many days before as the nursery takes, and a few more for those that fail. The bed gives the first "
        "cut after the days in the last column, fewest in the brightest month; fruit is then picked on. A dash is a "
        "month in which nothing is set out.",
        wide=True,
        anchor="months-table",
    )


def _succession(made: DesignSheet, crop: str, f: Formats) -> tuple[Cell, ...]:
    """Return one crop's year of weekly batches."""
    lines = [line for line in made.succession if line.crop == crop]
    batches = (f.number(x.weekly_planting, 2) if x.weekly_planting else "–" for x in lines)
    days = sorted(line.days_to_harvest for line in lines if line.plant_out)
    spread = "–" if not days else f"{days[0]}–{days[-1]}" if days[0] < days[-1] else f"{days[0]}"
    return (lines[0].title, f.number(lines[0].nursery_days), *batches, spread)


def annex(made: DesignSheet, f: Formats) -> list[Block]:
    """Return the long form: every line, target, cohort and month."""
    return [
        sizes(made, f, short=False),
        Heading(2, "What is watched", "watched"),
        watched(made, f),
        Heading(2, "When fish are stocked", "stocking"),
        stocked(made, f),
        Heading(2, "When beds are planted", "planting"),
        *planted(made, f),
    ]


def feeding(view: View) -> Table:
    """Return how fish are fed by their weight."""
    f, found = view.formats, view.appraisal
    water = found.flows.season["water_temperature"][:1]
    lines = feeding_table(parts_of(view.base), water, found.design.stocked_fish)
    cells = tuple(
        (
            f.number(line.weight, 2),
            f.number(line.days, 2),
            f.number(100.0 * line.rate, 2),
            f.number(line.tank_feed, 2),
        )
        for line in lines
    )
    columns = (
        Column("Weight of a fish", "g", "right"),
        Column("Since stocking", "day", "right"),
        Column("Feed over live weight", "% a day", "right"),
        Column("Feed of a tank", "kg/day", "right"),
    )
    caption = "Feeding by weight, in the year's mean water; adjusted by what the fish leave"
    return Table(columns, cells, caption, anchor="feeding-table", layout="folded")


def design_sheet(view: View) -> list[Block]:
    """Return the annex of a proposal."""
    return [
        Heading(1, "Annex: design sheet", "design-sheet", annex=True),
        Paragraph(
            "What a builder and a grower need, at base values. The drawing stands in [the farm](#farm)."
        ),
        *annex(view.sheet, view.formats),
        Heading(2, "What binds and what is oversized", "limits"),
        Bullets(tuple(sentence(limit) for limit in view.appraisal.design.limits)),
        Heading(2, "How fish are fed", "feeding"),
        feeding(view),
    ]
