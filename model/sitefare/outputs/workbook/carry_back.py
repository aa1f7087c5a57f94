"""Lines of losses carried back on sheet Tax: a year's loss reopens the years before it.

Each row holds, for the year so many years back, what it could still take and what it was taxed
on. The earliest year that a loss may reach is reopened first; the tax given back is taken off in
the year of the loss. Without carry-back there are no lines.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.money.tax import IncomeTax
from sitefare.outputs.workbook.frame import Item, Line


@dataclass(frozen=True)
class CarryBack:
    """One reckoning by project year, year 0 first; arrays (years + 1,). [money]

    `key` is the prefix of its cells, `room` what earlier losses might offset, `rate` the rate in
    force [1] and `least` the least tax.
    """

    key: str
    years: int
    rate: Array
    least: Array
    gain: Array
    used: Array
    room: Array
    tax: IncomeTax
    currency: str

    @property
    def table(self) -> Array:
        """Losses by year of loss and year of use, (years + 1, years + 1). [money]"""
        return self.tax.uses.table()[:, :, 0]


def _ends(by_year: Array) -> Array:
    laid = np.zeros((1, 12 * (by_year.size - 1) + 1))
    laid[:, 12::12] = by_year[1:]
    return laid


def _held(by_year: Array) -> Array:
    years = by_year.size - 1
    return np.concatenate([np.zeros(12), np.repeat(by_year[1:], 12)])[None, : 12 * years + 1]


def _shifted(by_year: Array, back: int) -> Array:
    """Return what stood so many years before, nothing before year 1."""
    laid = np.zeros(by_year.size)
    if back < by_year.size:
        laid[back + 1 :] = by_year[1 : by_year.size - back]
    return laid


def taken_back(one: CarryBack, back: int) -> Array:
    """Return what each year's loss takes from the year so many years back. [money]"""
    table = one.table
    years = range(table.shape[0])
    return np.array([table[n, n - back] if n - back >= 1 else 0.0 for n in years])


def left(one: CarryBack, start: Array, back: int) -> Array:
    """Return what is left, after each year, of a sum of the year so many years back. [money]"""
    found = _shifted(start, back)
    for n in range(1, back + 1):
        found = found - _shifted(taken_back(one, n), back - n)
    return found


def carry_back_items(one: CarryBack, *, part: int) -> Iterator[Item]:
    """Yield what is taken from earlier years (part 1), then their state and the refund (part 2)."""
    if not one.years:
        return
    yield from (_taken(one) if part == 1 else _states(one))


def _taken(one: CarryBack) -> Iterator[Item]:
    """Yield the parts of a year's loss that earlier years take, the earliest first."""
    key, span = one.key, range(one.years, 0, -1)
    older = ""
    for back in span:
        room = f"{{{key}.room_left.{back - 1}<}}"
        yield Line(
            f"{key}.back.{back}", f"Loss taken by the year {back} before", one.currency,
            f"IF({{tax.year_end}}=1,MIN({room},MAX(0,MAX(-{{{key}.year_profit}},0){older})),0)",
            _ends(taken_back(one, back)), total=True,
        )  # fmt: skip
        older += f"-{{{key}.back.{back}}}"
    whole = "+".join(f"{{{key}.back.{back}}}" for back in span)
    yield Line(
        f"{key}.carried_back", "Loss carried back", one.currency, whole,
        _ends(sum((taken_back(one, back) for back in span), np.zeros(one.gain.size))), total=True,
    )  # fmt: skip


def _states(one: CarryBack) -> Iterator[Item]:
    """Yield what earlier years can still take, what they were taxed on, and the refund."""
    key, span = one.key, range(one.years)
    assessed = np.maximum(one.gain, 0.0) - one.used
    starts = (
        ("room_left", "What the year {} before could still take", one.room - one.used,
         f"{{{key}.room}}-{{{key}.used}}"),
        ("taxed_on", "What the year {} before is taxed on", assessed, f"{{{key}.assessed}}"),
    )  # fmt: skip
    for name, label, start, formula in starts:
        for back in span:
            now = formula
            if back:
                now = f"{{{key}.{name}.{back - 1}<}}-{{{key}.back.{back}}}"
            yield Line(
                f"{key}.{name}.{back}", label.format(back), one.currency,
                f"IF({{tax.year_end}}=1,{now},{{{key}.{name}.{back}<}})",
                _held(left(one, start, back)),
            )  # fmt: skip
    for back in range(1, one.years + 1):
        yield _refunded(one, back, assessed)
    yield Line(
        f"{key}.refund", "Tax given back", one.currency,
        "+".join(f"{{{key}.refund.{back}}}" for back in range(1, one.years + 1)),
        _ends(_refunds(one, assessed)), total=True,
    )  # fmt: skip


def _refund(one: CarryBack, back: int, assessed: Array) -> Array:
    """Return the tax of the year so many years back that each year's loss gives back. [money]"""
    rate, least = (_shifted(x, back) for x in (one.rate, one.least))
    before = _shifted(left(one, assessed, back - 1), 1)
    taken = taken_back(one, back)
    return np.maximum(rate * before, least) - np.maximum(rate * (before - taken), least)


def _refunds(one: CarryBack, assessed: Array) -> Array:
    refunds = (_refund(one, back, assessed) for back in range(1, one.years + 1))
    return np.asarray(sum(refunds, np.zeros(one.gain.size)))


def _refunded(one: CarryBack, back: int, assessed: Array) -> Line:
    key, ago = one.key, 12 * back
    rate = f"{{tax.rate<{ago}}}"
    least = f"{{tax.least_share<{ago}}}*MAX({{{key}.year_sales<{ago}}},0)"
    before = f"{{{key}.taxed_on.{back - 1}<}}"
    return Line(
        f"{key}.refund.{back}", f"Tax of the year {back} before given back", one.currency,
        f"IF({{tax.year_end}}=1,MAX({rate}*{before},{least})"
        f"-MAX({rate}*({before}-{{{key}.back.{back}}}),{least}),0)",
        _ends(_refund(one, back, assessed)), total=True,
    )  # fmt: skip
