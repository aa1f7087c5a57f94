"""How does a long question say how far it is, and print nothing?

It is handed a function that begins a stage: a title and how many steps it has. That gives another
function, called as steps end. Who asked decides what is shown; unless told, nothing is.
"""

from collections.abc import Callable
from typing import Protocol


class Ended(Protocol):
    """What is called as steps of a stage end."""

    def __call__(self, failed: bool = False, count: int = 1) -> None:  # noqa: FBT001, FBT002
        """Note that `count` steps ended, or failed. [1]"""
        ...


#: Begins a stage: its title, and how many steps it has. [1]
Stage = Callable[[str, int], Ended]


def unheard(failed: bool = False, count: int = 1) -> None:  # noqa: FBT001, FBT002
    """End steps of a stage that nobody follows."""
    del failed, count


def untold(title: str, total: int) -> Ended:
    """Begin a stage that nobody follows."""
    del title, total
    return unheard
