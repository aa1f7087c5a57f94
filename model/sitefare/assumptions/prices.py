"""How does a price of another date or currency become one of the appraisal date at the site?

A price moves to the appraisal date in its own currency by its own index, then converts once at
the appraisal date's spot rate. The USD index is the table `price_index` of common/; the site's
currency moves by the site's inflation.
"""

import math
from collections.abc import Mapping

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity, text
from sitefare.assumptions.rows import Row
from sitefare.assumptions.units import currencies
from sitefare.errors import AssumptionError


@inputs("price_index", keyed=True, measure="value")
class PriceIndexInputs:
    """One year's mean of a price index."""

    series: str = text(doc="Series the value belongs to: usd_general")
    year: Array = quantity("year", low=1900, high=2200, doc="Calendar year of the mean")
    value: Array = quantity("1", low=0, doc="Index value, any base", varies="choice")


def point_in_time(as_of: str) -> float:
    """Return a year or month as years: the middle of it. [year]"""
    year, _, month = as_of.partition("-")
    return float(year) + ((float(month) - 0.5) / 12 if month else 0.5)


def index_at(points: Mapping[float, float], when: float) -> float:
    """Return an index at a time: geometric between yearly means, the last growth after them. [1]

    Raises
    ------
    AssumptionError
        If the time lies before the first mean.
    """
    times = sorted(points)
    if when < times[0] - 1e-9:
        msg = f"a price of {when:.1f} is older than the price index, which starts in {times[0]:.1f}"
        raise AssumptionError(msg)
    later = next((i for i, t in enumerate(times) if t >= when), len(times) - 1)
    last, first = times[max(later, 1)], times[max(later, 1) - 1]
    share = (when - first) / (last - first)
    return math.exp((1 - share) * math.log(points[first]) + share * math.log(points[last]))


def prices_to_date(rows: Mapping[str, Row], appraisal: str) -> dict[str, Row]:
    """Move every money row to the appraisal date and into the site's currency.

    Raises
    ------
    AssumptionError
        If a row is in a third currency.
    """
    home = rows["economy.currency"].text
    if home not in currencies():
        where = rows["economy.currency"].where
        msg = f"{where}: economy.currency '{home}' is no ISO 4217 code, such as KES or USD"
        raise AssumptionError(msg)
    rate = 1.0 if home == "USD" else rows["economy.exchange_rate"].base
    inflation = rows["economy.inflation"].base
    usd = {
        rows[name.replace(".value", ".year")].base + 0.5: row.base
        for name, row in rows.items()
        if name.startswith("price_index.") and name.endswith(".value")
        and rows[name.replace(".value", ".series")].text == "usd_general"
    }  # fmt: skip
    now = point_in_time(appraisal)
    moved: dict[str, Row] = {}
    for name, row in rows.items():
        if row.currency in ("", home) and not (row.currency and home == "USD"):
            factor = (1 + inflation) ** (now - point_in_time(row.as_of)) if row.currency else 1.0
        elif row.currency == "USD":
            factor = index_at(usd, now) / index_at(usd, point_in_time(row.as_of)) * rate
        else:
            msg = (
                f"{row.where}: {name} is in {row.currency}; USD and the site's {home} are accepted"
            )
            raise AssumptionError(msg)
        moved[name] = row if math.isclose(factor, 1.0) else row.scaled(factor)
    return moved
