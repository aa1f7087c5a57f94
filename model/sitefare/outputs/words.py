"""The words that the writers add themselves, by language; English where none is known."""

from sitefare.outputs.catalogue import catalogue, in_context, right_to_left
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
    "colon": ": ",
    "and_then": "; ",
    "scenario": "Scenario",
    "date": "Appraisal date",
    "version": "Sitefare",
    "inputs": "Inputs",
    "note": "Note",
    "caution": "Caution",
    "stop": "Would stop the project",
    "to_top": "Back to the top",
    "unreviewed": "translation not reviewed",
    "about_language": "About the language",
    "stays_english": (
        "Headings and labels are translated; sentences, findings and sources stay in English."
    ),
    "not_reviewed_yet": "No reader of this language has confirmed the translation yet.",
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

#: The context of a word that means something else in a table's head.
WRITER = "writer"


def words(language: str) -> dict[str, str]:
    """Return the writers' own words in a language, English for those not translated."""
    own = catalogue(language)
    return {
        key: own.exact.get(in_context(said, WRITER))
        or own.exact.get(said)
        or own.said(said)
        or said
        for key, said in ENGLISH.items()
    }


def direction(language: str) -> str:
    """Return 'rtl' or 'ltr', the reading direction of a language."""
    return "rtl" if right_to_left(language) else "ltr"


def caution_title(kind: CautionKind, title: str, language: str) -> str:
    """Return the heading of a caution: its own, else the word for its kind."""
    return title or words(language)[kind]
