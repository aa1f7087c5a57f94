"""What the farm hands to people, money and outputs.

`Design` holds plain floats, sized once at base values. `FarmFlows` holds life arrays
(draws, months + 1), a flow in each project month, ramp-up and expected event losses included.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from sitefare.arrays import Array
from sitefare.farm.alternative import FieldAlternative
from sitefare.farm.salinity import Salts


@dataclass(frozen=True)
class Margin:
    """What is there over what is needed of one part, 1 or less where it binds, and a sentence."""

    name: str
    ratio: float
    sentence: str

    @property
    def binds(self) -> bool:
        """Whether nothing is spare."""
        return self.ratio <= 1.0


@dataclass(frozen=True)
class Scale:
    """What each month takes at base by every hour of the weather file, and by typical days.

    Twelve numbers each. [unit of the season's figure]
    """

    full: tuple[float, ...]
    reduced: tuple[float, ...]


@dataclass(frozen=True)
class Design:
    """Sizes of one farm, fixed in every draw.

    `drivers` are the quantities that bill items, tasks and overheads multiply, by driver name;
    `facts` are the lines of the design sheet: (what, number, unit); `limits` say in words
    which limit binds and what is oversized, `margins` the same as numbers; `scale` brings what
    three typical days a month take to what every hour of a weather file takes, by name of the
    season's figure.
    """

    enclosure: str
    species: str
    bed_kind: str
    bed_area: float
    covered_area: float
    footprint: float
    tank_count: int
    tank_volume: float
    water_volume: float
    stocked_fish: float
    stagger_months: float
    feed_per_day: float
    drivers: Mapping[str, float]
    facts: tuple[tuple[str, float, str], ...]
    limits: tuple[str, ...]
    life_support_minutes: float
    response_minutes: float
    backup_start_minutes: float
    margins: tuple[Margin, ...] = ()
    scale: Mapping[str, Scale] = field(default_factory=dict)


@dataclass(frozen=True)
class FarmFlows:
    """Physical flows by project month; every array is (draws, months + 1).

    Units: kilograms of fresh marketable crop, kilograms of live fish (deaths: killed by the
    water, ordinary ones and events apart), counts of fingerlings bought and plants, kilograms
    of feed, cubic metres, kilowatt-hours, litres of fuel, hours, people. `water_uses_m3` add up
    to make-up and rain; `field` is the same harvest grown out of doors.
    """

    crop_kg: Mapping[str, Array]
    plants: Mapping[str, Array]
    fish_live_kg: Array
    fish_biomass_kg: Array
    fish_deaths_kg: Array
    fingerlings: Array
    feed_kg: Array
    water_makeup_m3: Array
    rain_m3: Array
    discharge_m3: Array
    sludge_m3: Array
    water_uses_m3: Mapping[str, Array]
    salts: Salts
    field: FieldAlternative
    dosing_kg: Mapping[str, Array]
    electricity_kwh: Mapping[str, Array]
    electricity_total_kwh: Array
    grid_kwh: Array
    pv_kwh: Array
    generator_kwh: Array
    generator_fuel_l: Array
    heating_fuel_kwh: Array
    emissions_kg: Array
    labour_hours: Mapping[str, Array]
    role_hours: Mapping[str, Array]
    workers: Mapping[str, Array]
    workers_unrounded: Mapping[str, Array]
    labour_figures: Mapping[str, Array]
    season: Mapping[str, Array]
    told: Callable[[], tuple[str, ...]]

    @cached_property
    def notes(self) -> tuple[str, ...]:
        """What holds crops and fish back in the first draw, in sentences made when first read."""
        return self.told()
