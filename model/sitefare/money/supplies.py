"""What do feed, young fish and plants, dosing, packing, carriage and sludge cost by the month?

Each is a physical flow times an appraisal-date price times its group's price path: nominal
money, positive, (draws, months + 1).
"""

from typing import Any

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity, text
from sitefare.farm.result import FarmFlows
from sitefare.money.prices import PricePaths
from sitefare.money.project import total
from sitefare.people.handover import model_in_force
from sitefare.people.result import PeopleFed


@inputs("price")
class PriceInputs:
    """Prices of what the farm consumes, delivered to the farm."""

    feed: Array = quantity("money/kg", low=0, drift="feed", doc="Fish feed.", fact="optional")
    fingerling: Array = quantity(
        "money/fish", low=0, drift="supplies", doc="One fingerling, delivered.", fact="optional"
    )
    planting: Array = quantity(
        "money/plant", low=0, drift="supplies", doc="Seed, plug and nursery of one plant started."
    )
    generator_fuel: Array = quantity(
        "money/L", low=0, drift="energy", doc="Generator fuel at the site.", fact="optional"
    )
    sludge: Array = quantity(
        "money/m3", low=0, drift="services", doc="Removing settled sludge.", fact="optional"
    )
    packing: Array = quantity(
        "money/kg", low=0, drift="supplies", doc="Packing of what leaves the farm."
    )
    transport: Array = quantity(
        "money/kg",
        low=0,
        drift="freight",
        doc="Carriage of what is sold elsewhere.",
        fact="optional",
    )
    distribution: Array = quantity(
        "money/kg", low=0, drift="freight", doc="Carriage to the people served.", fact="optional"
    )


@inputs("dosing", keyed=True, measure="price")
class DosingItem:
    """A salt, base or chelate dosed to the water."""

    title: Any = text(doc="What is dosed.")
    price: Array = quantity("money/kg", low=0, drift="supplies", doc="Price, delivered.")


def supplies(
    values: Values, flows: FarmFlows, fed: PeopleFed, paths: PricePaths
) -> dict[str, Array]:
    """Return feed, young fish and plants, dosing, packing, carriage and sludge by line. [money]

    Raises
    ------
    AssumptionError
        If something is dosed that has no price.
    """
    price = build(PriceInputs, values)
    dosing = [build(DosingItem, values, key).price * kg for key, kg in flows.dosing_kg.items()]
    served, elsewhere = total(fed.served_kg.values()), total(fed.elsewhere_kg.values())
    brought = price.distribution * model_in_force(values).inputs.carriage
    carriage = price.transport * elsewhere + brought * served
    return {
        "feed": price.feed * flows.feed_kg * paths["feed"],
        "fingerlings": price.fingerling * flows.fingerlings * paths["supplies"],
        "planting": price.planting * total(flows.plants.values()) * paths["supplies"],
        "dosing": total(dosing) * paths["supplies"],
        "packing": price.packing * (served + elsewhere) * paths["supplies"],
        "transport": carriage * paths["freight"],
        "sludge": price.sludge * flows.sludge_m3 * paths["services"],
    }
