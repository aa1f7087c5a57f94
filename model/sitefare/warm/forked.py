"""The nursery as the asking process sees it, and a kernel forked there as a process."""

import atexit
import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Mapping, Sequence
from threading import Lock
from time import monotonic, sleep

#: How long the first kernel may wait for imports, and any for its fork. [s]
PATIENCE = 60.0

#: How often an ended kernel is looked for while one waits for it. [s]
PAUSE = 0.02


class NurseryError(Exception):
    """The nursery cannot be had; a kernel must start in the ordinary way."""


class Nursery:
    """One process that forks kernels for this one; it ends with it."""

    def __init__(self) -> None:
        ours, theirs = socket.socketpair()
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
        self.process = subprocess.Popen(  # noqa: S603 our own module, our own interpreter
            [sys.executable, "-m", "sitefare.warm.nursery", str(theirs.fileno())],
            pass_fds=[theirs.fileno()],
            env=environment,
            stdin=subprocess.DEVNULL,
        )
        theirs.close()
        self._link = ours
        self._lock = Lock()
        self._waiting = b""
        self._forked: list[int] = []
        self.ended: dict[int, int] = {}
        atexit.register(self.close)

    @property
    def alive(self) -> bool:
        """Whether it still answers."""
        return self.process.poll() is None and self._link.fileno() >= 0

    def fork(self, argv: Sequence[str], env: Mapping[str, str], cwd: str) -> "Forked":
        """Fork one kernel.

        Raises
        ------
        NurseryError
            If the nursery does not answer.
        """
        asked = json.dumps({"argv": list(argv), "env": dict(env), "cwd": cwd}) + "\n"
        with self._lock:
            try:
                self._link.settimeout(PATIENCE)
                self._link.sendall(asked.encode())
                limit = monotonic() + PATIENCE
                while not self._forked and monotonic() < limit:
                    self._read()
            except OSError as error:
                msg = f"the nursery does not answer ({error})"
                raise NurseryError(msg) from error
            if not self._forked:
                msg = "the nursery does not answer"
                raise NurseryError(msg)
            return Forked(self, self._forked.pop(0))

    def look(self) -> None:
        """Take up what the nursery has told, without waiting."""
        with self._lock:
            self._link.settimeout(0.0)
            try:
                while True:
                    self._read()
            except BlockingIOError:
                return
            except OSError:
                return

    def _read(self) -> None:
        """Read some lines; a nursery that is gone is an error."""
        found = self._link.recv(65536)
        if not found:
            msg = "it has ended"
            raise ConnectionResetError(msg)
        *lines, self._waiting = (self._waiting + found).split(b"\n")
        for line in lines:
            told = json.loads(line)
            if "pid" in told:
                self._forked.append(told["pid"])
            else:
                self.ended[told["ended"]] = told["code"]

    def close(self) -> None:
        """End the nursery; kernels that still run lose their parent and end by themselves."""
        self._link.close()
        try:
            self.process.wait(timeout=2)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


class Forked:
    """A kernel forked in the nursery, with what Jupyter asks of a process."""

    stdin = stdout = stderr = None

    def __init__(self, nursery: Nursery, pid: int) -> None:
        self._nursery = nursery
        self.pid = pid

    def poll(self) -> int | None:
        """Return the exit code, None while it runs; a killed one's is its signal, negative."""
        if self.pid not in self._nursery.ended:
            self._nursery.look()
        if self.pid not in self._nursery.ended and not self._nursery.alive:
            # Nobody is left to say how it ended: only whether it is there can be seen.
            try:
                os.kill(self.pid, 0)
            except ProcessLookupError:
                return -int(signal.SIGKILL)
        return self._nursery.ended.get(self.pid)

    def wait(self, timeout: float | None = None) -> int:
        """Wait for the end and return the exit code.

        Raises
        ------
        TimeoutExpired
            If it does not end in time. [s]
        """
        limit = None if timeout is None else monotonic() + timeout
        while (code := self.poll()) is None:
            if limit is not None and monotonic() > limit:
                raise subprocess.TimeoutExpired(str(self.pid), timeout or 0.0)
            sleep(PAUSE)
        return code

    def send_signal(self, number: int) -> None:
        """Send a signal, unless it has ended."""
        if self.poll() is None:
            os.kill(self.pid, number)

    def terminate(self) -> None:
        """Ask it to end."""
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        """End it."""
        self.send_signal(signal.SIGKILL)
