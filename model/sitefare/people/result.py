"""What the people stage hands to money and outputs."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from sitefare.arrays import Array, value


@dataclass(frozen=True)
class Ration:
    """One ration's answer: persons fed by month of the life, and its words.

    `limiting` is the part that binds over full years; `parts` holds the people that each part
    alone would feed in each month, carry-over included, (draws, months + 1).
    """

    title: str
    basis: str
    persons: Array
    limiting: str
    parts: Mapping[str, Array] = field(default_factory=dict)


@dataclass(frozen=True)
class PeopleFed:
    """Where the harvest goes and whom it feeds; life arrays (draws, months + 1).

    `served_kg`, `elsewhere_kg`, `lost_kg` and `staff_kg` are kilograms a month by food key (each
    crop, and the fish species; fish in live weight); `held_kg` is in store at month end, so that
    harvest = served + elsewhere + lost + staff + change in held. `served_kg` reaches the people
    served, given or sold to them; `served_sold_share` (draws, 1) is the part of it that they pay
    for. `full` (1, years) marks the years of full production, over which seasons are means.
    `fed_season` is the people fed on the headline ration, (draws, 12), and `eaten_g` the raw
    edible grams a day of `vegetables` and of `fish` that each of them gets by the ration;
    `beyond_g` is edible grams a day, by food, that reach people and are beyond it: they feed
    nobody in the count. `coverage` is the share of each requirement that the ration covers, by
    nutrient, as a season; `group_coverage` the same by group of age and sex on the year's mean,
    (draws, 1). `full_ration_equivalents` is people whose whole energy need the food served would
    meet. `alternative_cost_person_day` (draws, 1) is what
    the headline ration's food costs bought locally, at appraisal-date prices [money/person/day].
    `edible_g` is edible grams a day of `vegetables` and of `fish` handed over, all people together.
    """

    served_kg: Mapping[str, Array]
    elsewhere_kg: Mapping[str, Array]
    lost_kg: Mapping[str, Array]
    served_sold_share: Array
    headline: str
    rations: Mapping[str, Ration]
    coverage: Mapping[str, Array]
    full_ration_equivalents: Array
    alternative_cost_person_day: Array
    notes: tuple[str, ...]
    staff_kg: Mapping[str, Array] = field(default_factory=dict)
    held_kg: Mapping[str, Array] = field(default_factory=dict)
    eaten_g: Mapping[str, Array] = field(default_factory=dict)
    group_coverage: Mapping[str, Mapping[str, Array]] = field(default_factory=dict)
    edible_g: Mapping[str, Array] = field(default_factory=dict)
    beyond_g: Mapping[str, Array] = field(default_factory=dict)
    fed_season: Array = field(default_factory=lambda: value(0.0))
    full: Array = field(default_factory=lambda: value(1.0))
