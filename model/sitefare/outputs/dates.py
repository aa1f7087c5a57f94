"""How does a document write a date? By month and year, as its language does."""

import datetime as dt
from functools import cache

from babel import Locale
from babel.dates import format_date, format_skeleton, get_month_names


@cache
def month_names(language: str) -> tuple[str, ...]:
    """Return the twelve short names of the months of a language, January first."""
    locale = Locale.parse(language.replace("-", "_"))
    names = get_month_names("abbreviated", context="stand-alone", locale=locale)
    return tuple(str(names[month]) for month in range(1, 13))


def month_and_year(date: str, language: str) -> str:
    """Write YYYY-MM or YYYY-MM-DD in words: January 2027, 5 January 2027.

    Raises
    ------
    ValueError
        If the text is no date.
    """
    day = dt.date.fromisoformat(f"{date}-01"[:10])
    locale = Locale.parse(language.replace("-", "_"))
    if len(date) < len("YYYY-MM-DD"):
        return str(format_skeleton("yMMMM", day, locale=locale))
    return str(format_date(day, "long", locale=locale))
