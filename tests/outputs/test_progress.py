"""Progress is told to a person, a log file or a machine, and by questions that print nothing."""

import io
import json

import pytest
from rich.console import Console

from sitefare.appraisal import appraise
from sitefare.outputs import progress as module
from sitefare.outputs.progress import Count, Progress, duration
from sitefare.questions.grouping import group_tornado, members
from sitefare.questions.influence_design import designed, parts_by_group
from sitefare.questions.uncertainty import uncertainty
from sitefare.questions.which_site import which_site


class Clock:
    """A clock that the test moves."""

    def __init__(self):
        self.now = 1000.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock(monkeypatch):
    own = Clock()
    monkeypatch.setattr(module, "monotonic", own)
    return own


def told(clock, *, moving=False, **options):
    """What is told of ten tasks of 2 s each, the third of which fails."""
    console = Console(file=io.StringIO(), width=200, force_terminal=moving)
    with Progress(console, **options) as progress:
        ended = progress.stage("tasks", 10)
        for number in range(10):
            clock.now += 2.0
            ended(number == 2)
    return console.file.getvalue().splitlines()


def test_a_log_file_gets_plain_lines_now_and_then(clock):
    assert told(clock) == [
        "tasks: 0 of 10",
        "tasks: 4 of 10, 1 failed; 30 a minute, 10 s left",
        "tasks: 9 of 10, 1 failed; 30 a minute, 0 s left",
    ]


def test_a_machine_gets_one_object_a_line(clock):
    lines = [json.loads(line) for line in told(clock, as_json=True)]
    assert lines[0] == {"stage": "tasks", "total": 10, "done": 0, "failed": 0,
                        "per_minute": None, "seconds_left": None}  # fmt: skip
    assert lines[1] == {"stage": "tasks", "total": 10, "done": 4, "failed": 1,
                        "per_minute": 30.0, "seconds_left": 10.0}  # fmt: skip
    assert lines[-1]["done"] == 9


def test_a_quick_command_is_quiet_and_a_slow_one_is_not(clock):
    assert told(clock, quiet=60.0) == []
    assert told(clock, quiet=15.0)[-1].startswith("tasks: 9 of 10, 1 failed")


def test_a_terminal_gets_a_line_that_goes_away(clock):
    shown = "".join(told(clock, moving=True, title="Working"))
    assert "tasks: " in shown
    assert "\x1b[2K" in shown  # the line is cleared
    assert "".join(told(clock, as_json=True, moving=True)).count("\x1b") == 0


def test_numbers_are_written_as_people_read_them(clock):
    count = Count("draws", 16384, begun=clock.now)
    clock.now += 60.0
    count.done = 8192
    assert count.words == "draws: 8,192 of 16,384; 8,192 a minute, 60 s left"
    assert [duration(x) for x in (40, 720, 11_100)] == ["40 s", "12 min", "3 h 05 min"]


@pytest.fixture
def heard():
    """A stage that keeps what it is told: title, total, steps ended."""
    stages = []

    def stage(title, total):
        stages.append([title, total, 0])

        def ended(failed=False, count=1):  # noqa: FBT002
            assert not failed
            stages[-1][2] += count

        return ended

    return stage, stages


def test_questions_tell_every_draw(plan, heard):
    stage, stages = heard
    first, second = plan("qasr_adhra"), plan("kaldre")
    uncertainty(first, 512, 1, ended=stage("draws", 512))
    which_site([appraise(first), appraise(second)], 256, 1, stage)
    group_tornado(first, ["npv"], 16, 1, stage)
    parts = {k: parts_by_group(first, {})[k] for k in list(parts_by_group(first, {}))[:2]}
    designed(first, ["npv"], 64, 1, parts, stage)
    assert stages == [
        ["draws", 512, 512],
        ["draws of all sites", 512, 512],
        ["draws of all groups", 16 * len(members(first.case)), 16 * len(members(first.case))],
        ["draws", 4 * 64, 4 * 64],
    ]
