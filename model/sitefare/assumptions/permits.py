"""Which consents must be confirmed, who grants them, what is held, and before which step?"""

from collections.abc import Mapping
from dataclasses import dataclass

from sitefare.assumptions.declaration import Values, build_all, choice, inputs, text
from sitefare.assumptions.evidence import EvidenceInputs, evidence
from sitefare.assumptions.files import nearest
from sitefare.errors import AssumptionError

#: Steps of the project that a consent stands before, in their order.
STEPS = ("spending", "building", "water", "stocking", "selling")


@inputs("permit", keyed=True, table=True)
class PermitInputs:
    """One consent to confirm with the authority that grants it."""

    title: str = text(doc="The consent in words")
    grants: str = text(doc="Who grants it, in general terms")
    why: str = text(doc="What may not be done without it")
    evidence: str = text(doc="Key of the document that shows it; blank for none", optional=True)
    before: str = choice(*STEPS, doc="Step that it must stand before")


@dataclass(frozen=True)
class Permit:
    """One consent with the document that would show it, if the evidence names one."""

    key: str
    inputs: PermitInputs
    paper: EvidenceInputs | None

    @property
    def held(self) -> bool:
        """Whether its document is held."""
        return self.paper is not None and self.paper.status == "held"


def permits(values: Values) -> tuple[Permit, ...]:
    """Return the consents of a case by the step they stand before.

    Raises
    ------
    AssumptionError
        If one names a document that the evidence does not list.
    """
    papers = evidence(values).items
    found = [
        Permit(key, permit, _paper(key, permit, papers))
        for key, permit in build_all(PermitInputs, values).items()
    ]
    return tuple(sorted(found, key=lambda one: STEPS.index(one.inputs.before)))


def _paper(
    key: str, permit: PermitInputs, papers: Mapping[str, EvidenceInputs]
) -> EvidenceInputs | None:
    """Return the document that would show a consent."""
    if not permit.evidence:
        return None
    if permit.evidence not in papers:
        msg = (
            f"permit.{key}.evidence: '{permit.evidence}' is not a document of evidence.csv"
            f"{nearest(permit.evidence, papers)}"
        )
        raise AssumptionError(msg)
    return papers[permit.evidence]
