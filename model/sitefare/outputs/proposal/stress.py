"""What if it goes wrong: named events over the base case, what they cost and how long they last."""

from collections.abc import Callable

from sitefare.outputs.charts_stress import stressed_cash
from sitefare.outputs.document import Block, Column, Figure, Heading, Paragraph, Table
from sitefare.outputs.proposal.view import View
from sitefare.questions.stress import Effect, Stresses, out_of_money

#: Events drawn beside the base.
DRAWN = 2


def stress(view: View) -> list[Block]:
    """Return the table of events and the chart of cash."""
    found = view.stresses
    return [
        Heading(1, "What if it goes wrong", "stress"),
        Paragraph(_lead(view, found)),
        *_figure(view, found),
        _table(view, found),
        Paragraph(
            "People are counted by the headline ration, "
            f"{view.ration}: where it counts a year by its worst month, one empty month costs "
            "them the year. An event whose expected loss the base carries has that loss taken out "
            "of the year in which it is made to happen; its size and month here are its own.",
            "small",
        ),
    ]


def _lead(view: View, found: Stresses) -> str:
    """Say what is done and which event takes most cash and food."""
    f, worst = view.formats, found.worst[0]
    ends = out_of_money(found.cash)
    label = view.appraisal.case.timeline.label
    base = f"In the base cash runs out in {label(ends)}. " if ends is not None else ""
    cash = f"Most cash is taken by **“{worst.title}”**: up to {f.money(worst.most_lost)}."
    if worst.most_lost <= 0.0:
        cash = "None takes cash."
    return (
        f"{len(found.effects)} events are laid over the base case one at a time, and some together; "
        f"the farm stays as it is built. {base}{cash} {_hungriest(view, found)}"
    )


def _hungriest(view: View, found: Stresses) -> str:
    """Say which event takes most food from the people fed, if any does."""
    most = max((*found.effects, *found.combined), key=lambda e: e.people_lost)
    if most.people_lost <= 0.0:
        return "None takes food from people whom the ration counts as fed" + (
            "." if view.value("people_fed") > 0.0 else ": it counts nobody."
        )
    months = "not again within the appraisal"
    if most.recovery is not None:
        months = f"again after {most.recovery} months"
    lost = view.formats.number(most.people_lost / 12.0)
    return f"Most food is taken by **“{most.title}”**: {lost} person-years by the ration, fed {months}."


def _figure(view: View, found: Stresses) -> list[Block]:
    """Draw cash in the base and under the worst events."""
    worst = [e for e in found.worst if e.most_lost > 0.0][:DRAWN]
    if not worst:
        return []
    lines = {"Base": [float(x) for x in found.cash]}
    lines |= {e.title: [float(x) for x in e.cash] for e in worst}
    words = "Cash at month ends with the funding planned, in the base and under the worst events."
    return [Figure(stressed_cash(lines, view.formats), words, anchor="stress-figure")]


def _table(view: View, found: Stresses) -> Table:
    """Return the table of events."""
    f, label = view.formats, view.appraisal.case.timeline.label
    lines = tuple(
        (
            e.title,
            span(e, label),
            f.amount(e.lowest_cash),
            f.amount(e.most_lost) if e.most_lost > 0.0 else "–",
            f.number(e.people_lost / 12.0) if e.people_lost > 0.0 else "none",
            back(e),
        )
        for e in (*found.effects, *found.combined)
    )
    columns = (
        Column("Event", weight=2.4),
        Column("When", weight=1.2),
        Column("Lowest cash", f.currency, "right", weight=1.2),
        Column("Cash lost at most", f.currency, "right", weight=1.1),
        Column("People lost", "person-years", "right", weight=1),
        Column("Back after", "months", "right", weight=0.9),
    )
    note = f"Lowest cash in the base: {f.money(float(found.cash.min()))}. " + _uncounted(
        view, found
    )
    note = " ".join((note.strip(), *_together(found)))
    return Table(
        columns,
        lines,
        "Events, alone and together",
        note=note,
        wide=True,
        anchor="stress-table",
    )


def _together(found: Stresses) -> list[str]:
    """Say which events make up each combination."""
    titles = {e.name: e.title for e in found.effects}
    return [
        f"{e.title}: “{'”, “'.join(titles.get(key, key) for key in e.events)}” together."
        for e in found.combined
    ]


def span(effect: Effect, label: Callable[[int], str]) -> str:
    """Name the months of an event."""
    first, last = label(effect.begins), label(effect.ends)
    return first if first == last else f"{first} to {last}"


def back(effect: Effect) -> str:
    """Write when people fed are back within 5 % of the base."""
    if effect.people_lost <= 0.0 and effect.recovery == 0:
        return "–"
    return "never" if effect.recovery is None else f"{effect.recovery}"


def _uncounted(view: View, found: Stresses) -> str:
    """Say what the events that the base does not carry take a year, on expectation."""
    loss = sum(e.expected_loss for e in found.effects if e.expected_loss > 0.0)
    if loss <= 0.0:
        return ""
    return (
        "Chance × loss of net present value of the events that the base does not carry, where they "
        f"cost money: {view.formats.money(loss)} a year."
    )
