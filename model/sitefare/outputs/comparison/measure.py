"""How is a figure that alternatives are compared by written: its title, unit and numbers?

Money stands in US dollars at each alternative's appraisal-date rate.
"""

import math
from dataclasses import dataclass

from sitefare.outputs.drawing import lowered
from sitefare.outputs.numbers import NBSP, Formats
from sitefare.outputs.proposal.view import printed_unit
from sitefare.outputs.terminal import SHARES
from sitefare.questions.figures import RATIO, figure, is_money

#: The currency in which money stands side by side.
USD = "USD"

#: Words of units in sentences; a unit that is not here stands as it is printed.
UNITS = {
    "person": "people",
    "money": USD,
    "money/person": f"{USD} a person",
    "money/person/day": f"{USD} a person-day",
    "money/person/year": f"{USD} a person and year",
    "money/year": f"{USD} a year",
    "year": "years",
    "1/year": "% a year",
}


@dataclass(frozen=True)
class Measure:
    """A figure as documents write it."""

    name: str
    formats: Formats

    @property
    def title(self) -> str:
        """What is measured."""
        if self.name == RATIO:
            return "Cost over the local price"
        found, (_, _, ration) = figure(self.name).title, self.name.partition(".")
        return f"{found} ({ration.replace('_', ' ')})" if ration else found

    @property
    def lower(self) -> str:
        """What is measured, inside a sentence."""
        return lowered(self.title)

    @property
    def factor(self) -> float:
        """By what the figure is multiplied for print: shares stand as per cent. [1]"""
        return 100.0 if figure(self.name).unit == "1/year" or self.name in SHARES else 1.0

    @property
    def unit(self) -> str:
        """The unit as words, nothing for a plain number."""
        if self.name == RATIO:
            return "times the local price"
        if self.name in SHARES:
            return "%"
        unit = figure(self.name).unit
        return UNITS.get(unit, printed_unit(unit.replace("money", USD)))

    @property
    def short_unit(self) -> str:
        """The unit beneath a column's head."""
        return "" if self.name == RATIO else self.unit

    def number(self, x: float | None) -> str:
        """Write a value without its unit."""
        if x is None:
            return "–"
        if self.name == RATIO:
            return self.formats.number(x, 2)
        if is_money(self.name):
            return self.formats.amount(x)
        if figure(self.name).unit == "person":
            return people(x, self.formats)
        return self.formats.number(x * self.factor)

    def text(self, x: float | None) -> str:
        """Write a value with its unit, as a sentence does."""
        number, unit = self.number(x), self.unit
        if number == "–" or not unit:
            return number
        if unit.startswith(USD) and x is not None:
            return f"{self.formats.money(x)}{unit.removeprefix(USD)}"
        return f"{number}{NBSP}{unit}"

    @property
    def gap(self) -> str:
        """How a difference from the best is said."""
        return "short of" if figure(self.name).better == "more" else "worse than"

    def span(self, low: float | None, high: float | None) -> str:
        """Write a range without its unit, nothing where both ends are unknown."""
        return self.formats.span(low, high, self.number)


def people(count: float, formats: Formats) -> str:
    """Write a count of people: two figures, three from a hundred on."""
    return formats.number(count, 3 if count >= 100 else 2)  # noqa: PLR2004


def finite(x: float) -> float | None:
    """Return a number, None where it is none or has no end."""
    return x if math.isfinite(x) else None
