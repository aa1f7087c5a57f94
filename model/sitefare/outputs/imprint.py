"""Which lines tell a document's case: below the title, at the foot of a page, on a draft?

The PDF and the Word file say them alike; values of the other direction are kept together.
"""

from sitefare.outputs.catalogue import catalogue
from sitefare.outputs.dates import month_and_year
from sitefare.outputs.document import Metadata
from sitefare.outputs.words import words


def imprint(meta: Metadata) -> tuple[str, ...]:
    """Return scenario, date, inputs and version, each under its name."""
    own, apart = words(meta.language), catalogue(meta.language).set_apart
    told = {
        "scenario": apart(meta.scenario),
        "date": month_and_year(meta.date, meta.language),
        "inputs": apart(meta.input_hash),
    }
    named = (f"{own[key]}{own['colon']}{value}" for key, value in told.items())
    return (*named, f"{own['version']} {apart(meta.version)}")


def foot(meta: Metadata) -> str:
    """Return what stands at the foot of every page, beside its number."""
    own, apart = words(meta.language), catalogue(meta.language).set_apart
    date = month_and_year(meta.date, meta.language)
    inputs = f"{own['inputs']} {apart(meta.input_hash)}"
    return " · ".join((apart(meta.site), apart(meta.scenario), date, inputs))


def draft_line(meta: Metadata) -> str:
    """Return what a draft says of itself on its first page."""
    own, apart = words(meta.language), catalogue(meta.language).set_apart
    if not meta.missing:
        return own["no_missing"]
    listed = own["and_then"].join(map(apart, meta.missing))
    return f"{own['draft_line']} {own['missing']}{own['colon']}{listed}."
