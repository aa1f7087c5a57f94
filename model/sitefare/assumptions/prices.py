"""How does a price of another date or currency become one of the appraisal date at the site?

A price moves to the appraisal date in its own currency by its own index, then converts once at
the appraisal date's spot rate. An item names its index in the column `index` of its table, any
other price in its declaration; the index of a price in USD is the series `usd_` and that name in
the table `price_index`. A site may give series of its own currency, such as `eur_building`, or
`eur_general` for all; without one, its currency moves by the site's inflation.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity, text
from sitefare.assumptions.rows import Row
from sitefare.assumptions.units import currencies
from sitefare.errors import AssumptionError


@inputs("price_index", keyed=True, measure="value")
class PriceIndexInputs:
    """One year's mean of a price index."""

    series: str = text(doc="Series the value belongs to, such as usd_general")
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


def series_of(rows: Mapping[str, Row]) -> dict[str, dict[float, float]]:
    """Gather the price indices: by series, the mean of each year at its middle. [1]

    Raises
    ------
    AssumptionError
        If a series has one mean only.
    """
    found: dict[str, dict[float, float]] = {}
    for name, row in rows.items():
        if name.startswith("price_index.") and name.endswith(".value"):
            series = rows[name.replace(".value", ".series")].text
            year = rows[name.replace(".value", ".year")].base
            found.setdefault(series, {})[year + 0.5] = row.base
    for series, points in found.items():
        if len(points) < 2:  # noqa: PLR2004
            msg = f"price_index: the series '{series}' has one year; an index needs two or more"
            raise AssumptionError(msg)
    return found


def index_name(name: str, row: Row, rows: Mapping[str, Row]) -> str:
    """Name the index of a price: its item's own, else its declaration's."""
    own = rows.get(name.rpartition(".")[0] + ".index")
    return row.spec.index if own is None else own.text


@dataclass(frozen=True)
class Escalation:
    """How prices move to the appraisal date `now` [year]: indices by series, and inflation."""

    series: Mapping[str, Mapping[float, float]]
    now: float
    inflation: float

    def factor(self, row: Row, index: str) -> float:
        """Return a price at the appraisal date over its own date's, in its own currency. [1]

        Raises
        ------
        AssumptionError
            If its index is not in the table, or starts after its date.
        """
        then, code = point_in_time(row.as_of), row.currency.lower()
        points = self.series.get(f"{code}_{index}")
        if points is None and code != "usd":
            points = self.series.get(f"{code}_general")
            if points is None:
                return float((1 + self.inflation) ** (self.now - then))
        if points is None:
            known = ", ".join(sorted(s for s in self.series if s.startswith("usd_")))
            msg = (
                f"{row.where}: {row.name} moves by the price index 'usd_{index}', which the table "
                f"price_index does not have; it has {known}"
            )
            raise AssumptionError(msg)
        return index_at(points, self.now) / index_at(points, then)


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
    moves = Escalation(series_of(rows), point_in_time(appraisal), inflation)
    moved: dict[str, Row] = {}
    for name, row in rows.items():
        if not row.currency:
            factor = 1.0
        elif row.currency in (home, "USD"):
            spot = rate if row.currency == "USD" else 1.0
            factor = moves.factor(row, index_name(name, row, rows)) * spot
        else:
            msg = (
                f"{row.where}: {name} is in {row.currency}; USD and the site's {home} are accepted"
            )
            raise AssumptionError(msg)
        moved[name] = row if math.isclose(factor, 1.0) else row.scaled(factor)
    return moved
