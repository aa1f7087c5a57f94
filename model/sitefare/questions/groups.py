"""Which rows belong together by what they mean?

A group is what one person would be asked about: prices of inputs, the fish, the house. Rows that
are correlated stand in one group, so that a group is independent of the others.
"""

#: Title of each group, in the order documents list them.
GROUPS = (
    "Building cost",
    "Prices of inputs",
    "Sale and local prices",
    "Crop yields and losses",
    "Fish and their tanks",
    "Climate and house",
    "Water and nutrients",
    "Energy",
    "Labour",
    "Money terms",
    "People, diet and acceptance",
    "Other ways to the same food",
    "Year-to-year chance",
)

#: First words of the rows of each group, in the same order.
_PREFIXES = (
    "bill capital land allowance phase retention",
    "price freight dosing overhead operations",
    "market sales local_price basket_price byproduct",
    "adjust crop plan production transpiration bed field field_crop salinity",
    "species hatchery oxygen nitrification farm_design life_support gases",
    "climate house enclosure wind water_heat light",
    "water source_water nutrients treatment",
    "energy tariff heating_fuel_price solar supply cold_store aeration pumping",
    "task wage labour",
    (
        "economy economic drift vat working_capital project loan grant funding price_index "
        "treasury funding_plan debt_reserve grant_target depreciation tax exchange"
    ),
    (
        "acceptance distribution distribution_model reach_cost reach_staff community food diet "
        "cooking need activity storage people ration"
    ),
    "garden transfer haulage shipping replaced",
    "event occurrence year",
)

_GROUP_OF = {
    prefix: title
    for title, prefixes in zip(GROUPS, _PREFIXES, strict=True)
    for prefix in prefixes.split()
}

#: Rows that stand elsewhere than their first word says: those redrawn every year.
_OWN = {
    "production.crop_year_factor": "Year-to-year chance",
    "sales.price_year": "Year-to-year chance",
}

#: Rows of a first word that no group lists.
OTHER = "Other"


def group_of(row_name: str) -> str:
    """Return the title of the group a row belongs to, from its dotted name."""
    return _OWN.get(row_name) or _GROUP_OF.get(row_name.partition(".")[0], OTHER)
