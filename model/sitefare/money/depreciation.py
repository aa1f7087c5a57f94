"""How is the cost of an asset written off, year by year?

Every schedule is the share of cost written off in each year of use, (years,), first year first:
it depends on the asset's life alone and is the same in every draw. `first` is the part of the
first year in which the asset counts; the part left out follows after its life. `salvage` is the
share of cost that is never written off. No schedule goes below it. [1]
"""

from typing import Literal

import numpy as np

from sitefare.arrays import Array

Method = Literal["straight_line", "declining_balance", "sum_of_years"]

#: An asset with less than this left of its life is at its end. [year]
ENDED = 1e-9


def ages(years: int, first: float) -> Array:
    """Return the asset's age at the end of each year of use, age 0 before them. [year]"""
    return np.concatenate([[0.0], first + np.arange(years, dtype=np.float64)])


def straight_line(life: float, years: int, *, first: float = 1.0, salvage: float = 0.0) -> Array:
    """Return equal shares over the life (OpenFormula SLN). [1]"""
    return np.diff(np.minimum(ages(years, first) / life, 1.0)) * (1.0 - salvage)


def sum_of_years(life: float, years: int, *, first: float = 1.0, salvage: float = 0.0) -> Array:
    """Return shares by the digits of the years that remain (OpenFormula SYD). [1]

    A year of the asset's age is spread evenly over the two years of use that it touches.
    """
    whole = int(np.ceil(life - ENDED))
    digits = life - np.arange(whole, dtype=np.float64)
    done = np.concatenate([[0.0], np.cumsum(digits / np.sum(digits))])
    reached: Array = np.interp(ages(years, first), np.arange(whole + 1), done)
    return np.diff(reached) * (1.0 - salvage)


def declining_balance(
    life: float,
    years: int,
    *,
    rate: float = 0.0,
    first: float = 1.0,
    salvage: float = 0.0,
    switch: bool = False,
) -> Array:
    """Return a share of what is left each year, down to the salvage (OpenFormula DB, DDB). [1]

    Parameters
    ----------
    life : float
        Years of use; nothing is written off afterwards. [year]
    years : int
        Entries wanted.
    rate : float
        Share of the balance written off a year; 0 for double declining, 2 ÷ life. [1/year]
    first, salvage : float
        As in the module's head. [1]
    switch : bool
        Whether straight line over the remaining life takes over once it writes off more, as the
        MACRS tables do (US IRS Publication 946, Appendix A); then all is written off.
    """
    rate = rate if rate > 0 else 2.0 / life
    left, shares = 1.0, np.zeros(years)
    age = ages(years, first)
    for n in range(years):
        remaining = life - age[n]
        span = min(age[n + 1] - age[n], remaining)
        if remaining <= ENDED:
            break
        share = rate * span * left
        if switch:
            share = max(share, (left - salvage) * span / remaining)
        shares[n] = max(min(share, left - salvage), 0.0)
        left -= shares[n]
    return shares


def fixed_rate(salvage: float, life: float) -> float:
    """Return the rate that leaves a salvage share after a life, 1 − s^(1/n). [1/year]

    OpenFormula DB rounds it to three decimals; that is the caller's choice.
    """
    return float(1.0 - salvage ** (1.0 / life))


def schedule(
    method: Method, life: float, years: int, *, factor: float, switch: bool, first: float
) -> Array:
    """Return the shares of a tax allowance, which leaves no salvage. [1]

    Declining balance without a switch never ends: what is left is deducted when the asset goes.
    """
    if method == "straight_line":
        return straight_line(life, years, first=first)
    if method == "sum_of_years":
        return sum_of_years(life, years, first=first)
    rate = min(factor / life, 1.0)
    lasting = life if switch else float(years + 1)
    return declining_balance(lasting, years, rate=rate, first=first, switch=switch)
