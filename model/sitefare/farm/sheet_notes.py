"""What a line of the design sheet means, where its words alone would mislead."""

from sitefare.farm.parts import Parts

#: Lines of `Design.facts` whose kilowatts are of heat, not of electricity.
HEAT = ("Heaters", "Cooling")

#: What a line of `Design.facts` means, where its words alone would mislead.
NOTES = {
    "Flow to degas for that limit": "so that carbon dioxide keeps to what the fish bear",
    "Un-ionised ammonia nitrogen the fish bear": (
        "for weeks; beyond it they are fed less. Target and alarm lie under it"
    ),
    "Oxygen held for emergencies": "bought, for all fish as long as back-up air lasts",
}

#: Units of what need not be there: a line of 0 is left out.
MACHINES = ("kW", "kW heat", "kWh", "m3", "m3/h")


def carrier(parts: Parts) -> str:
    """Say what carries off the sun's heat."""
    if parts.design.cooling == "pad_and_fan":
        return "carried off by pads and fans"
    return "carried off by vents" + (" and coolers" * (parts.design.cooling == "mechanical"))
