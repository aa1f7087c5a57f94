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


def test_bars_by_month_are_told_by_month_and_series(pictures):
    table = data_table(pictures["water"])
    assert table.head == "Month"
    assert table.columns == (("Mains", "m³/month"), ("Rain", "m³/month"))
    # From the season of the shared document: mean 40, swing 9, cosine of half a turn in June.
    assert table.lines[5] == ("Jun", "31", "12")
    assert [line[0] for line in table.lines] == [FORMATS.month_name(m) for m in range(1, 13)]
    assert "Jun, Mains: 31 m³/month" in words(pictures["water"])


def test_a_line_and_its_band_share_a_table(pictures):
    table = data_table(pictures["cash"])
    assert table.head == "Project year"
    assert [name for name, _ in table.columns] == [
        "Net cash in the year", "Cumulative cash", "Cumulative, 8 in 10 draws",
    ]  # fmt: skip
    assert {unit for _, unit in table.columns} == {"million USD"}
    assert table.lines[3] == ("3", "2", "−14", "−15 to −13")
    assert "Project year 3, Cumulative cash: −14 million USD" in words(pictures["cash"])


def test_both_ends_of_a_tornado_say_which_input_gives_them(pictures):
    said = words(pictures["tornado"])
    assert any(w.startswith("Price, ") and "(2 USD/kg)" in w for w in said)
    assert len([w for w in said if w.startswith("Price, ")]) == 2


def test_a_waterfall_says_amounts_not_edges():
    frame = pd.DataFrame([("Wages", 30.0), ("Sales", -12.0)], columns=["what", "amount"])
    table = data_table(charts.waterfall(frame, FORMATS))
    amounts = {line[0].split(" (")[0]: line[1] for line in table.lines}
    assert amounts["Wages"] == "30"
    assert amounts["Sales"] == "−12"


def test_a_plan_is_told_in_the_quarters_of_its_description(pictures):
    picture = pictures["plan"]
    assert words(picture)[0] == "Tanks (Build): 2027 Q1–2027 Q3"
    for said in words(picture):
        assert said.replace(":", "").replace("–", " to ") in picture.alt.replace(":", "")


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
        assert turns(drawn), name


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
