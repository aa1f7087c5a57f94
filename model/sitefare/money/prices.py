"""How does each group of prices move from the appraisal date on?

A nominal price in month t is the appraisal-date price × (1 + inflation)^(t/12)
× (1 + drift)^(t/12), where drift is the group's real change over general inflation. Imported
goods and their freight (`imported`, `imported_freight`) follow inflation abroad and the
exchange rate in place of inflation at home, with the same drifts.
Dividing a nominal flow by the inflation path gives it in constant prices.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Values, build, inputs, quantity
from sitefare.money.exchange import import_path
from sitefare.money.project import EconomyInputs, total
from sitefare.timeline import Timeline

LOW, HIGH = -0.2, 0.3


@inputs("drift")
class DriftInputs:
    """Real yearly price change over general inflation, by group."""

    energy: Array = quantity("1/year", low=LOW, high=HIGH, doc="Electricity and fuels.")
    wages: Array = quantity("1/year", low=LOW, high=HIGH, doc="Wages of every role.")
    feed: Array = quantity("1/year", low=LOW, high=HIGH, doc="Fish feed.")
    food: Array = quantity("1/year", low=LOW, high=HIGH, doc="Vegetables and fish sold.")
    supplies: Array = quantity(
        "1/year", low=LOW, high=HIGH, doc="Fingerlings, seed, dosing, packing."
    )
    equipment: Array = quantity("1/year", low=LOW, high=HIGH, doc="Works, equipment, spares.")
    freight: Array = quantity("1/year", low=LOW, high=HIGH, doc="Transport of goods.")
    water: Array = quantity("1/year", low=LOW, high=HIGH, doc="Water and its disposal.")
    land: Array = quantity("1/year", low=LOW, high=HIGH, doc="Land and rents.")
    services: Array = quantity("1/year", low=LOW, high=HIGH, doc="Insurance, audit, tests, fees.")


#: Price groups, by name.
GROUPS = tuple(f.name for f in fields(DriftInputs))


@dataclass(frozen=True)
class PricePaths:
    """Nominal price of one unit of appraisal-date money by month, (draws, months + 1). [1]"""

    inflation: Array
    group: Mapping[str, Array]

    def __getitem__(self, name: str) -> Array:
        """Return the nominal path of a price group. [1]"""
        return self.group[name]

    def real(self, nominal: Array) -> Array:
        """Return a nominal flow in constant prices of the appraisal date. [money]"""
        return nominal / self.inflation

    def at_date(self, lines: Mapping[str, Array], groups: Mapping[str, str]) -> Array:
        """Return the sum of nominal lines at appraisal-date prices. [money]

        Each line is divided by the path of its own price group, which takes out inflation and
        real drift; lines of a group share one division.
        """
        sums: dict[str, Array] = {}
        for name, flow in lines.items():
            group = groups[name]
            sums[group] = sums[group] + flow if group in sums else flow
        return total(flow / self.group[group] for group, flow in sums.items())


def price_paths(values: Values, timeline: Timeline) -> PricePaths:
    """Return every group's nominal price path. [1]"""
    inflation = timeline.growth(build(EconomyInputs, values).inflation)
    drift = build(DriftInputs, values)
    group = {f.name: inflation * timeline.growth(getattr(drift, f.name)) for f in fields(drift)}
    abroad = import_path(values, timeline)
    group["imported"] = abroad * timeline.growth(drift.equipment)
    group["imported_freight"] = abroad * timeline.growth(drift.freight)
    return PricePaths(inflation, group)


def fisher(real: Array, inflation: Array) -> Array:
    """Return the nominal rate of a real one: (1 + real)(1 + inflation) − 1, exactly. [1/year]

    Irving Fisher, The Theory of Interest (1930).
    """
    return (1.0 + real) * (1.0 + inflation) - 1.0
