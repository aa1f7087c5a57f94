"""Sheet Rates: at which rate does a flow break even, laid out step by step?

As the model does it: the net present value at each rate of a fixed grid from −99 % to +1,000 % a
year, its changes of sign, its first turn towards zero, and where there is one root its bracket
halved and closed by the chord. Values below a rate of zero are scaled by the last month's
factor, which keeps their sign and their size in range.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array
from sitefare.money.rates import GRID, TOUCH
from sitefare.outputs.workbook.frame import Given, Heading, Item, Line, Scalar, Sheet
from sitefare.outputs.workbook.made import Made

#: Halvings of the bracket before the chord: it is then narrower than 1e-5 a year.
HALVINGS = 14

#: Narrowings of the bracket of a turn, each to 0.618 of its width: further ones would compare
#: what rounding leaves.
NARROWINGS = 20

#: Part of a bracket that golden section keeps (Kiefer 1953).
GOLDEN = (5.0**0.5 - 1.0) / 2.0

#: Each rate of return: indicator, its flow's line, title.
RATES = (
    ("irr", "real.net", "Rate of return of the project, real"),
    ("irr_nominal", "project.net", "Rate of return of the project, nominal"),
    ("irr_equity", "owners.real", "Owners' rate of return, real"),
    ("irr_equity_nominal", "owners.nominal", "Owners' rate of return, nominal"),
    ("irr_economic", "economic.net", "Economic rate of return, real"),
)


def flows_of(made: Made) -> dict[str, Array]:
    """Return the flow behind each rate of return, (months + 1,). [money]"""
    views = made.appraisal.finances.views
    owners = views["equity"]
    return {
        "irr": made.appraisal.finances.figures.net[0],
        "irr_nominal": views["nominal"].flow[0],
        "irr_equity": owners.flow[0],
        "irr_equity_nominal": (owners.flow * owners.deflator)[0],
        "irr_economic": views["economic"].flow[0],
    }


@dataclass(frozen=True)
class Search:
    """The search for one flow's rate, as the sheet lays it out."""

    flow: Array

    def worth(self, rate: float) -> float:
        """Return the scaled net present value at a continuous rate. [money]"""
        return float(np.sum(self._terms(rate)))

    def _terms(self, rate: float) -> Array:
        years = np.arange(self.flow.size) / 12.0
        return np.asarray(self.flow * np.exp(min(rate, 0.0) * years[-1] - rate * years))

    def size(self, rate: float) -> float:
        """Return the sum of the absolute terms of the net present value. [money]"""
        return float(np.sum(np.abs(self._terms(rate))))

    def values(self) -> Array:
        """Return the scaled net present value at each rate of the grid. [money]"""
        return np.array([self.worth(float(x)) for x in GRID])

    def marks(self) -> Array:
        """Return 1 where a root lies between a rate and the next, or on it."""
        sign = np.sign(self.values())
        after = np.append(sign[1:], 0.0)
        return np.where((sign == 0) | (sign * after < 0), 1.0, 0.0)

    def turns(self) -> Array:
        """Return 1 where the value turns back towards zero, its sign unchanged."""
        v, found = self.values(), np.zeros(GRID.size)
        size, sign = np.abs(v), np.sign(v)
        for n in range(1, GRID.size - 1):
            nearer = size[n] <= size[n - 1] and size[n] < size[n + 1]
            same = sign[n - 1] == sign[n + 1] != 0 and sign[n] in (0.0, sign[n - 1])
            found[n] = float(nearer and same)
        return found

    def narrowed(self) -> tuple[Array, Array, Array]:
        """Return both ends of the first turn's bracket by step; 1 where it lies lower inside."""
        low, high, lower = (np.zeros(GRID.size) for _ in range(3))
        turns = self.turns()
        if not turns.any():
            return low, high, lower
        at = int(np.argmax(turns))
        sign = float(np.sign(self.values()[at - 1]))
        low[0], high[0] = GRID[at - 1], GRID[at + 1]
        for n in range(GRID.size):
            if n:
                ends = inside(low[n - 1], high[n - 1])
                low[n] = low[n - 1] if lower[n - 1] else ends[0]
                high[n] = ends[1] if lower[n - 1] else high[n - 1]
                if n > NARROWINGS:
                    low[n], high[n] = low[n - 1], high[n - 1]
            if n < NARROWINGS:
                left, right = (sign * self.worth(x) for x in inside(low[n], high[n]))
                lower[n] = float(left < right)
        return low, high, lower

    def turning(self) -> tuple[float, float, float]:
        """Return the rate where the first turn lies, the value there and 1 if it reaches zero."""
        turns = self.turns()
        if not turns.any():
            return 0.0, 0.0, 0.0
        low, high, _ = self.narrowed()
        rate = (low[-1] + high[-1]) / 2.0
        value = self.worth(rate)
        sign = float(np.sign(self.values()[int(np.argmax(turns)) - 1]))
        reached = abs(value) <= TOUCH * self.size(rate) or sign * value < 0
        return rate, value, float(reached)

    def count(self) -> float:
        """Return the number of rates found."""
        if not np.any(self.flow):
            return 0.0
        touched = self.turning()[2]
        at = int(np.argmax(self.turns()))
        more = 2.0 - float(self.values()[at] == 0) if touched else 0.0
        return float(self.marks().sum()) + more

    def halved(self) -> tuple[Array, Array, Array]:
        """Return both ends of the bracket by step and the sign of the value in its middle."""
        low, high, middle = (np.zeros(GRID.size) for _ in range(3))
        if self.count() != 1:
            return low, high, middle
        at = int(np.argmax(self.marks()))
        sign = np.sign(self.values()[at])
        low[0], high[0] = GRID[at], GRID[min(at + 1, GRID.size - 1)]
        for n in range(GRID.size):
            if n:
                half = (low[n - 1] + high[n - 1]) / 2.0
                above = middle[n - 1] == sign
                low[n], high[n] = (half, high[n - 1]) if above else (low[n - 1], half)
                if n > HALVINGS:
                    low[n], high[n] = low[n - 1], high[n - 1]
            if n < HALVINGS:
                middle[n] = np.sign(self.worth((low[n] + high[n]) / 2.0))
        return low, high, middle

    def rate(self) -> float:
        """Return the yearly rate where there is one, else 0. [1/year]"""
        if self.count() != 1:
            return 0.0
        low, high, _ = (float(x[-1]) for x in self.halved())
        at_low, at_high = self.worth(low), self.worth(high)
        return float(np.expm1(low + (high - low) / (1.0 - at_high / at_low) if at_low else low))


def inside(low: float, high: float) -> tuple[float, float]:
    """Return the two points of golden section inside a bracket."""
    return high - GOLDEN * (high - low), low + GOLDEN * (high - low)


def worth_formula(flow: str, rate: str, years: int) -> str:
    """Return the template of the scaled net present value of a line at a continuous rate."""
    last = f"EXP(MIN({rate},0)*{years})"
    return f"{last}*SUMPRODUCT({{{flow}:}},EXP(-({rate}))^({{month:}}/12))"


def scan_items(name: str, flow: str, years: int, one: Search, unit: str) -> Iterator[Item]:
    """Yield the value at each rate of the grid, its changes of sign and its turns."""
    key, last = f"rates.{name}", GRID.size - 1
    yield Line(
        f"{key}.value", "Net present value, scaled", unit,
        worth_formula(flow, "{rates.grid}", years), one.values(),
    )  # fmt: skip
    yield Line(
        f"{key}.mark", "1 where a rate lies here or before the next", "1",
        f"IF(OR({{{key}.value}}=0,SIGN({{{key}.value}})*SIGN({{{key}.value>}})<0),1,0)",
        one.marks(), kind="count", total=True,
    )  # fmt: skip
    here, before, after = (f"{{{key}.value{x}}}" for x in ("", "<", ">"))
    yield Line(
        f"{key}.turn", "1 where the value turns towards zero", "1",
        f"IF(OR({{step}}=0,{{step}}={last}),0,IF(AND(ABS({here})<=ABS({before}),"
        f"ABS({here})<ABS({after}),SIGN({before})=SIGN({after}),{before}<>0,"
        f"OR({here}=0,SIGN({here})=SIGN({before}))),1,0))",
        one.turns(), kind="count", total=True,
    )  # fmt: skip


def turn_items(name: str, flow: str, years: int, one: Search, unit: str) -> Iterator[Item]:
    """Yield the search of the first turn: two rates more if its value reaches zero."""
    key = f"rates.{name}"
    turns, at = f"SUM({{{key}.turn:}})", f"MATCH(1,{{{key}.turn:}},0)"
    low, high, lower = one.narrowed()
    sign = f"SIGN(INDEX({{{key}.value:}},{at}-1))"
    width = f"{GOLDEN!r}*({{{key}.turn_high}}-{{{key}.turn_low}})"
    before = width.replace("}", "<}")
    was, stay = f"{{{key}.turn_lower<}}=1", f"{{step}}>{NARROWINGS}"
    for side, label, values, start, formula in (
        ("low", "Turn lies above", low, "-1",
         f"IF(OR({stay},{was}),{{{key}.turn_low<}},{{{key}.turn_high<}}-{before})"),
        ("high", "Turn lies below", high, "+1",
         f"IF(OR({stay},NOT({was})),{{{key}.turn_high<}},{{{key}.turn_low<}}+{before})"),
    ):  # fmt: skip
        yield Line(
            f"{key}.turn_{side}", label, "1/year", f"IF({turns}=0,0,{formula})", values,
            kind="path", first=f"IF({turns}=0,0,INDEX({{rates.grid:}},{at}{start}))",
        )  # fmt: skip
    left = worth_formula(flow, f"({{{key}.turn_high}}-{width})", years)
    right = worth_formula(flow, f"({{{key}.turn_low}}+{width})", years)
    yield Line(
        f"{key}.turn_lower", "1 where it lies in the lower part", "1",
        f"IF(OR({turns}=0,{{step}}>={NARROWINGS}),0,IF({sign}*{left}<{sign}*{right},1,0))", lower,
        kind="count",
    )  # fmt: skip
    rate, value, reached = one.turning()
    cells = (
        ("turn_rate", "Turn lies at", "1/year",
         f"({{{key}.turn_low@end}}+{{{key}.turn_high@end}})/2", rate, "path"),
        ("turn_value", "Value there", unit,
         f"IF({turns}=0,0,{worth_formula(flow, f'{{{key}.turn_rate}}', years)})", value, "money"),
    )  # fmt: skip
    for cell, label, of, formula, found, kind in cells:
        yield Scalar(f"{key}.{cell}", label, of, formula, found, kind=kind)  # type: ignore[arg-type]
    size = worth_formula(flow, f"{{{key}.turn_rate}}", years).replace(
        f"{{{flow}:}}", f"((({{{flow}:}}>0)-({{{flow}:}}<0))*{{{flow}:}})"
    )
    yield Scalar(
        f"{key}.turn_reaches", "1 if it reaches zero: two rates more", "1",
        f"IF({turns}=0,0,IF(OR(ABS({{{key}.turn_value}})<={TOUCH!r}*{size},"
        f"{sign}*{{{key}.turn_value}}<0),1,0))", reached, kind="count",
    )  # fmt: skip


def bracket_items(name: str, flow: str, years: int, one: Search) -> Iterator[Item]:
    """Yield the bracket of the one rate, halved step by step, and the rate."""
    key = f"rates.{name}"
    found, at = f"{{{key}.count}}=1", f"MATCH(1,{{{key}.mark:}},0)"
    low, high, middle = one.halved()
    half_before = f"({{{key}.low<}}+{{{key}.high<}})/2"
    same = f"{{{key}.middle<}}=SIGN(INDEX({{{key}.value:}},{at}))"
    stay = f"{{step}}>{HALVINGS}"
    for side, label, values, start, formula in (
        ("low", "Rate lies above", low, at,
         f"IF({stay},{{{key}.low<}},IF({same},{half_before},{{{key}.low<}}))"),
        ("high", "Rate lies below", high, f"MIN({at}+1,{GRID.size})",
         f"IF({stay},{{{key}.high<}},IF({same},{{{key}.high<}},{half_before}))"),
    ):  # fmt: skip
        yield Line(
            f"{key}.{side}", label, "1/year", f"IF({found},{formula},0)", values, kind="path",
            first=f"IF({found},INDEX({{rates.grid:}},{start}),0)",
        )  # fmt: skip
    worth = worth_formula(flow, f"({{{key}.low}}+{{{key}.high}})/2", years)
    yield Line(
        f"{key}.middle", "Sign of the value in the middle", "1",
        f"IF(AND({found},{{step}}<{HALVINGS}),SIGN({worth}),0)", middle, kind="count",
    )  # fmt: skip
    ends = [worth_formula(flow, f"{{{key}.{side}@end}}", years) for side in ("low", "high")]
    chord = f"{{{key}.low@end}}+({{{key}.high@end}}-{{{key}.low@end}})/(1-({ends[1]})/({ends[0]}))"
    yield Scalar(
        f"{key}.rate", "Yearly rate, where there is one: by the chord of the last bracket",
        "1/year",
        f"IF({found},EXP(IF(INDEX({{{key}.value:}},{at})=0,{{{key}.low@end}},{chord}))-1,0)",
        one.rate(), kind="rate", strong=True,
    )  # fmt: skip


def rate_items(made: Made, name: str, flow: str, title: str) -> Iterator[Item]:
    """Yield the whole search of one rate of return."""
    one, years = Search(flows_of(made)[name]), made.timeline.years
    key, unit = f"rates.{name}", made.currency
    yield Heading(title)
    yield from scan_items(name, flow, years, one, unit)
    yield from turn_items(name, flow, years, one, unit)
    twice = (
        f"{{{key}.turn_reaches}}*(2-IF(SUM({{{key}.turn:}})=0,0,"
        f"IF(INDEX({{{key}.value:}},MATCH(1,{{{key}.turn:}},0))=0,1,0)))"
    )
    yield Scalar(
        f"{key}.count", "Rates found", "1",
        f"IF(AND(MAX({{{flow}:}})=0,MIN({{{flow}:}})=0),0,SUM({{{key}.mark:}})+{twice})",
        one.count(), kind="count",
    )  # fmt: skip
    yield from bracket_items(name, flow, years, one)


def sheet(made: Made) -> Sheet:
    """Return the sheet Rates."""
    items: list[Item] = [
        Heading("Rates tried", "The model's own grid, denser where projects lie."),
        Given("rates.grid", "Continuous rate, ln(1 + yearly rate)", "1/year", GRID, kind="path"),
        Line(
            "rates.yearly", "Yearly rate", "1/year", "EXP({rates.grid})-1", np.exp(GRID) - 1.0,
            kind="share",
        ),
    ]  # fmt: skip
    for name, flow, title in RATES:
        items += rate_items(made, name, flow, title)
    return Sheet(
        "Rates",
        "Rates of return",
        "A rate is an answer where it is the only one between -99 % and +1,000 % a year.",
        items,
        axis="steps",
    )
