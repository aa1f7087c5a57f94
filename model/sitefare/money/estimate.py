"""How accurate is the capital estimate said to be?

The class of an estimate states how far the work is defined and what accuracy is usual for it.
The band is printed beside the estimate; it never sets the contingency, which comes from the
sampled budget.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class EstimateClass:
    """One class of AACE International 18R-97 (rev. 2016), Table 1; shares of the estimate. [1]

    `definition` is the usual degree of definition, `low` and `high` the usual span of the low
    and of the high end of the accuracy range, as an 80 % interval with contingency in it.
    """

    definition: tuple[float, float]
    low: tuple[float, float]
    high: tuple[float, float]


#: Classes by number; 5 is the least defined.
CLASSES = {
    "5": EstimateClass((0.00, 0.02), (-0.50, -0.20), (0.30, 1.00)),
    "4": EstimateClass((0.01, 0.15), (-0.30, -0.15), (0.20, 0.50)),
    "3": EstimateClass((0.10, 0.40), (-0.20, -0.10), (0.10, 0.30)),
    "2": EstimateClass((0.30, 0.75), (-0.15, -0.05), (0.05, 0.20)),
    "1": EstimateClass((0.50, 1.00), (-0.10, -0.03), (0.03, 0.15)),
}


def stated_range(name: str, estimate: float) -> tuple[float, float]:
    """Return the widest range usual for a class round an estimate. [money]"""
    found = CLASSES[name]
    return estimate * (1.0 + found.low[0]), estimate * (1.0 + found.high[1])


def accuracy_words(name: str) -> str:
    """Say in words what outcomes are usual round an estimate of a class."""
    low, high = (
        " to ".join(f"{abs(100 * end):.0f}" for end in sorted(ends, key=abs)) + " %"
        for ends in (CLASSES[name].low, CLASSES[name].high)
    )
    return f"outcomes from {low} below it to {high} above it are usual (AACE 18R-97)"
