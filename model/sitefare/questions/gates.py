"""Which conditions must be met before a farm at a site is ranked at all?

Documents that the evidence table marks as gates: water tested, power for life support, tenure,
the species' permit, access, wind and flood. Beside them what the model knows itself: the salt of
the source, and its driest month against what the farm takes. A document that lapsed before the
appraisal date is none. A farm that cannot keep its fish alive is refused when it is sized.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.appraisal import Appraisal
from sitefare.arrays import DAYS, Array
from sitefare.assumptions.case import Case, base_values
from sitefare.assumptions.declaration import build, inputs, quantity
from sitefare.assumptions.evidence import evidence

#: Saltier source water is generally too salty (Somerville et al. 2014, FAO 589 s.3.4). [dS/m]
SALTY = 1.5

#: How a document's status leaves its gate.
STATES = {"held": "open", "requested": "asked for", "missing": "shut"}


@inputs("source_supply")
class SourceSupplyInputs:
    """How much the source gives."""

    dry_month: Array = quantity(
        "m3/day", low=0, varies="choice", fact="optional",
        doc="Water the farm may take a day in the driest month; 0 where nobody has measured it.",
    )  # fmt: skip


#: Months of the last year, which stands for full production. [1]
MONTHS = 12


@dataclass(frozen=True)
class Gate:
    """One condition before ranking: open, shut, or asked for."""

    title: str
    state: str
    why: str


def gates(case: Case, base: Appraisal | None = None) -> tuple[Gate, ...]:
    """Return the gates of a case; with its base appraisal, also whether its water is enough."""
    values = base_values(case)
    held = evidence(values)
    lapsed = set(held.lapsed_before(case.timeline.label(0)))
    found = [
        Gate(item.title, "shut", f"lapsed {item.expiry}")
        if item.title in lapsed
        else Gate(item.title, STATES[item.status], item.document or item.status)
        for item in held.items.values()
        if item.gate == "yes"
    ]
    salt = case.rows["source_water.conductivity"].base
    state = "shut" if salt > SALTY else "open"
    found.append(Gate("Source water not too salty", state, f"{salt:.2g} dS/m; limit {SALTY:g}"))
    return (*found, *([] if base is None else [_enough_water(base)]))


def _enough_water(base: Appraisal) -> Gate:
    """Hold what the farm takes in its thirstiest month against the source's driest."""
    asked = build(SourceSupplyInputs, base_values(base.case))
    gives = float(asked.dry_month[0, 0])
    days = DAYS[base.case.timeline.calendar[-MONTHS:]]
    takes = float(np.max(base.flows.water_makeup_m3[0, -MONTHS:] / days))
    needs = f"the farm takes up to {takes:.3g} m³ a day"
    title = "Source gives enough water"
    if gives == 0:
        return Gate(title, "asked for", f"{needs}; the driest month is not measured")
    words = f"{needs}; the driest month gives {gives:.3g}"
    return Gate(title, "open" if takes <= gives else "shut", words)
