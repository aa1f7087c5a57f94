"""Every chart states its finding, carries little data and tells itself in words."""

import itertools
import json
import xml.etree.ElementTree as ET

import pandas as pd
import pytest

from sitefare.errors import RunError
from sitefare.outputs import charts, theme
from sitefare.outputs.drawn import described, png, svg
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import NARROW, ROWS, WIDE, Picture

NAMES = (
    "cash", "tornado", "harvest", "water", "energy", "cost_makeup", "temperatures", "diet",
    "sites", "plan", "waterfall",
)  # fmt: skip
ENGLISH = Formats("en", "USD")


@pytest.mark.parametrize("name", NAMES)
def test_charts_carry_few_rows_and_words(pictures, name):
    picture = pictures[name]
    assert len(picture.alt) > 40
    assert picture.title
    for spec in (picture.wide, picture.narrow):
        assert 0 < sum(len(rows) for rows in spec["datasets"].values()) <= ROWS
        assert spec["description"] == picture.alt
        assert "url" not in json.dumps(spec["datasets"])


@pytest.mark.parametrize("name", NAMES)
def test_charts_fill_their_width(pictures, name):
    for spec, width in ((pictures[name].wide, WIDE), (pictures[name].narrow, NARROW)):
        root = ET.fromstring(svg(spec))
        assert float(root.get("viewBox").split()[2]) == pytest.approx(width, abs=2)


@pytest.mark.parametrize("name", NAMES)
def test_axes_that_measure_name_their_unit(pictures, name):
    titles = [x.lower() for x in axis_titles(pictures[name].wide) if x]
    expected = {
        "cash": "million usd", "tornado": "usd", "harvest": "kg/month", "water": "m³/month",
        "energy": "kwh/month", "cost_makeup": "usd per person-day", "temperatures": "°c",
        "diet": "%", "sites": "cost ratio", "plan": "calendar quarter",
        "waterfall": "thousand usd",
    }  # fmt: skip
    assert any(expected[name] in title for title in titles)


def axis_titles(spec):
    layers = spec.get("layer", [spec])
    channels = [layer.get("encoding", {}).get(axis, {}) for layer in layers for axis in ("x", "y")]
    return [channel.get("title") for channel in channels]


def test_tornado_keeps_its_order_in_every_layer(pictures):
    layers = pictures["tornado"].wide["layer"]
    orders = {tuple(x["encoding"]["y"]["sort"]) for x in layers if "y" in x["encoding"]}
    assert len(orders) == 1
    assert next(iter(orders))[0] == "Price"


def test_tornado_bar_on_one_side_keeps_its_inner_end(pictures):
    bars = next(iter(pictures["tornado"].wide["layer"]))
    rows = pictures["tornado"].wide["datasets"][bars["data"]["name"]]
    ends = [row for row in rows if row["name"] == "Set point"]
    assert [abs(end["result"] - end["base"]) for end in ends] == pytest.approx([600, 300])
    assert [end["label"] for end in ends] == ["24 °C (inner: 28 °C)", ""]


def test_finding_follows_the_data():
    years = pd.DataFrame(
        {"year": range(4), "net": [-3.0, 1, 1, 1], "cumulative": [-3.0, -2, -1, 0]}
    )
    assert charts.cash(years, ENGLISH).title == "Cash spent is recovered in year 3"
    worse = years.assign(cumulative=[-3.0, -2, -1, -0.5])
    assert charts.cash(worse, ENGLISH).title == "Cash spent is not recovered within 3 years"
    assert charts.cash(years, ENGLISH, title="Mine").title == "Mine"


def test_more_rows_than_allowed_are_refused():
    years = pd.DataFrame({"year": range(300), "net": 1.0, "cumulative": 1.0})
    with pytest.raises(RunError, match="at most 200 are drawn"):
        _ = charts.cash(years, ENGLISH).wide


def test_a_picture_without_words_is_refused(pictures):
    with pytest.raises(RunError, match="needs a title that states the finding"):
        Picture("", "alt", pictures["cash"].draw)


def test_drawings_are_the_same_twice_and_name_themselves(pictures):
    spec = pictures["harvest"].wide
    svg.__globals__["_svg"].cache_clear()
    first = svg(spec)
    svg.__globals__["_svg"].cache_clear()
    assert svg(spec) == first
    root = ET.fromstring(described(first, "k", "Title", "Alt &amp; text"))
    assert root.get("role") == "img"
    assert [child.tag.rpartition("}")[2] for child in root][:2] == ["title", "desc"]
    assert root[1].text == "Alt & text"


def test_texts_are_measured_by_a_font_that_no_machine_has_of_its_own(monkeypatch):
    asked = []

    class Converter:
        def vegalite_to_svg(self, spec, **_):
            asked.append(str(spec))
            return f'<svg><text font-family="{theme.MEASURED}">{spec["title"]}</text></svg>'

    monkeypatch.setitem(svg.__globals__, "_converter", Converter)
    drawn = [svg({"title": title, "font": theme.FAMILY}) for title in ("−1 ≤ µ Ж", "قمح")]
    assert theme.FAMILY not in asked[0]
    # The font that measures holds no Arabic: such a chart is measured by the family's own.
    assert theme.MEASURED not in asked[1]
    assert drawn[0] == f'<svg><text font-family="{theme.FAMILY}">−1 ≤ µ Ж</text></svg>'


def test_png_is_a_png(pictures):
    assert png(pictures["diet"].narrow).startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("draw", "message"),
    [
        (
            lambda: charts.cost_makeup(pd.DataFrame({"what": [], "amount": []}), ENGLISH),
            "a chart of what amount has no rows",
        ),
        (
            lambda: charts.diet(pd.DataFrame({"what": ["a"]}), ENGLISH),
            "needs the columns what share; missing: share",
        ),
        (
            lambda: charts.diet(pd.DataFrame({"what": ["a", "a"], "share": 0.5}), ENGLISH),
            "told apart by what, and 'a' stands twice",
        ),
        (
            lambda: charts.tornado(SWINGS, float("nan"), ENGLISH),
            "a tornado of Net present value needs a base that has an answer",
        ),
    ],
    ids=["empty", "column", "twice", "base"],
)
def test_frames_that_cannot_be_drawn_are_refused(draw, message):
    with pytest.raises(RunError, match=message):
        draw()


SWINGS = pd.DataFrame(
    [("Price", "1", "2", float("inf"), 3.0), ("Yield", "3", "4", 9.0, float("nan"))],
    columns=["name", "low_value", "high_value", "low_result", "high_result"],
)


def test_tornado_end_without_answer_stops_beyond_the_others_and_says_so():
    spec = charts.tornado(SWINGS, 8.0, ENGLISH, quantity="Payback", unit="years").wide
    rows = spec["datasets"][spec["layer"][0]["data"]["name"]]
    assert [(row["label"], round(row["result"], 2)) for row in rows] == [
        ("1: no answer", 8.75),
        ("2", 3.0),
    ]


def test_a_year_without_any_says_so():
    nothing = pd.DataFrame({"month": range(1, 13), "what": "Heating", "amount": 0.0})
    title = charts.energy(nothing, ENGLISH).title
    assert title == "No electricity in any month"


def test_waterfall_starts_each_bar_where_the_last_ended(pictures):
    layer = pictures["waterfall"].wide
    data = max(layer["datasets"].values(), key=len)
    *terms, last = data
    assert len(terms) == 15
    assert terms[0]["first"] == 0
    for before, after in itertools.pairwise(terms):
        assert after["first"] == pytest.approx(before["last"])
    assert last["last"] == pytest.approx(terms[-1]["last"])
    gains = [t["last"] > t["first"] for t in terms]
    assert gains == sorted(gains, reverse=True)
