"""What is a flow worth today, and when does it pay back?

Money in is positive. The first entry of a flow is undiscounted; the rest fall at period ends,
`per_year` of them a year. A rate and a flow are both real or both nominal.
"""

import numpy as np

from sitefare.arrays import Array


def discount_factors(rate: Array, periods: int, per_year: int = 12) -> Array:
    """Return (1 + rate)^(−t) of `periods` period ends, t in years from 0; (draws, periods). [1]"""
    years = np.arange(periods) / per_year
    return np.asarray((1.0 + rate) ** -years, dtype=np.float64)


def present_value(flow: Array, factors: Array) -> Array:
    """Return the sum of discounted flows, (draws, 1). [money]"""
    total: Array = np.sum(flow * factors, axis=1, keepdims=True)
    return total


def net_present_value(flow: Array, rate: Array, per_year: int = 12) -> Array:
    """Return net present value at the first entry, for a yearly rate; (draws, 1). [money]"""
    return present_value(flow, discount_factors(rate, flow.shape[1], per_year))


def modified_rate(flow: Array, finance: Array, reinvest: Array, per_year: int = 12) -> Array:
    """Return the modified internal rate of return, nan where money only flows one way. [1/year]

    (Future value of receipts at `reinvest` ÷ present value of outlays at `finance`)^(1/years) − 1
    (Lin 1976, The Engineering Economist 21).
    """
    periods = flow.shape[1]
    years = (periods - 1) / per_year
    outlay = -net_present_value(np.minimum(flow, 0.0), finance, per_year)
    today = net_present_value(np.maximum(flow, 0.0), reinvest, per_year)
    receipts = today * (1.0 + reinvest) ** years
    answered = (outlay > 0) & (receipts > 0)
    ratio = np.where(answered, receipts, 1.0) / np.where(answered, outlay, 1.0)
    return np.where(answered, ratio ** (1.0 / years) - 1.0, np.nan)


def payback(flow: Array, per_year: int = 12) -> Array:
    """Return years from the first entry until the sum stays at or above zero. [year]

    Fractions by straight line inside a period; 0 where it never is below zero, inf where it
    ends below. (draws, 1).
    """
    total = np.cumsum(flow, axis=1)
    tolerance = 1e-9 * np.max(np.abs(total), axis=1, keepdims=True)
    below = total < -tolerance
    last = flow.shape[1] - 1 - np.argmax(below[:, ::-1], axis=1)[:, None]
    following = np.minimum(last + 1, flow.shape[1] - 1)
    short = -np.take_along_axis(total, last, axis=1)
    step = np.take_along_axis(flow, following, axis=1)
    part = short / np.where(step > 0, step, 1.0)
    years = np.where(last == flow.shape[1] - 1, np.inf, (last + part) / per_year)
    return np.where(np.any(below, axis=1, keepdims=True), years, 0.0)


def capital_recovery(rate: Array, years: Array) -> Array:
    """Return the yearly payment that repays 1 over `years`, r ÷ (1 − (1 + r)^−n). [1/year]"""
    safe = np.where(rate == 0, 1.0, rate)
    return np.where(rate == 0, 1.0 / years, safe / (1.0 - (1.0 + safe) ** -years))


def topping_up(balance: Array) -> Array:
    """Return the sum at month 0 that keeps a cash balance from ever falling below zero. [money]

    Cash held earns nothing, so it is the deepest nominal balance, turned positive; (draws, 1).
    """
    lowest: Array = np.min(balance, axis=1, keepdims=True)
    return np.maximum(-lowest, 0.0)
