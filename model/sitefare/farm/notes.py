"""What do the figures of the first draw leave out or run short of, in sentences."""

from collections.abc import Mapping

import numpy as np

from sitefare.arrays import Array
from sitefare.farm import alternative, crops, outages, treatment
from sitefare.farm.alternative import FieldAlternative
from sitefare.farm.dispatch import Dispatch
from sitefare.farm.months import NAMES, named
from sitefare.farm.parts import Parts
from sitefare.farm.salinity import Salts
from sitefare.farm.season import Season
from sitefare.timeline import Timeline

#: Months after works in which a new farm fills up, left out of gaps in the harvest. [month]
FILLING = 24

#: Share of its yield under which a crop in salt is worth a sentence. [1]
SALT_NOTED = 0.98

#: Rain that overflows in a year below which nothing is said. [m3]
OVERFLOW_NOTED = 1.0

#: Share of the load that outages may cut before it is worth a sentence. [1]
CUT_NOTED = 0.01


def growth(parts: Parts, season: Season, fed: Array) -> list[str]:
    """Say where crops and fish do not grow, and where plants are hungry.

    Parameters
    ----------
    fed : Array, shape (draws, months + 1)
        Share of plants' growth that nutrients allow. [1]
    """
    titles = {key: crop.title for key, (crop, _) in parts.crops.items()}
    said = ["Culls and survival are ordinary ones; losses to rare events are reckoned apart."]
    for key, months in crops.idle_months(season.crops).items():
        said.append(f"{titles[key]} cannot grow in {named(months)}.")
    for key, s in season.crops.items():
        if np.any(s.growth[0] > 0.0) and not np.any(s.growth[0] * s.cut[0] > 0.0):
            said.append(f"{titles[key]} does not ripen in the months the plan gives it.")
    leanest = float(np.min(fed[0, -12:]))
    if leanest < 0.99:  # noqa: PLR2004
        said.append(
            f"In the leanest month the fish feed {leanest:.0%} of what the plants could take."
        )
    return said + _hot(parts, season) + _cool(parts, season)


def _cool(parts: Parts, season: Season) -> list[str]:
    """Say in which months the water heater falls short of the fish's target."""
    target = float(parts.species.water_target[0, 0])
    short = season.water[0] < target - 0.1  # a tenth of a kelvin is no matter to fish
    if parts.design.heated_water == "no" or not np.any(short):
        return []
    months = named([int(m) for m in np.flatnonzero(short)])
    coolest = float(season.water[0].min())
    return [f"The water heater cannot hold {target:g} degC in {months}: down to {coolest:.1f}."]


def _hot(parts: Parts, season: Season) -> list[str]:
    """Say in which months the water is too warm for the fish to grow, or to live."""
    species, water = parts.species, season.water[0]
    most = float(species.temperature_most[0, 0])
    said = []
    if np.any(water > most):
        months = named([int(m) for m in np.flatnonzero(water > most)])
        said.append(f"{species.title} stops growing in {months}: the water passes {most:g} degC.")
    if np.any(water > species.lethal_high[0]):
        said.append("The water passes what the fish can bear in the warmest month.")
    return said


def fish_gap(harvest: Array, timeline: Timeline) -> list[str]:
    """Say the longest run of months, two or more, in which full years give no fish.

    Parameters
    ----------
    harvest : Array, shape (draws, months + 1)
        Live fish harvested. [kg]
    """
    first = timeline.construction + FILLING + 1
    best, run = range(0), range(0)
    for month in range(first, timeline.months + 1):
        none = float(harvest[0, month]) <= 0.0
        run = range(run.start if run else month, month + 1) if none else range(0)
        best = max(best, run, key=len)
    if len(best) < 2:  # noqa: PLR2004
        return []
    begin, end = NAMES[timeline.calendar[best[0]]], NAMES[timeline.calendar[best[-1]]]
    return [f"In full years up to {len(best)} months in a row, {begin} to {end}, give no fish."]


def supply(cut: Array, load: Array, sun: Dispatch | None) -> list[str]:
    """Say how much electricity [kWh] outages cut in the last year, and what the sun delivers."""
    return [*_unserved(cut, load), *outages.solar_words(sun)]


def _unserved(cut: Array, load: Array) -> list[str]:
    """Say how much electricity [kWh] outages cut in the last year, if it is much."""
    less, asked = float(np.sum(cut[0, -12:])), float(np.sum(load[0, -12:]))
    if less <= CUT_NOTED * asked:
        return []
    return [f"{less:,.0f} kWh a year of lamps, heat and cooling are not served in outages."]


def overflow(over: Array) -> list[str]:
    """Say how much rain [m3] open beds cannot keep, in a year of the first draw."""
    year = float(np.sum(over[0, -12:]))
    if year < OVERFLOW_NOTED:
        return []
    return [
        (
            f"Rain overflows the open beds: {year:,.0f} m3 a year leave and take salt and "
            "nutrients along; lids in wet months would keep it out."
        )
    ]


def water(parts: Parts, kept: Mapping[str, Array], field: FieldAlternative) -> list[str]:
    """Say what the source water asks, which crops salt thins, and which no field here grows.

    Parameters
    ----------
    kept : Mapping
        Share of growth that salt leaves each crop, (draws, months + 1). [1]
    """
    titles = {key: crop.title for key, (crop, _) in parts.crops.items()}
    worst = {k: float(x[0, -12:].min()) for k, x in kept.items()}
    thinned = [
        f"Salt in the water leaves {titles[k]} {share:.0%} of its yield in the worst month."
        for k, share in worst.items()
        if share < SALT_NOTED
    ]
    outdoors = alternative.seasons_named(field, titles)
    return [*treatment.cautions(parts.source), *thinned, *outdoors]


def let_go(uses: Mapping[str, Array], salts: Salts, timeline: Timeline) -> list[str]:
    """Say where rain overflows, and where more water is let go than evaporates, and for what.

    Amounts are those of the water table: the mean of whole years once the farm has filled.

    Parameters
    ----------
    uses : Mapping
        Water by use and month. [m3]
    """
    discharge, gone = uses["discharge"], uses["transpiration"] + uses["evaporation"]
    year, dry = _settled_year(discharge, timeline), _settled_year(gone, timeline)
    spilled = overflow(uses["rain_overflow"])
    if year <= dry:
        return spilled
    # what salt alone asks beyond leaks, sludge and rain; the rest is let go against nitrate
    drained = salts.leaving - uses["leaks"] - uses["sludge"] - uses["rain_overflow"]
    salt = _settled_year(np.minimum(np.maximum(drained, 0.0), discharge), timeline)
    what, saves = (
        ("Nitrate that plants leave", "more bed or less feed")
        if salt < year / 2.0
        else ("Salt of the source and the feed", "rain, purer water or feed with less salt")
    )
    return [
        *spilled,
        (
            f"{what} makes the farm let go of {year:,.0f} m3 of water a year, more than the "
            f"{dry:,.0f} m3 that evaporate: {saves} would save some of it."
        ),
    ]


def _settled_year(flow: Array, timeline: Timeline) -> float:
    """Return the mean year of a flow's first draw, years in which the farm fills left out."""
    first = min(-(-(timeline.construction + FILLING) // 12) + 1, timeline.years)
    return float(np.mean(timeline.by_year(flow)[0, first:]))
