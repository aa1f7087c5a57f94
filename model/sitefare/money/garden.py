"""What would a soil garden on the farm's own water grow, and at what cost a kilogram?

The water that the farm takes from its source irrigates the same crops in soil, by the field
reckoning of `farm.field`. Fish are not grown: they are bought. Costs at appraisal-date prices,
every hour paid, land at its rent, the kit spread over its life at the real discount rate.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.money.discounting import capital_recovery
from sitefare.money.labour import WageInputs
from sitefare.money.project import ProjectInputs
from sitefare.money.tariff import TariffInputs


@inputs("garden")
class GardenInputs:
    """A fenced soil garden with simple irrigation, by ground planted."""

    kit: Array = quantity(
        "money/m2", low=0, doc="Garden: pipes, tank, fence and tools for a square metre planted."
    )
    kit_life: Array = quantity("year", low=1, high=40, doc="Garden: life of pipes and tools.")
    supplies: Array = quantity(
        "money/m2/year", low=0, doc="Garden: seed, compost, nutrients and plant protection."
    )
    hours: Array = quantity(
        "h/m2/year", low=0, high=20, doc="Garden: hours of work on a square metre planted."
    )
    rent: Array = quantity(
        "money/m2/year",
        low=0,
        drift="land",
        doc="Garden: rent of soil that can be planted.",
        fact="optional",
    )
    paths: Array = quantity(
        "1", low=0, high=0.9, doc="Garden: share of the ground that is paths and edges."
    )


@dataclass(frozen=True)
class FieldYear:
    """A year of the same crops in a field here, (draws, 1); nan where nothing grows.

    Crops that a field can grow [kg/year], the irrigation [m3/year] and land planted [m2] they
    take, and the share of the year in which they can be planted [1].
    """

    harvest: Array
    water: Array
    land: Array
    months: Array


@dataclass(frozen=True)
class Garden:
    """A soil garden, (draws, 1); nan where there is no answer.

    Vegetables [kg/year], ground with paths [m2], cost [money/kg], water [L/kg].
    """

    harvest: Array
    ground: Array
    cost_kg: Array
    litres_kg: Array


def _over(top: Array, bottom: Array) -> Array:
    """Divide; nan where there is nothing to divide by."""
    some = bottom > 0.0
    return np.where(some, top / np.where(some, bottom, 1.0), np.nan)


def cost_planted(values: Values) -> Array:
    """Return the yearly cost of a square metre planted, water apart, (draws, 1). [money/m2/year]"""
    terms, wage = build(GardenInputs, values), build(WageInputs, values)
    rate = build(ProjectInputs, values).discount_rate
    work = terms.hours * wage.worker * (1.0 + wage.on_cost)
    rent = terms.rent / (1.0 - terms.paths)
    return terms.kit * capital_recovery(rate, terms.kit_life) + terms.supplies + work + rent


def garden(values: Values, field: FieldYear, water: Array) -> Garden:
    """Return what a soil garden grows on the farm's water.

    Parameters
    ----------
    values : mapping
        Resolved values.
    field : FieldYear
        The same crops in a field here.
    water : array, shape (draws, 1)
        Water the farm takes from its source in a full year. [m3/year]

    Returns
    -------
    Garden
        Harvest, ground and cost.
    """
    litres = 1000.0 * _over(field.water, field.harvest)
    planted = _over(field.land, field.harvest)
    grown = _over(1000.0 * water, litres)
    price = build(TariffInputs, values).water / 1000.0
    return Garden(
        harvest=grown,
        ground=grown * planted / (1.0 - build(GardenInputs, values).paths),
        cost_kg=planted * cost_planted(values) + litres * price,
        litres_kg=litres,
    )
