"""Each input is declared once, as a field of a module's `…Inputs` dataclass.

Reading, unit conversion, bounds, sampling, the register and the data dictionary all come
from these declarations. A class declared single under `fish` gives names such as
`fish.survival`; a keyed class under `crop` gives `crop.lettuce.yield`; a keyed class with
a `measure` may also be read from an item table (`bill.csv`), one item a row.
"""

import dataclasses
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from operator import is_
from typing import Any, Literal, TypeVar, cast, dataclass_transform

import numpy as np

from sitefare.arrays import Array
from sitefare.errors import AssumptionError

Kind = Literal["quantity", "monthly", "choice", "text"]
Varies = Literal["life", "year", "choice"]
Values = Mapping[str, Array | str]
T = TypeVar("T")


@dataclass(frozen=True)
class Spec:
    """What is known of a declared field before any file is read."""

    kind: Kind
    doc: str
    unit: str = "text"
    low: float = -np.inf
    high: float = np.inf
    varies: Varies = "life"
    options: tuple[str, ...] = ()
    index: str = "general"
    drift: str = ""
    fact: Literal["", "required", "optional"] = ""
    optional: bool = False


def quantity(
    unit: str,
    *,
    doc: str,
    low: float = -np.inf,
    high: float = np.inf,
    varies: Varies = "life",
    index: str = "general",
    drift: str = "",
    fact: Literal["", "required", "optional"] = "",
) -> Any:  # noqa: ANN401
    """Declare a number: canonical unit, bounds, meaning.

    `index` names the price index series and `drift` the group of real price change that money
    rows follow; `fact` marks a fact asked of every site.
    """
    spec = Spec("quantity", doc, unit, low, high, varies, (), index, drift, fact)
    return dataclasses.field(metadata={"spec": spec})


def monthly(
    unit: str,
    *,
    doc: str,
    low: float = -np.inf,
    high: float = np.inf,
    fact: Literal["", "required", "optional"] = "",
) -> Any:  # noqa: ANN401
    """Declare twelve numbers, January first; read from a table of monthly columns."""
    spec = Spec("monthly", doc, unit, low, high, "choice", (), "general", "", fact)
    return dataclasses.field(metadata={"spec": spec})


def choice(*options: str, doc: str, fact: Literal["", "required", "optional"] = "") -> Any:  # noqa: ANN401
    """Declare a word out of a closed list; its row has unit `choice`."""
    spec = Spec("choice", doc, "choice", varies="choice", options=options, fact=fact)
    return dataclasses.field(metadata={"spec": spec})


def text(
    *, doc: str, fact: Literal["", "required", "optional"] = "", optional: bool = False
) -> Any:  # noqa: ANN401
    """Declare free text; its row has unit `text`. Optional text may be blank."""
    spec = Spec("text", doc, "text", varies="choice", fact=fact, optional=optional)
    return dataclasses.field(metadata={"spec": spec})


@dataclass(frozen=True)
class Declared:
    """One declared class: its prefix, whether it is keyed, the measure of its item table."""

    cls: type[Any]
    prefix: str
    keyed: bool
    measure: str
    table: bool

    @cached_property
    def specs(self) -> dict[str, Spec]:
        """Field name to declaration, in order."""
        return {f.name: f.metadata["spec"] for f in dataclasses.fields(self.cls)}


DECLARED: dict[str, Declared] = {}

#: The same by class.
_OF_CLASS: dict[type[Any], Declared] = {}


def check_bounds(name: str, spec: Spec, value: Array | str) -> None:
    """Refuse a value outside its declared bounds or options.

    Raises
    ------
    AssumptionError
        Naming the value and what would be accepted.
    """
    if isinstance(value, str):
        if spec.options and value not in spec.options:
            msg = f"{name}: '{value}' is not one of {', '.join(spec.options)}"
            raise AssumptionError(msg)
        return
    if value.size == 1 and spec.low <= value.item() <= spec.high:
        return
    if not ((value >= spec.low) & (value <= spec.high)).all():
        shown = f"{float(np.nanmin(value)):g} to {float(np.nanmax(value)):g}"
        msg = f"{name}: {shown} lies outside {spec.low:g} to {spec.high:g} {spec.unit}"
        raise AssumptionError(msg)


@dataclass_transform(
    frozen_default=True, kw_only_default=True, field_specifiers=(quantity, monthly, choice, text)
)
def inputs(
    prefix: str, *, keyed: bool = False, measure: str = "", table: bool = False
) -> Callable[[type[T]], type[T]]:
    """Make a frozen, self-checking dataclass of declared fields and list it under `prefix`.

    A keyed class may be read from an item table `prefix.csv`: always with a `measure` (the one
    field with a range), or with `table` where no field has one.
    """

    def declare(cls: type[T]) -> type[T]:
        def __post_init__(self: T) -> None:  # noqa: N807
            for name, spec in _OF_CLASS[type(self)].specs.items():
                check_bounds(f"{prefix}.{name}", spec, getattr(self, name))

        cls.__post_init__ = __post_init__  # type: ignore[attr-defined]
        made = dataclass(frozen=True, kw_only=True)(cls)
        _OF_CLASS[made] = Declared(made, prefix, keyed, measure, table or bool(measure))
        DECLARED[prefix] = _OF_CLASS[made]
        return made

    return declare


class Resolved(dict[str, Array | str]):
    """Values by name, with the inputs made of them so far.

    `base` are the base values of the case: inputs that no draw moves are made and checked there,
    once for all draws.
    """

    def __init__(self, values: Values, base: "Resolved | None" = None) -> None:
        super().__init__(values)
        self.base = base
        self.made: dict[tuple[type[Any], str], tuple[Any, list[Array | str]]] = {}
        self.listed: dict[str, tuple[str, ...]] = {} if base is None else base.listed

    def known(self, cls: type[T], key: str, given: list[Array | str]) -> T | None:
        """Return the inputs made of the very same values, here or at base, if there are any."""
        for values in (self, self.base):
            if values is not None and (found := values.made.get((cls, key))) is not None:
                made, of = found
                if all(map(is_, given, of)):
                    return cast("T", made)
        return None


@cache
def _names(cls: type[Any], key: str) -> tuple[str, ...]:
    """Return the full names of a class's values."""
    declared = _OF_CLASS[cls]
    start = f"{declared.prefix}.{key}." if key else f"{declared.prefix}."
    return tuple(start + name for name in declared.specs)


def build(cls: type[T], values: Values, key: str = "") -> T:
    """Make one inputs object from resolved values; `key` for a keyed class.

    Raises
    ------
    AssumptionError
        If a declared value is missing.
    """
    try:
        given = [values[name] for name in _names(cast("Hashable", cls), key)]
    except KeyError as missing:
        msg = f"{missing.args[0]} has no value: add a row for it"
        raise AssumptionError(msg) from None
    if not isinstance(values, Resolved):
        return cls(**dict(zip(_OF_CLASS[cls].specs, given, strict=True)))
    made = values.known(cls, key, given)
    if made is None:
        made = cls(**dict(zip(_OF_CLASS[cls].specs, given, strict=True)))
        values.made[cls, key] = (made, given)
    return made


def keys_of(cls: type[Any], values: Values) -> list[str]:
    """List the keys a keyed class has among `values`, in order of appearance."""
    start = _OF_CLASS[cls].prefix + "."
    if not isinstance(values, Resolved):
        return list(_keys_under(start, values))
    if start not in values.listed:
        values.listed[start] = _keys_under(start, values)
    return list(values.listed[start])


def _keys_under(start: str, names: Iterable[str]) -> tuple[str, ...]:
    """List the keys under a prefix."""
    keys = [n[len(start) :].rpartition(".")[0] for n in names if n.startswith(start)]
    return tuple(dict.fromkeys(key for key in keys if key))


def build_all(cls: type[T], values: Values) -> dict[str, T]:
    """Make every item of a keyed class, by key, in order of appearance."""
    return {key: build(cls, values, key) for key in keys_of(cls, values)}
