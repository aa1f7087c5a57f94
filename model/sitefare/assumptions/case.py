"""What exactly is appraised: one site, a design, a scenario, any overrides, made into values.

`Case` holds the rows in force. `base_values` gives them as arrays of one draw, `draw_values`
as many draws, `swung_values` as one draw a swing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TypeVar

import numpy as np

from sitefare.arrays import Array, value
from sitefare.assumptions import draws as sampling
from sitefare.assumptions.correlation import Pair, check_names, site_of
from sitefare.assumptions.declaration import Resolved, Values
from sitefare.assumptions.library import Layer, Library, fingerprint, layered, tables
from sitefare.assumptions.mixing import correlated
from sitefare.assumptions.prices import prices_to_date
from sitefare.assumptions.rows import Row
from sitefare.assumptions.settings import overrides
from sitefare.assumptions.weather import HourlyYear
from sitefare.assumptions.weather_rows import site_weather, weather_values
from sitefare.errors import AssumptionError
from sitefare.timeline import Timeline

#: Rows that questions read beside the pipeline: shown, and drawn by those questions alone, so
#: that they move no draw of the farm.
BESIDE = (
    "haulage.",
    "shipping.",
    "transfer.",
    "garden.",
    "replaced.",
    "months_open.",
    "basket.",
    "basket_price.",
    "completion.",
    "cooking.staple.",
    "cooking.pulse.",
)


V = TypeVar("V", bound=dict[str, Array | str])


@dataclass(frozen=True)
class Case:
    """One site under one scenario, every value resolved.

    `design` names the design laid over the site's own farm, empty for none.
    `rows` are in canonical units at the appraisal date; `given` are the rows as their files
    give them, prices of their own date and currency, for the register. `read` names the rows
    that this case's farm uses; None until that is known. `weather` is the site's hourly year,
    None where it gives monthly normals. `pairs` are the rows that move together, by layer.
    """

    site: str
    scenario: str
    settings: tuple[str, ...]
    rows: Mapping[str, Row]
    given: Mapping[str, Row]
    timeline: Timeline
    library: Library
    input_hash: str
    read: frozenset[str] | None = None
    weather: HourlyYear | None = field(default=None, compare=False)
    pairs: tuple[tuple[Pair, ...], ...] = ()
    design: str = ""

    @cached_property
    def at_base(self) -> Resolved:
        """Every row at its base, laid out once: many questions start from it."""
        return Resolved(_laid_out(self))

    @property
    def names(self) -> str:
        """Design, where it is not the site's own, and scenario, as commands take them."""
        return ", ".join(name for name in (self.design, self.scenario) if name)

    @property
    def variant(self) -> str:
        """Design, where it is not the site's own, and scenario, as documents print them."""
        return self.names.replace("_", " ")

    @property
    def currency(self) -> str:
        """The site's currency code."""
        return self.rows["economy.currency"].text

    @property
    def exchange_rate(self) -> float:
        """Site currency per US dollar at the appraisal date. [money/USD]"""
        return 1.0 if self.currency == "USD" else self.rows["economy.exchange_rate"].base

    @property
    def uncertain(self) -> list[str]:
        """Names of the rows that draws sample, sorted: those with a range that are in use."""
        found = (name for name, row in self.rows.items() if row.uncertain and self.uses(name))
        return sorted(name for name in found if not name.startswith(BESIDE))

    @property
    def beside(self) -> list[str]:
        """Names of the rows with a range that questions read beside the pipeline, sorted."""
        found = (name for name, row in self.rows.items() if row.uncertain)
        return sorted(name for name in found if name.startswith(BESIDE))

    def uses(self, name: str) -> bool:
        """Say whether a row is read by this case's farm."""
        return self.read is None or name in self.read

    @property
    def facts(self) -> list[tuple[str, bool]]:
        """Site facts asked for, and whether the site supplied each; a table is one fact."""
        found: dict[str, bool] = {}
        for name, row in self.rows.items():
            if row.spec.fact:
                parts = name.split(".")
                fact = name if len(parts) == 2 else parts[0]  # noqa: PLR2004
                found[fact] = found.get(fact, False) or row.layer != "common"
        return list(found.items())

    @property
    def demonstration(self) -> bool:
        """Whether any row in force is invented."""
        return any(row.basis == "invented" for name, row in self.rows.items() if self.uses(name))

    def key(self, name: str) -> str:
        """Name the draw of a row: common rows share theirs across sites, a site's are its own."""
        layer = self.rows[name].layer
        return f"{name}@{self.site}" if layer.startswith("site ") else name

    def moving_together(self, keys: Sequence[str]) -> list[tuple[Pair, ...]]:
        """Return the tables of correlations behind the keys of a draw: common, own, scenario."""
        sites = {site_of(key) for key in keys} - {"", self.site}
        others = [pair for site in sorted(sites) for pair in self.library.site_pairs(site)]
        common, *own, scenario = self.pairs or ((), ())
        return [common, (*(pair for pairs in own for pair in pairs), *others), scenario]

    def with_fixed(self, name: str, number: float, note: str) -> "Case":
        """Return the case with a computed fixed value and its derivation in place of a row."""
        row = replace(self.rows[name], base=number, low=None, high=None, note=note)
        return replace(self, rows={**self.rows, name: row})


def make_case(
    library: Library, site: str, scenario: str, settings: Sequence[str] = (), design: str = ""
) -> Case:
    """Resolve a site, a design if one is named, a scenario and overrides into a case.

    Raises
    ------
    AssumptionError
        If any of them is refused.
    """
    layers = [library.common, library.site(site), *over(library, scenario, design)]
    return case_from_layers(library, site, scenario, layers, settings, design=design)


def over(library: Library, scenario: str, design: str) -> list[Layer]:
    """Read what is laid over a site: a design, if one is named, and a scenario.

    Raises
    ------
    AssumptionError
        If either is refused.
    """
    designs = [library.design(design)] if design else []
    return [*designs, library.scenario(scenario)]


def case_from_layers(
    library: Library,
    site: str,
    scenario: str,
    layers: Sequence[Layer],
    settings: Sequence[str],
    *,
    folder: Path | None = None,
    told: str = "",
    design: str = "",
) -> Case:
    """Resolve layers already read into a case.

    `folder` is where the site's weather file stands, its own folder unless given; `told` is what
    the layers rest on beside the files of site and scenario, for the hash of inputs.

    Raises
    ------
    AssumptionError
        If the layers leave a value missing, or an override is refused.
    """
    found = site_weather(library, site, layers, settings, folder)
    hourly = [] if found is None else [found[2]]
    layers = [*layers[:1], *hourly, *layers[1:]]
    given = layered(layers)
    given = layered([*layers, overrides(settings, given)])
    timeline = timeline_of(given)
    rows = prices_to_date(given, timeline.label(0))
    pairs = tuple(layer.pairs for layer in layers)
    check_names([pair for table in pairs for pair in table], rows, library.sites)
    paths = [p for p in _files(library.folder, site, scenario, design) if p.exists()]
    paths += [] if found is None else [found[1]]
    designs = [design] if design else []
    stamp = fingerprint(paths, "\n".join([site, *designs, scenario, *settings]) + told)
    return Case(
        site=site, scenario=scenario, settings=tuple(settings), rows=rows, given=given,
        timeline=timeline, library=library, input_hash=stamp,
        weather=None if found is None else found[0], pairs=pairs, design=design,
    )  # fmt: skip


def _files(folder: Path, site: str, scenario: str, design: str) -> list[Path]:
    """List the files a case rests on."""
    designs = folder / "designs"
    own = [designs / f"{design}.csv", *tables(designs / design)] if design else []
    return [
        *tables(folder / "common"),
        *tables(folder / "sites" / site),
        *own,
        folder / "scenarios" / f"{scenario}.csv",
        *tables(folder / "scenarios" / scenario),
    ]


def timeline_of(rows: Mapping[str, Row]) -> Timeline:
    """Read the project's clock.

    Raises
    ------
    AssumptionError
        If the start is not a month, or building outlasts the appraisal period.
    """
    start = rows["project.start"]
    year, _, month = start.text.partition("-")
    if not (year.isdigit() and month.isdigit() and 1 <= int(month) <= 12):  # noqa: PLR2004
        msg = f"{start.where}: project.start '{start.text}' is not a month such as 2027-01"
        raise AssumptionError(msg)
    years = int(rows["project.years"].base)
    construction = int(rows["project.construction"].base)
    if construction >= 12 * years:
        msg = (
            f"project.construction of {construction} months fills the {years}-year appraisal period"
        )
        raise AssumptionError(msg)
    return Timeline(int(year), int(month), years, construction)


def base_values(case: Case) -> Resolved:
    """Return every row at its base, arrays of one draw, in a dict of the caller's own."""
    return Resolved(case.at_base, case.at_base)


def _laid_out(case: Case) -> dict[str, Array | str]:
    """Lay every row out at its base."""
    values: dict[str, Array | str] = {}
    for name, row in case.rows.items():
        if row.spec.kind == "monthly":
            values[name] = np.asarray(row.months, dtype=np.float64)[None, :]
        elif row.spec.kind == "quantity":
            values[name] = _laid(case, row, _number(row.base))
        else:
            values[name] = row.text
    if case.weather is not None:
        values.update(weather_values(case.weather))
    return _with_occurrences(case, values)


@lru_cache(maxsize=65536)
def _number(x: float) -> Array:
    """Return one number as an array that nobody writes to, made once."""
    made = value(x)
    made.flags.writeable = False
    return made


def _laid(case: Case, row: Row, x: Array) -> Array:
    """Lay a value that is redrawn every year along the life."""
    if row.spec.varies != "year":
        return x
    return np.broadcast_to(x, (x.shape[0], case.timeline.months + 1))


def _with_occurrences(case: Case, values: V) -> V:
    """Add how far each event occurs: its yearly chance, as a life array."""
    for name in [n for n in case.rows if n.startswith("event.") and n.endswith(".chance")]:
        chance = values[name]
        assert not isinstance(chance, str)  # noqa: S101
        key = "occurrence." + name.split(".")[1]
        values[key] = np.broadcast_to(chance, (chance.shape[0], case.timeline.months + 1))
    return values


def _triple(row: Row) -> tuple[float, float, float]:
    """Return the low, base and high of an uncertain row."""
    if row.low is None or row.high is None:
        msg = f"{row.name} has no range"
        raise AssumptionError(msg)
    return row.low, row.base, row.high


def draw_values(
    case: Case, draws: int, seed: int, keys: Sequence[str] | None = None, first: int = 0
) -> Resolved:
    """Return every row as draws: fixed rows as one draw, uncertain ones as (draws, 1).

    `keys` widens the Sobol sequence to those of all cases compared, so that a shared row shares
    its draw; a key not among them is drawn by name. `first` is the first draw's number, 4 × n.

    Raises
    ------
    AssumptionError
        If `draws` is not a power of two.
    """
    values = base_values(case)
    life = [name for name in case.uncertain if case.rows[name].varies == "life"]
    union = keys if keys is not None else [case.key(name) for name in life]
    wanted = [case.key(name) for name in life]
    columns = sampling.columns(union, wanted, draws, seed, first)
    columns = correlated(columns, case.moving_together(union), wanted)
    for name in life:
        row = case.rows[name]
        u = columns[case.key(name)]
        values[name] = _laid(case, row, sampling.quantile(row.spec, _triple(row), u))
    values = _with_occurrences(case, values)
    return _with_years(case, values, draws, seed, first)


def beside_values(case: Case, draws: int, seed: int) -> dict[str, Array | str]:
    """Return as draws the rows that questions read beside the pipeline, (draws, 1) each.

    They are drawn by name, each on its own, so the farm's draws stay what they are.
    """
    values: dict[str, Array | str] = {}
    for name in case.beside:
        row = case.rows[name]
        u = sampling.yearly(case.key(name), draws, 0, seed)
        values[name] = sampling.quantile(row.spec, _triple(row), u)
    return values


def _with_years(case: Case, values: Resolved, draws: int, seed: int, first: int) -> Resolved:
    """Redraw each year what is redrawn each year: rows that vary by year, and events."""
    timeline = case.timeline
    for name in case.uncertain:
        row = case.rows[name]
        if row.varies == "year":
            u = sampling.yearly(case.key(name), draws, timeline.years, seed, first)
            values[name] = sampling.quantile(row.spec, _triple(row), u)[:, timeline.year]
    for name in [n for n in values if n.startswith("occurrence.")]:
        chance = values[f"event.{name.split('.')[1]}.chance"]
        assert not isinstance(chance, str)  # noqa: S101
        u = sampling.yearly(f"{name}@{case.site}", draws, timeline.years, seed, first)
        values[name] = (u < chance).astype(np.float64)[:, timeline.year]
    return values


def swung_values(case: Case, swings: Sequence[tuple[str, float]]) -> Resolved:
    """Return one draw a swing: every row at its base but the one that the swing moves."""
    return moved_values(case, [{name: number} for name, number in swings])


def moved_values(case: Case, moves: Sequence[Mapping[str, float]]) -> Resolved:
    """Return one draw a move: every row at its base but those that the move names.

    Rows that no move names stay one draw, so that what rests on them is reckoned once.
    """
    values = base_values(case)
    changed: dict[str, Array] = {}
    for i, move in enumerate(moves):
        for name, number in move.items():
            if name not in changed:
                changed[name] = np.full((len(moves), 1), case.rows[name].base)
            changed[name][i, 0] = number
    for name, x in changed.items():
        values[name] = _laid(case, case.rows[name], x)
    return _with_occurrences(case, values)


class Reading(dict[str, Array | str]):
    """Values that remember which names were read."""

    def __init__(self, values: Mapping[str, Array | str]) -> None:
        super().__init__(values)
        self.names: set[str] = set()

    def __getitem__(self, name: str) -> Array | str:
        """Return a value and remember its name."""
        self.names.add(name)
        return super().__getitem__(name)


def block_of(values: Values, block: slice) -> Resolved:
    """Take a block of draws out of values; what has one draw stays as it is."""
    taken = {
        name: x if isinstance(x, str) or x.shape[0] == 1 else x[block] for name, x in values.items()
    }
    return Resolved(taken, values.base if isinstance(values, Resolved) else None)
