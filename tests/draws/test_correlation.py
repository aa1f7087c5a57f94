"""Rows move together as a table says, and nothing else moves."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import spearmanr

from sitefare.assumptions import draws
from sitefare.assumptions.case import draw_values, make_case
from sitefare.assumptions.correlation import Pair, in_force, read_pairs
from sitefare.assumptions.library import read_library
from sitefare.assumptions.mixing import correlated, mixing, score_correlation
from sitefare.errors import AssumptionError
from sitefare.outputs.checking import check_all

HEAD = "name_a,name_b,rank_correlation,source,locator,as_of,basis,note\n"
SOURCES = {"judgement": "Judgement."}


def pair(a, b, rank, where="here", site=""):
    return Pair(a, b, rank, "judgement", "judgement", "", where, site)


def table(folder, text):
    path = folder / "correlation.csv"
    path.write_text(HEAD + text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("price.fed,price.fuel,0.5,judgement,,,judgement,", "nearest known name is 'price.feed'"),
        ("price.feed,price.feed,0.5,judgement,,,judgement,", "a row always moves with itself"),
        ("price.feed,tariff.water,1.5,judgement,,,judgement,", "-1 to 1 is accepted"),
        ("price.feed,tariff.water,,judgement,,,judgement,", "-1 to 1 is accepted"),
        ("price.*,tariff.water,0.5,judgement,,,judgement,", "a declared name is accepted"),
        ("place.name,tariff.water,0.5,judgement,,,judgement,", "place.name is a text"),
        ("price.feed,tariff.water,0.5,nobody,,,judgement,", "a key of sources.csv is accepted"),
        ("price.feed,tariff.water,0.5,judgement,,,guess,", "one of published"),
    ],
    ids=["name", "itself", "range", "blank", "group", "text", "source", "basis"],
)
def test_bad_lines_are_refused(tmp_path, line, message):
    with pytest.raises(AssumptionError, match=message):
        read_pairs(table(tmp_path, line + "\n"), SOURCES)


def test_a_pair_stands_once(tmp_path):
    line = "{},{},0.5,judgement,,,judgement,\n"
    text = line.format("price.feed", "tariff.water") + line.format("tariff.water", "price.feed")
    with pytest.raises(AssumptionError, match=r"stands already in correlation\.csv line 2"):
        read_pairs(table(tmp_path, text), SOURCES)


def test_an_unknown_key_is_refused_by_the_case(library):
    layer = replace(library.common, pairs=(pair("crop.letuce.yield_year", "price.feed", 0.2),))
    with pytest.raises(AssumptionError, match=r"nearest known name is 'crop\.lettuce\.yield_year'"):
        make_case(replace(library, common=layer), "kaldre", "as_planned")


def test_without_lines_every_draw_is_the_sequence_itself():
    columns = draws.sobol(["a.x", "b.x", "c.x"], 64, 1)
    assert correlated(columns, [[], [], []]) == columns
    zero = correlated(columns, [[pair("a.x", "b.x", 0.0)]])
    assert all(zero[key] is columns[key] for key in columns)


def test_rows_that_no_line_names_keep_their_draws(plan):
    case = plan("kaldre").case
    apart = draw_values(replace(case, pairs=()), 128, 1)
    named = {
        key.partition("@")[0]
        for _, both in in_force([case.key(n) for n in case.uncertain], case.pairs[:1])
        for two in both
        for key in two
    }
    found = draw_values(case, 128, 1)
    changed = {n for n, x in found.items() if not np.array_equal(x, apart[n])}
    assert changed
    assert changed <= named
    assert not any(case.rows[n].varies == "year" for n in changed)
    assert not any(n.startswith("occurrence.") for n in changed)


def test_each_row_keeps_its_own_distribution(plan):
    case = plan("qasr_adhra").case
    together, apart = draw_values(case, 4096, 1), draw_values(replace(case, pairs=()), 4096, 1)
    for name in ("tariff.electricity", "crop.tomato.yield_year", "market.tilapia.price"):
        assert not np.array_equal(together[name], apart[name])
        for share in (0.1, 0.5, 0.9):
            low, high = np.quantile(apart[name], [share - 0.02, share + 0.02])
            assert low < np.quantile(together[name], share) < high


def test_shipped_pairs_reach_what_they_ask(plan):
    case = plan("port_anui").case
    found = draw_values(case, 4096, 1)
    for a, b, asked in (
        ("price.generator_fuel", "tariff.electricity", 0.5),
        ("crop.pak_choi.yield_year", "crop.water_spinach.yield_year", 0.4),
        ("species.tilapia.feed_conversion", "species.tilapia.survival", -0.4),
        ("price.feed", "crop.pak_choi.yield_year", 0.0),
    ):
        # Four standard errors of as many independent draws.
        assert spearmanr(found[a][:, 0], found[b][:, 0]).statistic == pytest.approx(asked, abs=0.06)


def test_a_draw_depends_on_its_number_only(plan):
    case = plan("kaldre").case
    whole, later = draw_values(case, 512, 5), draw_values(case, 256, 5, first=256)
    few = draw_values(case, 64, 5)
    for name, x in whole.items():
        if not isinstance(x, str) and x.shape[0] > 1:
            assert np.array_equal(x[256:], later[name]), name
            assert np.array_equal(x[:64], few[name]), name


CLASH = (
    pair("a.x", "b.x", 0.9, "t 2"),
    pair("b.x", "c.x", 0.9, "t 3"),
    pair("a.x", "c.x", -0.5, "t 4"),
)


def test_what_cannot_hold_together_is_refused_with_the_nearest_that_can():
    keys = ("a.x", "b.x", "c.x", "d.x")
    with pytest.raises(AssumptionError) as refused:
        mixing(keys, (CLASH,))
    words = str(refused.value)
    assert "a.x and c.x -0.5 (t 4)" in words
    assert "d.x" not in words
    nearest = float(words.split(" at ")[1].split(maxsplit=1)[0])
    line = words.rsplit("; ", maxsplit=1)[-1]
    moved = next(p for p in CLASH if f"({p.where})" in line)
    others = tuple(p for p in CLASH if p is not moved)
    assert mixing(keys, ((*others, replace(moved, rank=nearest)),))
    step = 0.01 * np.sign(moved.rank - nearest)
    with pytest.raises(AssumptionError):
        mixing(keys, ((*others, replace(moved, rank=nearest + step)),))


def test_a_group_that_clashes_with_itself_is_told_line_by_line():
    keys = tuple(f"crop.k{i}.yield_year" for i in range(8))
    group = pair("crop.*.yield_year", "crop.*.yield_year", -0.4, "t 2")
    with pytest.raises(AssumptionError, match=r"more pairs -0\.4 \(t 2\).*at -0\.13 is the near"):
        mixing(keys, ((group,),))


def test_rows_may_be_tied_fully():
    columns = draws.sobol(["a.x", "b.x", "c.x"], 256, 1)
    tied = [pair("a.x", "b.x", 1.0), pair("a.x", "c.x", -1.0), pair("b.x", "c.x", -1.0)]
    made = correlated(columns, [tied])
    assert made["b.x"] == pytest.approx(made["a.x"], abs=1e-12)
    assert made["c.x"] == pytest.approx(1.0 - made["a.x"], abs=1e-12)
    with pytest.raises(AssumptionError, match="cannot hold together"):
        correlated(columns, [[tied[0], tied[1], pair("b.x", "c.x", 0.0)]])


def test_later_layers_and_single_rows_win():
    keys = [f"crop.{k}.yield_year" for k in "abc"]
    group = pair("crop.*.yield_year", "crop.*.yield_year", 0.4, "t 2")
    single = pair("crop.a.yield_year", "crop.b.yield_year", 0.7, "t 3")
    later = pair("crop.*.yield_year", "crop.c.yield_year", 0.0, "s 2")
    acting = dict(in_force(keys, [[group, single], [], [later]]))
    assert acting == {single: [(keys[0], keys[1])]}
    half = pair("crop.a.yield_year", "crop.*.yield_year", 0.2, "t 4")
    other = pair("crop.*.yield_year", "crop.b.yield_year", 0.3, "t 5")
    with pytest.raises(AssumptionError, match="name the two rows in a line of their own"):
        in_force(keys, [[half, other]])


UNION = ["crop.a.yield_year", "price.feed@here", "price.feed@there", "wage.worker@here"]


def test_sites_are_linked_only_through_what_they_share():
    shared = pair("crop.a.yield_year", "price.feed", 0.8)
    columns = draws.sobol(UNION, 8192, 1)
    made = correlated(columns, [[shared], [], []])
    here, there = (made[f"price.feed@{site}"][:, 0] for site in ("here", "there"))
    # Given the shared row the two are independent: the scores' correlation is the square.
    implied = score_correlation(0.8) ** 2
    assert spearmanr(here, there).statistic == pytest.approx(
        6 / np.pi * np.arcsin(implied / 2), abs=0.02
    )
    for price in (here, there):
        found = spearmanr(made["crop.a.yield_year"][:, 0], price).statistic
        assert found == pytest.approx(0.8, abs=0.02)
    alone = correlated({k: columns[k] for k in UNION if "there" not in k}, [[shared], [], []])
    assert np.array_equal(alone["price.feed@here"][:, 0], here)


def test_many_sites_may_share_one_row():
    keys = ["crop.a.yield_year", *(f"price.feed@site{i}" for i in range(40))]
    assert (
        len(mixing(tuple(sorted(keys)), ((pair("crop.a.yield_year", "price.feed", 0.9),),))) == 40
    )


def test_two_sites_are_correlated_where_a_line_names_both():
    line = pair("price.feed@here", "price.feed@there", 0.6)
    made = correlated(draws.sobol(UNION, 4096, 1), [[line], [], []])
    found = spearmanr(made["price.feed@here"][:, 0], made["price.feed@there"][:, 0]).statistic
    assert found == pytest.approx(0.6, abs=0.03)
    own = pair("price.feed@here", "wage.worker", 0.6)
    assert in_force(UNION, [[own]])[0][1] == [("price.feed@here", "wage.worker@here")]


def test_a_shared_row_has_one_draw_in_a_comparison(library):
    cases = [make_case(library, site, "as_planned") for site in ("kaldre", "norhaven")]
    keys = sorted({case.key(name) for case in cases for name in case.uncertain})
    one, two = (draw_values(case, 64, 1, keys) for case in cases)
    shared = [
        name
        for name in set(cases[0].uncertain) & set(cases[1].uncertain)
        if "@" not in cases[0].key(name) + cases[1].key(name)
        and cases[0].rows[name].varies == "life"
    ]
    # Money rows share their draw, not their amount: currencies differ.
    plain = [n for n in shared if "money" not in cases[0].rows[n].spec.unit]
    assert "crop.lettuce.yield_year" in plain
    assert all(np.array_equal(one[name], two[name]) for name in plain)


@pytest.mark.parametrize("count", [2, 3, 4])
def test_any_of_the_shipped_sites_can_be_drawn_together(library, count):
    # One may use its own fuel and the shared gas, another the shared fuel and its own gas.
    for sites in itertools.combinations(library.sites, count):
        cases = [make_case(library, site, "as_planned") for site in sites]
        keys = sorted({case.key(name) for case in cases for name in case.uncertain})
        assert all(draw_values(case, 4, 1, keys) for case in cases), sites


def test_shared_rows_stay_correlated_where_no_site_uses_both():
    line = pair("price.feed", "price.generator_fuel", 0.6)
    keys = ["price.feed", "price.feed@here", "price.generator_fuel", "price.generator_fuel@there"]
    made = correlated(draws.sobol(keys, 4096, 1), [[line], [], []])
    found = spearmanr(made["price.feed"][:, 0], made["price.generator_fuel"][:, 0]).statistic
    assert found == pytest.approx(0.6, abs=0.03)


def test_a_site_table_may_not_tie_what_all_sites_share():
    line = pair("crop.a.yield_year", "crop.b.yield_year", 0.5, "sites/here line 2", "here")
    keys = ["crop.a.yield_year", "crop.b.yield_year"]
    with pytest.raises(AssumptionError, match="are shared by all sites"):
        in_force(keys, [[], [line], []])


def copied(library, tmp_path, site, text):
    import shutil  # noqa: PLC0415

    folder = tmp_path / "assumptions"
    shutil.copytree(library.folder, folder)
    table(folder / "sites" / site, text)
    return read_library(folder)


def test_a_site_replaces_a_line_of_common(library, tmp_path):
    text = "price.generator_fuel,tariff.electricity,0.1,judgement,,,judgement,\n"
    made = copied(library, tmp_path, "kaldre", text)
    case = make_case(made, "kaldre", "as_planned")
    assert case.input_hash != make_case(library, "kaldre", "as_planned").input_hash
    found = draw_values(case, 2048, 1)
    a, b = (found[n][:, 0] for n in ("price.generator_fuel", "tariff.electricity"))
    assert spearmanr(a, b).statistic == pytest.approx(0.1, abs=0.05)


def test_check_tells_idle_lines_and_refuses_a_clash(library, tmp_path):
    text = (
        "wage.worker,production.crop_year_factor,0.3,judgement,,,judgement,\n"
        "price.generator_fuel,tariff.electricity,-0.99,judgement,,,judgement,\n"
    )
    made = copied(library, tmp_path, "kaldre", text)
    told = [f for f in check_all(made) if f.text.startswith("site kaldre")]
    assert any(f.refused and "cannot hold together" in f.text for f in told)
    table(made.folder / "sites" / "kaldre", text.splitlines()[0] + "\n")
    words = [f.text for f in check_all(read_library(made.folder))]
    assert any("without effect" in w and "production.crop_year_factor" in w for w in words)
