"""How are the checks to make first told: the decision, the spread, and each check in words?

The proposal and the terminal say the same sentences.
"""

from sitefare.outputs.numbers import Formats
from sitefare.outputs.proposal.view import row_words
from sitefare.questions.check_first import Check, CheckList
from sitefare.questions.dictionary import INDICATORS

#: Figures that are no indicators, in words.
FIGURES = {"cost_over_alternative": "Cost per person-day over its local price"}


def figure_words(name: str) -> str:
    """Name an indicator, or the cost over the local price."""
    return FIGURES.get(name) or INDICATORS[name.partition(".")[0]].title


def level_words(found: CheckList, level: float, formats: Formats) -> str:
    """Say a level of the funder's in words."""
    number = "" if level == 1.0 else f"{formats.number(level, 2)} times "
    if found.stake.payoff == "npv":
        lost = f"{formats.number(level, 2)} times the planned capital cost"
        return f"a loss of {lost}" if level else "no loss"
    return f"{number}the local price for a person-day"


def decision_words(found: CheckList, formats: Formats) -> str:
    """Say what knowing everything before deciding is worth, and where the decision turns."""
    at, level = found.stake, level_words(found, found.stake.level, formats)
    mean = float(at.at().mean())
    stands = "to fund" if mean > 0 else "not to fund"
    lead = f"The decision is taken by {_rule(at.payoff)}, at {level}: on average, {stands}."
    if found.everything.value <= 0:
        lead += (
            f" It is the same in each of the {formats.count(found.influence.draws)} draws: no "
            "evidence about these rows would change it, so none is worth buying for the decision."
        )
    else:
        lead += (
            f" Knowing every row beforehand would be worth at most "
            f"{formats.money(found.everything.value, digits=2)} "
            f"(standard error {formats.money(found.everything.error, digits=2)})."
        )
    return f"{lead} {turning_words(found, formats)}"


def _rule(payoff: str) -> str:
    """Say what a decision is taken by."""
    if payoff == "npv":
        return "net present value and the sum that may be lost"
    return "the food's worth less its cost"


def turning_words(found: CheckList, formats: Formats) -> str:
    """Say at which level the decision turns, and what knowing is worth there."""
    if not found.by_level:
        return "No level that a funder could accept would turn it."
    there = found.stake.even
    if there < 0:
        return "It would be to fund even if nothing were accepted as lost."
    worth = next(w for level, w in found.by_level if level == there)
    return (
        f"On average the decision turns at {level_words(found, there, formats)}; there, knowing "
        f"every row would be worth at most {formats.money(worth.value, digits=2)}."
    )


def spread_words(found: CheckList, formats: Formats) -> str:
    """Say how much of the spread rests on rows without support."""
    what = figure_words(found.stake.decided_by)
    share = formats.share
    return (
        f"Rows taken one by one explain {share(found.told)} of the spread of "
        f"{what[0].lower()}{what[1:]}: {share(max(found.soft, 0.0))} rests on rows marked "
        f"judgement, practice or invented, {share(max(found.told - found.soft, 0.0))} on rows "
        f"with support. The other {share(max(1.0 - found.told, 0.0))} comes of rows acting "
        f"together, of steps, and of curves too slight to tell from chance. The spread "
        f"is that of {found.influence.scale.words}."
    )


def order_words(found: CheckList) -> str:
    """Say by what the checks rank."""
    if found.decides:
        return (
            "Checks rank by what knowing their rows is worth to the decision, less their cost. "
            "A worth is a ceiling: no check is perfect. Checks that cost more than that are left "
            "out."
        )
    return (
        "No single check would change the decision, so checks rank by a second measure: the share "
        "of the spread on rows that no document stands behind."
    )


def settled_words(check: Check) -> str:
    """Name the strongest row of a check with its basis, and how many more it settles."""
    first = check.rows[0]
    more = len(check.rows) - 1
    words = f"{row_words(first)}, {first.basis}"
    return f"{words}; and {more} more" if more else words


def listed(found: CheckList, count: int) -> list[Check]:
    """Return the first checks worth a line: those that pay, or above half a per cent."""
    if found.decides:
        return [check for check in found.checks if check.worth.told and check.net > 0][:count]
    return [check for check in found.checks if check.soft > max(check.error, 0.005)][:count]
