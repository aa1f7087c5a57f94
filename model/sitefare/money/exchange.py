"""How does the exchange rate move after the appraisal date, and with it the price of imports?

Imports are priced in US dollars, which stand for the currencies they are bought in. Their local
price follows US inflation and the exchange rate. The rate follows the difference in inflation
(relative purchasing power parity) with a real change on top, or parity alone, or a peg, or a
table that the site states. Rates are local money for one dollar over that of the appraisal date.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, build_all, inputs, quantity
from sitefare.assumptions.shocks import shock
from sitefare.errors import AssumptionError
from sitefare.money.project import EconomyInputs
from sitefare.timeline import Timeline


@inputs("exchange", keyed=True, measure="over_spot")
class ExchangePoint:
    """One point of a stated path of the exchange rate."""

    year: Array = quantity(
        "year", low=0, high=60, varies="choice", doc="Years from the appraisal date."
    )
    over_spot: Array = quantity(
        "1", low=1e-6, varies="choice",
        doc="Local money for one USD, over that of the appraisal date.",
    )  # fmt: skip


def parity(home: Array, foreign: Array, timeline: Timeline) -> Array:
    """Return the rate path of relative purchasing power parity, (draws, months + 1). [1]

    S(t) ÷ S(0) = ((1 + home inflation) ÷ (1 + foreign inflation))^t (Cassel 1918).
    """
    return timeline.growth((1.0 + home) / (1.0 + foreign) - 1.0)


def stated(values: Values, after: Array, timeline: Timeline) -> Array:
    """Return the table's path: geometric between its years, along `after` beyond them. [1]

    Raises
    ------
    AssumptionError
        If the table has no later year, or a year twice.
    """
    points = sorted(
        (float(p.year[0, 0]), float(p.over_spot[0, 0]))
        for p in build_all(ExchangePoint, values).values()
    )
    years = np.array([year for year, _ in points])
    if len(points) < 2 or years[0] != 0 or np.any(np.diff(years) <= 0):  # noqa: PLR2004
        msg = (
            "economy.exchange_path is stated_table: the table exchange needs year 0 and at least "
            "one later year, none twice"
        )
        raise AssumptionError(msg)
    when = timeline.month / 12.0
    inside = np.exp(np.interp(when, years, np.log([rate for _, rate in points])))
    last = int(np.searchsorted(when, years[-1], side="right")) - 1
    beyond = np.where(timeline.month > last, after / after[:, last : last + 1], 1.0)
    return np.asarray(inside[None, :] * beyond, dtype=np.float64)


def rate_path(values: Values, timeline: Timeline) -> Array:
    """Return local money for one USD over that of the appraisal date, (draws, months + 1). [1]

    Raises
    ------
    AssumptionError
        If a stated table is asked for and not given.
    """
    economy = build(EconomyInputs, values)
    even = parity(economy.inflation, economy.foreign_inflation, timeline)
    if economy.currency == "USD" or economy.exchange_path == "pegged":
        return np.ones((1, timeline.months + 1))
    if economy.exchange_path == "stated_table":
        return stated(values, even, timeline)
    if economy.exchange_path == "constant_real":
        return even
    return even * timeline.growth(economy.real_depreciation)


def import_path(values: Values, timeline: Timeline) -> Array:
    """Return the nominal local price of what keeps its real price abroad. [1]"""
    economy = build(EconomyInputs, values)
    abroad = economy.inflation if economy.currency == "USD" else economy.foreign_inflation
    return timeline.growth(abroad) * rate_path(values, timeline) * shock(values, "exchange")
