"""Every rule of a row has a small bad file and a test of its message."""

import pytest

from sitefare.assumptions.evidence import EvidenceInputs, evidence
from sitefare.assumptions.library import Source, read_layer, read_sources, tables
from sitefare.assumptions.settings import overrides
from sitefare.errors import AssumptionError

HEADER = "name,unit,low,base,high,varies,source,locator,as_of,basis,note\n"
ITEMS = "key,item,life [year],unit,low,base,high,varies,source,locator,as_of,basis,note\n"
MONTHS = (
    "name,unit,jan,feb,mar,apr,may,jun,jul,aug,sep,oct,nov,dec,source,locator,as_of,basis,note\n"
)
GOOD = "crop.basil.cull,1,0.05,0.1,0.2,,handbook,p. 1,2024,published,\n"


def read(tmp_path, sources, body, name="rows.csv", encoding="utf-8"):
    (tmp_path / name).write_bytes(body.encode(encoding))
    known = {key: Source(words, "") for key, words in sources.items()}
    return read_layer("test", [tmp_path / name], known).rows


BAD = {
    "unknown name": (
        HEADER + GOOD.replace("cull", "culls"),
        (
            "rows.csv line 2, column name: found 'crop.basil.culls'; a declared name is accepted; "
            "the nearest known name is 'crop.basil.cull'"
        ),
    ),
    "unknown column": (
        HEADER.replace("note", "notes") + GOOD,
        "rows.csv line 1: column 'notes' is not known; the nearest known name is 'note'",
    ),
    "missing column": (
        HEADER.replace(",varies", "") + GOOD.replace(",,handbook", ",handbook"),
        "rows.csv line 1: column 'varies' is missing",
    ),
    "column twice": (HEADER.replace("low", "base") + GOOD, "column 'base' stands twice"),
    "empty file": ("", "rows.csv: the file is empty"),
    "missing value": (
        HEADER + GOOD.replace("0.1,0.2", ",0.2"),
        "line 2, column base: found ''; a number is needed here",
    ),
    "not a number": (
        HEADER + GOOD.replace("0.1,", "about 0.1,"),
        "column base: found 'about 0.1'; a plain number such as 1234.5 is accepted",
    ),
    "comma in a number": (
        HEADER + GOOD.replace("0.1,", '"0,1",'),
        "found '0,1'; a plain number such as 1234.5 is accepted, with no comma in it",
    ),
    "percent sign": (HEADER + GOOD.replace("0.1,", "10%,"), "with % as its unit"),
    "not a number nan": (HEADER + GOOD.replace("0.1,", "nan,"), "found 'nan'"),
    "infinite": (HEADER + GOOD.replace("0.1,", "inf,"), "found 'inf'"),
    "beyond all numbers": (HEADER + GOOD.replace("0.1,", "1e400,"), "at most 1e+12 is accepted"),
    "beyond all numbers once converted": (
        HEADER + "house.area,ha,,1e10,,,handbook,,,published,\n",
        "column base: found '1e10'; at most 1e+12 m2 is accepted",
    ),
    "thousands or decimals": (
        (HEADER + GOOD).replace(",", ";").replace("0.1;", "1.500;"),
        "the point may part thousands or decimals",
    ),
    "unknown unit": (
        HEADER + GOOD.replace(",1,0.05", ",furlong,0.05"),
        "column unit: found 'furlong'; unit like '1' is accepted here (unit 'furlong' is not known",
    ),
    "wrong dimension": (
        HEADER + GOOD.replace(",1,0.05", ",kg,0.05"),
        "found 'kg'; unit like '1' is accepted here (unit 'kg' does not measure the same thing",
    ),
    "low above base": (
        HEADER + GOOD.replace("0.05", "0.15"),
        "low <= base <= high is accepted, but they read 0.15, 0.1, 0.2",
    ),
    "only one end": (HEADER + GOOD.replace("0.05", ""), "give both low and high, or neither"),
    "no spread": (
        HEADER + GOOD.replace("0.05,0.1,0.2", "0.1,0.1,0.1"),
        "leave low and high blank for a fixed value",
    ),
    "outside bounds": (
        HEADER + GOOD.replace("0.2", "1.2"),
        "column high: found '1.2'; 0 to 1 is accepted",
    ),
    "unknown source": (
        HEADER + GOOD.replace("handbook", "handbok"),
        (
            "column source: found 'handbok'; a key of sources.csv is accepted; add a line there "
            "for a source of your own; the nearest known name is 'handbook'"
        ),
    ),
    "unknown basis": (HEADER + GOOD.replace("published", "guess"), "one of published, measured"),
    "bad date": (HEADER + GOOD.replace("2024", "June 24"), "a year such as 2024"),
    "money without date": (
        HEADER + "crop.basil.price,USD/kg,2,3,4,,handbook,p. 1,,published,\n",
        "column as_of: found ''; money needs the year or month of its price",
    ),
    "bad choice": (
        HEADER + "house.kind,choice,,glass,,,handbook,,,published,\n",
        "column base: found 'glass'; one of open, double_film is accepted",
    ),
    "range on a choice": (
        HEADER + "house.kind,choice,1,open,,,handbook,,,published,\n",
        "a word has no range",
    ),
    "choice unit": (HEADER + "house.kind,1,,open,,,handbook,,,published,\n", "has unit 'choice'"),
    "bad varies": (HEADER + GOOD.replace(",,handbook", ",often,handbook"), "life, year, choice"),
    "twelve in one": (
        HEADER + "house.temperature,degC,,20,,,handbook,,,published,\n",
        "holds twelve months",
    ),
    "one in twelve": (
        MONTHS + "house.area,m2,1,2,3,4,5,6,7,8,9,10,11,12,handbook,,,published,\n",
        "this is one number, not twelve",
    ),
    "month missing": (
        MONTHS + "house.temperature,degC,1,2,3,4,,6,7,8,9,10,11,12,handbook,,,published,\n",
        "column may: found ''; a number for every month is needed",
    ),
    "too many cells": (
        HEADER + GOOD.replace("published,", "published,dear, at the port"),
        "12 cells where the header has 11, from 'at the port' on; a cell that holds a comma",
    ),
    "name twice": (HEADER + GOOD + GOOD, "crop.basil.cull stands already in rows.csv line 2"),
    "unclosed quote": (HEADER + GOOD.replace("p. 1", '"p. 1'), "not a readable CSV"),
    "tabs": ((HEADER + GOOD).replace(",", "\t"), "cells are separated by tabs"),
}


@pytest.mark.parametrize(("body", "message"), BAD.values(), ids=BAD.keys())
def test_bad_file_is_refused(tmp_path, sources, body, message):
    with pytest.raises(AssumptionError) as refusal:
        read(tmp_path, sources, body)
    assert message in str(refusal.value)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16"])
def test_another_encoding_is_refused(tmp_path, sources, encoding):
    body = HEADER + GOOD.replace("p. 1", "p. 1 – é")
    with pytest.raises(AssumptionError, match="not saved as UTF-8 text; save it again"):
        read(tmp_path, sources, body, encoding=encoding)


def test_item_rules(tmp_path, sources):
    item = "pump,Circulation pump,5,USD,80,120,200,,handbook,,2024,published,\n"
    rows = read(tmp_path, sources, ITEMS + item, "bill.csv")
    assert rows["bill.pump.price"].high == 200
    assert rows["bill.pump.life"].base == 5
    assert not rows["bill.pump.life"].uncertain
    assert rows["bill.pump.item"].text == "Circulation pump"
    for bad, message in [
        (item.replace("pump,", "Pump 1,", 1), "a key of small letters"),
        (item.replace("Circulation pump", ""), "some text is needed"),
        (item.replace(",5,", ",0,"), "column life [year]: found '0'; 0.1 year or more"),
    ]:
        with pytest.raises(AssumptionError) as refusal:
            read(tmp_path, sources, ITEMS + bad, "bill.csv")
        assert message in str(refusal.value)


SAVED = {
    "byte-order mark": "\ufeff" + HEADER + GOOD,
    "CRLF": (HEADER + GOOD).replace("\n", "\r\n"),
    "semicolons": (HEADER + GOOD).replace(",", ";"),
    "decimal commas": (HEADER + GOOD).replace(",", ";").replace("0.", "0,"),
    "quoted commas": HEADER + GOOD.replace("p. 1", '"p. 1, table 2"'),
    "blank lines and trailing cells": "\n"
    + HEADER.strip()
    + ",,\n,,,,,,,,,,,,\n"
    + GOOD.strip()
    + ",,\n\n",
    "no end of line": (HEADER + GOOD).strip(),
}


@pytest.mark.parametrize("body", SAVED.values(), ids=SAVED.keys())
def test_what_a_spreadsheet_saved_reads_right(tmp_path, sources, body):
    row = read(tmp_path, sources, body)["crop.basil.cull"]
    assert (row.low, row.base, row.high) == (0.05, 0.1, 0.2)


def test_points_and_commas_mixed_in_one_file_are_refused(tmp_path, sources):
    body = (HEADER + GOOD).replace(",", ";").replace("0.1;", "0,1;")
    with pytest.raises(AssumptionError, match="with no comma in it"):
        read(tmp_path, sources, body)


def test_a_part_of_one_is_no_thousand(tmp_path, sources):
    body = (HEADER + GOOD).replace(",", ";").replace("0.1;", "0.125;")
    assert read(tmp_path, sources, body)["crop.basil.cull"].base == 0.125


def test_what_a_spreadsheet_leaves_behind_is_passed_over(tmp_path):
    for name in ("~$rows.csv", ".rows.csv", "rows.csv"):
        (tmp_path / name).write_text("", encoding="utf-8")
    assert [path.name for path in tables(tmp_path)] == ["rows.csv"]


def papers(monkeypatch, **cells):
    """The values of one document held."""
    from sitefare.assumptions import declaration  # noqa: PLC0415

    held = declaration.Declared(EvidenceInputs, "evidence", keyed=True, measure="", table=True)
    monkeypatch.setitem(declaration.DECLARED, "evidence", held)
    blank = {"title": "Lease", "supports": "", "status": "held", "document": "", "date": ""}
    filled = {**blank, "expiry": "", "gate": "no", **cells}
    return {f"evidence.lease.{field}": cell for field, cell in filled.items()}


@pytest.mark.parametrize("expiry", ["next year", "2027", "2027-13", "2027-03-32", "03/2027"])
def test_a_document_s_date_is_a_month_or_a_day(monkeypatch, expiry):
    with pytest.raises(AssumptionError, match=f"evidence.lease.expiry: '{expiry}' is not a month"):
        evidence(papers(monkeypatch, expiry=expiry))


def test_a_document_lapses_before_the_month_after_its_expiry(monkeypatch):
    annex = evidence(papers(monkeypatch, expiry="2027-03-31", date="2025-04"))
    assert annex.lapsed_before("2027-04") == ["Lease"]
    assert not annex.lapsed_before("2027-03")
    assert not evidence(papers(monkeypatch)).lapsed_before("2099-01")


def test_units_are_converted_once(tmp_path, sources):
    rows = read(
        tmp_path,
        sources,
        HEADER
        + "house.area,ft2,,1000,,,handbook,,,published,\n"
        + "crop.basil.cull,%,5,10,20,,handbook,,,published,\n"
        + "crop.basil.price,USD/lb,2,3,4,,handbook,,2024,published,\n",
    )
    # 1 ft = 0.3048 m and 1 lb = 0.45359237 kg exactly (international yard and pound, 1959).
    assert rows["house.area"].base == pytest.approx(92.90304, rel=1e-12)
    assert rows["crop.basil.cull"].base == pytest.approx(0.1, rel=1e-12)
    assert rows["crop.basil.price"].base == pytest.approx(3 / 0.45359237, rel=1e-12)


SETTINGS = {
    "no equals": ("crop.basil.cull", "write name=value"),
    "unknown": ("crop.basil.cul=0.1", "is not an assumption of this case; the nearest known name"),
    "not a number": ("crop.basil.cull=few", "found 'few'"),
    "dimension": ("crop.basil.cull=3 kg", "does not measure the same thing"),
    "order": ("crop.basil.cull=0.3:0.2:0.4", "low <= base <= high"),
    "two numbers": ("crop.basil.cull=0.3:0.2", "write a number or low:base:high"),
    "bounds": ("crop.basil.cull=2", "0 to 1 is accepted"),
    "too large": ("crop.basil.cull=1e999", "at most 1e+12"),
    "money without unit": ("crop.basil.price=3", "3: give its unit, such as USD/kg"),
}


@pytest.mark.parametrize(("setting", "message"), SETTINGS.values(), ids=SETTINGS.keys())
def test_bad_setting_is_refused(tmp_path, sources, setting, message):
    price = "crop.basil.price,USD/kg,2,3,4,,handbook,p. 1,2024,published,\n"
    rows = read(tmp_path, sources, HEADER + GOOD + price)
    with pytest.raises(AssumptionError) as refusal:
        overrides([setting], rows)
    assert message in str(refusal.value)


def test_settings_fix_or_give_a_range(tmp_path, sources):
    rows = read(tmp_path, sources, HEADER + GOOD)
    fixed = overrides(["crop.basil.cull=12 %"], rows).rows["crop.basil.cull"]
    assert (fixed.low, fixed.base, fixed.basis) == (None, 0.12, "judgement")
    ranged = overrides(["crop.basil.cull=0.1:0.2:0.3"], rows).rows["crop.basil.cull"]
    assert (ranged.low, ranged.base, ranged.high) == (0.1, 0.2, 0.3)


def test_sources_stand_once(tmp_path):
    path = tmp_path / "sources.csv"
    path.write_text("source,citation,status\na,A,\na,B,\n", encoding="utf-8")
    with pytest.raises(AssumptionError, match="each source stands once"):
        read_sources(path)
