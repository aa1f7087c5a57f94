"""Many tasks on processes: one that fails, hangs or dies harms no other.

Tasks are Python expressions and the function is `eval`, so that any process can call it.
"""

import os
import time

import pytest

from sitefare.errors import RunError
from sitefare.workers import Here, Processes

MIXED = [
    "6 * 7",
    "1 / 0",
    "__import__('os')._exit(3)",
    "__import__('time').sleep(600)",
    "__import__('os').kill(__import__('os').getpid(), 9)",
    "'last'",
]


def by_number(outcomes):
    return [x for _, x in sorted((x.number, x) for x in outcomes)]


def test_here_goes_on_past_a_failure():
    found = list(Here().each(eval, ["1 + 1", "1 / 0", "'x'"]))
    assert [x.answer for x in found] == [2, None, "x"]
    assert [x.done for x in found] == [True, False, True]
    assert found[1].failure == "unexpected ZeroDivisionError: division by zero"


def test_a_process_that_dies_or_hangs_harms_no_other():
    found = {x.number: x for x in Processes(2).each(eval, MIXED, limit=4.0)}
    assert len(found) == len(MIXED)
    assert (found[0].answer, found[5].answer) == (42, "last")
    assert "division by zero" in found[1].failure
    assert found[2].failure == "its process ended without an answer (exit code 3)"
    assert found[3].failure == "it was stopped at its limit of 4 s"
    assert found[4].failure == "its process ended without an answer (exit code -9)"


def test_a_lost_process_is_tried_again(tmp_path):
    # The first try leaves a mark and dies; the second finds it and answers.
    mark = tmp_path / "mark"
    task = (
        f"'again' if __import__('os').path.exists({str(mark)!r}) "
        f"else (open({str(mark)!r}, 'w').close(), __import__('os')._exit(1))"
    )
    found = list(Processes(1).each(eval, [task]))
    assert [x.answer for x in found] == ["again"]


def test_what_is_left_unread_leaves_no_process(tmp_path):
    mark = tmp_path / "pid"
    slow = (
        f"(open({str(mark)!r}, 'w').write(str(__import__('os').getpid())), "
        "__import__('time').sleep(600))"
    )
    outcomes = Processes(2).each(eval, ["1", slow])
    assert next(outcomes).answer == 1
    for _ in range(200):
        if mark.exists() and mark.read_text():
            break
        time.sleep(0.05)
    outcomes.close()
    process = int(mark.read_text())
    for _ in range(200):
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    pytest.fail("the process still runs")


def test_too_few_workers_are_refused():
    with pytest.raises(RunError, match="at least one worker is needed; found 0"):
        Processes(0)
