"""What became of one task, whoever worked on it, in this process or in one of its own?"""

import os
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing import get_context
from time import monotonic
from typing import TYPE_CHECKING, Generic, Self, TypeVar

from sitefare.errors import SitefareError

if TYPE_CHECKING:
    from pebble import ProcessPool

T = TypeVar("T")
R = TypeVar("R")

#: How often a task whose process was lost is tried. [1]
TRIES = 2


@dataclass(frozen=True)
class Outcome(Generic[R]):
    """What became of one task: its answer, or one sentence on why there is none.

    `number` is the task's place in the list given; `seconds` is the time it took. [s]
    """

    number: int
    answer: R | None
    failure: str
    seconds: float

    @property
    def done(self) -> bool:
        """Whether there is an answer."""
        return not self.failure


def guarded(function: Callable[[T], R], task: T) -> tuple[R | None, str, float]:
    """Call a function; return its answer, or one sentence, and the time it took. [s]"""
    start = monotonic()
    try:
        answer: R | None = function(task)
        failure = ""
    except SitefareError as error:
        answer, failure = None, str(error)
    except Exception as error:  # noqa: BLE001 one task must never stop the others
        if os.environ.get("SITEFARE_DEBUG"):
            traceback.print_exc()
        answer, failure = None, f"unexpected {type(error).__name__}: {error}"
    return answer, failure, monotonic() - start


class Closing:
    """Something that is used as a context, and left at its end."""

    def close(self) -> None:
        """Leave nothing behind."""

    def __enter__(self) -> Self:
        """Begin."""
        return self

    def __exit__(self, *_: object) -> None:
        """Leave, whatever happened."""
        self.close()


def spawned(count: int) -> "ProcessPool":
    """Return a pool of processes started anew, so that nothing is shared between tasks."""
    from pebble import ProcessPool  # noqa: PLC0415

    return ProcessPool(max_workers=count, context=get_context("spawn"))


def lost(limit: float | None, error: BaseException) -> tuple[str, bool]:
    """Say in words why a task has no answer, and whether it is worth another try."""
    from pebble import ProcessExpired  # noqa: PLC0415

    if isinstance(error, TimeoutError):
        return f"it was stopped at its limit of {limit:g} s", False
    if isinstance(error, ProcessExpired):
        return f"its process ended without an answer (exit code {error.exitcode})", True
    return f"unexpected {type(error).__name__}: {error}", False
