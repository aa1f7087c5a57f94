"""The words that the writers add themselves, by language; English where none is known."""

from sitefare.outputs.document import CautionKind

ENGLISH = {
    "figure": "Figure",
    "table": "Table",
    "contents": "Contents",
    "draft": "Draft",
    "draft_line": "Draft for discussion: not to be relied on until these are held.",
    "no_missing": "Draft for discussion.",
    "missing": "Still missing",
    "skip": "Skip to the text",
    "how": "How this is made",
    "sort": "Sort by this column",
    "page": "page {number} of {total}",
    "scenario": "Scenario",
    "date": "Appraisal date",
    "version": "Sitefare",
    "inputs": "Inputs",
    "note": "Note",
    "caution": "Caution",
    "stop": "Would stop the project",
    "to_top": "Back to the top",
    "data": "The figures of this chart",
    "value": "Value",
    "span": "Range",
    "month": "Month",
    "what": "What",
    "colours": "Colours",
    "light": "Light",
    "dark": "Dark",
    "as_device": "As the device",
    "chart_values": "Values of the chart: arrow keys go from one to the next",
    "filter": "Show only rows with",
    "filter_note": "Words of a name, a source, a unit. Press Escape to show all rows.",
    "rows_shown": "{shown} of {all} rows shown.",
    "sorted_up": "Sorted by {column}, least first.",
    "sorted_down": "Sorted by {column}, greatest first.",
}

CATALOGUE: dict[str, dict[str, str]] = {"en": ENGLISH}

RIGHT_TO_LEFT = ("ar", "fa", "he", "ur")


def words(language: str) -> dict[str, str]:
    """Return the writers' own words in a language, English for those not translated."""
    return ENGLISH | CATALOGUE.get(language.split("-", maxsplit=1)[0], {})


def direction(language: str) -> str:
    """Return 'rtl' or 'ltr', the reading direction of a language."""
    return "rtl" if language.split("-", maxsplit=1)[0] in RIGHT_TO_LEFT else "ltr"


def caution_title(kind: CautionKind, title: str, language: str) -> str:
    """Return the heading of a caution: its own, else the word for its kind."""
    return title or words(language)[kind]
