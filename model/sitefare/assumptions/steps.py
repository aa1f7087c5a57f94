"""Which steps lead from the decision to hand-over, who takes them, and what ends each?"""

from sitefare.assumptions.declaration import choice, inputs, text

#: Moments of the appraisal between which steps lie, in their usual order.
MOMENTS = (
    "decision", "prepared", "third_of_building", "two_thirds_of_building", "last_of_building",
    "built", "stocked", "first_crop", "first_fish", "full", "handed_over",
)  # fmt: skip


@inputs("step", keyed=True, table=True)
class StepInputs:
    """One step of the plan; its months come from the appraisal's own dates."""

    phase: str = text(doc="Phase it belongs to")
    title: str = text(doc="The step in words")
    starts: str = choice(*MOMENTS, doc="Moment at which it begins")
    ends: str = choice(*MOMENTS, doc="Moment by which it is done")
    who: str = text(doc="Who takes it")
    milestone: str = text(doc="What shows that it is done")
