"""Does each figure lie where published farms lie?

Outside a band is a caution, never an error: the band's source and the reason to look again
stand beside it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal
from sitefare.arrays import Array
from sitefare.assumptions.case import base_values
from sitefare.assumptions.declaration import build, build_all, choice, inputs, quantity, text
from sitefare.money.project import ProjectInputs, full_year_mean


@inputs("band", keyed=True, table=True)
class BandInputs:
    """One published band: the figure is odd above its top or below its bottom."""

    title: str = text(doc="The figure in words")
    unit: str = text(doc="Its unit in print", optional=True)
    why: str = text(doc="Why outside is odd")
    side: str = choice("above", "below", "both", doc="Where the odd side lies")
    bottom: Array = quantity("1", doc="Lowest usual figure, in the printed unit")
    top: Array = quantity("1", doc="Highest usual figure, in the printed unit")


@dataclass(frozen=True)
class Band:
    """One line of the reasonableness table; `figure` is nan where it does not apply.

    It is infinite where it has no end: a cost for each person-day where nobody is fed.
    """

    key: str
    title: str
    unit: str
    figure: float
    band: str
    why: str
    outside: bool
    side: str

    @property
    def applies(self) -> bool:
        """Whether the case has such a figure."""
        return not np.isnan(self.figure)

    @property
    def verdict(self) -> str:
        """Inside or outside in words; a band with one end says only that this end is kept."""
        if not self.applies:
            return "–"
        if self.outside:
            return "outside"
        kept = {"above": "not above its top", "below": "not below its floor", "both": "inside"}
        return kept[self.side]


def bands(appraisal: Appraisal) -> tuple[Band, ...]:
    """Hold an appraisal's base figures against every band."""
    table = build_all(BandInputs, base_values(appraisal.case))
    return tuple(_band(key, item, _figure(key, appraisal)) for key, item in table.items())


def _figure(key: str, appraisal: Appraisal) -> float:
    """Return the figure of one band; nan where the case has none."""
    return FIGURES[key](appraisal) if key in FIGURES else float("nan")


def _band(key: str, item: BandInputs, figure: float) -> Band:
    """Judge one figure."""
    bottom, top = float(item.bottom[0, 0]), float(item.top[0, 0])
    words = {
        "above": f"up to {top:,.6g}",
        "below": f"{bottom:,.6g} or more",
        "both": f"{bottom:,.6g} to {top:,.6g}",
    }
    low = item.side != "above" and figure < bottom
    high = item.side != "below" and figure > top
    unit = f" {item.unit}" if item.unit else ""
    return Band(
        key=key,
        title=item.title,
        unit=item.unit,
        figure=figure,
        band=words[item.side] + unit,
        why=item.why,
        outside=bool(low or high),
        side=item.side,
    )


def _value(appraisal: Appraisal, name: str) -> float:
    """Return an indicator at base."""
    return float(appraisal.indicators[name][0, 0])


def _over(top: float, bottom: float) -> float:
    """Divide; nan where there is nothing to divide by."""
    return top / bottom if bottom > 0 else float("nan")


def _yearly(appraisal: Appraisal, flow: Array) -> float:
    """Return a life flow's mean year in full production."""
    project = build(ProjectInputs, base_values(appraisal.case))
    return float(full_year_mean(project, appraisal.case.timeline, flow)[0, 0])


def _lettuce(appraisal: Appraisal, *, lit: bool) -> float:
    """Return the yield of lettuce on its own bed, if lamps burn as asked. [kg/m2/year]"""
    crops = appraisal.flows.crop_kg
    lamps = appraisal.flows.electricity_kwh["lamps"]
    if "lettuce" not in crops or (float(lamps.sum()) > 0) is not lit:
        return float("nan")
    share = appraisal.case.rows["plan.lettuce.share"].base
    return _over(_yearly(appraisal, crops["lettuce"]), appraisal.design.bed_area * share)


def _per_crop_kg(appraisal: Appraisal, name: str) -> float:
    """Return a yearly indicator for each kilogram of marketable vegetables."""
    return _over(_value(appraisal, name), _value(appraisal, "vegetables_marketable_kg_year"))


def _lit_energy(appraisal: Appraisal) -> float:
    """Return electricity a kilogram of crop where lamps burn. [kWh/kg]"""
    if float(appraisal.flows.electricity_kwh["lamps"].sum()) <= 0:
        return float("nan")
    return _per_crop_kg(appraisal, "electricity_kwh_year")


def _feed_conversion(appraisal: Appraisal) -> float:
    """Return feed over live fish, where the fish are tilapia. [kg/kg]"""
    if appraisal.design.species != "tilapia":
        return float("nan")
    feed = _yearly(appraisal, appraisal.flows.feed_kg)
    return _over(feed, _value(appraisal, "fish_live_kg_year"))


def _energy_per_fish(appraisal: Appraisal) -> float:
    """Return all electricity for each kilogram of live fish. [kWh/kg]"""
    electricity = _value(appraisal, "electricity_kwh_year")
    return _over(electricity, _value(appraisal, "fish_live_kg_year"))


def _plant_nitrogen(appraisal: Appraisal) -> float:
    """Return the share of feed nitrogen that plants take up. [%]"""
    return 100.0 * float(appraisal.flows.season["plant_share_of_feed_nitrogen"].mean())


def _bed_per_worker(appraisal: Appraisal) -> float:
    """Return paid posts for each 929 m² of bed. [1]"""
    posts = sum(float(x[0, -1]) for x in appraisal.flows.workers.values())
    return posts / (appraisal.design.bed_area / 929.0)


def _real_return(appraisal: Appraisal) -> float:
    """Return the real rate of return in per cent; nan where the money is not recovered."""
    rate = _value(appraisal, "irr")
    return 100.0 * rate if rate >= 0 else float("nan")


def _payback(appraisal: Appraisal) -> float:
    """Return the payback; nan where it never pays. [year]"""
    years = _value(appraisal, "payback_years")
    return years if np.isfinite(years) else float("nan")


FIGURES: dict[str, Callable[[Appraisal], float]] = {
    "unlit_lettuce": lambda a: _lettuce(a, lit=False),
    "lit_energy": _lit_energy,
    "tilapia_feed": _feed_conversion,
    "fish_energy": _energy_per_fish,
    "plant_nitrogen": _plant_nitrogen,
    "water_crop": lambda a: 1000.0 * _per_crop_kg(a, "water_makeup_m3_year"),
    "water_saved": lambda a: 100.0 * _value(a, "water_saved_share"),
    "workers": _bed_per_worker,
    "capital": lambda a: _value(a, "capex") / a.case.exchange_rate / a.design.bed_area,
    "real_return": _real_return,
    "payback": _payback,
    "local_price": lambda a: _over(
        _value(a, "cost_per_person_day"), _value(a, "alternative_cost_person_day")
    ),
}
