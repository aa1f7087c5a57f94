"""A comparison reads well with two alternatives and with a hundred, and says what it leaves out."""

import math
import re
from dataclasses import replace

import pytest

from sitefare.outputs.comparison import Appraised, of_appraised
from sitefare.outputs.comparison.files import frame_of
from sitefare.outputs.comparison.naming import listed, names_of
from sitefare.outputs.comparison.seen import SHOWN
from sitefare.outputs.document import Figure, Table
from sitefare.outputs.page import page
from sitefare.outputs.pdf import pdf
from sitefare.outputs.picture import ROWS
from sitefare.questions.alternatives import Alternative
from sitefare.questions.comparing import ordered
from sitefare.questions.figures import RATIO
from sitefare.questions.need_score import Need
from sitefare.questions.turning import Against

from .lines import compared_of, line_of, turn
from .test_comparison import column, table, text_of

COUNTS = (2, 4, 12, 100)


@pytest.fixture(scope="module")
def many(library):
    return {n: of_appraised(Appraised(compared_of(library, n), ()), {}) for n in COUNTS}


@pytest.mark.parametrize("count", COUNTS)
def test_every_count_makes_a_document_whose_drawings_fit(many, count):
    made = many[count]
    for block in made.document.blocks:
        if isinstance(block, Figure):
            for spec in (block.picture.wide, block.picture.narrow):
                assert sum(len(rows) for rows in spec["datasets"].values()) <= ROWS
        if isinstance(block, Table):
            assert len(block.columns) <= 10
            assert len(block.rows) <= max(SHOWN + 5, 30), block.caption
    assert len(column(made, "order-table", "Alternative")) == min(count, SHOWN)
    assert page(made.document).startswith("<!DOCTYPE html>")


def test_a_hundred_take_no_more_pages_than_twenty(many, library):
    twenty = of_appraised(Appraised(compared_of(library, SHOWN), ()), {})
    lengths = [len(page(x.document)) for x in (twenty, many[100])]
    assert lengths[1] < 1.1 * lengths[0]
    assert len(pdf(many[100].document)) < 2 * len(pdf(twenty.document))


def test_what_is_not_shown_is_said_and_stands_in_the_files(many):
    assert "shows the first 20 of 100 alternatives; the other 80 stand in comparison.csv" in (
        text_of(many[100].document)
    )
    assert "shows the first" not in text_of(many[12].document)
    rows = frame_of(many[100].seen)
    assert len(rows) == 100
    assert len(many[100].results["order"]) == 100
    assert rows["alternative"].is_unique
    assert list(rows["rank"].dropna()) == list(range(1, 81))
    assert set(rows.loc[rows["rank"].isna(), "status"]) == {"gate shut"}


def test_every_alternative_stands_in_tables_under_its_own_mark(many):
    made = many[12]
    marks = [x.split(". ")[0] for x in column(made, "order-table", "Alternative")]
    assert marks == [*map(str, range(1, 11)), "a", "b"]
    stands = column(made, "edge-table", "Stands")
    for words in stands:
        ahead = set(re.split(", | and ", words.removeprefix("behind ")))
        assert words == "on the edge" or ahead <= set(marks)


def test_names_hold_only_what_differs(library):
    sites = (
        Alternative("site_000", "as_planned"),
        Alternative("site_001", "as_planned"),
    )
    lines = [line_of(library, n, one, 0) for n, one in enumerate(sites)]
    assert list(names_of(lines).values()) == ["Place 000", "Place 001"]
    both = (
        replace(sites[0], design="rafts_300"),
        sites[0],
        replace(sites[0], scenario="low_cost_build"),
        replace(sites[0], settings=("crop.lettuce.cull=0.1",)),
    )
    lines = [line_of(library, n, one, 0) for n, one in enumerate(both)]
    assert list(names_of(lines).values()) == [
        "rafts 300 · as planned",
        "own design · as planned",
        "own design · low cost build",
        "own design · as planned · crop.lettuce.cull=0.1",
    ]
    titled = [replace(x, alternative=replace(x.alternative, title="Same")) for x in lines[:2]]
    assert len(set(names_of(titled).values())) == 2


def test_a_few_names_are_listed_and_many_are_counted():
    assert listed([]) == ""
    assert listed(["A"]) == "A"
    assert listed(["A", "B", "C"]) == "A, B and C"
    assert listed(list("ABCDEFGH")) == "A, B, C, D and 4 more"


def test_without_draws_no_chance_and_no_range_is_told(library):
    made = of_appraised(Appraised(compared_of(library, 4, draws=0), ()), {})
    text = text_of(made.document)
    assert "Regret is told over draws; none were asked for." in text
    assert "How surely" not in text
    heads = [c.header for c in table(made, "order-table").columns]
    assert "P10–P90" not in heads
    assert "Chance of being best" not in heads
    assert "8 in 10" not in " ".join(
        b.caption for b in made.document.blocks if isinstance(b, Figure)
    )
    rows = frame_of(made.seen)
    assert rows["chance_best"].isna().all()
    assert rows["regret_mean"].isna().all()


def without_food(line):
    """A line that feeds nobody by the ration."""
    never = {"people_fed": 0.0, "cost_per_person_day": math.inf, RATIO: math.inf}
    draws = {k: x * 0 + never[k] if k in never else x for k, x in line.draws.items()}
    return replace(line, values={**line.values, **never}, draws=draws)


def test_one_that_feeds_nobody_is_last_and_said_so(library):
    compared = compared_of(library, 4)
    lines = (*compared.lines[:-1], without_food(compared.lines[-1]))
    made = of_appraised(Appraised(replace(compared, lines=lines), ()), {})
    text = text_of(made.document)
    name = made.seen.name(lines[-1])
    assert f"**Last, with no answer by this ration.** {name}." in text
    assert column(made, "edge-table", "Stands")[-1] == "feeds nobody by this ration"
    assert column(made, "regret-table", "Draws without an answer")[-1] == "100 %"
    assert column(made, "regret-table", "On average")[-1] == "no end"
    assert pdf(made.document)


def test_where_nobody_is_fed_anywhere_none_comes_first(library):
    compared = compared_of(library, 4)
    made = of_appraised(
        Appraised(replace(compared, lines=tuple(map(without_food, compared.lines))), ()), {}
    )
    text = text_of(made.document)
    assert "None of the 4 ranked has an answer by cost over the local price" in text
    assert "No alternative has a cost of a person-day to draw." in text
    assert "comes first of" not in text
    assert pdf(made.document)


def test_turns_are_told_with_their_values_and_chances(library):
    compared = compared_of(library, 4)
    first, other, third = compared.ranked[:3]
    row = library.common.rows["price.feed"]
    found = (
        Against(first, other, (turn(row, row.base * 1.25),), 1, None, 0.0),
        Against(first, third, (), 0, row, 0.4),
    )
    made = of_appraised(Appraised(compared, found), {})
    text = text_of(made.document)
    value = made.seen.formats.number(row.base * 1.25)
    assert f"above {value} " in text
    assert f"would put {made.seen.name(other)} first, a chance of 25 %" in text
    assert "no assumption alone puts it first" in text
    assert "closes 40 % of the gap" in text
    line = table(made, "turns-table").rows[0]
    assert line[0] == f"2. {made.seen.name(other)}"
    assert line[3].startswith(value)
    assert line[4:] == ("both", "25 %".replace(" ", "\u00a0"))
    assert made.results["turning"][0]["turns"][0]["value"] == pytest.approx(row.base * 1.25)
    falls = Against(first, other, (turn(row, row.base * 0.75, "other"),), 3, None, 0.0)
    made = of_appraised(Appraised(compared, (falls,)), {})
    assert f"at {other.place} below " in text_of(made.document)
    assert "3 assumptions, each alone, would put it first" in text_of(made.document)


def test_need_stands_with_its_scale_and_source(library):
    compared = compared_of(library, 4)
    lines = tuple(
        replace(x, need=Need(3.0 + n, "phases 1 to 5", "Invented bulletin, p. 2"))
        for n, x in enumerate(compared.lines)
    )
    made = of_appraised(Appraised(replace(compared, lines=lines), ()), {})
    assert column(made, "order-table", "Need score")[:2] == ["3", "4"]
    assert "on phases 1 to 5 (source: Invented bulletin, p. 2)" in table(made, "order-table").note
    assert "Need at the place" in column(made, "weights-table", "Criterion")
    bare = of_appraised(Appraised(compared, ()), {})
    assert set(column(bare, "order-table", "Need score")) == {"not given"}
    assert "Need at the place: no score is supplied" in table(bare, "weights-table").note


def test_those_that_rest_on_defaults_are_marked(library):
    compared = compared_of(library, 12)
    facts = {x.place: (10 + 5 * n, 25) for n, x in enumerate(compared.lines)}
    lines = tuple(replace(x, facts=facts[x.place]) for x in compared.lines)
    made = of_appraised(Appraised(replace(compared, lines=lines), ()), {})
    told = column(made, "order-table", "Site facts supplied")
    for line, words in zip(made.seen.compared.lines, told, strict=True):
        assert words == f"{line.facts[0]} of 25" + (" †" if line.facts[0] < 12.5 else "")
    weak = {x.place for x in lines if x.facts[0] < 12.5}
    assert ("† Rests on defaults" in table(made, "order-table").note) == bool(weak)
    least, most = (f(x[0] for x in facts.values()) for f in (min, max))
    assert f"{least} to {most} of 25 site facts are supplied" in text_of(made.document)


def test_equal_ones_share_a_rank_and_are_told_apart(library):
    compared = compared_of(library, 4)
    twin = replace(
        compared.lines[1], values=compared.lines[0].values, draws=compared.lines[0].draws
    )
    equal = ordered(RATIO, [compared.lines[0], twin, *compared.lines[2:]])
    made = of_appraised(Appraised(replace(compared, lines=tuple(equal)), ()), {})
    names = column(made, "order-table", "Alternative")
    assert names[0].startswith("1. ")
    assert names[1].startswith("2. ")
    assert names[1].endswith("(equal to 1)")
    assert names[2].startswith("3. ")
    assert not names[2].endswith(")")


@pytest.mark.parametrize("by", ["npv", "people_fed", "capex_per_person"])
def test_any_figure_orders_and_is_written_with_its_unit(library, by):
    made = of_appraised(Appraised(compared_of(library, 12, by=by), ()), {})
    text = text_of(made.document)
    unit = {"npv": "−USD 50,", "people_fed": " people (", "capex_per_person": " a person ("}[by]
    assert unit in text.split("People are counted")[0]
    assert page(made.document)
