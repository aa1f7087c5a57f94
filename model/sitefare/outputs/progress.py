"""How far is a long command, for a person, for a log file and for a machine?

At a terminal one line moves; elsewhere a plain line is printed now and then; a machine gets one
JSON object a line. Each tells what is done, what failed, how fast and how long it will take.
"""

import json
import math
from dataclasses import dataclass, field
from time import monotonic
from typing import Any, Self

from rich.console import Console
from rich.live import Live
from rich.spinner import Spinner
from rich.text import Text

from sitefare.stages import Ended

#: A rate from which it is told in whole numbers. [1/min]
WHOLE = 100.0

#: Seconds between two plain lines, and between two lines for a machine. [s]
EVERY = 10.0


@dataclass
class Count:
    """How far one stage is: `total` tasks, of which some are done and some failed."""

    title: str
    total: int
    done: int = 0
    failed: int = 0
    begun: float = field(default_factory=monotonic)

    @property
    def seconds(self) -> float:
        """Time since the stage began. [s]"""
        return monotonic() - self.begun

    @property
    def rate(self) -> float:
        """Tasks a minute so far, failed ones included. [1/min]"""
        return 60.0 * (self.done + self.failed) / max(self.seconds, 1e-9)

    @property
    def left(self) -> float:
        """Time left at that rate; inf before anything ended. [s]"""
        ended = self.done + self.failed
        return (self.total - ended) * self.seconds / ended if ended else float("inf")

    @property
    def words(self) -> str:
        """The count in one line."""
        failed = f", {self.failed} failed" if self.failed else ""
        if not self.done + self.failed:
            return f"{self.title}: 0 of {self.total:,}"
        rate = f"{self.rate:.3g}" if self.rate < WHOLE else f"{self.rate:,.0f}"
        return (
            f"{self.title}: {self.done:,} of {self.total:,}{failed}; {rate} a minute, "
            f"{duration(self.left)} left"
        )

    @property
    def numbers(self) -> dict[str, Any]:
        """The count for a machine."""
        ended = self.done + self.failed
        return {
            "stage": self.title,
            "total": self.total,
            "done": self.done,
            "failed": self.failed,
            "per_minute": round(self.rate, 3) if ended else None,
            "seconds_left": round(self.left, 1) if ended else None,
        }


def duration(seconds: float) -> str:
    """Write a time as 40 s, 12 min or 3 h 05 min. [s]"""
    if seconds < 90:  # noqa: PLR2004
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60:02d} min"  # noqa: PLR2004


class Progress:
    """Tells on a console how far stages are; use as a context.

    `title` stands at a terminal until a stage begins. A command that is mostly quick is `quiet`
    for some seconds: until then nothing is told but at a terminal. [s]
    """

    def __init__(
        self, console: Console, *, as_json: bool = False, title: str = "", quiet: float = 0.0
    ) -> None:
        self._console = console
        self._json = as_json
        self._spinner = Spinner("dots", Text(title))
        self._live = Live(self._spinner, console=console, refresh_per_second=8, transient=True)
        self._moving = console.is_terminal and not as_json
        self._count = Count("", 0)
        self._told = -math.inf
        self._loud = monotonic() + quiet

    def __enter__(self) -> Self:
        """Begin to show."""
        if self._moving:
            self._live.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Stop showing."""
        if self._moving:
            self._live.stop()

    def stage(self, title: str, total: int) -> Ended:
        """Begin a stage; what is returned is called as steps end, with True if they failed."""
        self._count = now = Count(title, total, begun=monotonic())
        self._tell(ended=total == 0)

        def ended(failed: bool = False, count: int = 1) -> None:  # noqa: FBT001, FBT002
            now.failed += count if failed else 0
            now.done += 0 if failed else count
            self._tell(ended=now.done + now.failed >= total)

        return ended

    def _tell(self, *, ended: bool) -> None:
        """Show the count: always at a terminal, elsewhere now and then and at the end."""
        if self._moving:
            if self._count.total:
                self._spinner.update(text=Text(self._count.words))
            return
        now = monotonic()
        if now < self._loud or (not ended and now - self._told < EVERY):
            return
        self._told = now
        words = json.dumps(self._count.numbers) if self._json else self._count.words
        self._console.print(words, highlight=False, markup=False, soft_wrap=True)
