"""Which papers must be held before a funder believes a proposal, and which are?"""

import re
from dataclasses import dataclass

from sitefare.assumptions.declaration import Values, build_all, choice, inputs, text
from sitefare.errors import AssumptionError


@inputs("evidence", keyed=True, table=True)
class EvidenceInputs:
    """One document a site holds, has asked for, or lacks."""

    title: str = text(doc="What the document shows")
    supports: str = text(doc="The headline assumption that rests on it")
    status: str = choice("held", "requested", "missing", doc="Where it stands")
    document: str = text(doc="Reference of the document held", optional=True)
    date: str = text(doc="Date of the document", optional=True)
    expiry: str = text(doc="Date it lapses", optional=True)
    gate: str = choice("yes", "no", doc="Whether a site cannot be ranked without it")


@dataclass(frozen=True)
class Evidence:
    """The evidence annex of one site."""

    items: dict[str, EvidenceInputs]

    @property
    def missing(self) -> list[str]:
        """Titles of the documents not held."""
        return [item.title for item in self.items.values() if item.status != "held"]

    def lapsed_before(self, month: str) -> list[str]:
        """Titles of documents held that lapse before a month such as 2027-07."""
        return [
            item.title
            for item in self.items.values()
            if item.status == "held" and item.expiry and item.expiry[:7] < month
        ]

    @property
    def draft(self) -> bool:
        """Whether the proposal is still a draft."""
        return bool(self.missing)


def evidence(values: Values) -> Evidence:
    """Return the evidence annex of a case.

    Raises
    ------
    AssumptionError
        If a date is neither a month nor a day.
    """
    items = build_all(EvidenceInputs, values)
    for key, item in items.items():
        for field, date in (("date", item.date), ("expiry", item.expiry)):
            if date and not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])(-(0[1-9]|[12]\d|3[01]))?", date):
                msg = f"evidence.{key}.{field}: '{date}' is not a month such as 2027-03 or a day"
                raise AssumptionError(msg)
    return Evidence(items)
