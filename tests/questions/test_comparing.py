"""Alternatives on common draws: whoever works, in whatever order they are named."""

import shutil
from dataclasses import replace

import numpy as np
import pytest
from clusters import running_cluster

from sitefare.appraisal import appraise
from sitefare.assumptions.case import draw_values, make_case, moved_values
from sitefare.assumptions.draws import quantile, yearly
from sitefare.errors import AssumptionError, DesignError, RunError
from sitefare.questions import comparing
from sitefare.questions.alternatives import Alternative, alternatives
from sitefare.questions.comparing import compare
from sitefare.questions.figures import RATIO, ratio_of
from sitefare.questions.gates import gates
from sitefare.questions.need_score import need_of
from sitefare.questions.ranking import ranks
from sitefare.questions.turning import turning
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for
from sitefare.workers import Cluster, Here, Processes

FOUR = alternatives(["kaldre", "norhaven"], ("", "rafts_300"))
DRAWS = 16


@pytest.fixture(scope="module")
def folder(root):
    return root / "assumptions"


@pytest.fixture(scope="module")
def four(folder):
    return compare(folder, FOUR, DRAWS, 1, closer=2)


def bytes_of(found):
    """Lay a comparison out so that any difference shows."""
    return [
        (
            repr({k: x for k, x in line.__dict__.items() if k not in ("draws", "swung")}),
            {name: x.tobytes() for name, x in line.draws.items()},
            None
            if line.swung is None
            else (line.swung.keys, line.swung.low.tobytes(), line.swung.high.tobytes()),
        )
        for line in found.lines
    ]


def test_processes_and_any_order_of_naming_give_the_same_bytes(folder, four):
    found = compare(folder, FOUR[::-1], DRAWS, 1, closer=2, workers=Processes(2))
    assert bytes_of(found) == bytes_of(four)


def test_a_cluster_gives_the_same_bytes(folder, four):
    with running_cluster() as (address, _):
        link = Cluster(address)
        link.client.wait_for_workers(2, timeout=60)
        found = compare(folder, FOUR, DRAWS, 1, closer=2, workers=link)
        link.close()
    assert bytes_of(found) == bytes_of(four)


def test_a_line_holds_what_the_appraisal_says(four, library):
    line = next(x for x in four.lines if x.name == "kaldre/rafts_300/as_planned")
    plan = plan_for(make_case(library, "kaldre", "as_planned", (), "rafts_300"))
    base = appraise(plan).indicators
    for name, x in base.items():
        assert np.array_equal(line.values[name], x[0, 0], equal_nan=True), name
    assert line.values[RATIO] == ratio_of(base)[0, 0]
    drawn = uncertainty(plan, DRAWS, 1, four.asked.keys)
    for name in ("people_fed", "npv", "capex"):
        assert line.draws[name].tobytes() == drawn.draws[name][:, 0].tobytes()
    assert line.draws[RATIO].tobytes() == ratio_of(drawn.draws)[:, 0].tobytes()
    assert line.spreads["npv"] == drawn.spreads["npv"]
    assert line.usd("capex") == line.values["capex"] / plan.case.exchange_rate
    assert line.results["case"]["design"] == "rafts_300"
    assert line.usd_ends("npv")[0] == drawn.spreads["npv"].low / plan.case.exchange_rate


def test_only_the_figures_asked_for_keep_their_draws(four, folder):
    assert set(four.lines[0].draws) == set(four.asked.kept)
    found = compare(folder, FOUR[:2], DRAWS, 1, by="irr_economic", closer=0, keep=("jobs_fte",))
    assert {"irr_economic", "jobs_fte"} <= set(found.lines[0].draws)
    assert [line.swung for line in found.lines] == [None, None]


def test_what_alternatives_share_cancels(folder):
    # Only the price of feed differs: in every draw the dearer costs more, however wide they vary.
    pair = [Alternative("kaldre", "as_planned", (f"price.feed={x} USD/kg",)) for x in (1.5, 1.8)]
    found = compare(folder, pair, DRAWS, 1, closer=0)
    cheap, dear = (found.lines[i].draws["cost_per_person_day"] for i in (0, 1))
    fed = np.isfinite(cheap)
    assert (cheap < dear)[fed].all()
    assert (fed == np.isfinite(dear)).all()
    assert cheap[fed].max() > dear[fed].min()
    assert ranks(found, "cost_per_person_day")[0].chance_best == fed.mean()


def test_funding_moves_no_cost_and_the_two_share_their_rank(folder):
    pair = alternatives(["norhaven"], (), ("as_planned", "grant_and_soft_loan"))
    found = compare(folder, pair, DRAWS, 1, closer=0)
    assert [line.rank for line in found.lines] == [1, 1]
    assert [x.chance_best for x in ranks(found, RATIO)] == [0.5, 0.5]


def test_one_that_cannot_be_built_bars_no_other(folder):
    # Trout die in the island's water; the cool warehouse can keep them.
    made = alternatives(["port_anui", "norhaven"], settings=["farm_design.species=trout"])
    found = compare(folder, made, 0, 1, closer=0)
    assert [line.alternative.site for line in found.lines] == ["norhaven"]
    name = "port_anui/as_planned/farm_design.species=trout"
    assert list(found.refused) == [name]
    assert "water" in found.refused[name]
    unsafe = alternatives(["kaldre", "norhaven"], settings=["life_support.response_time=600"])
    with pytest.raises(DesignError, match="no farm can be built as asked: kaldre/as_planned"):
        compare(folder, unsafe, 0, 1)


class Losing(Here):
    """Workers that lose the task of one alternative, as a process that is killed does."""

    def __init__(self, lost):
        self.lost = lost

    def each(self, function, tasks, limit=None):
        for outcome in super().each(function, tasks, limit):
            lost = getattr(tasks[outcome.number], "site", "") in self.lost
            yield replace(outcome, answer=None, failure="its process ended") if lost else outcome


def test_one_that_fails_bars_no_other_and_is_told_apart_from_a_refusal(folder):
    made = alternatives(["port_anui", "norhaven", "kaldre"], settings=["farm_design.species=trout"])
    found = compare(folder, made, 0, 1, closer=0, workers=Losing(["kaldre"]))
    assert [line.alternative.site for line in found.lines] == ["norhaven"]
    assert [name.split("/")[0] for name in found.refused] == ["kaldre", "port_anui"]
    assert [name.split("/")[0] for name in found.failed] == ["kaldre"]
    with pytest.raises(RunError, match=r"no alternative could be appraised: .* its process ended"):
        compare(folder, FOUR, 0, 1, workers=Losing(["kaldre", "norhaven"]))


@pytest.mark.parametrize(
    ("given", "by", "error", "message"),
    [
        ([("kaldre", ())], RATIO, RunError, "two or more different sites; found kaldre"),
        ([("kaldre", ()), ("kaldre", ())], RATIO, RunError, "twice or more: kaldre/as_planned"),
        (
            [("kaldre", ()), ("norhaven", ("wage.worker=2 USD/h",)), ("kaldre", ())],
            RATIO, RunError, "stands once in a comparison; twice or more: kaldre/as_planned",
        ),
        ([("kaldre", ()), ("nowhere", ())], RATIO, AssumptionError, "site 'nowhere' is not in"),
        (
            [("kaldre", ()), ("norhaven", ("people.headline=vegetables_only",))],
            RATIO, RunError, "compared by one ration; these name",
        ),
        (
            [("kaldre", ()), ("norhaven", ("criterion.cost.weight=50",))],
            RATIO, AssumptionError, "criterion.cost.weight: criteria are the same for all",
        ),
        ([("kaldre", ()), ("norhaven", ())], "peopl_fed", RunError, "not a figure .*people_fed"),
        (
            [("kaldre", ()), ("norhaven", ())], "people_fed.nobody",
            AssumptionError, "kaldre/as_planned: 'nobody' is not a ration",
        ),
        ([("kaldre", ()), ("norhaven", ())], "jobs_fte", RunError, "neither more nor less"),
    ],
    ids=["one", "same", "twice", "site", "rations", "criterion", "figure", "ration", "order"],
)  # fmt: skip
def test_what_cannot_be_compared_is_refused(folder, given, by, error, message):
    made = [Alternative(site, "as_planned", settings) for site, settings in given]
    with pytest.raises(error, match=message):
        compare(folder, made, 0, 1, by=by)


def test_alternatives_are_every_site_with_every_design_and_scenario():
    made = alternatives(["a", "b"], ("", "d"), ("s", "t"), ("x=1",))
    assert [one.name for one in made] == [
        "a/s/x=1", "a/t/x=1", "a/d/s/x=1", "a/d/t/x=1",
        "b/s/x=1", "b/t/x=1", "b/d/s/x=1", "b/d/t/x=1",
    ]  # fmt: skip
    assert len(alternatives(["a"], ("", "d"))) == 2
    for sites in (["a"], ["a", "a"], []):
        with pytest.raises(RunError, match="two or more different sites; found"):
            alternatives(sites)


def test_beyond_the_most_dimensions_own_rows_are_drawn_by_name(folder, library, monkeypatch):
    monkeypatch.setattr(comparing, "MOST_DIMENSIONS", 10)
    one, other = (compare(folder, x, DRAWS, 1, closer=0) for x in (FOUR, FOUR[::-1]))
    assert bytes_of(one) == bytes_of(other)
    assert not any("@" in key for key in one.asked.keys)
    for site in ("kaldre", "norhaven"):
        case = make_case(library, site, "as_planned")
        values = draw_values(case, DRAWS, 1, one.asked.keys)
        row = case.rows["source_water.sodium"]
        by_name = yearly(f"source_water.sodium@{site}", DRAWS, 0, 1)
        assert (
            values[row.name] == quantile(row.spec, (row.low, row.base, row.high), by_name)
        ).all()
    assert all(np.unique(line.draws["npv"]).size == DRAWS for line in one.lines)


def test_a_table_that_changes_is_read_again(folder, tmp_path):
    copy = tmp_path / "assumptions"
    shutil.copytree(folder, copy)
    before = compare(copy, FOUR[:2], 0, 1, closer=0)
    table = copy / "common" / "finance.csv"
    text = table.read_text(encoding="utf-8")
    line = next(x for x in text.splitlines() if x.startswith("project.discount_rate,"))
    table.write_text(text.replace(line, line.replace(",0.06,", ",0.08,")), encoding="utf-8")
    after = compare(copy, FOUR[:2], 0, 1, closer=0)
    assert before.lines[0].values["npv"] != after.lines[0].values["npv"]


def test_every_stage_is_told(folder):
    stages = []

    def stage(title, total):
        stages.append([title, total, 0])

        def ended(failed):
            assert not failed
            stages[-1][2] += 1

        return ended

    compare(folder, FOUR[:2], 0, 1, progress=stage, closer=1)
    assert [total for _, total, _ in stages] == [1, 2, 1]
    assert all(total == done for _, total, done in stages)


def test_taken_apart_at_once_or_after_the_order_is_known(four, folder):
    found = compare(folder, FOUR, DRAWS, 1, closer=4)
    assert all(line.swung is not None for line in found.lines)
    assert bytes_of(found)[:2] == bytes_of(four)[:2]
    assert [len(line.sensitive_to) for line in four.lines] == [5, 5, 0, 0]


@pytest.mark.parametrize(
    ("setting", "title", "state"),
    [
        ("evidence.tenure.status=missing", "Land tenure or lease", "shut"),
        ("evidence.tenure.expiry=2020-01", "Land tenure or lease", "shut"),
        ("evidence.tenure.status=requested", "Land tenure or lease", "asked for"),
        ("source_supply.dry_month=0", "Source gives enough water", "asked for"),
        ("source_supply.dry_month=1", "Source gives enough water", "shut"),
        ("source_supply.dry_month=9", "Source gives enough water", "open"),
    ],
)
def test_a_gate_follows_what_is_known(library, setting, title, state):
    case = make_case(library, "norhaven", "as_planned", [setting])
    found = {gate.title: gate for gate in gates(case, appraise(plan_for(case)))}
    assert found[title].state == state
    assert found[title].why


@pytest.mark.parametrize(("salt", "state"), [(1.4, "open"), (1.6, "shut")])
def test_salty_water_shuts_its_gate_before_any_farm_is_sized(library, salt, state):
    case = make_case(library, "norhaven", "as_planned", [f"source_water.conductivity={salt}"])
    assert gates(case)[-1].state == state


def test_a_shut_gate_keeps_its_rank(folder):
    pair = [
        Alternative("norhaven", "as_planned"),
        Alternative("kaldre", "as_planned", ("evidence.tenure.status=missing",)),
    ]
    found = compare(folder, pair, 0, 1, by="npv", closer=0)
    assert [line.rank for line in found.lines] == [1, 0]
    assert [gate.title for gate in found.lines[1].shut] == ["Land tenure or lease"]


def test_a_need_score_comes_with_its_source(library):
    case = make_case(library, "kaldre", "as_planned")
    need = need_of(case)
    assert need.score == case.rows["humanitarian_need.score"].base
    assert need.source == library.sources["invented"].citation
    given = need_of(make_case(library, "kaldre", "as_planned", ["humanitarian_need.score=9"]))
    assert given.score == 9
    assert given.source.startswith("Given on the command line")


@pytest.fixture(scope="module")
def turned(folder):
    pair = alternatives(["norhaven", "qasr_adhra"])
    return compare(folder, pair, 0, 1, by="people_fed", closer=2)


def test_at_the_value_told_the_two_are_equal(turned, library):
    (against,) = turning(turned)
    assert against.turns
    plans = [plan_for(x.alternative.case(library)) for x in (against.first, against.other)]
    for turn in against.turns:
        assert turn.row.low <= turn.value <= turn.row.high
        if turn.jump:
            continue
        moves = {
            "first": [{turn.row.name: turn.value}, {}],
            "other": [{}, {turn.row.name: turn.value}],
            "both": [{turn.row.name: turn.value}, {turn.row.name: turn.other_value}],
        }[turn.moves]
        people = [
            appraise(plan, moved_values(plan.case, [move])).indicators["people_fed"][0, 0]
            for plan, move in zip(plans, moves, strict=True)
        ]
        assert people[0] == pytest.approx(people[1], rel=1e-5)
        assert 0 < turn.beyond < 0.5 + 1e-9


def test_a_common_row_moves_both_and_a_sites_own_row_only_its_own(turned):
    (against,) = turning(turned)
    for turn in against.turns:
        own = turn.row.layer.startswith("site ")
        assert not (own and turn.shared)
        assert (turn.other_row is None) != turn.shared


def test_turning_is_the_same_whether_or_not_lines_were_taken_apart(turned, folder):
    bare = compare(folder, [x.alternative for x in turned.lines], 0, 1, by="people_fed", closer=0)
    assert repr(turning(bare)[0].turns) == repr(turning(turned)[0].turns)


def test_where_none_turns_the_order_the_nearest_is_named(four):
    found = turning(four, others=1)
    assert len(found) == 1
    (against,) = found
    if not against.turns:
        assert against.closest is not None
        assert 0 <= against.closed < 1
    assert against.many >= len(against.turns)
