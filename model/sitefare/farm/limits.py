"""Which limit binds in a design, and what is larger than it must be?

Each margin is what is there over what is needed, with a sentence. What sets a size binds: its
margin is 1. Read from base values, after a full year's run.
"""

import numpy as np

from sitefare.arrays import DAYS, MEAN_MONTH
from sitefare.farm import beds, nitrification, outages
from sitefare.farm.machines import base, vital
from sitefare.farm.months import NAMES, last_year
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design, FarmFlows, Margin
from sitefare.timeline import Timeline

#: Density above which gravel beds without a clarifier clog, FAO 589 ch. 4. [kg/m3]
CLOGGING = 15.0

#: Share of its power under which a machine's hardest month is no load to compare with. [1]
LEAST_LOAD = 0.001

#: What a feed-rate ratio is not.
RULE_OF_PRACTICE = (
    " Feed-rate ratios are rules of practice, no balance of nitrogen: fish fed by them may outrun "
    "the plants; feed set by nitrogen would not (farm_design.feed_basis)."
)

#: Hours of each month. [h/month]
HOURS = DAYS * 24.0


def three(x: float) -> str:
    """Write a number with three digits that count, and no power of ten."""
    return f"{float(f'{x:.3g}'):,.12g}"


def feed(parts: Parts, asked: float, borne: float) -> Margin:
    """Say whether plants or bacteria set the feed, from what each would have. [kg/day]"""
    basis = "feed-rate ratio" if parts.design.feed_basis == "feed_ratio" else "nitrogen"
    practice = "" if parts.design.feed_basis != "feed_ratio" else RULE_OF_PRACTICE
    by_plants = f"Feed is set by the plants, {three(asked)} kg a day by their {basis}"
    ratio = borne / asked if asked > 0.0 else np.inf
    if borne >= asked:
        said = f"{by_plants}: the beds' bacteria could bear {ratio:.1f} times that.{practice}"
        return Margin("nitrifying_beds", ratio, said)
    if parts.full:
        said = (
            f"{by_plants}: the beds' bacteria bear {three(borne)}, a separate filter the rest."
            f"{practice}"
        )
        return Margin("nitrifying_beds", ratio, said)
    said = (
        f"Feed is set by the bacteria in the beds: they bear {three(borne)} of {three(asked)} kg a "
        "day."
    )
    return Margin("nitrifying_beds", 1.0, said)


def density(parts: Parts) -> tuple[float, str]:
    """Return stocking density at harvest, and what set it in words. [kg/m3]"""
    cap = (
        parts.life_support.density_cap_full
        if parts.full
        else parts.life_support.density_cap_media_only
    )
    found = {
        "as asked": base(parts.design.density),
        f"the cap of back-up class {parts.design.backup_class}": base(cap),
        f"what {parts.species.title} bears": base(parts.species.density_limit),
    }
    why = min(found, key=lambda k: found[k])
    return found[why], why


def margins(parts: Parts, design: Design, flows: FarmFlows, timeline: Timeline) -> list[Margin]:
    """Return what binds or is spare beside the feed, each with its sentence."""
    found = [
        _tanks(parts, design),
        _flow(parts, design),
        _posts(flows),
        _ground(parts, design),
        _minutes(design),
    ]
    found += _solids(parts)
    heat = flows.season["air_heating_kwh"] + flows.season["water_heating_kwh"]
    d = design.drivers
    if d["biofilter_volume"] > 0.0:
        over = base(parts.design.filter_margin)
        said = _filter_words(over, alone=any(m.ratio >= 1.0 for m in design.margins))
        found.append(Margin("filter", over, said))
    found += _machine("heaters", "The heaters are", d["heater_power"], heat[0])
    if parts.supply.main == "generator":
        made = last_year(flows.generator_kwh, timeline)
        return found + _machine("generator", "The generator is", d["generator_power"], made[0])
    return found + _standby(parts, design)


def _filter_words(over: float, *, alone: bool) -> str:
    """Say what a separate filter adds; `alone` where the beds bear the feed without it."""
    if alone:
        return (
            "The beds alone bear the year's feed in every month; the separate filter makes up what "
            f"they lack of {over:.1f} times its ammonia, the margin for days of most feed and for "
            "beds that slow."
        )
    return f"Beds and separate filter together bear {over:.1f} times the ammonia of every month."


def _tanks(parts: Parts, design: Design) -> Margin:
    """Say what sets the number of tanks."""
    count, each = design.tank_count, design.tank_volume
    needed = count * each / base(parts.design.tank_volume_largest)
    least = base(parts.design.tank_count_least)
    held, why = density(parts)
    if needed <= least:
        said = (
            f"{count} tanks of {three(each)} m3 are the fewest that stagger the harvests; "
            f"{max(needed, 1.0):.1f} of the largest size would hold the fish"
        )
    else:
        said = (
            f"{count} tanks of {three(each)} m3 hold what {needed:.1f} of the largest size would: "
            f"whole tanks leave each {1.0 - needed / count:.0%} smaller than it may be"
        )
    said += f". At harvest they hold {held:g} kg/m3, {why}."
    return Margin("tanks", count / needed, said)


def _flow(parts: Parts, design: Design) -> Margin:
    """Say which need sets the flow, and how far the next lies below."""
    tan = nitrification.ammonia(np.full((1, 1), design.feed_per_day), parts.species.feed_protein)
    flooded = design.bed_area * base(beds.flood_depth(parts.bed) * parts.bed.floods) / 24.0
    asked = {
        "turning the tanks over": base(parts.design.tank_turnover)
        * design.drivers["fish_tank_volume"],
        "carrying ammonia to the bacteria": base(
            nitrification.flow_needed(parts.nitrification, tan)
        )
        / 24.0,
        "renewing the beds' water": 0.0 if parts.design.bed == "raft" else flooded,
    }
    first, second = sorted(asked, key=lambda k: asked[k], reverse=True)[:2]
    flow = design.drivers["flow"]
    said = (
        f"Flow, {three(flow)} m3/h, is set by {first}; {second} asks "
        f"{asked[second] / flow:.0%} of it."
    )
    return Margin("flow", flow / max(asked[second], 1e-9), said)


def _posts(flows: FarmFlows) -> Margin:
    """Say by how much whole posts pass the work."""
    whole = sum(float(x[0].max()) for x in flows.workers.values())
    worked = sum(float(x[0, -48:].mean()) for x in flows.workers_unrounded.values())
    over = whole / max(worked, 1e-9)
    said = f"{whole:.0f} whole posts do the work of {worked:.1f}: {over - 1.0:.0%} more than asked."
    return Margin("posts", over, said)


def _ground(parts: Parts, design: Design) -> Margin:
    """Say how far the ground at hand would go."""
    room = base(parts.place.footprint_available)
    over = room / design.footprint
    said = (
        f"The ground at hand would take {over:.1f} times this farm."
        if over >= 1.0
        else f"The farm takes {design.footprint:.0f} m2 of ground and {room:.0f} m2 are at hand."
    )
    return Margin("ground", over, said)


def _minutes(design: Design) -> Margin:
    """Say how long fish last over how long help takes."""
    over = design.life_support_minutes / max(design.response_minutes, 1e-9)
    said = f"Fish last {over:.1f} times as long without air as help takes to come."
    return Margin("life_support", over, said)


def _solids(parts: Parts) -> list[Margin]:
    """Say where beds without solids removal clog, at the design's density of fish."""
    if parts.full:
        return []
    cap = base(parts.life_support.density_cap_media_only)
    density = min(base(parts.design.density), cap, base(parts.species.density_limit))
    over = CLOGGING / density if parts.design.bed == "media" else 0.0
    if over >= 1.0:
        return []
    beds_say = (
        f"media beds clog above about {CLOGGING:g} kg/m3 of fish and this farm holds "
        f"{three(density)}"
        if parts.design.bed == "media"
        else "roots of rafts and channels catch what the fish leave"
    )
    said = f"No solids are taken out ahead of the beds: {beds_say} (farm_design.backup_class)."
    return [Margin("solids", over, said)]


def _machine(name: str, words: str, power: float, year: np.ndarray) -> list[Margin]:
    """Say how a machine [kW] compares with the mean load of its hardest month [kWh/month]."""
    load = year / HOURS
    hardest = int(np.argmax(load))
    if load[hardest] <= LEAST_LOAD * power:
        return []
    over = power / float(load[hardest])
    said = (
        f"{words} {over:.1f} times the mean load of {NAMES[hardest]}, the hardest month: sized "
        "for the hour, not the month."
    )
    return [Margin(name, over, said)]


def _standby(parts: Parts, design: Design) -> list[Margin]:
    """Say how a standby generator compares with what it must carry."""
    d = design.drivers
    held = vital(parts, design.bed_area, d, d["cold_store_volume"])
    if d["generator_power"] <= 0.0:
        return []
    over = d["generator_power"] / held
    said = (
        f"The standby generator, {d['generator_power']:.1f} kW, is {over:.1f} times the load of "
        f"{outages.carried(parts)}."
    )
    return [Margin("generator", over, said)]


def turnover(parts: Parts, design: Design) -> float:
    """Return how often an hour the beds' water is renewed. [1/h]"""
    held = design.bed_area * base(beds.water_depth(parts.bed))
    if parts.design.bed == "raft":
        return design.drivers["flow"] / max(held, 1e-9)
    return base(parts.bed.floods) / 24.0


def bed_facts(parts: Parts, design: Design, water: np.ndarray) -> list[tuple[str, float, str]]:
    """Return the beds' lines of the design sheet, at the coldest water of the year [degC]."""
    rules, area, d = parts.nitrification, design.bed_area, design.drivers
    surface = base(parts.bed.surface) * area + base(rules.filter_surface) * d["biofilter_volume"]
    rate = float(nitrification.surface_rate(rules, water, parts.oxygen.least).min())
    tan = nitrification.ammonia(np.full((1, 1), design.feed_per_day), parts.species.feed_protein)
    solids = base(parts.water.solids_per_feed) * design.feed_per_day
    return [
        ("Feed over fish-tank volume", design.feed_per_day / d["fish_tank_volume"], "kg/m3/day"),
        ("Bed water renewed an hour", turnover(parts, design), "1/h"),
        ("Nitrifying surface of beds and filter", surface, "m2"),
        ("Nitrifying surface that the coldest water asks", base(tan) * 1000.0 / rate, "m2"),
        ("Solids made, dry", solids, "kg/day"),
        ("Nursery floor", d["nursery_area"], "m2"),
        ("Plants set out a week", d["plants_year"] / MEAN_MONTH / 12.0 * 7.0, "plant"),
    ]
