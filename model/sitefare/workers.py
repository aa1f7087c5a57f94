"""How is one function called on many tasks, on all cores or on a cluster, whatever one task does?

Three kinds of workers with one interface: this process, processes of this machine, and a Dask
cluster that is running already. Outcomes come as they are ready, each with the number of its
task, and depend on the task alone. A task that fails, hangs or loses its process costs only
itself. Workers are used as a context, which leaves nothing behind.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from functools import partial
from time import monotonic
from typing import Any, Protocol

from sitefare.cluster import Cluster
from sitefare.errors import RunError
from sitefare.outcomes import TRIES, Closing, Outcome, R, T, guarded, lost, spawned

__all__ = ["Cluster", "Here", "Outcome", "Processes", "Workers", "cores", "workers"]

#: Tasks handed out for each worker at a time: the next one waits where it is needed. [1]
AHEAD = 2


class Workers(Protocol):
    """Something that calls a function on many tasks."""

    def each(
        self, function: Callable[[T], R], tasks: Sequence[T], limit: float | None = None
    ) -> Iterator[Outcome[R]]:
        """Yield every task's outcome as it is ready; `limit` is for one task. [s]"""
        ...


class Here(Closing):
    """One task after the other in this process; no limit of time can be held."""

    def each(
        self, function: Callable[[T], R], tasks: Sequence[T], limit: float | None = None
    ) -> Iterator[Outcome[R]]:
        """Yield every task's outcome, in order."""
        del limit
        for number, task in enumerate(tasks):
            yield Outcome(number, *guarded(function, task))


class Processes(Closing):
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
        pool = spawned(self.count)
        call = partial(guarded, function)

        def begin(task: T) -> Future[Any]:
            future: Future[Any] = pool.schedule(call, args=[task], timeout=limit)
            return future

        try:
            yield from _followed(begin, tasks, AHEAD * self.count, partial(lost, limit))
        finally:
            pool.stop()
            pool.join()


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


def workers(count: int, cluster: str = "") -> Processes | Cluster:
    """Return those of a cluster at an address, else so many processes: one for each core for 0."""
    return Cluster(cluster) if cluster else Processes(count or cores())


def cores() -> int:
    """Return how many cores this machine has."""
    return os.cpu_count() or 1
