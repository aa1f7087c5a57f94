"""How much dearer is a house for a windy place, and how much of it does a storm break?

A frame is built to the place's design gust. Wind pressure goes with the square of the gust, and
the price of frames, anchors and fixings with less than that, since steel is only part of it:
price = listed price × (gust ÷ reference gust)^(exponent × the item's part in it), and never less
than the listed price: makers sell no lighter frame where the wind is weaker. Storms are the
events of the farm's table that grow with wind.
"""

from dataclasses import replace

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, build_all, inputs, quantity
from sitefare.farm.events import EventInputs, effective_loss


@inputs("wind")
class WindInputs:
    """What wind does to the price and the repair of the house."""

    reference_gust: Array = quantity(
        "m/s", low=10, high=90, varies="choice", doc="Design gust of the listed prices."
    )
    cost_exponent: Array = quantity(
        "1", low=0, high=2, doc="Power of the design gust that the price of a frame follows."
    )
    uninsured: Array = quantity(
        "1", low=0, high=1, doc="Share of storm damage that insurance does not pay."
    )


def design_gust(values: Values) -> Array:
    """Return the place's design gust. [m/s]"""
    gust = values["place.design_wind"]
    assert not isinstance(gust, str)  # noqa: S101
    return gust


def price_factor(values: Values, part: Array) -> Array:
    """Return price over listed price for items, (draws, items).

    `part` is each item's part in the exponent, (items,): 1 for a frame, 0 where wind is nothing
    to its price. [1]
    """
    terms = build(WindInputs, values)
    stronger = np.maximum(design_gust(values) / terms.reference_gust, 1.0)
    return np.asarray(stronger ** (terms.cost_exponent * part))


def storms(values: Values, share: Array) -> list[tuple[Array, Array]]:
    """Return each storm's occurrence and the share of each item that it breaks, (draws, items).

    `share` is each item's share of cost lost in a storm of the event table, (items,); it grows
    with the design gust as the harvest's loss does. Occurrence is the yearly chance at base and
    0 or 1 by project year in a draw. [1/year], [1]
    """
    found = []
    for key, event in build_all(EventInputs, values).items():
        occurs = values.get(f"occurrence.{key}", event.chance)
        assert not isinstance(occurs, str)  # noqa: S101
        if np.any(event.wind > 0.0):
            hit = replace(event, loss=share[None, :])
            found.append((occurs, effective_loss(hit, design_gust(values), np.ones((1, 1)))))
    return found
