"""Units are a closed list, parsed once on reading; inside there are plain floats.

A currency code in a unit (USD/kg) reads as `money`; the row keeps the code.
Years have 365 days.
"""

import re
from functools import cache

import pint
from babel.core import get_global

from sitefare.errors import AssumptionError

DEFINITIONS = """
meter = [length] = m
second = [time] = s
gram = [mass] = g
kelvin = [temperature]; offset: 0 = K
degC = kelvin; offset: 273.15
degF = 5 / 9 * kelvin; offset: 255.372222
radian = []
degree = 0.017453292519943295 * radian = deg
mole = [substance] = mol
person = [people]
fish = [fish]
plant = [plants]
money = [money]
percent = 0.01 = %
cm = 0.01 m
mm = 0.001 m
km = 1000 m
ft = 0.3048 m
m2 = m ** 2
m3 = m ** 3
cm2 = cm ** 2
ft2 = ft ** 2
ha = 10000 m2
L = 0.001 m3
mL = 0.001 L
kg = 1000 g
hg = 100 g
mg = 0.001 g
ug = 0.000001 g
t = 1000 kg
lb = 453.59237 g
min = 60 s
h = 60 min
day = 24 h
week = 7 day
year = 365 day
month = year / 12
newton = kg * m / s ** 2 = N
kN = 1000 N
J = N * m
kJ = 1000 J
MJ = 1000000 J
kcal = 4184 J
W = J / s
kW = 1000 W
Wh = W * h
kWh = 1000 Wh
Pa = N / m2
kPa = 1000 Pa
umol = 0.000001 mol
dS = [conductance]
uS = 0.00001 dS
"""


@cache
def registry() -> pint.UnitRegistry[float]:
    """Return the registry of known units."""
    units: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    units.load_definitions([line for line in DEFINITIONS.splitlines() if line.strip()])
    return units


@cache
def currencies() -> frozenset[str]:
    """ISO 4217 codes known to Babel."""
    return frozenset(get_global("all_currencies"))


def currency_in(unit: str) -> str:
    """Return the currency code in a unit, or an empty string."""
    codes = [word for word in re.findall(r"\b[A-Z]{3}\b", unit) if word in currencies()]
    return codes[0] if codes else ""


@cache
def parsed(unit: str) -> pint.Unit:
    """Parse a unit with any currency code read as money.

    Raises
    ------
    AssumptionError
        If the unit is not in the closed list.
    """
    code = currency_in(unit)
    plain = re.sub(rf"\b{code}\b", "money", unit) if code else unit
    plain = re.sub(r"(?<![\w.])1(?=$|/)", "dimensionless", plain.replace("%", "percent").strip())
    try:
        return registry().Unit(plain)
    except Exception as error:
        known = ", ".join(
            line.split("=")[0].strip() for line in DEFINITIONS.splitlines() if line.strip()
        )
        msg = f"unit '{unit}' is not known; use a currency code or a product of: 1, {known}"
        raise AssumptionError(msg) from error


def convert(number: float, unit: str, canonical: str) -> float:
    """Convert a number to its canonical unit.

    Raises
    ------
    AssumptionError
        If the unit is unknown or of another dimension.
    """
    if unit == canonical:
        parsed(unit)
        return number
    have, want = parsed(unit), parsed(canonical)
    if have.dimensionality != want.dimensionality:
        msg = f"unit '{unit}' does not measure the same thing as '{canonical}'"
        raise AssumptionError(msg)
    return float(registry().Quantity(number, have).to(want).magnitude)
