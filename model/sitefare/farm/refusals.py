"""Which farm is refused, and in what words.

Every check reads base values and raises a DesignError whose sentence names the row to change.
"""

import numpy as np

from sitefare.errors import DesignError
from sitefare.farm import fish, oxygen, salinity
from sitefare.farm.machines import base
from sitefare.farm.parts import Parts
from sitefare.farm.season import Season

#: Oxygen at saturation must pass what the tanks hold by this, or no aerator brings it. [mg/L]
LEAST_DEFICIT = 0.5

#: Least width of the band of water that suits a crop's roots and the fish. [K]
LEAST_OVERLAP = 2.0


def check_fish(parts: Parts) -> None:
    """Refuse fish that gain nothing from stocking to harvest.

    Raises
    ------
    DesignError
        Naming the weights and survival.
    """
    species = parts.species
    if base(fish.net_gain(species)) > 0.0:
        return
    name = f"species.{parts.design.species}"
    msg = (
        f"{species.title} stocked at {base(species.stock_weight):g} g and harvested at "
        f"{base(species.harvest_weight):g} g with {base(species.survival):.0%} surviving gains "
        f"nothing: raise {name}.harvest_weight or {name}.survival, or stock smaller fish"
    )
    raise DesignError(msg)


def check_roots(parts: Parts) -> None:
    """Refuse a crop whose roots cannot share water with the fish: the same water passes both.

    Raises
    ------
    DesignError
        Naming the crop, the fish and their bands.
    """
    species = parts.species
    lowest, highest = base(species.temperature_least), base(species.temperature_most)
    for key, (crop, _) in parts.crops.items():
        least, most = base(crop.temperature_least), base(crop.temperature_most)
        if min(highest, most) - max(lowest, least) >= LEAST_OVERLAP:
            continue
        msg = (
            f"{crop.title} stands with its roots in the fish's water, grows between {least:g} and "
            f"{most:g} degC, and {species.title} feeds between {lowest:g} and {highest:g}: plant "
            f"something else (plan.{key}.share 0) or keep another farm_design.species"
        )
        raise DesignError(msg)


def check_feed(parts: Parts, feed: float) -> None:
    """Refuse a farm that can give its fish no feed [kg/day].

    Raises
    ------
    DesignError
        Naming the beds.
    """
    if feed > 0.0:
        return
    name = f"bed.{parts.design.bed}"
    msg = (
        f"the {parts.design.bed} beds can bear no feed at all: {name}.surface and {name}.floods "
        "must be above 0, or farm_design.backup_class full"
    )
    raise DesignError(msg)


def _check_oxygen(parts: Parts, season: Season) -> None:
    """Refuse water that holds hardly more oxygen than the fish need.

    Raises
    ------
    DesignError
        Naming the saturation and the level held.
    """
    most = float(oxygen.saturation(season.water, season.atmosphere).min())
    held = base(parts.oxygen.least)
    if most - held >= LEAST_DEFICIT:
        return
    msg = (
        f"water of {season.water.max():.0f} degC at this height holds {most:.1f} mg/L of oxygen "
        f"and the tanks must hold {held:g}: no aerator brings it there; keep the water cooler, or "
        f"lower oxygen.least or species.{parts.design.species}.oxygen_least"
    )
    raise DesignError(msg)


def check_season(parts: Parts, season: Season) -> None:
    """Refuse a farm whose fish or crops cannot live.

    Raises
    ------
    DesignError
        Naming what cannot, and the temperatures.
    """
    coldest, warmest = float(season.water.min()), float(season.water.max())
    low, high = base(parts.species.lethal_low), base(parts.species.lethal_high)
    if coldest < low or warmest > high:
        msg = (
            f"{parts.species.title} lives in water of {low:g} to {high:g} degC, and this farm's is "
            f"{coldest:.1f} to {warmest:.1f}: choose another fish, house, heating or cooling"
        )
        raise DesignError(msg)
    _check_oxygen(parts, season)
    if all(np.all(s.growth <= 0.0) for s in season.crops.values()):
        msg = "no crop of the plan can grow here in any month: change the plan, the house or lamps"
        raise DesignError(msg)
    _check_salt(parts)


def _check_salt(parts: Parts) -> None:
    """Refuse a source that no discharge can keep under what crops bear.

    Raises
    ------
    DesignError
        Naming the salt and the limit.
    """
    limit, source = base(salinity.operated_limit(parts.tolerance)), base(parts.source.conductivity)
    if source >= limit:
        msg = (
            f"source water of {source:g} dS/m is saltier than the plan's crops bear "
            f"({limit:g} dS/m): treat it or plant crops that bear more"
        )
        raise DesignError(msg)
    salts = {
        "sodium": (parts.source.sodium, parts.water.sodium_limit),
        "chloride": (parts.source.chloride, parts.water.chloride_limit),
    }
    for name, (found, most) in salts.items():
        if base(found) >= base(most):
            msg = (
                f"source water of {base(found):g} mg/L {name} passes what the farm bears "
                f"({base(most):g} mg/L): treat it, find another source or raise "
                f"water.{name}_limit"
            )
            raise DesignError(msg)
