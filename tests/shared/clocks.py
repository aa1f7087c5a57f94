"""Cores, processor time and memory of this process and of all that it starts."""

import os
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from threading import Event, Thread
from time import perf_counter

import psutil

#: How often memory is looked at. [s]
EVERY = 0.2


@contextmanager
def on_cores(count):
    """Pin this process, and what it starts meanwhile, to so many cores."""
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, sorted(before)[:count])
    try:
        yield
    finally:
        os.sched_setaffinity(0, before)


def family():
    """This process and all that it started, directly or not."""
    own = psutil.Process()
    return [own, *own.children(recursive=True)]


def processor_seconds():
    """Processor time of this process and of all that it started, ended ones too. [s]"""
    total = 0.0
    for one in family():
        with suppress(psutil.Error):
            total += sum(one.cpu_times()[:4])
    return total


@dataclass
class Taken:
    """What a block took: time by the clock and of processors [s], load of the machine."""

    seconds: float = 0.0
    processor: float = 0.0
    load: float = 0.0


@contextmanager
def taking():
    """Time a block."""
    taken, start, processor = Taken(), perf_counter(), processor_seconds()
    yield taken
    taken.seconds = perf_counter() - start
    taken.processor = processor_seconds() - processor
    taken.load = os.getloadavg()[0]


@dataclass
class Memory:
    """The most memory held at once, of this process and of its largest child. [MB]"""

    parent: float = 0.0
    child: float = 0.0
    stop: Event = field(default_factory=Event)

    def look(self):
        """Look once."""
        own, *others = family()
        self.parent = max(self.parent, own.memory_info().rss / 2**20)
        for one in others:
            with suppress(psutil.Error):
                self.child = max(self.child, one.memory_info().rss / 2**20)

    def watch(self):
        """Look again and again."""
        while not self.stop.wait(EVERY):
            self.look()


@contextmanager
def remembering():
    """Watch memory during a block, of this process and of those it starts."""
    memory = Memory()
    watcher = Thread(target=memory.watch, daemon=True)
    watcher.start()
    try:
        yield memory
    finally:
        memory.stop.set()
        watcher.join()
