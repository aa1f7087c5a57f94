"""How does a document write a date? By month and year, as its language does."""

import datetime as dt

from babel import Locale
from babel.dates import format_skeleton


def month_and_year(date: str, language: str) -> str:
    """Write YYYY-MM or YYYY-MM-DD in words: January 2027, 5 January 2027.

    Raises
    ------
    ValueError
        If the text is no date.
    """
    day = dt.date.fromisoformat(f"{date}-01"[:10])
    shape = "yMMMM" if len(date) < len("YYYY-MM-DD") else "yMMMMd"
    locale = Locale.parse(language.replace("-", "_"))
    written: str = format_skeleton(shape, day, locale=locale)
    return written
