"""How is one function called on many tasks, on all cores or on a cluster, whatever one task does?

Three kinds of workers with one interface: this process, processes of this machine, and a Dask
cluster that is running already. Outcomes come as they are ready, each with the number of its
task, and depend on the task alone. A task that fails, hangs or loses its process costs only
itself.
"""

import os
import traceback
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from time import monotonic
from typing import Any, Generic, Protocol, TypeVar

from sitefare.errors import RunError, SitefareError

T = TypeVar("T")
R = TypeVar("R")

#: How often a task whose process was lost is tried. [1]
TRIES = 2

#: Tasks handed out for each worker at a time: the next one waits where it is needed. [1]
AHEAD = 2


#: How long a scheduler may take to answer. [s]
ANSWERS = 10


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


class Workers(Protocol):
    """Something that calls a function on many tasks."""

    def each(
        self, function: Callable[[T], R], tasks: Sequence[T], limit: float | None = None
    ) -> Iterator[Outcome[R]]:
        """Yield every task's outcome as it is ready; `limit` is for one task. [s]"""
        ...


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


class Here:
    """One task after the other in this process; no limit of time can be held."""

    def each(
        self, function: Callable[[T], R], tasks: Sequence[T], limit: float | None = None
    ) -> Iterator[Outcome[R]]:
        """Yield every task's outcome, in order."""
        del limit
        for number, task in enumerate(tasks):
            yield Outcome(number, *guarded(function, task))


class Processes:
    """Processes of this machine, started anew, so that nothing is shared between tasks."""

    def __init__(self, count: int) -> None:
        """Ask for a number of processes.

        Raises
        ------
        RunError
            If it is less than one.
        """
        if count < 1:
            msg = f"at least one worker is needed; found {count}"
            raise RunError(msg)
        self.count = count

    def each(
        self, function: Callable[[T], R], tasks: Sequence[T], limit: float | None = None
    ) -> Iterator[Outcome[R]]:
        """Yield every task's outcome as it is ready; one beyond its limit is ended. [s]"""
        from pebble import ProcessPool  # noqa: PLC0415

        pool = ProcessPool(max_workers=self.count, context=get_context("spawn"))
        call = partial(guarded, function)

        def begin(task: T) -> Future[Any]:
            future: Future[Any] = pool.schedule(call, args=[task], timeout=limit)
            return future

        try:
            yield from _followed(begin, tasks, AHEAD * self.count, partial(_lost, limit))
        finally:
            pool.stop()
            pool.join()


def _lost(limit: float | None, error: BaseException) -> tuple[str, bool]:
    """Say in words why a task has no answer, and whether it is worth another try."""
    from pebble import ProcessExpired  # noqa: PLC0415

    if isinstance(error, TimeoutError):
        return f"it was stopped at its limit of {limit:g} s", False
    if isinstance(error, ProcessExpired):
        return f"its process ended without an answer (exit code {error.exitcode})", True
    return f"unexpected {type(error).__name__}: {error}", False


def _followed(
    begin: Callable[[T], Future[Any]],
    tasks: Sequence[T],
    most: int,
    lost: Callable[[BaseException], tuple[str, bool]],
) -> Iterator[Outcome[Any]]:
    """Keep some tasks begun, and yield outcomes as they come; a lost task is tried again."""
    waiting = list(reversed(range(len(tasks))))
    tries = dict.fromkeys(waiting, 0)
    begun: dict[Future[Any], tuple[int, float]] = {}
    while waiting or begun:
        while waiting and len(begun) < most:
            number = waiting.pop()
            tries[number] += 1
            begun[begin(tasks[number])] = (number, monotonic())
        for future in wait(begun, return_when=FIRST_COMPLETED).done:
            number, start = begun.pop(future)
            error = future.exception()
            if error is None:
                yield Outcome(number, *future.result())
                continue
            words, again = lost(error)
            if again and tries[number] < TRIES:
                waiting.append(number)
            else:
                yield Outcome(number, None, words, monotonic() - start)


class Cluster:
    """A Dask cluster at an address, such as tcp://10.0.0.5:8786, that is running already."""

    def __init__(self, address: str) -> None:
        """Connect to the cluster's scheduler.

        Raises
        ------
        RunError
            If Dask is not installed, or nothing answers there.
        """
        try:
            from distributed import Client  # noqa: PLC0415
        except ImportError as error:
            msg = "a cluster needs Dask: install this project with its extra, '.[cluster]'"
            raise RunError(msg) from error
        try:
            self.client = Client(address, timeout=ANSWERS, set_as_default=False)
        except (OSError, ValueError) as error:
            msg = f"no Dask scheduler answers at {address}"
            raise RunError(msg) from error

    def each(
        self, function: Callable[[T], R], tasks: Sequence[T], limit: float | None = None
    ) -> Iterator[Outcome[R]]:
        """Yield every task's outcome as it is ready; a lost worker's tasks go to others.

        No limit of time is held: a cluster cannot end a task on its worker.
        """
        from distributed import as_completed  # noqa: PLC0415

        call = partial(guarded, function)
        futures = [
            self.client.submit(call, task, key=f"sitefare-{os.urandom(8).hex()}", pure=False)
            for task in tasks
        ]
        numbers = {future.key: number for number, future in enumerate(futures)}
        del limit
        with self.client.as_current():
            ready = as_completed(futures)
        for future in ready:
            number = numbers[future.key]
            if future.status == "finished":
                yield Outcome(number, *future.result())
            else:
                yield Outcome(number, None, _cluster_words(future.exception()), 0.0)
            future.release()

    def close(self) -> None:
        """Leave the cluster."""
        self.client.close()


def _cluster_words(error: BaseException | None) -> str:
    """Say in words why a cluster's task has no answer."""
    name = type(error).__name__
    if name == "KilledWorker":
        return "the workers that ran it were lost one after the other"
    return f"unexpected {name}: {error}"


def workers(count: int, cluster: str = "") -> Processes | Cluster:
    """Return the workers asked for: those of a cluster at an address, else processes."""
    return Cluster(cluster) if cluster else Processes(count)
