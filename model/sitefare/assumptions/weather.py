"""What does an hourly weather file say, hour by hour of one year?

EPW and TMY3 are read with pvlib into 8,760 hours of local standard time; hour h of a day covers
[h, h + 1). Both forms stamp an hour by its end: radiation is of the hour before the stamp, and
the reading at the stamp stands for that hour (Wilcox & Marion 2008, Users Manual for TMY3 Data
Sets, NREL/TP-581-43156, table 1-2; EnergyPlus, Auxiliary Programs, EPW data dictionary).
"""

import hashlib
import io
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, NoReturn

import numpy as np
import numpy.typing as npt

from sitefare.arrays import DAYS, Array, order_statistic
from sitefare.errors import AssumptionError

#: Hours of the year that a file must give. [h]
YEAR_HOURS = 8760

#: Relative humidity that is never above this was written as a share of one. [%]
MOST_AS_SHARE = 1.5

#: Longest gap that is filled in a straight line, and most hours filled in a column. [h]
LONGEST_GAP, MOST_FILLED = 6, 240

#: Furthest that the sun of a file may stand from the sun of its place, through the day. [h]
MOST_SHIFT = 1.0

#: Start of a TMY3 file's second line.
TMY3_HEADER = "Date (MM/DD/YYYY)"

#: Columns read: pvlib's name, words, unit, least and most that is believed.
COLUMNS: Mapping[str, tuple[str, str, str, float, float]] = {
    "temperature": ("temp_air", "dry-bulb temperature", "degC", -90.0, 60.0),
    "humidity": ("relative_humidity", "relative humidity", "%", 0.0, 110.0),
    "sunshine": ("ghi", "global horizontal radiation", "W/m2", 0.0, 1500.0),
    "diffuse": ("dhi", "diffuse horizontal radiation", "W/m2", 0.0, 1500.0),
    "wind": ("wind_speed", "wind speed", "m/s", 0.0, 60.0),
}


@dataclass(frozen=True, eq=False)
class HourlyYear:
    """A year by the hour in local standard time; arrays (8760,), read-only.

    Temperature [degC], vapour pressure [kPa], global and diffuse sun on level ground [W/m2],
    wind [m/s], cosine of the sun's zenith angle [1], negative below the horizon, and its
    azimuth from north through east [rad], both at the middle of the hour.
    """

    file: str
    form: str
    station: str
    latitude: float
    longitude: float
    elevation: float
    utc_offset: float
    filled: int
    split: bool
    temperature: Array
    vapour: Array
    sunshine: Array
    diffuse: Array
    wind: Array
    cos_zenith: Array
    azimuth: Array

    @property
    def title(self) -> str:
        """The station in words: what `check` and the register print."""
        north = "N" if self.latitude >= 0.0 else "S"
        east = "E" if self.longitude >= 0.0 else "W"
        words = (
            f"{self.form} of {self.station}, {abs(self.latitude):.2f} {north} "
            f"{abs(self.longitude):.2f} {east}, {self.elevation:.0f} m, {YEAR_HOURS:,} hours, "
            f"{self.filled} filled in short gaps"
        )
        return words + (", diffuse sun by Erbs et al. (1982)" if self.split else "")

    @cached_property
    def wet_bulb(self) -> Array:
        """Wet bulb of every hour at the station's height. [degC]"""
        return _wet_bulb(self.temperature, self.vapour, self.elevation)

    @property
    def design_low(self) -> float:
        """Temperature that 99 % of hours exceed. [degC]"""
        return order_statistic(np.sort(self.temperature), 0.01)

    @property
    def design_high(self) -> float:
        """Temperature that 1 % of hours exceed. [degC]"""
        return order_statistic(np.sort(self.temperature), 0.99)

    @property
    def design_wet_bulb(self) -> float:
        """Mean wet bulb of the hours within half a kelvin of the design high. [degC]"""
        near = np.abs(self.temperature - self.design_high) <= 0.5  # noqa: PLR2004
        return float(np.mean(self.wet_bulb[near]))


def saturation(temperature: Array) -> Array:
    """Return saturation vapour pressure over water, FAO-56 eq. 11. [kPa]"""
    return np.asarray(0.6108 * np.exp(17.27 * temperature / (temperature + 237.3)))


def _wet_bulb(temperature: Array, vapour: Array, elevation: float) -> Array:
    """Return the wet bulb by Newton's rule from FAO-56 eq. 7, 8 and 15. [degC]"""
    gamma = 0.000665 * 101.3 * ((293.0 - 0.0065 * elevation) / 293.0) ** 5.26
    wet = temperature
    for _ in range(6):
        held = saturation(wet)
        slope = 4098.0 * held / (wet + 237.3) ** 2
        wet = wet - (held - vapour - gamma * (temperature - wet)) / (slope + gamma)
    return wet


def is_hourly(path: Path) -> bool:
    """Say whether a CSV is a TMY3 weather file and so no table of assumptions."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        file.readline()
        return file.readline(40).decode("utf-8", "replace").startswith(TMY3_HEADER)


def read_weather(path: Path, shown: str) -> HourlyYear:
    """Read an EPW or TMY3 file into a year by the hour.

    Parameters
    ----------
    path : Path
        The file.
    shown : str
        Its name in messages.

    Raises
    ------
    AssumptionError
        If the file is missing, is of another form, or its year is broken: one sentence that
        names the file, what was found and what is accepted.
    """
    if not path.is_file():
        msg = f"{shown}: there is no such weather file; an EPW or TMY3 file is accepted"
        raise AssumptionError(msg)
    raw = path.read_bytes()
    return _year(shown, path.suffix.lower(), hashlib.sha256(raw).hexdigest(), raw)


@lru_cache(maxsize=8)
def _year(shown: str, suffix: str, digest: str, raw: bytes) -> HourlyYear:
    """Parse a file's bytes once; the digest keeps the look-up short."""
    del digest
    text = raw.decode("utf-8-sig", errors="replace")
    first, _, rest = text.partition("\n")
    if suffix == ".epw" and first.startswith("LOCATION"):
        form = "EPW"
    elif suffix == ".csv" and rest.startswith(TMY3_HEADER):
        form = "TMY3"
    else:
        start = " ".join(first[:40].split())
        _refuse(shown, f"its first line reads '{start}'", "an .epw file or a .csv in TMY3 form")
    table, meta = _parsed(shown, form, text)
    stamps = _stamps(shown, form, table)
    kept = ~((stamps[0] == 2) & (stamps[1] == 29))  # noqa: PLR2004
    _check_order(shown, stamps[:, kept])
    return _checked(shown, form, table[kept], meta)


def _refuse(shown: str, found: str, accepted: str) -> NoReturn:
    """Refuse a weather file.

    Raises
    ------
    AssumptionError
        Always.
    """
    msg = f"{shown}: not a usable weather file: {found}; accepted is {accepted}"
    raise AssumptionError(msg)


def _parsed(shown: str, form: str, text: str) -> tuple[Any, dict[str, Any]]:
    """Let pvlib parse the text: a data frame and the header."""
    from pvlib import iotools  # noqa: PLC0415  costs 0.3 s that a site without a file saves

    reader = iotools.read_epw if form == "EPW" else iotools.read_tmy3
    try:
        table, meta = reader(io.StringIO(text))
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError) as error:
        why = " ".join(str(error).split())[:100]
        _refuse(shown, f"it cannot be read as {form} ({why})", f"a whole {form} file")
    return table, meta


def _stamps(shown: str, form: str, table: Any) -> npt.NDArray[np.int64]:  # noqa: ANN401
    """Return month, day and beginning hour of every line, (3, lines).

    From the file's own columns: pvlib's index of a TMY3 file is the end of the hour and moves
    the last hour of a leap year's 28 February to 1 March; its index of an EPW file is the start.
    """
    import pandas as pd  # noqa: PLC0415

    if form == "EPW":
        found = [table["month"], table["day"], table["hour"] - 1]
    else:
        clock = table["Time (HH:MM)"].astype(str).str.split(":")
        if not (clock.str[1] == "00").all():
            _refuse(shown, "its times are not whole hours", "one line an hour, 01:00 to 24:00")
        date = pd.to_datetime(table["Date (MM/DD/YYYY)"], format="%m/%d/%Y")
        hour = clock.str[0].astype(int)
        date = date.where(hour > 0, date - pd.Timedelta(days=1))
        found = [date.dt.month, date.dt.day, hour.where(hour > 0, 24) - 1]
    return np.array([x.to_numpy() for x in found], dtype=np.int64)


def _check_order(shown: str, stamps: npt.NDArray[np.int64]) -> None:
    """Refuse a year that is not 8,760 hours from 1 January on."""
    accepted = f"{YEAR_HOURS:,} hours from 1 January on, a 29 February left out"
    if stamps.shape[1] != YEAR_HOURS:
        _refuse(shown, f"it holds {stamps.shape[1]:,} hours", accepted)
    wrong = np.flatnonzero(np.any(stamps != _calendar(), axis=0))
    if wrong.size:
        month, day, hour = stamps[:, wrong[0]]
        _, due, then = _calendar()[:, wrong[0]]
        due_month = _calendar()[0, wrong[0]]
        found = (
            f"month {month}, day {day}, hour {hour} to {hour + 1} stands where month {due_month}, "
            f"day {due}, hour {then} to {then + 1} should"
        )
        _refuse(shown, found, accepted)


@lru_cache(maxsize=1)
def _calendar() -> npt.NDArray[np.int64]:
    """Return month, day and beginning hour of a year of 365 days, (3, 8760)."""
    lengths = DAYS.astype(np.int64)
    month = np.repeat(np.arange(1, 13), lengths)
    day = np.concatenate([np.arange(1, n + 1) for n in lengths])
    return np.array([np.repeat(month, 24), np.repeat(day, 24), np.tile(np.arange(24), 365)])


def _checked(shown: str, form: str, table: Any, meta: Mapping[str, Any]) -> HourlyYear:  # noqa: ANN401
    """Check every column and make the year."""
    latitude, longitude, offset, elevation = _place(shown, meta)
    found = {name: _column(shown, name, table) for name in COLUMNS if name != "diffuse"}
    cosine, azimuth, zenith = _sun(latitude, longitude, offset, elevation)
    sunshine = found["sunshine"][0]
    _check_sun(shown, sunshine, cosine)
    try:
        found["diffuse"], split = _column(shown, "diffuse", table), False
    except AssumptionError:
        found["diffuse"], split = (_erbs(sunshine, zenith), 0), True
    temperature = found["temperature"][0]
    _check_humidity(shown, found["humidity"][0])
    humid = np.clip(found["humidity"][0] / 100.0, 0.01, 1.0)
    made = HourlyYear(
        file=shown,
        form=form,
        station=" ".join(str(meta.get("Name", meta.get("city", ""))).strip('" ').split()),
        latitude=latitude,
        longitude=longitude,
        elevation=elevation,
        utc_offset=offset,
        filled=sum(count for _, count in found.values()),
        split=split,
        temperature=temperature,
        vapour=humid * saturation(temperature),
        sunshine=sunshine,
        diffuse=np.minimum(found["diffuse"][0], sunshine),
        wind=found["wind"][0],
        cos_zenith=cosine,
        azimuth=azimuth,
    )
    return _locked(made)


def _locked(year: HourlyYear) -> HourlyYear:
    """Return the year with arrays that nobody can write to."""
    locked = {name: x.copy() for name, x in vars(year).items() if isinstance(x, np.ndarray)}
    for x in locked.values():
        x.flags.writeable = False
    return replace(year, **locked)  # type: ignore[arg-type]


def _place(shown: str, meta: Mapping[str, Any]) -> tuple[float, float, float, float]:
    """Return latitude, longitude [degree], hours from UTC and height [m] of the header."""
    spans = {
        "latitude": (-90.0, 90.0),
        "longitude": (-180.0, 180.0),
        "TZ": (-12.0, 14.0),
        "altitude": (-450.0, 6000.0),
    }
    for key, (low, high) in spans.items():
        if not low <= meta[key] <= high:
            _refuse(shown, f"its header gives {key} {meta[key]:g}", f"{low:g} to {high:g}")
    return meta["latitude"], meta["longitude"], meta["TZ"], meta["altitude"]


def _check_humidity(shown: str, humidity: Array) -> None:
    """Refuse relative humidity that is a share of one, not per cent."""
    if float(humidity.max()) <= MOST_AS_SHARE:
        _refuse(
            shown,
            f"relative humidity is never above {float(humidity.max()):g}, as if a share of one",
            "per cent, 0 to 100",
        )


def _column(shown: str, name: str, table: Any) -> tuple[Array, int]:  # noqa: ANN401
    """Return one column with short gaps filled in a straight line, and the hours filled."""
    import pandas as pd  # noqa: PLC0415

    key, words, unit, low, high = COLUMNS[name]
    if key not in table:
        _refuse(shown, f"it has no column of {words}", "a whole EPW or TMY3 file")
    x = pd.to_numeric(table[key], errors="coerce").to_numpy(dtype=np.float64)
    good = np.isfinite(x) & (x >= low) & (x <= high)
    gaps = _gaps(good)
    longest = max((length for _, length in gaps), default=0)
    missing = int(np.sum(~good))
    if longest > LONGEST_GAP or missing > MOST_FILLED:
        start = next(first for first, length in gaps if length == longest)
        month, day, hour = _calendar()[:, start]
        found = (
            f"{words} is missing or absurd ({x[start]:g}) for {longest} hours from month {month}, "
            f"day {day}, hour {hour}, {missing} hours in all"
        )
        accepted = (
            f"{low:g} to {high:g} {unit}, gaps of at most {LONGEST_GAP} hours, {MOST_FILLED} in all"
        )
        _refuse(shown, found, accepted)
    hours = np.arange(YEAR_HOURS)
    filled = np.interp(hours, hours[good], x[good], period=YEAR_HOURS)
    return np.where(good, x, filled), missing


def _gaps(good: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return the first hour and the length of every run of bad hours."""
    edges = np.flatnonzero(np.diff(np.concatenate([[True], good, [True]]).astype(np.int8)))
    return [(int(a), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _sun(
    latitude: float, longitude: float, offset: float, elevation: float
) -> tuple[Array, Array, Array]:
    """Return cosine of zenith [1], azimuth [rad] and zenith [degree] at the middle of each hour.

    By pvlib's solar position algorithm (Reda & Andreas 2004), in a year of 365 days.
    """
    import pandas as pd  # noqa: PLC0415
    from pvlib import solarposition  # noqa: PLC0415

    start = pd.Timestamp("2001-01-01 00:30") - pd.Timedelta(hours=offset)
    times = pd.date_range(start, periods=YEAR_HOURS, freq="h", tz="UTC")
    found = solarposition.get_solarposition(times, latitude, longitude, altitude=elevation)
    zenith = found["zenith"].to_numpy(dtype=np.float64)
    azimuth = found["azimuth"].to_numpy(dtype=np.float64)
    return np.cos(np.radians(zenith)), np.radians(azimuth), zenith


def _check_sun(shown: str, sunshine: Array, cosine: Array) -> None:
    """Refuse a file without sun, or whose day is not the day of its place."""
    if not np.sum(sunshine) > 0.0:
        _refuse(shown, "its year has no sun", "global horizontal radiation in W/m2")
    hour = np.tile(np.arange(24.0) + 0.5, 365)
    up = np.maximum(cosine, 0.0)
    data, place = (float(np.sum(hour * x) / np.sum(x)) for x in (sunshine, up))
    if abs(data - place) > MOST_SHIFT:
        found = f"its sun is highest at {data:.1f} h and the sun of its place at {place:.1f} h"
        _refuse(shown, found, "local standard time, hours stamped by their end")


def _erbs(sunshine: Array, zenith: Array) -> Array:
    """Return diffuse from global sun where a file has none, Erbs et al. (1982). [W/m2]"""
    from pvlib import irradiance  # noqa: PLC0415

    day = np.repeat(np.arange(1.0, 366.0), 24)
    split = irradiance.erbs(sunshine, zenith, day)
    return np.asarray(split["dhi"], dtype=np.float64)
