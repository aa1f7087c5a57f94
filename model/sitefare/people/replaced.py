"""What greenhouse gases does the supply that the farm replaces cause, a kilogram?

Production to the gate of a field or pond, plus carriage, over what is left after the way: a
kilogram that arrives carries what was lost. Shops, kitchens and packaging are left out on both
sides. Vegetables by marketable weight, fish by live weight, as the farm hands them over.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, choice, inputs, quantity
from sitefare.people.haulage import road, sea

#: The ways in which the supply that is replaced may come.
WAYS = ("local", "road", "sea")


@inputs("replaced")
class ReplacedInputs:
    """Emissions of the food that the farm stands in for."""

    way: str = choice(
        *WAYS, doc="How the food that the farm replaces comes to the site.", fact="optional"
    )
    vegetables: Array = quantity(
        "kg/kg", low=0, high=20, doc="Field vegetables: CO2-equivalent to the farm gate."
    )
    fish: Array = quantity(
        "kg/kg", low=0, high=60, doc="Farmed fish, live: CO2-equivalent to the farm gate."
    )


def replaced_emissions_kg_per_kg(values: Values, way: str = "") -> dict[str, Array]:
    """Return the emissions of a kilogram that the farm replaces, by group.

    Parameters
    ----------
    values : mapping
        Resolved values, one case or many draws.
    way : str
        `local`, `road` or `sea`; the row `replaced.way` when empty. [choice]

    Returns
    -------
    dict of array, shape (draws, 1)
        For `vegetables`, a marketable kilogram, and `fish`, a live kilogram. [kg/kg]
    """
    made = build(ReplacedInputs, values)
    grown = {"vegetables": made.vegetables, "fish": made.fish}
    way = way or made.way
    if way == "local":
        return grown
    path = road(values) if way == "road" else sea(values, np.zeros((1, 1)))
    return {name: (x + path.emissions) / (1.0 - path.loss[name]) for name, x in grown.items()}
