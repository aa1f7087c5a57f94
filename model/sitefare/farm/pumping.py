"""What head must the farm's water be lifted against, by what, and at what power.

Head in metres of water, flow in m3/h. One main carries the flow round the farm; its diameter
follows from the flow and the design velocity.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.errors import DesignError

#: Gravity. [m/s2]
GRAVITY = 9.81

#: Density of water times gravity. [kN/m3]
WATER_WEIGHT = 9.81

#: Flow at which the efficiency of the row holds. [m3/h]
REFERENCE_FLOW = 20.0

#: Least and most that pump and motor together make of electricity. [1]
EFFICIENCY_ENDS = (0.1, 0.8)


@inputs("pumping")
class PumpingInputs:
    """The main, its fittings, and what lifts the water."""

    lift: Array = quantity(
        "m", low=0.05, high=20, varies="choice", doc="Lift from sump to highest level of water."
    )
    pipe_length: Array = quantity(
        "1",
        low=0,
        high=10,
        varies="choice",
        doc="Length of the main over the side of a square of the covered area.",
    )
    velocity: Array = quantity(
        "m/s", low=0.2, high=3, varies="choice", doc="Design velocity in the main."
    )
    fittings: Array = quantity(
        "1", low=0, high=100, varies="choice", doc="Sum of loss coefficients: bends, valves, ends."
    )
    smoothness: Array = quantity(
        "1", low=60, high=160, varies="choice", doc="Hazen–Williams C of clean pipe."
    )
    fouling: Array = quantity("1", low=1, high=5, doc="Friction in use over that of clean pipe.")
    efficiency: Array = quantity(
        "1", low=0.05, high=0.85, doc="Pump and motor, water power over electricity, at 20 m3/h."
    )
    efficiency_gain: Array = quantity(
        "1", low=0, high=0.3, varies="choice", doc="Efficiency added by a tenfold flow."
    )
    airlift_efficiency: Array = quantity(
        "1", low=0.05, high=0.7, doc="Air-lift's water power over the work of its air."
    )
    airlift_depth: Array = quantity(
        "m", low=0.2, high=10, varies="choice", doc="Depth of water that the air-lift stands in."
    )
    airlift_submergence: Array = quantity(
        "1",
        low=0.3,
        high=0.95,
        varies="choice",
        doc="Least depth of an air-lift over its depth and lift together.",
    )


@dataclass(frozen=True)
class Head:
    """Lift, friction and fittings [m], diameter [m] and length [m] of the main; (draws, 1)."""

    lift: Array
    friction: Array
    fittings: Array
    diameter: Array
    length: Array

    @property
    def total(self) -> Array:
        """Head the water is lifted against. [m]"""
        return self.lift + self.friction + self.fittings


def head_loss(
    length: Array | float,
    diameter: Array | float,
    flow: Array | float,
    smoothness: Array | float = 150.0,
) -> Array:
    """Return head lost in a pipe [m] of a diameter [m], Hazen–Williams in SI, flow in m3/s. [m]"""
    return np.asarray(10.67 * length * flow**1.852 / (smoothness**1.852 * diameter**4.87))


def velocity_head(velocity: Array) -> Array:
    """Return v² ÷ 2g. [m]"""
    return np.asarray(velocity**2 / (2.0 * GRAVITY))


def system_head(rules: PumpingInputs, flow: Array, covered_area: float) -> Head:
    """Return what the flow [m3/h] is lifted against on a farm of a covered area [m2]."""
    carried = flow / 3600.0
    diameter = np.sqrt(4.0 * carried / (np.pi * rules.velocity))
    length = rules.pipe_length * np.sqrt(covered_area)
    clean = head_loss(length, np.maximum(diameter, 1e-3), carried, rules.smoothness)
    return Head(
        lift=rules.lift,
        friction=clean * rules.fouling,
        fittings=rules.fittings * velocity_head(rules.velocity),
        diameter=diameter,
        length=length,
    )


def pump_efficiency(rules: PumpingInputs, flow: Array) -> Array:
    """Return water power over electricity of a pump for a flow [m3/h]; larger are better. [1]"""
    tenfold = np.log10(np.maximum(flow, 0.1) / REFERENCE_FLOW)
    return np.asarray(np.clip(rules.efficiency + rules.efficiency_gain * tenfold, *EFFICIENCY_ENDS))


def pump_power(flow: Array, head: Array, efficiency: Array) -> Array:
    """Return power to lift a flow [m3/h] by a head [m], P = ρ g Q H ÷ η. [kW]"""
    return WATER_WEIGHT * flow / 3600.0 * head / efficiency


def airlift_air(rules: PumpingInputs, flow: Array, head: Array, atmosphere: Array) -> Array:
    """Return free air that lifts a flow [m3/h] by a head [m]. [m3/h]

    Water power over the work of air that expands at one temperature from the depth to the
    atmosphere [kPa]; Nicklin (1963), Transactions of the Institution of Chemical Engineers 41:29.
    """
    ratio = 1.0 + WATER_WEIGHT * rules.airlift_depth / atmosphere
    work = atmosphere * np.log(ratio) * rules.airlift_efficiency
    return np.asarray(WATER_WEIGHT * flow * head / work)


def highest_airlift(rules: PumpingInputs) -> Array:
    """Return the highest lift at the least submergence S, depth × (1 − S) ÷ S. [m]"""
    submerged = rules.airlift_submergence
    return rules.airlift_depth * (1.0 - submerged) / submerged


def check_airlift(rules: PumpingInputs, head: Head) -> None:
    """Refuse a head that an air-lift of this depth cannot reach.

    Raises
    ------
    DesignError
        Naming the head, the limit and the rows to change.
    """
    asked, most = float(head.total[0, 0]), float(highest_airlift(rules)[0, 0])
    if asked <= most:
        return
    msg = (
        f"an air-lift in {float(rules.airlift_depth[0, 0]):g} m of water lifts {most:.2f} m at "
        f"most and this farm asks {asked:.2f} m: lower pumping.lift or pumping.fittings, raise "
        "pumping.airlift_depth, or choose farm_design.lifting pump"
    )
    raise DesignError(msg)
