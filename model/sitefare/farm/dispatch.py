"""Who carries the load in each hour: the sun at once, the battery, or the rest of the supply.

A typical day of each class repeats until it is steady. The battery takes what the sun makes
over the load and gives it back when the load is higher, within its store and its power; nothing
else charges it. Power in kW over (draws, 12, hours), hours being day classes of 24.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array

#: Load left over below this share of the load is nothing to start an engine for. [1]
NOTHING = 1e-6


@dataclass(frozen=True)
class Battery:
    """What it stores [kWh], its power in and out [kW], out over in of a round trip [1]."""

    store: float
    power: float
    efficiency: Array


@dataclass(frozen=True)
class Dispatch:
    """Energy by month, (draws, 12). [kWh]

    `direct` and `battery` serve the load, `rest` is left to grid or generator; `spilled` and
    `lost` (in the battery) are what the array makes beside; `rest_hours` is the share of hours
    in which something is left over. [1]
    """

    load: Array
    made: Array
    direct: Array
    battery: Array
    rest: Array
    spilled: Array
    lost: Array
    rest_hours: Array


def spread(energy: Array, shape: Array, weights: Array) -> Array:
    """Lay a month's energy over its hours by a shape; where the shape is nil, evenly. [kW]

    Parameters
    ----------
    energy : Array, shape (draws, 12)
        Electricity of the month. [kWh]
    shape : Array, shape (draws, 12 or 1, hours)
        Any measure in proportion to the power of the hour. [any]
    weights : Array, shape (12, hours)
        Hours that each typical hour stands for. [h]
    """
    total = np.sum(shape * weights, axis=2, keepdims=True)
    flat = np.sum(weights, axis=1)[None, :, None]
    even = total <= 0.0
    part = np.where(even, 1.0 / flat, shape / np.where(even, 1.0, total))
    return np.asarray(energy[:, :, None] * part)


def load_of(purposes: Mapping[str, Array], shapes: Mapping[str, Array], weights: Array) -> Array:
    """Return the farm's load by hour: purposes without a shape run evenly. (draws, 12, hours) [kW]

    Parameters
    ----------
    purposes : Mapping of Array, shape (draws, 12)
        Electricity by purpose. [kWh]
    """
    flat = sum((x for name, x in purposes.items() if name not in shapes), np.zeros((1, 12)))
    load = np.asarray(flat / np.sum(weights, axis=1))[:, :, None] + np.zeros(weights.shape[1])
    for name, shape in shapes.items():
        load = load + spread(purposes[name], shape, weights)
    return load


def _stored(steps: Array, store: float) -> Array:
    """Return the battery's charge at the end of each hour of a steady day. [kWh]

    An hour moves the charge by its step and holds it between empty and full, so a day is a shift
    held between two ends: a day that gains starts full in the long run, a day that loses starts
    empty, and one day later the charge is steady.
    """
    charge = np.where(np.sum(steps, axis=0) > 0.0, store, 0.0)
    for step in steps:
        charge = np.clip(charge + step, 0.0, store)
    held = np.empty((steps.shape[0] + 1, *charge.shape))
    held[0] = charge
    for hour, step in enumerate(steps):
        held[hour + 1] = np.clip(held[hour] + step, 0.0, store)
    return held


def dispatched(load: Array, made: Array, battery: Battery, weights: Array) -> Dispatch:
    """Return who carries the load by month, for one draw or many.

    Parameters
    ----------
    load, made : Array, shape (draws, 12, hours)
        Power asked, and power the array could give. [kW]
    weights : Array, shape (12, hours)
        Hours that each typical hour stands for. [h]
    """
    load, made = np.broadcast_arrays(load, made)
    direct = np.minimum(load, made)
    over, short = made - direct, load - direct
    given = np.zeros_like(load)
    taken = given
    if battery.store > 0.0:
        way = np.sqrt(battery.efficiency)[:, :, None]
        into = np.minimum(over, battery.power) * way - np.minimum(short, battery.power) / way
        days = np.broadcast_to(into, load.shape).reshape(load.shape[0], 12, -1, 24)
        held = _stored(np.ascontiguousarray(np.moveaxis(days, 3, 0)), battery.store)
        moved = np.moveaxis(np.diff(held, axis=0), 0, 3).reshape(load.shape)
        taken = np.maximum(moved, 0.0) / way
        given = np.maximum(-moved, 0.0) * way
    rest = np.maximum(short - given, 0.0)

    def month(x: npt.NDArray[np.floating[Any]]) -> Array:
        return np.asarray(np.sum(x * weights, axis=2))

    stored, back = month(taken), month(given)
    asked = month(np.where(rest > NOTHING * load, 1.0, 0.0)) / np.sum(weights, axis=1)
    return Dispatch(
        load=month(load),
        made=month(made),
        direct=month(direct),
        battery=back,
        rest=month(rest),
        spilled=month(over) - stored,
        lost=stored - back,
        rest_hours=asked,
    )
