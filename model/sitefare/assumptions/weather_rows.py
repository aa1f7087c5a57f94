"""Which hourly weather file does a site name, and which of its facts does the file answer?

The row `climate.weather_file` names it by a path relative to the site's folder; 'none' is a
site of monthly normals. What the site gives itself stands; the file answers the rest of the
monthly climate and the design temperatures, but for rain: the months of a typical year are
picked for sun and temperature, and its rain is mostly missing.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.files import shown
from sitefare.assumptions.library import Layer, Library
from sitefare.assumptions.rows import Row, accepted_span, declared_field
from sitefare.assumptions.typical_days import full_hours, typical_days
from sitefare.assumptions.weather import HourlyYear, read_weather, saturation
from sitefare.errors import AssumptionError

NAME = "climate.weather_file"

#: Words that mean a site of monthly normals.
NO_FILE = ("", "none")

#: Furthest that the station may stand from the site, in degrees of latitude. [degree]
MOST_AWAY = 5.0

#: Furthest that its height may lie from the site's: 500 m are about 3 K and 6 % of pressure. [m]
MOST_ABOVE = 500.0


def site_weather(
    library: Library,
    site: str,
    layers: Iterable[Layer],
    settings: Sequence[str],
    folder: Path | None = None,
) -> tuple[HourlyYear, Path, Layer] | None:
    """Return a site's hourly year, its file and the rows it answers; None with normals.

    The file stands in the site's folder, unless another is given.

    Raises
    ------
    AssumptionError
        If the file lies outside the site's folder, is missing or is refused.
    """
    rows: dict[str, Row] = {}
    for layer in layers:
        rows.update(layer.rows)
    row = rows.get(NAME)
    word = _named(row, settings)
    if row is None or word in NO_FILE:
        return None
    folder = folder or library.folder / "sites" / site
    path = _inside(folder, word, row)
    year = read_weather(path, f"{shown(folder / 'site.csv').rpartition('/')[0]}/{word}")
    _check_place(year, rows)
    label = f"site {site}, weather file"
    found = {name: _row(name, x, year, row, label, word) for name, x in _answers(year).items()}
    return year, path, Layer(label, found)


def _named(row: Row | None, settings: Iterable[str]) -> str:
    """Return the file named by the last setting of it, or else by its row."""
    word = "" if row is None else row.text
    for setting in settings:
        name, _, given = (part.strip() for part in setting.partition("="))
        word = given if name == NAME else word
    return word


def _inside(folder: Path, word: str, row: Row) -> Path:
    """Return the file's path, refusing one that leaves the site's folder.

    Raises
    ------
    AssumptionError
        Naming the row.
    """
    path = (folder / word).resolve()
    if Path(word).is_absolute() or not path.is_relative_to(folder.resolve()):
        msg = (
            f"{row.where}: {NAME} '{word}' leaves the site's folder; a path inside it, such as "
            "weather/station.epw, or none is accepted"
        )
        raise AssumptionError(msg)
    return path


def _check_place(year: HourlyYear, rows: Mapping[str, Row]) -> None:
    """Refuse a station of another climate.

    Raises
    ------
    AssumptionError
        Naming both latitudes.
    """
    row = rows.get("place.latitude")
    if row is not None and abs(row.base - year.latitude) > MOST_AWAY:
        msg = (
            f"{year.file}: its station stands at latitude {year.latitude:g} and the site at "
            f"{row.base:g} ({row.where}); at most {MOST_AWAY:g} degrees apart is accepted"
        )
        raise AssumptionError(msg)
    row = rows.get("place.elevation")
    if row is not None and abs(row.base - year.elevation) > MOST_ABOVE:
        msg = (
            f"{year.file}: its station stands at {year.elevation:g} m and the site at "
            f"{row.base:g} m ({row.where}); at most {MOST_ABOVE:g} m apart is accepted"
        )
        raise AssumptionError(msg)


def _monthly(year: Array, of_day: Callable[..., Array] = np.mean) -> Array:
    """Return the mean over each month's days of a figure of the day, (12,). [same unit]"""
    days = of_day(year.reshape(365, 24), axis=1)
    starts = np.cumsum(DAYS.astype(int)) - DAYS.astype(int)
    return np.asarray(np.add.reduceat(days, starts) / DAYS)


def _answers(year: HourlyYear) -> dict[str, tuple[Array, str]]:
    """Return what the file answers by name: twelve numbers or one, and what to say of them.

    Humidity is the month's mean vapour pressure over the saturation pressure of FAO-56 eq. 12,
    so that eq. 19 gives the vapour back.
    """
    temperature, spread = _monthly(year.temperature), _monthly(year.temperature, np.ptp)
    high, low = temperature + spread / 2.0, temperature - spread / 2.0
    saturated = (saturation(high) + saturation(low)) / 2.0
    humidity = np.clip(_monthly(year.vapour) / saturated, 0.02, 1.0)
    wet = f"99 % of hours are cooler; mean coincident wet bulb {year.design_wet_bulb:.1f} degC"
    return {
        "climate.temperature": (temperature, "month means"),
        "climate.temperature_range": (spread, "mean of each day's highest less lowest hour"),
        "climate.humidity": (humidity, "mean vapour pressure over FAO-56 eq. 12"),
        "climate.sunshine": (_monthly(year.sunshine, np.sum) * 0.0036, "month means"),
        "climate.wind": (_monthly(year.wind), "month means, taken as at 10 m"),
        "place.design_temperature_low": (np.array([year.design_low]), "99 % of hours are warmer"),
        "place.design_temperature_high": (np.array([year.design_high]), wet),
    }


def _row(
    name: str, found: tuple[Array, str], year: HourlyYear, named: Row, layer: str, word: str
) -> Row:
    """Make the row of one answer, with the tail of the row that names the file.

    Raises
    ------
    AssumptionError
        If it lies outside what the field accepts.
    """
    numbers, words = found
    declared = declared_field(name)
    if declared is None:
        msg = f"{name} is not declared"
        raise AssumptionError(msg)
    spec = declared[3]
    low, high = float(np.min(numbers)), float(np.max(numbers))
    if not spec.low <= low <= high <= spec.high:
        msg = (
            f"{year.file}: {name} computed from it reads {low:g} to {high:g}; "
            f"{accepted_span(spec)} is accepted, so give the row in the site's own tables"
        )
        raise AssumptionError(msg)
    months = tuple(float(x) for x in numbers) if numbers.size > 1 else ()
    return Row(
        name=name, spec=spec, unit=spec.unit, low=None,
        base=float("nan") if months else float(numbers[0]), high=None, text="", months=months,
        varies="choice", source=named.source, locator=word, as_of=named.as_of, basis=named.basis,
        note=f"Computed from the hourly file ({words}): {year.title}.",
        where=f"{named.where} ({word})", layer=layer,
    )  # fmt: skip


@lru_cache(maxsize=8)
def weather_values(year: HourlyYear) -> dict[str, Array]:
    """Return what the farm reads of an hourly year, beside the rows.

    `weather.…` are three typical days a month (1, 12, 72), `weather_year.…` every hour by month
    (1, 12, 744); neither varies by draw.
    """
    typical = {f"weather.{name}": x for name, x in typical_days(year).items()}
    return {**typical, **{f"weather_year.{name}": x for name, x in full_hours(year).items()}}
