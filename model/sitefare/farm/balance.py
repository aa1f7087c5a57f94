"""How much feed do the plants ask for, and by how much do fish and plants miss each other?

Two bases are in use. The feed-rate ratio (grams of feed a day for a square metre) is common
practice; it was found on farms that keep every nutrient, the scarce ones above all, at the
level plants like, with solids taken out and nitrate let go, so plants then take only some
4 to 10 % of the feed's nitrogen. The nitrogen basis gives as much feed as holds the plants'
nitrogen after fish, solids and gas; plants then take 15 to 45 % of it, as trials print, and
what else they lack is dosed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np

from sitefare.arrays import Array, day_mean, year_sum
from sitefare.farm.beds import BedInputs
from sitefare.farm.crops import CropInputs, CropSeason
from sitefare.farm.fish import SpeciesInputs
from sitefare.farm.months import last_year, named
from sitefare.farm.nutrients import IN_PROTEIN, Balance, NutrientInputs
from sitefare.farm.potassium import Potassium
from sitefare.timeline import Timeline

#: Share of a figure below which a miss is not worth a sentence. [1]
NOTED = 0.02


def feed_by_ratio(crops: Mapping[str, tuple[CropInputs, Array]], bed: BedInputs) -> Array:
    """Return feed that a square metre of planted bed asks by the feed-rate ratio. [g/m2/day]

    Rakocy (2007) for rafts, FAO 589 for media: the crops' ratios by their mean share of bed.
    """
    mix = sum((c.feed_ratio * day_mean(share) for c, share in crops.values()), np.zeros((1, 1)))
    return mix * bed.ratio_factor


def nitrogen_left(rules: NutrientInputs, species: SpeciesInputs) -> Array:
    """Return nitrogen that plants can have of feed: after fish, solids and gas. [kg/kg]"""
    fed = species.feed_protein * IN_PROTEIN
    kept = np.minimum(species.body_nitrogen / species.feed_conversion, fed)
    dissolved = np.maximum(fed - kept - rules.solids_nitrogen * fed, 0.0)
    return dissolved * (1.0 - rules.gas)


def feed_by_nitrogen(
    seasons: Mapping[str, CropSeason], left: Array, margin: Array, area: float
) -> Array:
    """Return feed whose nitrogen meets a year of the plants' with a margin. [g/m2/day]

    Parameters
    ----------
    left : Array, shape (draws, 1)
        Nitrogen that plants can have of the feed. [kg/kg]
    margin : Array, shape (draws, 1)
        Nitrogen given over nitrogen taken. [1]
    area : float
        Bed area. [m2]
    """
    taken = sum(
        (year_sum(s.growth * s.inputs.nitrogen) for s in seasons.values()), np.zeros((1, 1))
    )
    return taken * margin / np.maximum(left, 1e-9) / 365.0 * 1000.0 / area


@dataclass(frozen=True)
class Miss:
    """Nitrogen of a typical year, (draws, 12). [kg/month]

    `feed` brings it, `plants` take it, `spare` leaves unused with exchanged water, `short` is
    what plants could take beyond what there is.
    """

    feed: Array
    plants: Array
    spare: Array
    short: Array


def miss(nitrogen: Balance, timeline: Timeline) -> Miss:
    """Return by how much fish and plants miss each other in the life's last year. [kg]"""
    short = np.maximum(nitrogen.demand - nitrogen.plants, 0.0)
    flows = (nitrogen.feed, nitrogen.plants, nitrogen.exchange, short)
    return Miss(*(last_year(flow, timeline) for flow in flows))


def by_month(found: Miss) -> dict[str, Array]:
    """Return what is spare and short by the names charts and checks read. [kg/month]"""
    return {"nitrogen_spare_kg": found.spare, "nitrogen_short_kg": found.short}


def tables(balances: Mapping[str, Balance | Potassium], timeline: Timeline) -> dict[str, Array]:
    """Return every way of each element in the life's last year, (draws, 12). [kg/month]

    Named `ELEMENT_PART_kg`, such as `phosphorus_solids_kg`; an element's parts close.
    """
    return {
        f"{element}_{part.name}_kg": last_year(getattr(found, part.name), timeline)
        for element, found in balances.items()
        for part in fields(found)
    }


def bed_for_spare(found: Miss, area: float) -> Array:
    """Return further bed, planted alike, that would take the year's spare nitrogen. [m2]"""
    taken = year_sum(found.plants)
    return year_sum(found.spare) / np.where(taken > 0.0, taken, np.inf) * area


def sentences(found: Miss, area: float, *, by_ratio: bool) -> list[str]:
    """Say by how much fish outrun plants, or plants fish, in the first draw.

    `by_ratio` where a feed-rate ratio sets the feed, which balances no nitrogen.
    """
    feed, plants, spare, short = (
        float(year_sum(x)[0, 0]) for x in (found.feed, found.plants, found.spare, found.short)
    )
    said = []
    if spare > NOTED * feed:
        more = float(bed_for_spare(found, area)[0, 0])
        beds = f"; {more:,.0f} m2 more bed would take it" if plants > 0.0 else ""
        basis = (
            " Feed-rate ratios ask that; feed by the plants' nitrogen (farm_design.feed_basis) "
            "would ask less."
            if by_ratio
            else ""
        )
        said.append(
            f"The fish outrun the plants: of {feed / 12:,.1f} kg of nitrogen a month in feed "
            f"plants take {plants / 12:,.1f} ({plants / feed:.0%}) and {spare / 12:,.1f} "
            f"({spare / feed:.0%}) leave unused{beds}.{basis}"
        )
    if short > NOTED * (plants + short):
        lean = np.flatnonzero(found.short[0] > NOTED * (found.plants[0] + found.short[0]))
        said.append(
            f"The plants outrun the fish in {named([int(m) for m in lean])}: they could take "
            f"{short / lean.size:,.1f} kg of nitrogen a month more than there is "
            f"({short / (plants + short):.0%} of the year's)."
        )
    return said
