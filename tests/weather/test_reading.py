"""An hourly file is read to local standard time, or refused in one sentence."""

import numpy as np
import pandas as pd
import pytest
from pvlib import iotools, solarposition

from sitefare.assumptions.weather import YEAR_HOURS, read_weather
from sitefare.errors import AssumptionError
from sitefare.farm import air


def epw_of(table, meta):
    """Write a TMY3 table in EPW form: the same hours, another layout."""
    head = (
        f"LOCATION,{meta['Name']},NC,USA,TMY3,723170,{meta['latitude']},{meta['longitude']},"
        f"{meta['TZ']},{meta['altitude']}"
    )
    lines = [head, *(f"HEADER {i}" for i in range(7))]
    dates, clocks = table["Date (MM/DD/YYYY)"], table["Time (HH:MM)"]
    for date, clock, row in zip(dates, clocks, table.itertuples(), strict=True):
        numbers = [
            row.temp_air, row.temp_dew, row.relative_humidity, row.pressure * 100, 0, 0, 0,
            row.ghi, row.dni, row.dhi, 0, 0, 0, 0, row.wind_direction, row.wind_speed,
            *([0] * 13),
        ]  # fmt: skip
        month, day, year = (int(x) for x in date.split("/"))
        start = f"{year},{month},{day},{int(clock[:2])},60,X"
        lines.append(",".join([start, *(str(x) for x in numbers)]))
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="session")
def tmy3_text(pvlib_data):
    return (pvlib_data / "723170TYA.CSV").read_text()


@pytest.fixture(scope="session")
def epw_text(pvlib_data):
    return epw_of(*iotools.read_tmy3(pvlib_data / "723170TYA.CSV"))


def written(folder, name, text):
    path = folder / name
    path.write_text(text)
    return path


@pytest.mark.parametrize("station", ["greensboro", "sand_point"])
def test_the_sun_rises_in_the_data_when_it_rises_at_the_place(years, station):
    # Hour h covers [h, h + 1): the sun of the data begins in the hour that holds the computed
    # sunrise and ends in that of sunset; low sun is often written as 0, so it may begin later and
    # end earlier, but never before or after. Stamps left unshifted break the evening in most
    # days, stamps shifted twice the morning.
    year = years[station]
    offset = pd.Timedelta(hours=year.utc_offset)
    noons = pd.date_range("2001-01-01 12:00", periods=365, tz="UTC") - offset
    found = solarposition.sun_rise_set_transit_spa(noons, year.latitude, year.longitude)
    rise, fall = (((found[name] + offset).dt.hour).to_numpy() for name in ("sunrise", "sunset"))
    lit = year.sunshine.reshape(365, 24) > 0.0
    first, last = np.argmax(lit, axis=1), 23 - np.argmax(lit[:, ::-1], axis=1)
    assert np.all(first >= rise)
    assert np.all(last <= fall)
    assert np.mean(first == rise) > 0.5
    assert np.mean(last == fall) > 0.5
    assert np.mean(last + 1 <= fall) < 0.5
    assert np.mean(first - 1 >= rise) < 0.5


@pytest.mark.parametrize("station", ["greensboro", "sand_point"])
def test_morning_and_afternoon_sun_balance_round_solar_noon(years, station):
    year = years[station]
    hour = np.tile(np.arange(24) + 0.5, 365)
    sun = np.maximum(year.cos_zenith, 0.0)
    noon = np.sum(hour * sun) / np.sum(sun)
    assert np.sum(hour * year.sunshine) / np.sum(year.sunshine) == pytest.approx(noon, abs=0.35)


def test_epw_and_tmy3_of_one_year_read_alike(years, epw_text, tmp_path):
    found = read_weather(written(tmp_path, "greensboro.epw", epw_text), "greensboro.epw")
    expected = years["greensboro"]
    assert (found.form, expected.form) == ("EPW", "TMY3")
    for name in ("temperature", "vapour", "sunshine", "diffuse", "wind", "cos_zenith", "azimuth"):
        np.testing.assert_array_equal(getattr(found, name), getattr(expected, name))


def test_a_year_is_frozen_and_whole(years):
    for year in years.values():
        for name in ("temperature", "vapour", "sunshine", "diffuse", "wind", "cos_zenith"):
            x = getattr(year, name)
            assert x.shape == (YEAR_HOURS,)
            assert not x.flags.writeable
            assert np.all(np.isfinite(x))
        assert np.all(year.diffuse <= year.sunshine)
        assert np.all(year.vapour <= air.saturation_pressure(year.temperature) * (1 + 1e-12))


def test_the_last_hour_of_a_leap_years_february_stays_in_february(pvlib_data, tmy3_text, tmp_path):
    # Greensboro's February is of a leap year, whose midnight pvlib's index moves to 1 March.
    table, _ = iotools.read_tmy3(pvlib_data / "723170TYA.CSV")
    february = [line[:10] for line in tmy3_text.split("\n") if line.startswith("02/28/")]
    assert int(february[0][6:]) % 4 == 0
    found = read_weather(written(tmp_path, "leap.csv", tmy3_text), "leap.csv")
    np.testing.assert_array_equal(found.temperature, table["temp_air"].to_numpy())


def test_a_29_february_is_dropped(epw_text, years, tmp_path):
    lines = epw_text.split("\n")
    last = max(i for i, line in enumerate(lines) if line.split(",")[1:3] == ["2", "28"])
    day = [line.split(",") for line in lines[last - 23 : last + 1]]
    leap = [",".join(["1996", "2", "29", *cells[3:]]) for cells in day]
    text = "\n".join(lines[: last + 1] + leap + lines[last + 1 :])
    text = "\n".join("1996" + line[4:] if line[4:7] == ",2," else line for line in text.split("\n"))
    found = read_weather(written(tmp_path, "leap.epw", text), "leap.epw")
    np.testing.assert_array_equal(found.temperature, years["greensboro"].temperature)


def test_short_gaps_are_filled_and_counted(epw_text, years, tmp_path):
    lines = epw_text.split("\n")
    for i in range(8 + 1000, 8 + 1005):
        cells = lines[i].split(",")
        cells[6] = "99.9"
        lines[i] = ",".join(cells)
    found = read_weather(written(tmp_path, "gap.epw", "\n".join(lines)), "gap.epw")
    expected = years["greensboro"].temperature
    assert found.filled == 5
    assert "5 filled" in found.title
    assert found.temperature[1000:1005] == pytest.approx(
        np.linspace(expected[999], expected[1005], 7)[1:-1]
    )


def test_diffuse_sun_is_split_where_a_file_has_none(epw_text, years, tmp_path):
    lines = epw_text.split("\n")
    for i in range(8, 8 + YEAR_HOURS):
        cells = lines[i].split(",")
        cells[15] = "9999"
        lines[i] = ",".join(cells)
    found = read_weather(written(tmp_path, "split.epw", "\n".join(lines)), "split.epw")
    assert found.split
    assert "Erbs" in found.title
    # Erbs' correlation of hours holds within a tenth of the file's own over the year.
    assert found.diffuse.sum() == pytest.approx(years["greensboro"].diffuse.sum(), rel=0.1)


def cells_put(text, column, value, hours):
    lines = text.split("\n")
    for i in hours:
        cells = lines[8 + i].split(",")
        cells[column] = value
        lines[8 + i] = ",".join(cells)
    return "\n".join(lines)


BROKEN = {
    "a long gap": (
        lambda t: cells_put(t, 6, "99.9", range(100, 112)),
        r"temperature is missing or absurd \(99.9\) for 12 hours from month 1, day 5, hour 4, 12",
    ),
    "many gaps": (
        lambda t: cells_put(t, 21, "999", range(0, 8760, 20)),
        "wind speed is missing or absurd .* 438 hours in all",
    ),
    "no number": (
        lambda t: cells_put(t, 8, "wet", range(50, 60)),
        "relative humidity is missing or absurd",
    ),
    "humidity as a share": (
        lambda t: cells_put(t, 8, "0.6", range(8760)),
        "relative humidity is never above 0.6, as if a share of one; accepted is per cent",
    ),
    "fewer hours": (
        lambda t: "\n".join(t.split("\n")[:8000]),
        "it holds 7,992 hours; accepted is 8,760 hours from 1 January on",
    ),
    "another order": (
        lambda t: "\n".join([*t.split("\n")[:9], *t.split("\n")[8:]][:8768]),
        "month 1, day 1, hour 0 to 1 stands where month 1, day 1, hour 1 to 2 should",
    ),
    "another time zone": (
        lambda t: t.replace(",-79.95,-5.0,", ",-79.95,-8.0,", 1),
        "its sun is highest at .* h and the sun of its place at",
    ),
    "no sun": (
        lambda t: cells_put(t, 13, "0", range(8760)),
        "its year has no sun",
    ),
    "no such place": (
        lambda t: t.replace(",36.1,", ",361,", 1),
        "its header gives latitude 361; accepted is -90 to 90",
    ),
    "cut header": (
        lambda t: "LOCATION,Somewhere\n" + t.split("\n", 1)[1],
        "it cannot be read as EPW",
    ),
    "another form": (lambda t: "name,unit\n" + t, "its first line reads 'name,unit'"),
    "nothing": (lambda _: "", "its first line reads ''"),
}  # fmt: skip


@pytest.mark.parametrize("how", BROKEN)
def test_a_broken_file_is_refused_in_a_sentence(how, epw_text, tmp_path):
    spoil, message = BROKEN[how]
    path = written(tmp_path, "broken.epw", spoil(epw_text))
    with pytest.raises(AssumptionError, match=message) as caught:
        read_weather(path, "sites/x/broken.epw")
    assert str(caught.value).startswith("sites/x/broken.epw: not a usable weather file: ")
    assert "\n" not in str(caught.value)


def test_half_hour_stamps_are_refused(tmy3_text, tmp_path):
    path = written(tmp_path, "half.csv", tmy3_text.replace(":00,", ":30,"))
    with pytest.raises(AssumptionError, match="its times are not whole hours"):
        read_weather(path, "half.csv")


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(AssumptionError, match=r"gone\.epw: there is no such weather file"):
        read_weather(tmp_path / "gone.epw", "gone.epw")


def test_wet_bulb_of_the_design_hour_agrees_with_psychrolib(years):
    import psychrolib  # noqa: PLC0415

    psychrolib.SetUnitSystem(psychrolib.SI)
    year = years["greensboro"]
    hours = np.argsort(year.temperature)[-400::40]
    share = year.vapour[hours] / air.saturation_pressure(year.temperature[hours])
    pressure = 1000 * float(air.pressure(np.full((1, 1), year.elevation))[0, 0])
    for wet, dry, humid in zip(year.wet_bulb[hours], year.temperature[hours], share, strict=True):
        # FAO-56's constant for aspirated bulbs: 0.3 K.
        assert wet == pytest.approx(
            psychrolib.GetTWetBulbFromRelHum(float(dry), min(float(humid), 1.0), pressure), abs=0.3
        )
