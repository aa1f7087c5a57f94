"""Which rows do settings from the command line put in force?

A setting is `name=value` or `name=low:base:high`, a unit after it if there is one.
"""

import re
from collections.abc import Iterable, Mapping

from sitefare.assumptions.files import Line, nearest
from sitefare.assumptions.library import Layer
from sitefare.assumptions.rows import Row, known_names, row_from_line
from sitefare.errors import AssumptionError


def overrides(settings: Iterable[str], rows: Mapping[str, Row]) -> Layer:
    """Read settings such as `price.feed=1.2 USD/kg` or `price.feed=0.9:1.2:1.6`.

    Raises
    ------
    AssumptionError
        If a setting has no equals sign, names no row, or its value is refused.
    """
    made: dict[str, Row] = {}
    for setting in settings:
        name, equals, given = (part.strip() for part in setting.partition("="))
        if not equals or not given:
            msg = f"--set {setting}: write name=value, name=low:base:high, and a unit if you like"
            raise AssumptionError(msg)
        if name not in rows:
            hint = nearest(name, rows) or nearest(name, known_names())
            msg = f"--set {setting}: '{name}' is not an assumption of this case{hint}"
            raise AssumptionError(msg)
        if name in made:
            msg = f"--set {setting}: {name} is set twice"
            raise AssumptionError(msg)
        home = rows["economy.currency"].text if "economy.currency" in rows else "USD"
        made[name] = _override(name, given, rows[name], home)
    return Layer("command line", made)


def _override(name: str, given: str, row: Row, home: str) -> Row:
    """Make the row of one setting; `home` is the site's currency."""
    spec = row.spec
    cells = {"name": name, "unit": spec.kind, "low": "", "base": given, "high": "", "varies": ""}
    if spec.kind == "quantity":
        match = re.fullmatch(r"([^\s:]+(?::[^\s:]+:[^\s:]+)?)(?:\s+(\S+))?", given)
        if match is None:
            msg = f"--set {name}={given}: write a number or low:base:high, then a unit if you like"
            raise AssumptionError(msg)
        numbers = match[1].split(":")
        unit = match[2] or spec.unit
        if "money" in unit:
            units = [unit.replace("money", code) for code in dict.fromkeys(("USD", home))]
            msg = f"--set {name}={given}: give its unit, such as {' or '.join(units)}"
            raise AssumptionError(msg)
        low, base, high = numbers if len(numbers) > 1 else ("", numbers[0], "")
        varies = "" if row.varies == "choice" and low else row.varies
        cells |= {"unit": unit, "low": low, "base": base, "high": high, "varies": varies}
    if spec.kind == "monthly":
        msg = f"--set {name}: twelve months cannot be set here; change them in a site file"
        raise AssumptionError(msg)
    tail = {"source": "command_line", "locator": "", "as_of": "", "basis": "judgement", "note": ""}
    as_given = {**cells, **tail, "as_of": row.as_of}
    line = Line(f"--set {name}={given}", 0, as_given, decimal_comma=False)
    return row_from_line(line, "command line", {"command_line": "given on the command line"})
