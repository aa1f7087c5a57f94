"""Lines of money that are made when they are read: draws ask for few of them."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property

from sitefare.arrays import Array
from sitefare.money.project import total


class Later(Mapping[str, Array]):
    """Lines by name, all made when the first is read."""

    def __init__(self, make: Callable[[], Mapping[str, Array]]) -> None:
        self._make = make

    @cached_property
    def lines(self) -> Mapping[str, Array]:
        """The lines by name. [money]"""
        return self._make()

    def __getitem__(self, name: str) -> Array:
        """Return a line. [money]"""
        return self.lines[name]

    def __iter__(self) -> Iterator[str]:
        """Pass over the names of lines."""
        return iter(self.lines)

    def __len__(self) -> int:
        """Count the lines."""
        return len(self.lines)


class Each(Mapping[str, Array]):
    """Lines by name, each made every time it is read and then let go."""

    def __init__(self, makers: Mapping[str, Callable[[], Array]]) -> None:
        self._makers = makers

    def __getitem__(self, name: str) -> Array:
        """Return a line. [money]"""
        return self._makers[name]()

    def __iter__(self) -> Iterator[str]:
        """Pass over the names of lines."""
        return iter(self._makers)

    def __len__(self) -> int:
        """Count the lines."""
        return len(self._makers)


def received(flow: Array) -> Callable[[], Array]:
    """Return what makes a line of money that comes in. [money]"""
    return lambda: flow


def paid(cost: Array) -> Callable[[], Array]:
    """Return what makes a line of a cost: money out. [money]"""
    return lambda: -cost


def sums_by(groups: Iterable[tuple[str, Array]]) -> dict[str, Array]:
    """Sum flows by the group each comes with; no flow outlives its turn. [same unit]"""
    sums: dict[str, Array] = {}
    for group, flow in groups:
        if group not in sums:
            sums[group] = total((flow,))
        elif sums[group].shape == flow.shape:
            sums[group] += flow
        else:
            sums[group] = sums[group] + flow
    return sums
