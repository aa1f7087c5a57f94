"""Places of a table are appraised as sites of their own, and become them."""

import io
import shutil
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from rich.console import Console

from sitefare.appraisal import appraise, sampled_values
from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import read_library
from sitefare.assumptions.places import place_case, read_places
from sitefare.errors import AssumptionError, RunError
from sitefare.outputs import screen as screening
from sitefare.outputs.charts_map import MARKS, gathered, places_map
from sitefare.outputs.numbers import Formats
from sitefare.outputs.page import page
from sitefare.outputs.placesite import place_folder
from sitefare.outputs.progress import Progress
from sitefare.outputs.screen import printed_indicator, screen, screen_map, screened_table
from sitefare.outputs.screen_document import Screened, screen_document
from sitefare.outputs.written import written
from sitefare.questions.figures import RATIO
from sitefare.questions.screening import asked_of, check_asked, filtered, ranked, screened
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for
from sitefare.workers import Here, Processes

MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
MILD = [-7, -5, 0, 6, 11, 14, 17, 17, 13, 7, 1, -5]
HEAD = ["place", "like", "longitude", "place.elevation [m]", "tariff.electricity [GEL/kWh]",
        "local_price.lettuce.price [GEL/kg]", *(f"climate.temperature.{m} [degC]" for m in MONTHS),
        "as_of"]  # fmt: skip
LINES = [
    ["upper", "kaldre", 44.1, 1700, 0.30, 9, *MILD, "2026-06"],
    ["same", "kaldre", 44.5, *[""] * 15, ""],
    ["deep", "kaldre", "", -9000, *[""] * 14, ""],
    ["coast", "port_anui", 178.2, 40, *[""] * 14, ""],
]


def table(folder, lines=LINES, head=HEAD):
    path = folder / "places.csv"
    rows = [head, *lines]
    path.write_text("\n".join(",".join(map(str, row)) for row in rows), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def places(library, tmp_path_factory):
    return read_places(table(tmp_path_factory.mktemp("table")), library)


@pytest.fixture(scope="module")
def asked(library, places):
    return asked_of(library, places, "as_planned", [], 16, 1)


def test_a_line_without_values_is_the_site_it_is_like(library, places, asked, plan):
    line = screened(library, places[1], asked)
    made = appraise(plan("kaldre")).indicators
    assert line["status"] == "done"
    assert line["npv"] == made["npv"][0, 0]
    assert line["people_fed"] == made["people_fed"][0, 0]
    assert line[RATIO] == pytest.approx(
        made["cost_per_person_day"][0, 0] / made["alternative_cost_person_day"][0, 0]
    )
    assert line["npv_low"] < line["npv_high"]


def test_values_given_are_in_force_with_the_spread_of_those_they_replace(library, places):
    case = place_case(library, places[0], "as_planned", ())
    like = make_case(library, "kaldre", "as_planned")
    row, old = case.rows["tariff.electricity"], like.rows["tariff.electricity"]
    assert row.base / row.low == pytest.approx(old.base / old.low)
    assert row.high / row.base == pytest.approx(old.high / old.base)
    assert case.rows["climate.temperature"].months == tuple(MILD)
    assert case.rows["place.elevation"].base == 1700
    assert case.rows["place.name"].text == "Upper"
    assert case.key("tariff.electricity") == "tariff.electricity@upper"
    assert case.input_hash != like.input_hash


def test_common_rows_share_their_draws_between_places(library, places, asked):
    drawn = []
    for place in (places[1], places[3]):
        plan = plan_for(place_case(library, place, "as_planned", ()))
        keys = [key + place.key if key.endswith("@") else key for key in asked.keys]
        values = sampled_values(plan, 16, 1, keys)
        # Prices stand in the money of each place: only how far from the base they are is shared.
        rows = plan.case.rows
        drawn.append({
            n: values[n] / rows[n].base
            for n in plan.case.uncertain
            if "@" not in plan.case.key(n) and rows[n].base
        })  # fmt: skip
    shared = drawn[0].keys() & drawn[1].keys()
    assert len(shared) > 200
    for name in shared:
        assert drawn[0][name] == pytest.approx(drawn[1][name], rel=1e-9), name


def test_a_row_that_one_place_gives_moves_no_other_rows_draws(tmp_path, library):
    # The value given is the one in force, so that what does not rest on it must not move.
    base = library.common.rows["crop.lettuce.cull"].base
    lines = [["plain", "kaldre", ""], ["own", "kaldre", base]]
    both = read_places(table(tmp_path, lines, ["place", "like", "crop.lettuce.cull [1]"]), library)
    asked = asked_of(library, both, "as_planned", [], 16, 1)
    plain, own = (screened(library, place, asked) for place in both)
    assert own["people_fed"] == plain["people_fed"]
    for name in ("capex_low", "capex_high"):
        assert own[name] == pytest.approx(plain[name], rel=1e-12)


def test_a_screen_goes_on_where_it_stopped_with_the_same_bytes(tmp_path, root, places, asked):
    console = Console(file=io.StringIO())

    def run(output, workers):
        with Progress(console) as progress:
            return screen(places, asked, root / "assumptions", tmp_path / output, workers, progress)

    whole, failed = run("whole", Processes(2))
    assert failed == {}
    assert list(whole["status"]) == ["done", "done", "failed", "done"]
    assert "column place.elevation [m]: found '-9000'" in whole["reason"][2]
    part = next((tmp_path / "whole" / "parts").iterdir())
    (tmp_path / "cut" / "parts").mkdir(parents=True)
    shutil.copy(part, tmp_path / "cut" / "parts")
    (tmp_path / "cut" / "parts" / ".making-1-x.parquet").write_bytes(b"half")
    run("cut", Here())
    assert "of 0" in console.file.getvalue()
    assert (tmp_path / "cut" / "places.parquet").read_bytes() == (
        tmp_path / "whole" / "places.parquet"
    ).read_bytes()
    assert [p.name for p in (tmp_path / "cut" / "parts").iterdir()] == [part.name]
    shown = ranked(filtered(whole, ["people_fed>10", "npv<=0"]), RATIO)
    assert set(shown["place"]) == {"upper", "same", "coast"}
    assert screened_table(shown, RATIO).row_count == 3


class Losing(Here):
    """Workers that lose every task of several places, and of one place alone where it is named."""

    def __init__(self, names=()):
        self.names, self.limits = names, []

    def each(self, function, tasks, limit=None):
        self.limits.append(limit)
        for outcome in super().each(function, tasks):
            several = function is screening.lines_of
            key = tasks[outcome.number].places[0].key
            lost = several or key in self.names
            failure = "it was stopped at its limit"
            yield replace(outcome, answer=None, failure=failure) if lost else outcome


def test_a_place_that_hangs_costs_only_itself(tmp_path, root, places, asked):
    def run(output, workers):
        with Progress(Console(file=io.StringIO())) as progress:
            return screen(
                places, asked, root / "assumptions", tmp_path / output, workers, progress, 9.0
            )

    whole, _ = run("whole", Here())
    losing = Losing()
    _, failed = run("again", losing)
    assert losing.limits == [9.0 * screening.CHUNK, 9.0]
    assert failed == {}
    assert (tmp_path / "again" / "places.parquet").read_bytes() == (
        tmp_path / "whole" / "places.parquet"
    ).read_bytes()
    part, failed = run("part", Losing(["same"]))
    assert failed == {"same": "it was stopped at its limit"}
    assert list(part["status"]) == ["done", "failed", "failed", "done"]
    kept = [0, 3]
    assert part["npv"].iloc[kept].equals(whole["npv"].iloc[kept])
    assert pd.read_parquet(tmp_path / "part" / "places.parquet").equals(part)
    # A second start tries again what has no part of its own.
    _, failed = run("part", Here())
    assert failed == {}
    assert (tmp_path / "part" / "places.parquet").read_bytes() == (
        tmp_path / "whole" / "places.parquet"
    ).read_bytes()


def test_a_place_becomes_a_site_with_the_same_answer(tmp_path, root, library, places, asked):
    own = read_library(shutil.copytree(root / "assumptions", tmp_path / "assumptions"))
    place_folder(own, places[0])
    made = appraise(plan_for(make_case(own, "upper", "as_planned"))).indicators
    line = screened(library, places[0], asked)
    for name in ("npv", "people_fed", "cost_per_person_day", "alternative_cost_person_day"):
        assert made[name][0, 0] == pytest.approx(line[name], rel=1e-9)
    drawn = uncertainty(plan_for(make_case(own, "upper", "as_planned")), 16, 1)
    assert drawn.spreads["npv"].low is not None
    with pytest.raises(AssumptionError, match="site 'upper' exists already"):
        place_folder(own, places[0])
    assert not list((own.folder / "sites").glob(".*"))


def test_a_place_takes_its_weather_file_along_from_a_folder_below_the_table(tmp_path, root):
    own = read_library(shutil.copytree(root / "assumptions", tmp_path / "assumptions"))
    (tmp_path / "hours").mkdir()
    (tmp_path / "hours" / "x.epw").write_text("LOCATION", encoding="utf-8")
    head, line = "place,like,climate.weather_file [text]", "upper,kaldre,hours/x.epw"
    (tmp_path / "places.csv").write_text(f"{head}\n{line}\n", encoding="utf-8")
    (place,) = read_places(tmp_path / "places.csv", own)
    folder = place_folder(own, place)
    assert (folder / "hours" / "x.epw").read_text(encoding="utf-8") == "LOCATION"
    (tmp_path / "hours" / "x.epw").unlink()
    shutil.rmtree(folder)
    with pytest.raises(FileNotFoundError):
        place_folder(own, place)
    assert not folder.exists()


BAD = {
    "unknown column": ([*HEAD[:-1], "height"], LINES[:1], "column 'height' is no assumption"),
    "eleven months": ([*HEAD[:17], "as_of"], [LINES[1][:18]], "climate.temperature needs twelve"),
    "no like": (HEAD[:1] + HEAD[2:], [LINES[1][1:]], "column 'like' is missing"),
    "unknown like": (HEAD, [["a", "kaldr", *LINES[1][2:]]], "the nearest known name is 'kaldre'"),
    "key twice": (HEAD, [LINES[1], LINES[1]], "each place needs a key of its own"),
    "key": (HEAD, [["A b", *LINES[1][1:]]], "small letters, digits and underscores"),
    "longitude": (HEAD, [["a", "kaldre", 181, *LINES[1][3:]]], "-180 to 180 degrees"),
}


@pytest.mark.parametrize(("head", "lines", "said"), BAD.values(), ids=BAD.keys())
def test_a_bad_table_is_refused(tmp_path, library, head, lines, said):
    with pytest.raises(AssumptionError) as refusal:
        read_places(table(tmp_path, lines, head), library)
    assert said in str(refusal.value)


def test_money_needs_its_date(tmp_path, library):
    place = read_places(table(tmp_path, [["a", "kaldre", "", "", 0.3, *[""] * 14]]), library)[0]
    with pytest.raises(AssumptionError, match="money needs the year or month of its price"):
        place_case(library, place, "as_planned", ())


LINES_DONE = pd.DataFrame({
    "place": ["a", "b", "c", "d"], "status": ["done"] * 3 + ["failed"],
    "gates_shut": ["", "Water", "", ""], "npv": [1.0, 9.0, 5.0, np.nan],
    "exchange_rate": [1.0, 1.0, 1.0, np.nan], "people_fed": [7.0, 8.0, 9.0, np.nan],
    RATIO: [3.0, 1.0, np.nan, np.nan],
})  # fmt: skip


def test_places_are_filtered_and_ranked_best_first():
    kept = filtered(LINES_DONE, ["npv >= 1"])
    assert list(ranked(kept, "npv")["place"]) == ["c", "a", "b"]
    assert list(ranked(kept, RATIO)["place"]) == ["a", "c", "b"]
    for condition, said in {
        "npv": "write NAME, one of",
        "npv>1e": "'1e' is no number",
        "size>1": "--where size: no column of numbers",
        "place>1": "--where place: no column of numbers",
    }.items():
        with pytest.raises(RunError, match=said):
            filtered(LINES_DONE, [condition])
    with pytest.raises(RunError, match="--rank size"):
        ranked(kept, "size")


@pytest.mark.parametrize(
    ("conditions", "by", "said"),
    [
        (["people_fd>=4"], "npv", "--where people_fd: no column of numbers has that name; the nea"),
        (["npv"], "npv", "write NAME, one of"),
        ([], "npvv", "--rank npvv: no column of numbers has that name; the nearest known name"),
    ],
)
def test_a_mistyped_question_is_refused_before_any_work(conditions, by, said):
    with pytest.raises(RunError, match=said):
        check_asked(conditions, by)


def test_every_column_that_a_screen_makes_may_be_asked_of(library, places, asked):
    line = screened(library, places[1], asked)
    numbers = [n for n, x in line.items() if isinstance(x, float | int) and not isinstance(x, bool)]
    check_asked([f"{name}>=0" for name in numbers], numbers[0])


def test_money_of_places_is_compared_in_us_dollars():
    # Place c has five times the money of a, in a currency worth ten times less.
    lines = LINES_DONE.assign(exchange_rate=[1.0, 1.0, 10.0, np.nan])
    assert list(ranked(lines.head(3), "npv")["place"]) == ["a", "c", "b"]
    assert list(filtered(lines, ["npv>=0.9"])["place"]) == ["a", "b"]
    assert list(filtered(lines, ["people_fed>=9"])["place"]) == ["c"]


def test_an_end_of_a_range_orders_as_its_indicator_does():
    lines = LINES_DONE.assign(capex_high=[3.0, 1.0, 2.0, np.nan], npv_low=[3.0, 1.0, 2.0, np.nan])
    assert list(ranked(lines.head(3), "capex_high")["place"]) == ["c", "a", "b"]
    assert list(ranked(lines.head(3), "npv_low")["place"]) == ["a", "c", "b"]
    assert printed_indicator("capex_high") == "Capital cost, P90 [USD]"


def test_an_indicator_without_any_answer_orders_nothing_and_fails_nothing(tmp_path):
    lines = LINES_DONE.head(3).assign(longitude=1.0, latitude=2.0)
    assert "irr" not in lines
    assert sorted(ranked(lines, "irr")["place"]) == ["a", "b", "c"]
    assert filtered(lines, ["irr>=0.1"]).empty
    assert filtered(lines.assign(irr=None), ["irr>=0.1"]).empty
    assert screen_map(lines, "irr", tmp_path) is None


def told(asked, lines, conditions=(), failed=None):
    kept = ranked(filtered(lines, conditions), RATIO)
    return screen_document(Screened(lines, kept, failed or {}, asked, RATIO, conditions, 2))


def test_a_screen_is_told_as_a_document(library, places, asked, tmp_path):
    lines = pd.DataFrame([screened(library, place, asked) for place in places])
    made = told(asked, lines, ["people_fed>=40", "capex<=1000000"], {"deep": "too deep"})
    words = page(made)
    first = ranked(filtered(lines, ["people_fed>=40", "capex<=1000000"]), RATIO).iloc[0]
    assert f"<strong>{first['place']}</strong> comes first" in words
    assert "people fed ≥ 40 and capital cost ≤ 1,000,000" in words
    assert "<strong>deep</strong>: too deep" in words
    assert "Some rows that these places rest on are invented." in words
    assert "One US dollar is" in words
    assert "GEL 2.7" in words
    dollars = first["capex"] / first["exchange_rate"]
    assert Formats("en", "USD").amount(dollars) in words
    files = written(made, tmp_path, "screen")
    assert all(path.stat().st_size for path in files)


def test_a_screen_in_which_nothing_is_kept_says_so(library, places, asked):
    lines = pd.DataFrame([screened(library, place, asked) for place in places[1:2]])
    assert "0 of 1 places are kept that meet people fed ≥ 1,000" in page(
        told(asked, lines, ["people_fed>=1000"])
    )
    shut = lines.assign(gates_shut="Land tenure or lease")
    assert "None of them has all its gates open" in page(told(asked, shut))


def test_the_map_gathers_many_places_and_says_what_stands_first():
    rng = np.random.default_rng(1)
    count = 4 * MARKS
    many = pd.DataFrame({
        "place": [f"p{n}" for n in range(count)], "value": np.arange(count, dtype=float),
        "longitude": rng.uniform(-20, 40, count), "latitude": rng.uniform(-30, 30, count),
    })  # fmt: skip
    cells = gathered(many)
    assert cells["count"].sum() == count
    assert len(cells) <= 200
    picture = places_map(many, "Cost", Formats("en"), less_is_better=True)
    assert picture.title == "p0 stands first with 0"
    assert len(picture.wide["datasets"]) == 1
    few = many.head(3)
    assert places_map(few, "Cost", Formats("en"), less_is_better=False).narrow["width"] == 350
    with pytest.raises(RunError, match="nothing to map"):
        places_map(few.assign(longitude=np.nan), "Cost", Formats("en"), less_is_better=True)
