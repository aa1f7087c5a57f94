"""What marks say and what stands beneath a chart are the chart's own rows."""

import re

import altair as alt
import pandas as pd
import pytest

from sitefare.outputs import charts
from sitefare.outputs.dark import turns
from sitefare.outputs.data_tables import data_table
from sitefare.outputs.document import Figure
from sitefare.outputs.drawn import svg
from sitefare.outputs.marks import page_drawing
from sitefare.outputs.numbers import Formats
from sitefare.outputs.picture import Drawing, Picture
from sitefare.outputs.readings import readings, told

FORMATS = Formats("en", "USD")
SAID = re.compile(r'data-said="([^"]*)"')


def words(picture):
    return [reading.words for reading in readings(picture)]


def picture_of(chart):
    """A chart of our own hand: what is read must not hang on how the kit's charts are worded."""
    return Picture("A finding.", "Marks.", lambda narrow: chart.copy() if narrow else chart)


def test_bars_by_month_are_told_by_month_and_series():
    rows = [("Jan", "Mains", 31.0), ("Jan", "Rain", 12.0), ("Feb", "Mains", 1234.5)]
    frame = pd.DataFrame(rows, columns=["month_name", "what", "amount"])
    x = alt.X("month_name:O", sort=["Jan", "Feb"], title=None)
    y = alt.Y("amount:Q", title="Water [m³/month]")
    picture = picture_of(alt.layer(alt.Chart(frame).mark_bar().encode(x=x, y=y, color="what:N")))
    table = data_table(picture)
    assert table.head == "Month"
    assert table.columns == (("Mains", "m³/month"), ("Rain", "m³/month"))
    assert table.lines == (("Jan", "31", "12"), ("Feb", "1,230", "–"))
    assert words(picture)[0] == "Jan, Mains: 31 m³/month"
    assert table.sides == ("left", "right", "right")


def test_a_line_and_its_band_share_a_table():
    frame = pd.DataFrame({"year": [0, 1], "cash": [-2.0, 3.0], "low": [-4.0, 1.0]})
    frame = frame.assign(high=[-1.0, 5.0])
    x = alt.X("year:O", title="Project year")
    base = alt.Chart(frame.assign(series="Cash")).encode(x=x, color="series:N")
    band = alt.Chart(frame.assign(series="8 in 10")).encode(x=x, color="series:N")
    zero = alt.Chart(pd.DataFrame({"zero": [0.0]})).mark_rule().encode(y="zero:Q")
    picture = picture_of(
        alt.layer(
            band.mark_area().encode(y="low:Q", y2="high:Q"),
            zero,
            base.mark_line().encode(y=alt.Y("cash:Q", title="Million USD")),
        )
    )
    table = data_table(picture)
    assert table.head == "Project year"
    assert table.columns == (("8 in 10", "million USD"), ("Cash", "million USD"))
    assert table.lines == (("0", "−4 to −1", "−2"), ("1", "1–5", "3"))
    assert words(picture)[-1] == "Project year 1, Cash: 3 million USD"
    drawn = page_drawing(Figure(picture, "c"), "k", narrow=False)
    assert len(SAID.findall(drawn)) == 4  # two points of the line and two of the band answer


def test_both_ends_of_a_tornado_say_which_input_gives_them():
    rows = [("Price", "high", 7.0, "2 USD"), ("Price", "low", 6.0, "1 USD")]
    frame = pd.DataFrame(rows, columns=["name", "which", "result", "label"]).assign(base=6.5)
    bars = (
        alt.Chart(frame)
        .mark_bar()
        .encode(y="name:N", x=alt.X("result:Q", title="Cost [USD]"), x2="base:Q", color="which:N")
    )
    picture = picture_of(alt.layer(bars))
    assert words(picture) == ["Price, high (2 USD): 7 USD", "Price, low (1 USD): 6 USD"]
    assert data_table(picture).lines == (("Price", "7 (2 USD)", "6 (1 USD)"),)


def test_a_waterfall_says_amounts_not_edges():
    frame = pd.DataFrame([("Wages", 30.0), ("Sales", -12.0)], columns=["what", "amount"])
    table = data_table(charts.waterfall(frame, FORMATS))
    amounts = {line[0].split(" (")[0]: line[1] for line in table.lines}
    assert amounts["Wages"].startswith("30")
    assert "12" in amounts["Sales"]
    assert amounts["Sales"].startswith("−")


def test_a_plan_is_told_in_quarters(pictures):
    picture = pictures["plan"]
    assert words(picture)[0].startswith("Tanks")
    assert "2027 Q1" in words(picture)[0]
    assert words(picture)[0].endswith("2027 Q3")


def test_a_drawing_by_hand_says_nothing_and_has_no_table():
    drawing = Drawing("A plan", "A plan of a farm", "<svg></svg>", "<svg></svg>")
    assert readings(drawing) == ()
    assert data_table(drawing) is None


@pytest.mark.parametrize("narrow", [False, True])
def test_every_reading_stands_at_a_mark_and_the_drawing_is_the_same(pictures, narrow):
    for name, picture in pictures.items():
        figure = Figure(picture, "c")
        drawn = page_drawing(figure, "k", narrow=narrow)
        said = SAID.findall(drawn)
        assert sorted(said) == sorted(
            w.replace("&", "&amp;").replace("'", "&#39;") for w in words(picture)
        ), name
        assert "aria-label=" not in drawn
        plain = svg(picture.narrow if narrow else picture.wide)
        texts = re.findall(r"<text[^>]*>[^<]*", plain)
        assert len(re.findall(r"<text[^>]*>[^<]*", drawn)) == len(texts), name
        assert turns(drawn) or "rgb(" in drawn, name  # shades of a scale stay on white


def test_unseen_points_are_the_only_marks_that_are_added(pictures):
    for name, picture in pictures.items():
        plain = svg(picture.wide)
        spoken = svg(told(picture.wide, readings(picture)))
        added = re.findall(r'<path[^>]*opacity="0"[^>]*>', spoken)
        shapes = [re.findall(r' d="([^"]*)"', one) for one in (plain, spoken)]
        assert len(shapes[1]) - len(shapes[0]) == len(added), name
        unseen = {re.search(r' d="([^"]*)"', path)[1] for path in added}
        assert [d for d in shapes[1] if d not in unseen] == shapes[0], name


def test_tables_stay_short(pictures):
    for picture in pictures.values():
        table = data_table(picture)
        assert table is None or 0 < len(table.lines) <= 40


def test_a_chart_s_own_sentences_stand_before_ours():
    frame = pd.DataFrame({"name": ["Feed", "Power"], "amount": [2.0, 1.0]})
    frame = frame.assign(told=["Feed: USD 2, of 1–3", "Power: USD 1, of 0–2"])

    def draw(narrow):  # noqa: ARG001
        rows = alt.Chart(frame).encode(y="name:N", x=alt.X("amount:Q", title="USD"))
        bars = rows.mark_bar().encode(description=alt.Description("told:N"))
        return alt.layer(bars, rows.mark_square(aria=False))

    picture = Picture("Feed costs most", "Bars of cost.", draw)
    assert words(picture) == list(frame["told"])
    assert data_table(picture).lines == (("Feed", "USD 2, of 1–3"), ("Power", "USD 1, of 0–2"))
    assert SAID.findall(page_drawing(Figure(picture, "c"), "k", narrow=False)) == words(picture)
