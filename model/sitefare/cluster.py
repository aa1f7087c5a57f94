"""How do the workers of a Dask cluster call a function on many tasks, as this machine would?

The cluster is running already. A worker's packages must be those of this machine, or bytes would
differ; a worker that comes later is asked again before its first task. A task with a limit of
time runs in a child process of its worker, one for each of the worker's threads, kept from task
to task until the client leaves: a child that is ended, or dies, takes no other task with it.
Where no worker is left for a while, the wait ends.
"""

import os
import platform
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, partial
from importlib.metadata import PackageNotFoundError, version
from multiprocessing import process
from queue import Empty, SimpleQueue
from threading import Lock
from time import monotonic
from typing import Any

from sitefare.errors import RunError
from sitefare.outcomes import TRIES, Closing, Outcome, R, T, guarded, lost, spawned

#: How long a scheduler may take to answer. [s]
ANSWERS = 10

#: How long there may be no worker, and how often that is looked at. [s]
ALONE, LOOK = 60.0, 2.0

#: Packages that figures and documents rest on: of one version on every machine.
SAME = (
    "sitefare", "numpy", "scipy", "pandas", "pint", "pvlib", "pyarrow", "altair", "babel",
    "jinja2", "python-docx", "typst", "vl-convert-python", "xlsxwriter",
)  # fmt: skip

#: A worker's children by the client they serve, made and ended by one thread at a time.
_pools: dict[str, Any] = {}
_making = Lock()


@cache
def versions() -> Mapping[str, str]:
    """Return the version of Python and of every package that bytes rest on, '' for none."""
    found = {"Python": ".".join(platform.python_version_tuple()[:2])}
    for name in SAME:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = ""
    return found


def differing(ours: Mapping[str, str], theirs: Mapping[str, str]) -> str:
    """Say in words which versions differ, '' where none does."""
    return ", ".join(
        f"{name} {theirs.get(name) or 'none'} (here {own or 'none'})"
        for name, own in ours.items()
        if theirs.get(name) != own
    )


def _children(whose: str) -> Any:  # noqa: ANN401
    """Return this worker's child processes for one client, one for each of its threads."""
    from distributed import get_worker  # noqa: PLC0415

    with _making:
        if whose not in _pools:
            # A nanny's worker is daemonic, which forbids children only so that none outlives it:
            # ours are daemonic too, and end with their pipe.
            process.current_process()._config["daemon"] = False  # type: ignore[attr-defined] # noqa: SLF001
            _pools[whose] = spawned(get_worker().state.nthreads)
        return _pools[whose]


def end_children(whose: str) -> None:
    """End this worker's children for a client that leaves."""
    with _making:
        pool = _pools.pop(whose, None)
    if pool is not None:
        pool.stop()
        pool.join()


def in_child(
    function: Callable[[T], R], limit: float, whose: str, task: T
) -> tuple[R | None, str, float]:
    """Call a function in a child of this worker, ended at its limit; as `guarded`. [s]"""
    start, words = monotonic(), ""
    children = _children(whose)
    for _ in range(TRIES):
        future = children.schedule(partial(guarded, function), args=[task], timeout=limit)
        try:
            answer: tuple[R | None, str, float] = future.result()
        except Exception as error:  # noqa: BLE001 one task must never stop the others
            words, again = lost(limit, error)
            if not again:
                break
        else:
            return answer
    return None, words, monotonic() - start


def on_worker(
    ours: Mapping[str, str], call: Callable[[T], tuple[R | None, str, float]], task: T
) -> tuple[R | None, str, float]:
    """Call on a worker whose packages are those of the machine that asks; else say what differs."""
    words = differing(ours, versions())
    return (None, f"its worker has other versions: {words}", 0.0) if words else call(task)


class Cluster(Closing):
    """A Dask cluster at an address, such as tcp://10.0.0.5:8786, that is running already."""

    def __init__(self, address: str, alone: float = ALONE) -> None:
        """Connect to the cluster's scheduler, and ask its workers for their versions.

        `alone` is how long there may be no worker. [s]

        Raises
        ------
        RunError
            If Dask is not installed, nothing answers there, or a worker has other versions.
        """
        try:
            from distributed import Client  # noqa: PLC0415
        except ImportError as error:
            msg = "a cluster needs Dask: install this project with its extra, '.[cluster]'"
            raise RunError(msg) from error
        self.address, self.alone, self._has_children = address, alone, False
        try:
            self.client = Client(address, timeout=ANSWERS, set_as_default=False)
        except (OSError, ValueError) as error:
            msg = f"no Dask scheduler answers at {address}"
            raise RunError(msg) from error
        try:
            self._same_versions()
        except BaseException:
            self.close()
            raise

    def _same_versions(self) -> None:
        """Refuse workers whose packages are not those of this machine.

        Raises
        ------
        RunError
            Naming a worker and what differs, or saying that it cannot import this project.
        """
        for worker, theirs in sorted(self.client.run(versions, on_error="return").items()):
            if isinstance(theirs, BaseException):
                name = type(theirs).__name__
                msg = f"the worker {worker} cannot import this project ({name}: {theirs})"
                raise RunError(msg)
            if words := differing(versions(), theirs):
                msg = f"the worker {worker} has other versions, so bytes would differ: {words}"
                raise RunError(msg)

    def each(
        self, function: Callable[[T], R], tasks: Sequence[T], limit: float | None = None
    ) -> Iterator[Outcome[R]]:
        """Yield every task's outcome as it is ready; a lost worker's tasks go to others.

        A task beyond its limit is ended, and no other. [s]

        Raises
        ------
        RunError
            If there is no worker for a while, or the scheduler is gone.
        """
        call: Callable[[T], tuple[R | None, str, float]] = partial(guarded, function)
        if limit is not None:
            call = partial(in_child, function, limit, self.client.id)
            self._has_children = True
        asked = partial(on_worker, versions(), call)
        ready: SimpleQueue[Any] = SimpleQueue()
        open_ones = {}
        for number, task in enumerate(tasks):
            key = f"sitefare-{os.urandom(8).hex()}"
            future = self.client.submit(asked, task, key=key, pure=False)
            open_ones[key] = (number, future)
            future.add_done_callback(ready.put)
        try:
            while open_ones:
                future = self._next(ready)
                number, _ = open_ones.pop(future.key)
                yield self._outcome(number, future)
                future.release()
        finally:
            self.client.cancel([future for _, future in open_ones.values()])

    def _next(self, ready: "SimpleQueue[Any]") -> Any:  # noqa: ANN401
        """Wait for a task that has ended, as long as there are workers."""
        seen = monotonic()
        while True:
            try:
                return ready.get(timeout=min(LOOK, self.alone))
            except Empty:
                if self._workers():
                    seen = monotonic()
                elif monotonic() - seen >= self.alone:
                    msg = (
                        f"there has been no worker at {self.address} for {self.alone:g} s; what "
                        "is done stays: start workers, and the same command again"
                    )
                    raise RunError(msg) from None

    def _workers(self) -> int:
        """Count the cluster's workers; none where its scheduler does not answer."""
        try:
            return len(self.client.nthreads())
        except (OSError, TimeoutError):
            return 0

    def _outcome(self, number: int, future: Any) -> Outcome[Any]:  # noqa: ANN401
        """Say what became of a task.

        Raises
        ------
        RunError
            If the scheduler has gone, and the task with it.
        """
        if future.status == "finished":
            return Outcome(number, *future.result())
        if future.status in ("cancelled", "lost"):
            msg = (
                f"the scheduler at {self.address} is gone; what is done stays: start the same "
                "command again"
            )
            raise RunError(msg)
        return Outcome(number, None, _words(future.exception()), 0.0)

    def close(self) -> None:
        """Leave the cluster, which goes on; children that served us end."""
        if self._has_children and self.client.status == "running":
            self.client.run(end_children, self.client.id, on_error="ignore")
        self.client.close()


def _words(error: BaseException | None) -> str:
    """Say in words why a cluster's task has no answer."""
    name = type(error).__name__
    if name == "KilledWorker":
        return "the workers that ran it were lost one after the other"
    return f"unexpected {name}: {error}"
