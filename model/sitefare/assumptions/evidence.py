"""Which papers must be held before a funder believes a proposal, and which are?"""

from dataclasses import dataclass

from sitefare.assumptions.declaration import Values, build_all, choice, inputs, text


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

    @property
    def draft(self) -> bool:
        """Whether the proposal is still a draft."""
        return bool(self.missing)


def evidence(values: Values) -> Evidence:
    """Return the evidence annex of a case."""
    return Evidence(build_all(EvidenceInputs, values))
