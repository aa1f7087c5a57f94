"""How many minutes do the fish live without power, and who is there by then."""

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity
from sitefare.errors import DesignError


@inputs("life_support")
class LifeSupportInputs:
    """Back-up of air, and the people who answer an alarm."""

    response_time: Array = quantity(
        "min",
        low=0,
        high=1440,
        varies="choice",
        fact="required",
        doc="From the alarm to a trained person at the tanks, at night.",
    )
    backup_start: Array = quantity(
        "min", low=0, high=60, varies="choice", doc="From loss of power to back-up air."
    )
    reserve: Array = quantity(
        "min", low=0, high=2880, varies="choice", doc="Back-up air or oxygen lasts so long."
    )
    usable_oxygen: Array = quantity(
        "mg/L",
        low=0.5,
        high=8,
        varies="choice",
        doc="Oxygen the fish can draw down before they die.",
    )
    density_cap_media_only: Array = quantity(
        "kg/m3", low=1, high=40, varies="choice", doc="Highest density with media beds alone."
    )
    density_cap_full: Array = quantity(
        "kg/m3",
        low=1,
        high=120,
        varies="choice",
        doc="Highest density with solids removal, degassing, standby air and alarm.",
    )


def minutes_without_air(usable: Array, density: Array, respiration: Array) -> Array:
    """Return minutes to use up oxygen [mg/L] at a density [kg/m3] and use [g/kg/h]. [min]"""
    return 60.0 * usable / (density * respiration)


def check_response(minutes: float, rules: LifeSupportInputs, *, automatic: bool) -> None:
    """Refuse a farm whose fish die before air is back or before somebody comes.

    The person on call must be there before the fish have used their oxygen, whatever the
    back-up; automatic back-up must start before then, and last until that person comes.

    Raises
    ------
    DesignError
        Naming the minutes and what would help.
    """
    comes = float(rules.response_time[0, 0])
    starts, lasts = float(rules.backup_start[0, 0]), float(rules.reserve[0, 0])
    held = f"fish last {minutes:.0f} minutes without air"
    if automatic and (minutes <= starts or lasts < comes):
        msg = (
            f"{held}; the back-up starts after {starts:.0f} minutes and lasts {lasts:.0f}, and "
            f"help comes after {comes:.0f}: change life_support.backup_start or .reserve"
        )
        raise DesignError(msg)
    if minutes <= comes:
        msg = (
            f"{held}, and help comes after {comes:.0f}: lower farm_design.density or shorten "
            "life_support.response_time"
        )
        raise DesignError(msg)
