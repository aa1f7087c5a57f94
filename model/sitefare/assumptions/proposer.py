"""Who asks, who will own the farm, and how far has the work come?"""

from sitefare.assumptions.declaration import choice, inputs, text


@inputs("proposal")
class ProposalInputs:
    """The words on the first page that no model gives."""

    applicant: str = text(doc="Who asks for the money", fact="optional")
    owner: str = text(doc="Who will own the farm", fact="optional")
    payer_after: str = text(
        doc="Who pays power, feed, wages and replacements once the grant ends", fact="optional"
    )
    status: str = choice(
        "concept", "pre_feasibility", "feasibility", doc="How far the work has come"
    )
    estimate_class: str = choice(
        "5", "4", "3", doc="Class of the capital estimate, AACE International 18R-97"
    )
