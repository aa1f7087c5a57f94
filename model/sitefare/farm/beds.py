"""What is a bed made of: water, media, surface for bacteria, and the weight on the floor."""

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity

#: Weight of a cubic metre of water. [kN/m3]
WATER_WEIGHT = 9.81


@inputs("bed", keyed=True)
class BedInputs:
    """One kind of bed, per square metre of bed."""

    depth: Array = quantity("m", low=0.02, high=1, doc="Depth of media, or of water.")
    media_share: Array = quantity("1", low=0, high=0.8, doc="Share of the depth that is solid.")
    wet_share: Array = quantity(
        "1", low=0, high=1, varies="choice", doc="Mean share of the pores that holds water."
    )
    solid_density: Array = quantity(
        "kg/m3", low=0, high=3200, varies="choice", doc="Density of the media's grains."
    )
    surface: Array = quantity(
        "m2/m2", low=0, high=500, doc="Wetted surface that carries bacteria, roots included."
    )
    floods: Array = quantity(
        "1/day", low=0, high=2000, varies="choice", doc="Times a day a bed's water is renewed."
    )
    ratio_factor: Array = quantity(
        "1", low=0.05, high=4, varies="choice", doc="Feed the bed takes over that of a media bed."
    )
    loss_u: Array = quantity(
        "W/m2/K", low=0, high=20, doc="Dry heat from the bed's water to the air."
    )
    open_water: Array = quantity("1", low=0, high=1, doc="Share of the bed that is open water.")
    structure: Array = quantity(
        "kN/m2", low=0, high=3, varies="choice", doc="Weight of the empty bed and its stand."
    )


def water_depth(bed: BedInputs) -> Array:
    """Return water held per bed area on the mean. [m]"""
    return bed.depth * (1.0 - bed.media_share) * bed.wet_share


def flood_depth(bed: BedInputs) -> Array:
    """Return water that fills the pores once, per bed area. [m]"""
    return bed.depth * (1.0 - bed.media_share)


def media_volume(bed: BedInputs) -> Array:
    """Return bulk media per bed area, 0 where a bed holds only water. [m3/m2]"""
    return bed.depth * (bed.media_share > 0.0)


def floor_load(bed: BedInputs) -> Array:
    """Return the weight of a flooded bed on its floor. [kN/m2]"""
    solid = bed.depth * bed.media_share * bed.solid_density / 1000.0
    return WATER_WEIGHT * (flood_depth(bed) + solid) + bed.structure
