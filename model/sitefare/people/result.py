"""What the people stage hands to money and outputs."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from sitefare.arrays import Array


@dataclass(frozen=True)
class Ration:
    """One ration's answer: persons fed by month of the life, and its words."""

    title: str
    basis: str
    persons: Array
    limiting: str


@dataclass(frozen=True)
class PeopleFed:
    """Where the harvest goes and whom it feeds; life arrays (draws, months + 1).

    `served_kg`, `elsewhere_kg`, `lost_kg` and `staff_kg` are kilograms a month by food key (each
    crop, and the fish species; fish in live weight); `held_kg` is in store at month end, so that
    harvest = served + elsewhere + lost + staff + change in held. `served_kg` reaches the people
    served, given or sold to them; `served_sold_share` (draws, 1) is the part of it that they pay
    for. `eaten_g` is raw edible grams a day of `vegetables` and of `fish` for each person fed on
    the headline ration, as a season (draws, 12). `coverage` is the share of each requirement that
    the harvest covers for those people, by nutrient, as a season; `group_coverage` the same by
    group of age and sex on the year's mean, (draws, 1). `full_ration_equivalents` is people whose
    whole energy need the food served would meet. `alternative_cost_person_day` (draws, 1) is what
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
