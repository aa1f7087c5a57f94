"""Who among the people fed is least covered, when, and what can the harvest not give?

Plain sentences for the outputs, about one case (the first draw) of `coverage.GroupCoverage`.
"""

from sitefare.arrays import Array, day_mean
from sitefare.people.coverage import (
    HARDLY_ANY,
    GroupCoverage,
    least_adequate,
    least_covered,
    out_of_reach,
)
from sitefare.people.need import GROUP_WORDS
from sitefare.people.result import PeopleFed
from sitefare.people.words import MONTH_NAMES, nutrient_name

#: Groups that a nutrition adviser asks for first: a child of two, a pregnant woman, a man.
ASKED_FIRST = ("child_1_3", "pregnant_woman", "man")

#: How the food is divided, in words.
SHARED = {
    "equal": "each person fed gets the same share",
    "by_energy": "each person fed gets a share by the energy he or she needs",
}


def asked_first(coverage: GroupCoverage) -> tuple[str, ...]:
    """Name the groups to show first, those of them that live there."""
    return tuple(group for group in ASKED_FIRST if group in coverage.share)


def year_cover(coverage: GroupCoverage) -> dict[str, dict[str, Array]]:
    """Return the mean of each group's monthly cover over the year's days, (draws, 1). [1]"""
    return {
        group: {name: day_mean(each) for name, each in share.items()}
        for group, share in coverage.share.items()
    }


def adequacy_words(fed: PeopleFed, coverage: GroupCoverage) -> tuple[str, ...]:
    """Return the sentences that go with cover by group and month.

    Parameters
    ----------
    fed : PeopleFed
        Who is fed, from an appraisal.
    coverage : GroupCoverage
        Cover of those people by group and month.

    Returns
    -------
    tuple of str
        How it is shared and counted, who is least covered and when, what is out of reach.
    """
    least = least_adequate(coverage)
    if not any(float(each.max()) > 0.0 for each in coverage.adequacy.values()):
        return ("Nobody is fed in a full year, so there is no cover to show.",)
    gone = out_of_reach(fed)
    said = [
        (
            f"Cover counts that {SHARED[coverage.sharing]}; the mean adequacy ratio is the mean "
            "over nutrients of the shares covered, none counting above 100%: more than enough of "
            "one nutrient never makes up for another."
        ),
        (
            f"Least covered is a {GROUP_WORDS[least.group]} in {MONTH_NAMES[least.month]}, with a "
            f"mean adequacy ratio of {least.share:.0%}."
        ),
        *_empty(gone),
        *_lowest(coverage, gone),
    ]
    return tuple(said)


def _empty(names: tuple[str, ...]) -> list[str]:
    """Say which nutrients the harvest practically cannot give."""
    if not names:
        return []
    named = _list([nutrient_name(name) for name in names])
    return [
        (
            f"The harvest practically cannot give {named}: less than {HARDLY_ANY:.0%} of the need "
            "of those fed on the year's mean. It must come from other food."
        )
    ]


def _lowest(coverage: GroupCoverage, gone: tuple[str, ...]) -> list[str]:
    """Say for iron, calcium and zinc who has least, where it is not out of reach."""
    least = {
        name: f"{nutrient_name(name)} {one.share:.0%} (a {GROUP_WORDS[one.group]})"
        for name, one in least_covered(coverage).items()
        if name in ("iron", "calcium", "zinc") and name not in gone
    }
    return [f"The least cover of any group is: {_list(list(least.values()))}."] if least else []


def _list(words: list[str]) -> str:
    """Join words as a sentence does."""
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
