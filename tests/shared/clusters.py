"""A Dask scheduler and its workers, each a process of its own."""

import re
import subprocess
import sys
from contextlib import contextmanager


@contextmanager
def running_cluster(count=2):
    """Start them, yield the scheduler's address and the workers' processes, and end them."""
    started = []

    def start(*words):
        one = subprocess.Popen(
            [sys.executable, "-m", "dask", *words], stderr=subprocess.PIPE, text=True
        )
        started.append(one)
        return one

    try:
        scheduler = start("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard")
        for line in scheduler.stderr:
            if found := re.search(r"Scheduler at:\s+(tcp://\S+)", line):
                break
        address = found[1]
        common = ("--nthreads", "1", "--no-nanny", "--no-dashboard", "--host", "127.0.0.1")
        yield address, [start("worker", address, *common) for _ in range(count)]
    finally:
        for one in started:
            one.kill()
            one.wait()
            one.stderr.close()
