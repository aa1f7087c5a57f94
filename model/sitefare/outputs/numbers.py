"""How a number becomes text, in one place, by locale.

Headline figures carry three significant figures, with no zeros that were not reckoned; the same
amount is therefore rounded the same way wherever it stands. Ranges are 'low–high' with the
unit once. A missing answer is text with its reason, never a blank.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from babel import Locale
from babel.numbers import format_decimal

from sitefare.outputs.catalogue import SOURCE
from sitefare.outputs.dates import month_names

#: No-break space, between a currency code or a unit and its number.
NBSP = "\u00a0"

#: Narrow no-break space, between thousands where a language parts them by a space.
NARROW = "\u202f"


def significant(x: float, digits: int = 3) -> Decimal:
    """Round to `digits` significant figures, half to even. [same unit]"""
    exact = Decimal(repr(float(x)))
    if exact == 0:
        return Decimal(0)
    step = Decimal(1).scaleb(exact.adjusted() - digits + 1)
    rounded = exact.quantize(step, rounding=ROUND_HALF_EVEN)
    return _shortest(rounded) if rounded == exact else rounded


def scale_of(amounts: Iterable[float]) -> tuple[float, str]:
    """Return the divisor and word that keep a chart's axis short: 1, thousand or million.

    Parameters
    ----------
    amounts : iterable of float
        The amounts to be drawn. [any unit]
    """
    largest = max((abs(x) for x in amounts if math.isfinite(x)), default=0.0)
    if largest >= 2e6:  # noqa: PLR2004
        return 1e6, "million"
    if largest >= 2e3:  # noqa: PLR2004
        return 1e3, "thousand"
    return 1.0, ""


@dataclass(frozen=True)
class Formats:
    """Formatters of one document: its language and the currency of its amounts."""

    language: str = "en"
    currency: str = "USD"

    def number(self, x: float | None, digits: int = 3, unit: str = "") -> str:
        """Return a number with `digits` significant figures, grouped, its unit after it."""
        text = "–" if x is None or not math.isfinite(x) else self._text(significant(x, digits))
        return f"{text}{NBSP}{unit}" if unit else text

    def count(self, x: float | None, unit: str = "") -> str:
        """Return a whole number, grouped, its unit after it."""
        return self.decimal(x, 0, unit)

    def decimal(self, x: float | None, places: int, unit: str = "") -> str:
        """Return a number with fixed decimal places, for columns that must line up."""
        if x is None or not math.isfinite(x):
            return "–"
        exact = Decimal(repr(float(x))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
        text = self._text(exact)
        return f"{text}{NBSP}{unit}" if unit else text

    def money(self, x: float | None, currency: str = "", digits: int = 3) -> str:
        """Return an amount with its currency code: USD 412,000; USD 1.84; −USD 96,500."""
        text = self.amount(x, digits)
        if text == "–":
            return text
        code = currency or self.currency
        if not self._code_first:
            return f"{text}{NBSP}{code}"
        return f"−{code}{NBSP}{text[1:]}" if text.startswith("−") else f"{code}{NBSP}{text}"

    def amount(self, x: float | None, digits: int = 3) -> str:
        """Return an amount without its currency, for columns whose head carries it."""
        if x is None or not math.isfinite(x):
            return "–"
        rounded = significant(x, digits)
        if digits == 3 and 1 <= abs(rounded) < 100:  # noqa: PLR2004
            rounded = rounded.quantize(Decimal("0.01") if abs(rounded) < 10 else Decimal("0.1"))  # noqa: PLR2004
        return self._text(rounded)

    def share(self, x: float | None) -> str:
        """Return a share of one as whole per cent, with two figures below 1 %."""
        if x is None or not math.isfinite(x):
            return "–"
        hundredfold = Decimal(repr(float(x))) * 100
        if 0 < abs(hundredfold) < 1:
            return f"{self._text(significant(float(hundredfold), 2))}{NBSP}%"
        return f"{self._text(hundredfold.quantize(Decimal(1), ROUND_HALF_EVEN))}{NBSP}%"

    def span(self, low: float | None, high: float | None, how: Callable[[float], str]) -> str:
        """Return 'low–high' with the shared currency or unit once; nothing where both fail.

        `how` is one of this object's formatters, e.g. `formats.money`; an end that is None or
        infinite becomes 'or more' or 'or less'.
        """
        if _absent(low) and _absent(high):
            return ""
        if low is None or _absent(low):
            return f"{how(high)} or less" if high is not None else ""
        if high is None or _absent(high):
            return f"{how(low)} or more"
        return _joined(how(low), how(high))

    def answer(
        self, x: float | None, how: Callable[[float], str], reason: str | None = None
    ) -> str:
        """Return the formatted value, or 'No answer: reason' where there is none."""
        if x is None or _absent(x):
            return no_answer(reason or "not defined for this case")
        return how(x)

    def years(self, x: float | None) -> str:
        """Return a number of years with one decimal below ten."""
        if x is None or not math.isfinite(x):
            return "–"
        return self.decimal(x, 1 if abs(x) < 10 else 0, "years")  # noqa: PLR2004

    def month_name(self, month: int) -> str:
        """Return the short name of a calendar month, 1 to 12."""
        return month_names(self.language)[month - 1]

    def month_in_sentence(self, month: int) -> str:
        """Return the short name of a calendar month, 1 to 12, in the sentences' own language."""
        return month_names(SOURCE)[month - 1]

    @property
    def _locale(self) -> Locale:
        return Locale.parse(self.language.replace("-", "_"))

    @property
    def _code_first(self) -> bool:
        pattern: str = self._locale.currency_formats["standard"].pattern
        return pattern.lstrip("\u200e\u200f").startswith("¤")

    def _text(self, x: Decimal) -> str:
        places = max(0, -int(x.as_tuple().exponent))
        shape = "#,##0" + ("." + "0" * places if places else "")
        text: str = format_decimal(x, format=shape, locale=self._locale)
        return text.replace("-", "−").replace(NBSP, NARROW)


def no_answer(reason: str) -> str:
    """Return the words for a figure that has no answer, with the reason."""
    return f"No answer: {reason}"


def _shortest(x: Decimal) -> Decimal:
    """Drop the zeros that an exact figure does not need: 1, not 1.00."""
    return x.quantize(Decimal(1)) if x == x.to_integral_value() else x.normalize()


def _absent(x: float | None) -> bool:
    return x is None or not math.isfinite(x)


def _joined(low: str, high: str) -> str:
    """Join two formatted ends, a shared head or tail once; equal ends stand alone."""
    if low == high:
        return low
    between = " to " if "−" in low + high else "–"
    first, last = low.split(NBSP), high.split(NBSP)
    if len(first) == len(last) and len(first) > 1:
        if first[0] == last[0] and between == "–":
            return f"{low}–{NBSP.join(last[1:])}"
        if first[1:] == last[1:] and any(map(str.isdigit, first[0])):
            return f"{first[0]}{between}{high}"
    return f"{low}{between}{high}"
