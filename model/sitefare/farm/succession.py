"""What does the grower sow, plant out and cut in each month of a full year?

Beds are planted in weekly batches, so that each week's harvest is alike: sow a batch every
week, its nursery days before the beds are ready, and plant out what the last weeks' cutting has
cleared. Figures are of the first draw, at full size and before rare events and nutrients.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.farm import crops
from sitefare.farm.crops import CropSeason
from sitefare.farm.months import NAMES
from sitefare.farm.parts import Parts
from sitefare.farm.season import Season


@dataclass(frozen=True)
class SuccessionLine:
    """One crop in one calendar month, 0 for January.

    Plants in the month and in a weekly batch, whole; days in the nursery and from planting out
    to the first cut, then the days it is picked; bed standing and bed planted anew [m2];
    marketable harvest [kg], and what a plant gives of it over its life [g]. `grows` says whether
    the bed is worth planting; where it is not, nothing is planted out.
    """

    crop: str
    title: str
    month: int
    grows: bool
    sow: int
    weekly_sowing: int
    plant_out: int
    weekly_planting: int
    nursery_days: int
    days_to_harvest: int
    days_picked: int
    bed: float
    bed_turned: float
    harvest: float
    plant_weight: float

    @property
    def rule(self) -> str:
        """The month's rule for weekly batches, as a sentence."""
        if self.plant_out == 0:
            return f"{self.title}, {NAMES[self.month]}: nothing is planted out."
        picked = f" and picked for {self.days_picked}" if self.days_picked else ""
        return (
            f"{self.title}, {NAMES[self.month]}: plant out {self.weekly_planting} a week, sown "
            f"{self.nursery_days} days before; cut {self.days_to_harvest} days after{picked}."
        )


def sown_by_month(started: Array, nursery_days: Array) -> Array:
    """Return plants sown in each month for those planted out in each, (draws, 12). [plant/month]

    Sowing runs the nursery days ahead, round the year, and sums to what is planted.
    """
    draws = max(started.shape[0], nursery_days.shape[0])
    started = np.broadcast_to(started, (draws, 12))
    ends = np.concatenate([[0.0], np.cumsum(DAYS)])
    stock = np.concatenate([np.zeros((draws, 1)), np.cumsum(started, axis=1)], axis=1)
    later = ends[None, :] + nursery_days
    years, day = np.floor(later / 365.0), later % 365.0
    after = np.clip(np.searchsorted(ends, day, side="right") - 1, 0, 11)
    share = (day - ends[after]) / DAYS[after]
    begun = np.take_along_axis(stock, after, axis=1)
    within = np.take_along_axis(started, after, axis=1) * share
    total = years * stock[:, -1:] + begun + within
    return np.asarray(np.diff(total, axis=1))


def succession(parts: Parts, season: Season) -> tuple[SuccessionLine, ...]:
    """Return a line for each crop of the plan and calendar month, January first, first draw."""
    return tuple(line for key in parts.crops for line in _lines(key, season.crops[key]))


def _lines(key: str, season: CropSeason) -> list[SuccessionLine]:
    """Return the twelve lines of one crop."""
    crop = season.inputs
    started, out = crops.plants_started(season), crops.plants_set(season)
    sow = sown_by_month(started, crop.nursery_days)[0]
    ripe = crops.ripening_days(season)[0]
    cut = (season.growth * season.cut)[0]
    turned = (out / crop.plants)[0]
    plants = float(np.sum(out[0]))
    weight = 1000.0 * float(np.sum(cut)) / plants if plants > 0.0 else 0.0
    return [
        SuccessionLine(
            crop=key,
            title=crop.title,
            month=m,
            grows=bool(season.grows[0, m] > 0.0),
            sow=_whole(sow[m]),
            weekly_sowing=_whole(sow[m] / DAYS[m] * 7.0),
            plant_out=_whole(out[0, m]),
            weekly_planting=_whole(out[0, m] / DAYS[m] * 7.0),
            nursery_days=round(float(crop.nursery_days[0, 0])),
            days_to_harvest=round(float(ripe[m])),
            days_picked=round(float(crop.days_picked[0, 0])),
            bed=float(season.occupied[0, m]),
            bed_turned=float(turned[m]),
            harvest=float(cut[m]),
            plant_weight=weight,
        )
        for m in range(12)
        if season.area[0].max() > 0.0
    ]


def _whole(plants: float) -> int:
    """Round plants up to whole ones."""
    return int(np.ceil(plants - 1e-9))
