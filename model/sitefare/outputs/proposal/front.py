"""What stands on the cover: place, who asks, for how much, what it gives, how far it has come."""

from sitefare.outputs.proposal.summary import asked
from sitefare.outputs.proposal.view import View


def front(view: View) -> tuple[tuple[str, str], ...]:
    """Return the facts of the cover, label and value, the verdict among them."""
    f, proposer = view.formats, view.proposer
    count = view.value("people_fed")
    fed = (
        f"{view.people(count)} people, {view.ration}"
        if count > 0
        else f"nobody in all months of a year, {view.ration}"
    )
    pays = "it pays" if view.pays else "it does not pay back its cost"
    return (
        ("Place", view.place),
        ("Who asks; who will own it", f"{proposer.applicant}; {proposer.owner}"),
        ("Amount asked for", asked(view)),
        ("Capital cost", f"{view.shown('capex', f.money)}, prices of {view.price_date}"),
        ("Would feed", fed),
        ("In money alone", f"{pays}: net present value {view.shown('npv', f.money)}"),
        (
            "Status and estimate class",
            f"{proposer.status.replace('_', '-')}; class {proposer.estimate_class} (AACE 18R-97)",
        ),
    )
