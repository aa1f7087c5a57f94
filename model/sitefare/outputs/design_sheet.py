"""Everything a builder is handed of one plan, as data: made once, read by every writer.

The drawing, the sheet's lines, targets, calendars; `as_data` is what design.json holds.
"""

from dataclasses import dataclass
from functools import cached_property
from importlib.metadata import version
from typing import Any

from sitefare.appraisal import Plan
from sitefare.assumptions.case import Case, base_values
from sitefare.assumptions.declaration import Values
from sitefare.assumptions.rows import Row
from sitefare.farm.calendars import Planted, Stocked, planting, stocking
from sitefare.farm.floors import floor_words
from sitefare.farm.flows import farm_flows, sizes_of
from sitefare.farm.layout import Needs, Round, Space
from sitefare.farm.months import NAMES
from sitefare.farm.parts import Parts, parts_of
from sitefare.farm.reduction import scaled
from sitefare.farm.result import Design, FarmFlows
from sitefare.farm.season import season_of
from sitefare.farm.sheet import Line, sheet
from sitefare.farm.siteplan import FarmPlan, bed_sentence, farm_plan, needs_of
from sitefare.farm.succession import SuccessionLine, succession
from sitefare.farm.targets import Target, targets
from sitefare.outputs.results import rounded

#: Version of what design.json holds.
SCHEMA = "1"


@dataclass(frozen=True)
class DesignSheet:
    """One plan as a builder sees it."""

    case: Case
    design: Design
    flows: FarmFlows

    @cached_property
    def values(self) -> Values:
        """The case's values at base."""
        return base_values(self.case)

    @cached_property
    def parts(self) -> Parts:
        """Inputs of the farm."""
        return parts_of(self.values)

    @cached_property
    def needs(self) -> Needs:
        """Sizes that the drawing is made from."""
        return needs_of(self.parts, self.design)

    @cached_property
    def plan(self) -> FarmPlan:
        """The plan view."""
        return farm_plan(self.needs)

    @cached_property
    def lines(self) -> tuple[Line, ...]:
        """Lines of the sheet by group."""
        return sheet(self.parts, self.design, self.flows, self.plan)

    @cached_property
    def targets(self) -> tuple[Target, ...]:
        """Water quality targets and alarms."""
        season, volume = self.flows.season, self.design.water_volume
        return targets(self.values, self.parts, season, volume)

    @cached_property
    def stocking(self) -> tuple[Stocked, ...]:
        """Cohorts of the first years."""
        return stocking(self.parts, self.design, self.flows, self.case.timeline)

    @cached_property
    def planting(self) -> tuple[Planted, ...]:
        """Each crop's planting year."""
        return planting(self.parts, self.design, self.flows, self.case.timeline)

    @cached_property
    def succession(self) -> tuple[SuccessionLine, ...]:
        """What to sow and set out in each month, twelve lines a crop."""
        season = season_of(self.parts, sizes_of(self.design))
        return succession(self.parts, scaled(season, self.design.scale))

    @property
    def notes(self) -> tuple[str, ...]:
        """What the drawing says of itself: its beds, and what had to give way."""
        return (bed_sentence(self.plan, self.needs), *self.plan.notes)

    @property
    def floors(self) -> str:
        """What beds and tanks weigh, beside ordinary floors."""
        return floor_words(self.parts)

    def number(self, what: str) -> float | None:
        """Return a line's number by its words, none where there is no such line."""
        return next((line.number for line in self.lines if line.what == what), None)

    def source(self, target: Target) -> str:
        """Return where a target comes from: the source of its row, with its place there."""
        row = self.source_row(target)
        return target.source if row is None else f"{row.source} {row.locator}".strip()

    def source_row(self, target: Target) -> Row | None:
        """Return the row that a target comes from, none where it has no row of its own."""
        prefix = f"{target.source}."
        rows = (row for name, row in self.case.rows.items() if name.startswith(prefix))
        return next((r for r in rows if r.name.endswith((".low", ".temperature_high"))), None)


def make_sheet(plan: Plan) -> DesignSheet:
    """Run the farm once at base and return its design sheet."""
    flows = farm_flows(base_values(plan.case), plan.design, plan.case.timeline)
    return DesignSheet(plan.case, plan.design, flows)


def as_data(made: DesignSheet) -> dict[str, Any]:
    """Return what design.json holds, as plain Python values."""
    case, groups = made.case, dict[str, list[dict[str, Any]]]()
    for line in made.lines:
        entry = {"what": line.what, "value": rounded(line.number), "unit": line.unit}
        groups.setdefault(line.group, []).append(entry | ({"note": line.note} if line.note else {}))
    return {
        "schema_version": SCHEMA,
        "case": {
            "site": case.site,
            "design": case.design,
            "scenario": case.scenario,
            "settings": list(case.settings),
            "appraisal_date": case.timeline.label(0),
            "demonstration_data": case.demonstration,
        },
        "groups": groups,
        "limits": list(made.design.limits),
        "targets": [_target(made, target) for target in made.targets],
        "stocking": [_stocked(line) for line in made.stocking],
        "planting": [_planted(line) for line in made.planting],
        "succession": [_succeeding(line) for line in made.succession],
        "plan": _plan(made.plan),
        "notes": list(made.notes),
        "provenance": {
            "version": version("sitefare"),
            "assumptions_version": case.library.version,
            "input_hash": case.input_hash,
        },
    }


def _target(made: DesignSheet, target: Target) -> dict[str, Any]:
    """Return one target's entry; an end that does not count is null."""
    ends = ("low", "high", "alarm_low", "alarm_high")
    found = {key: getattr(target, key) for key in ends}
    return {
        "what": target.title,
        "unit": target.unit,
        **{key: None if x is None else rounded(x) for key, x in found.items()},
        "check": target.check,
        "act": target.act,
        "source": made.source(target),
    }


def _stocked(line: Stocked) -> dict[str, Any]:
    """Return one cohort's entry."""
    return {
        "tank": line.tank,
        "stocked": line.stocked.isoformat(),
        "fingerlings": rounded(line.fingerlings),
        "stocked_kg": rounded(line.stocked_kg),
        "harvested": line.harvested.isoformat() if line.harvested else None,
        "harvest_fish": rounded(line.harvest_fish),
        "harvest_kg": rounded(line.harvest_kg),
    }


def _planted(line: Planted) -> dict[str, Any]:
    """Return one crop's entry."""
    return {
        "crop": line.key,
        "bed_m2": rounded(line.area),
        "plants_by_month": [rounded(x) for x in line.plants],
        "idle_months": [NAMES[m] for m in line.idle],
        "days_to_harvest": rounded(line.days_to_harvest),
        "days_picked": rounded(line.days_picked),
        "first_planting": line.first.isoformat(),
        "first_harvest": line.harvest.isoformat(),
    }


def _succeeding(line: SuccessionLine) -> dict[str, Any]:
    """Return one crop's month of the succession."""
    return {
        "crop": line.crop,
        "month": line.month + 1,
        "sow_a_week": line.weekly_sowing,
        "set_out_a_week": line.weekly_planting,
        "nursery_days": line.nursery_days,
        "days_to_harvest": line.days_to_harvest if line.plant_out else None,
        "days_picked": line.days_picked,
        "bed_m2": rounded(line.bed),
        "bed_replanted_m2": rounded(line.bed_turned),
        "harvest_kg": rounded(line.harvest),
    }


def _plan(plan: FarmPlan) -> dict[str, Any]:
    """Return the drawing in metres, x to the right and y down from the ground's corner."""
    yard = plan.yard
    spaces = (plan.ground, plan.house, plan.fish, plan.growing, *plan.rooms, *plan.beds)
    outside = (*yard.loading, *yard.generator, *yard.array)
    return {
        "unit": "m",
        "rectangles": [_space(space) for space in (*spaces, *outside)],
        "circles": [_round(tank) for tank in (*plan.tanks, *yard.rain_tanks)],
        "doors": [
            {"x": rounded(d.x), "y": rounded(d.y), "width": rounded(d.width), "outer": d.outer}
            for d in plan.doors
        ],
    }


def _space(space: Space) -> dict[str, Any]:
    """Return one rectangle's entry."""
    sides = {"x": space.x, "y": space.y, "width": space.width, "height": space.height}
    return {"kind": space.kind, **{key: round(x, 4) for key, x in sides.items()}}


def _round(tank: Round) -> dict[str, Any]:
    """Return one circle's entry."""
    sides = {"x": tank.x, "y": tank.y, "diameter": tank.diameter}
    return {"kind": tank.kind, **{key: round(x, 4) for key, x in sides.items()}}
