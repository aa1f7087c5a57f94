"""What must a builder know of a farm: sizes, flows, powers and loads, group by group?

The lines of `Design.facts` come first, put into groups by name or, where a name is not known,
by unit; what only a builder asks is added here. Numbers are base values.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import MEAN_MONTH
from sitefare.farm import air, beds, enclosure, energy, fish, yard
from sitefare.farm.floors import ORDINARY_FLOOR
from sitefare.farm.machines import NOON_SUN, base
from sitefare.farm.parts import Parts
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.sheet_notes import HEAT, MACHINES, NOTES, carrier
from sitefare.farm.siteplan import FarmPlan

#: Groups in the order they are printed.
ORDER = (
    "Areas",
    "Volumes",
    "Flows and turnovers",
    "Head and pipes",
    "Beds and plants",
    "Fish",
    "Feed",
    "Power",
    "Heat and cold",
    "Air",
    "Loads on the floor",
    "Life support",
    "Water quality",
    "Stores and people",
    "Other",
)

#: Group of each line of `Design.facts` by its words.
GROUPS = {
    "Bed area": "Areas",
    "Covered area": "Areas",
    "Ground taken": "Areas",
    "Fish tanks": "Fish",
    "Volume of each tank": "Volumes",
    "All water": "Volumes",
    "Sump": "Volumes",
    "Media": "Volumes",
    "Flow": "Flows and turnovers",
    "Fish stocked in a tank": "Fish",
    "Days between stockings": "Fish",
    "Feed": "Feed",
    "Feed over bed area": "Feed",
    "Load of a flooded bed on its floor": "Loads on the floor",
    "Load of a tank on its floor": "Loads on the floor",
    "Time fish last without air": "Life support",
    "Oxygen used in the peak hour": "Life support",
    "Oxygen held for emergencies": "Life support",
    "Oxygen that must dissolve a metre, in clean water": "Air",
    "Fish standing before a harvest": "Fish",
    "Brood fish": "Fish",
    "Heaters": "Heat and cold",
    "Cooling": "Heat and cold",
    "Flow to degas for that limit": "Water quality",
}

#: Group of a line that is not named above, by its unit.
BY_UNIT = {
    "m2": "Areas",
    "m3": "Volumes",
    "m3/h": "Flows and turnovers",
    "1/h": "Flows and turnovers",
    "1/day": "Flows and turnovers",
    "m": "Head and pipes",
    "mm": "Head and pipes",
    "m/s": "Head and pipes",
    "kW": "Power",
    "kWh": "Power",
    "W/m2": "Heat and cold",
    "degC": "Heat and cold",
    "kg/m3": "Fish",
    "fish": "Fish",
    "kg/day": "Feed",
    "g/kg/day": "Feed",
    "kg/m3/day": "Feed",
    "kg/h": "Life support",
    "g/m2/day": "Feed",
    "kN/m2": "Loads on the floor",
    "min": "Life support",
    "h": "Life support",
    "mg/L": "Water quality",
    "plant": "Beds and plants",
    "L": "Stores and people",
    "person": "Stores and people",
}


@dataclass(frozen=True)
class Line:
    """One line of the sheet."""

    group: str
    what: str
    number: float
    unit: str
    note: str = ""


def sheet(parts: Parts, design: Design, flows: FarmFlows, plan: FarmPlan) -> tuple[Line, ...]:
    """Return the lines of the sheet in the order of their groups; none stands twice."""
    lines = [
        *_given(design.facts),
        *_areas(design, plan),
        *_water(parts, design),
        *_growing(design, flows, plan),
        *_fish(parts, design, flows),
        *_heat(parts, design),
        *_cold(parts, design),
        *_air(parts, design),
        *_safety(parts, design),
        *_stores(design, flows),
        *_sun(design, flows),
    ]
    named: dict[tuple[str, str], Line] = {}
    for line in lines:
        named.setdefault((line.group, line.what), line)
    return tuple(sorted(named.values(), key=lambda line: ORDER.index(line.group)))


def group_of(what: str, unit: str) -> str:
    """Return the group of a line of `Design.facts`."""
    return GROUPS.get(what) or BY_UNIT.get(unit, "Other")


def _given(facts: Sequence[tuple[str, float, str]]) -> list[Line]:
    """Return the design's own lines; machines that are not there are left out."""
    found = [
        Line(
            group_of(what, unit),
            what,
            number,
            "kW heat" if what in HEAT else unit,
            NOTES.get(what, ""),
        )
        for what, number, unit in facts
    ]
    return [x for x in found if x.number != 0.0 or x.unit not in MACHINES]


def _areas(design: Design, plan: FarmPlan) -> list[Line]:
    """Return areas and sides as drawn."""
    house = plan.house
    return [
        Line("Areas", "Service rooms", design.drivers.get("service_area", 0.0), "m2"),
        Line("Areas", "House, length", house.width, "m", "as drawn; the shape is a proposal"),
        Line("Areas", "House, width", house.height, "m", "as drawn"),
        Line("Areas", "Narrowest aisle", min(plan.aisle, plan.cross_aisle), "m", "as drawn"),
    ]


def _water(parts: Parts, design: Design) -> list[Line]:
    """Return volumes, flow over them, and the head."""
    d, flow = design.drivers, design.drivers["flow"]
    tanks = d["fish_tank_volume"]
    found = [Line("Volumes", "All fish tanks", tanks, "m3")]
    found += [
        Line("Volumes", name, d.get(key, 0.0), "m3")
        for name, key in (
            ("Clarifiers and filters", "filter_volume"),
            ("Separate biofilter", "biofilter_volume"),
            ("Rain tank", "rain_tank_volume"),
            ("Cold store", "cold_store_volume"),
        )
        if d.get(key, 0.0) > 0.0
    ]
    group = "Flows and turnovers"
    floods = base(parts.bed.floods)
    renewed = design.bed_area * base(beds.flood_depth(parts.bed)) * floods / 24.0
    found += [
        Line(group, "Tank volumes an hour", flow / tanks, "1/h"),
        Line(group, "Flow to each tank", flow / design.tank_count, "m3/h"),
        Line(group, "Beds' water renewed", floods, "1/day", "floods of media, else turnovers"),
        Line(group, "Flow that this asks of the beds", renewed, "m3/h"),
    ]
    return found


def _growing(design: Design, flows: FarmFlows, plan: FarmPlan) -> list[Line]:
    """Return beds of their size, and plants."""
    group, bed = "Beds and plants", plan.beds[0]
    started = sum(float(np.sum(x[0, -12:])) for x in flows.plants.values())
    size = f"{bed.height:.2f} by {bed.width:.2f} m"
    return [
        Line(group, f"Beds of {size}", float(len(plan.beds)), "1", "whole beds, as drawn"),
        Line(group, "Area of these beds", plan.bed_area, "m2", "lengths to 5 cm"),
        Line(group, "Plants started in a full year", started, "plant"),
        Line(group, "Plants started in a mean week", started / 52.0, "plant"),
        Line(group, "Plants a year over bed area", started / design.bed_area, "plant/m2"),
    ]


def _fish(parts: Parts, design: Design, flows: FarmFlows) -> list[Line]:
    """Return the highest density, standing fish and fingerlings."""
    species, months = parts.species, parts.harvest_months
    weight = base(species.harvest_weight)
    graded = "the fullest day, before the first grade leaves" if months > 1.0 else ""
    full = flows.fish_biomass_kg[0, -12:]
    return [
        Line("Fish", "Density at harvest", highest_density(parts, design), "kg/m3", graded),
        Line("Fish", "Weight stocked", base(species.stock_weight), "g"),
        Line("Fish", "Weight harvested", weight, "g"),
        Line("Fish", "Most fish in the farm at a month's end", float(np.max(full)), "kg"),
        Line("Fish", "Fingerlings in a year", float(np.sum(flows.fingerlings[0, -12:])), "fish"),
        Line(
            "Feed", "Feed in the month that takes most", float(np.max(flows.feed_kg[0, -12:])), "kg"
        ),
    ]


def highest_density(parts: Parts, design: Design) -> float:
    """Return the density of a tank on its fullest day, before its first fish leave. [kg/m3]"""
    species = parts.species
    taken = design.stocked_fish * base(species.survival * species.harvest_weight) / 1000.0
    tank = fish.Stocking(design.stocked_fish, 1, parts.harvest_months)
    cycle = design.stagger_months * design.tank_count * MEAN_MONTH
    grown = np.full((1, 1), cycle - base(species.rest_days) - tank.tail)
    return taken * base(fish.peak_share(species, tank, grown)) / design.tank_volume


def _heat(parts: Parts, design: Design) -> list[Line]:
    """Return the heat that leaves at the 99 % design hour, at night, and what meets it."""
    group, d = "Heat and cold", design.drivers
    outside = base(parts.place.design_temperature_low)
    margin, covered = base(parts.design.power_margin), design.covered_area
    heated = d.get("air_heater_power", 0.0) > 0.0
    inside = d["indoor_low"]
    found = [Line(group, "Outdoors at the 99 % design hour", outside, "degC", "hours colder: 1 %")]
    if heated:
        load = d["air_heater_power"] / margin
        found += [
            Line(group, "Indoors then, night set point", inside, "degC"),
            Line(group, "Heat load of the air", load, "kW heat"),
            Line(
                group, "Heat load of the air over covered ground", load * 1000.0 / covered, "W/m2"
            ),
            Line(
                group, "Air heaters installed", d["air_heater_power"], "kW heat", "margin included"
            ),
        ]
    if d.get("water_heater_power", 0.0) > 0.0:
        load = d["water_heater_power"] / margin
        target = base(parts.species.water_target)
        outdoors = parts.house.air == "outdoors"
        unheated = "air as outdoors" if outdoors else f"air at {inside:.0f}, unheated, lamps off"
        beside = "indoors at the set point" if heated else unheated
        found += [
            Line(group, "Water then, held at", target, "degC", beside),
            Line(group, "Heat load of the water", load, "kW heat"),
            Line(
                group, "Heat load of the water over covered ground", load * 1000.0 / covered, "W/m2"
            ),
            Line(
                group,
                "Water heaters installed",
                d["water_heater_power"],
                "kW heat",
                "margin included",
            ),
        ]
    if len(found) == 1:
        found.append(Line(group, "Heat load met by heaters", 0.0, "kW heat", "neither is heated"))
    return found


def _cold(parts: Parts, design: Design) -> list[Line]:
    """Return cooling at the 1 % hour."""
    group, d = "Heat and cold", design.drivers
    outside = base(parts.place.design_temperature_high)
    found = [Line(group, "Outdoors at the 1 % design hour", outside, "degC", "hours warmer: 1 %")]
    gain = NOON_SUN * base(parts.house.transmittance * parts.rules.solar_gain)
    if parts.house.air == "outdoors":
        return found
    if gain > 0.0:
        found.append(
            Line(
                group,
                "Sun that stays at a clear noon",
                gain,
                "W/m2",
                carrier(parts),
            )
        )
    if d.get("cooling_power", 0.0) > 0.0:
        load = d["cooling_power"] / base(parts.design.power_margin)
        found += [
            Line(
                group,
                "Indoors then, cooling set point",
                base(parts.rules.cooling_set_point),
                "degC",
            ),
            Line(group, "Cooling load, lamps and sun included", load, "kW heat"),
            Line(
                group,
                "Cooling load over covered ground",
                load * 1000.0 / design.covered_area,
                "W/m2",
            ),
            Line(group, "Coolers installed", d["cooling_power"], "kW heat", "margin included"),
        ]
    return found


def _air(parts: Parts, design: Design) -> list[Line]:
    """Return the largest air flow and what it carries."""
    if parts.house.air == "outdoors":
        return []
    rate, height = base(parts.house.vent_rate), base(parts.house.height)
    flow = rate * design.covered_area
    carried = base(
        enclosure.air_conductance(parts.house.vent_rate, air.pressure(parts.place.elevation))
    )
    found = [
        Line("Air", "Largest air flow, vents or fans", flow, "m3/h"),
        Line("Air", "Largest air flow over covered ground", rate, "m3/m2/h"),
        Line("Air", "Air changes an hour then", rate / height, "1/h"),
        Line(
            "Air", "Heat it carries for each kelvin", carried * design.covered_area / 1000.0, "kW/K"
        ),
    ]
    if parts.design.cooling == "pad_and_fan" or parts.house.air == "closed":
        moved = base(parts.house.vent_rate * energy.fan_energy(parts.energy))
        fans = moved * design.covered_area / 1000.0
        found.append(Line("Power", "Fans at their largest flow", fans, "kW"))
    return found


def _safety(parts: Parts, design: Design) -> list[Line]:
    """Return floor loads beside ordinary floors, and what back-up there is."""
    floor, life = "Loads on the floor", "Life support"
    low, high = ORDINARY_FLOOR
    bed = base(beds.floor_load(parts.bed))
    tank = beds.WATER_WEIGHT * base(parts.design.tank_depth)
    return [
        Line(
            floor,
            "Ordinary office or dwelling floor",
            high,
            "kN/m2",
            f"{low:g} to {high:g}, recalled",
        ),
        Line(floor, "Bed over an ordinary floor's", bed / high, "1", "times"),
        Line(floor, "Tank over an ordinary floor's", tank / high, "1", "times"),
        Line(
            floor, "Weight of one full tank's water", design.tank_volume * beds.WATER_WEIGHT, "kN"
        ),
        Line(life, "Back-up air starts after", design.backup_start_minutes, "min"),
        Line(life, "A trained person is there after", design.response_minutes, "min"),
        Line(
            life,
            "Back-up air lasts",
            base(parts.life_support.reserve),
            "min",
            "the minutes of the water come on top",
        ),
        Line(life, "Oxygen held in the tanks", base(parts.oxygen.least), "mg/L"),
    ]


def _stores(design: Design, flows: FarmFlows) -> list[Line]:
    """Return people, grid connection and what the year's run sized."""
    d = design.drivers
    posts = sum(float(np.max(x[0])) for x in flows.workers.values())
    found = [
        Line("Stores and people", "Posts, whole people", posts, "person", "in the fullest year")
    ]
    if d["grid_connection"] > 0.0:
        found.append(Line("Power", "Grid connection", d["grid_connection"], "kW"))
    mean = d.get("load_year", 0.0) / 8760.0
    return [*found, Line("Power", "Mean load of a full year", mean, "kW")]


def _sun(design: Design, flows: FarmFlows) -> list[Line]:
    """Return what an array makes in a year, what share of the load it meets, and its area."""
    rated = design.drivers["pv_power"]
    if rated <= 0.0:
        return []
    made = float(np.sum(flows.season["solar_made_kwh"][0]))
    load = float(np.sum(flows.electricity_total_kwh[0, -12:]))
    met = float(np.sum(flows.pv_kwh[0, -12:])) / load * 100.0
    return [
        Line("Power", "Solar array, made in a year", made, "kWh"),
        Line("Power", "Year's electricity that the array meets", met, "%"),
        Line("Areas", "Panels of the solar array", rated * yard.PANELS, "m2"),
        Line("Areas", "Ground of the array in rows", rated * yard.ARRAY, "m2"),
    ]
