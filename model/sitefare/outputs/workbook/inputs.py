"""Which values are in force, where did each come from, and which may be changed here?

Sheet Inputs holds one row for each value, sheet Items the item tables, such as the bill of
quantities, and what is given by calendar month. Every number has a defined name, `in_` and its
name with dots as underscores. Money stands in the site's currency at the appraisal date; the
note says what its own file gives.
"""

import itertools
from collections.abc import Iterator

from sitefare.assumptions.case import Case
from sitefare.assumptions.declaration import DECLARED, Declared, Spec
from sitefare.assumptions.rows import MONTHS, Row, declared_field, item_columns
from sitefare.outputs.workbook.frame import Cell, Kind, Sheet, Table, TableCell
from sitefare.outputs.workbook.made import Made
from sitefare.outputs.workbook.resolve import spread

#: Inputs below this show more decimals. [any unit]
SMALL = 0.01

#: Columns after a value: range and origin.
ORIGIN = ("Low", "High", "Source", "Where in it", "As of", "Basis", "Note")

#: Narrowest and widest columns of item tables, that of the items' titles, that of notes at the
#: end of the widest. [character]
NARROW, BROAD, TITLES, NOTES = 11.0, 21.0, 40.0, 60.0

#: Groups that money reads stand first, multipliers of the farm's flows at the head.
FIRST_GROUPS = (
    "adjust", "economy", "project", "drift", "price", "wage", "tariff", "heating_fuel_price",
    "sales", "freight", "capital", "phase", "retention", "land", "operations", "working_capital",
    "vat", "tax", "treasury", "funding_plan", "debt_reserve", "owners", "economic",
    "distribution", "storage",
)  # fmt: skip


def unit_words(spec: Spec, currency: str) -> str:
    """Return a declared unit with the site's currency for money; nothing for a plain number."""
    if spec.unit in ("text", "choice"):
        return ""
    return spec.unit.replace("money", currency)


def given_as(case: Case, name: str) -> str:
    """Say what a money row's own file gives, where it is not the value shown."""
    row, given = case.rows[name], case.given.get(name)
    if given is None or not given.currency or given.base in (0.0, row.base):
        return row.note
    own = given.spec.unit.replace("money", given.currency)
    words = f"Given as {given.base:.6g} {own} of {given.as_of}."
    return f"{words} {row.note}".strip()


def printed(*numbers: float) -> Kind:
    """Return how inputs are printed: whole numbers as they stand, others in a few decimals."""
    if all(x == round(x) for x in numbers):
        return "general"
    return "fine" if min(abs(x) for x in numbers if x) >= SMALL else "finest"


def input_cell(row: Row) -> Cell:
    """Return the input cell of a row."""
    spec = row.spec
    if spec.kind == "monthly":
        kind = printed(*row.months)
        return Cell(row.months, kind, row=row.name, low=spec.low, high=spec.high)
    if spec.kind == "quantity":
        return Cell(row.base, printed(row.base), row=row.name, low=spec.low, high=spec.high)
    return Cell(row.text, "text", row=row.name)


def origin(case: Case, row: Row) -> tuple[TableCell, ...]:
    """Return range and origin of a row, in the order of `ORIGIN`."""
    ends: list[TableCell] = [
        None if x is None else Cell(x, printed(x)) for x in (row.low, row.high)
    ]
    return (*ends, row.source, row.locator, row.as_of, row.basis, given_as(case, row.name))


def _declared(row: Row) -> Declared:
    found = declared_field(row.name)
    assert found is not None  # noqa: S101 -- rows are checked on reading
    return found[0]


def in_tables(declared: Declared) -> bool:
    """Say whether a class stands as an item table."""
    return declared.keyed and declared.table


def shown(case: Case) -> Iterator[Row]:
    """Yield the rows that this case uses, those of money first, then as the tables have them."""
    rows = [row for name, row in case.rows.items() if case.uses(name)]
    place = {group: n for n, group in enumerate(FIRST_GROUPS)}
    return iter(sorted(rows, key=lambda r: place.get(r.name.partition(".")[0], len(place))))


def inputs_table(case: Case) -> Table:
    """Return the table of single values, grouped by the first part of the name."""
    rows: list[tuple[TableCell, ...]] = []
    single = [r for r in shown(case) if not in_tables(_declared(r)) and r.spec.kind != "monthly"]
    for group, members in itertools.groupby(single, key=lambda r: r.name.partition(".")[0]):
        rows.append((Cell(group_title(group), "text", strong=True),))
        rows.extend(
            (row.spec.doc.rstrip("."), unit_words(row.spec, case.currency), row.name,
             input_cell(row), *origin(case, row))
            for row in members
        )  # fmt: skip
    return Table(("What it is", "Unit", "Name", "Value", *ORIGIN), tuple(rows))


def group_title(group: str) -> str:
    """Return a group's title: the first sentence of its declaration."""
    words = (DECLARED[group].cls.__doc__ or group).strip().splitlines()[0]
    return words.rstrip(".").replace("`", "")


def monthly_table(case: Case) -> Table | None:
    """Return the table of rows given by calendar month, or nothing."""
    rows = [
        (row.name, unit_words(row.spec, case.currency), row.spec.doc.rstrip("."),
         input_cell(row), *origin(case, row)[2:])
        for row in shown(case)
        if row.spec.kind == "monthly"
    ]  # fmt: skip
    columns = ("Name", "Unit", "What it is", *(m.capitalize() for m in MONTHS), *ORIGIN[2:])
    return Table(columns, tuple(rows), "Given by calendar month") if rows else None


def item_table(case: Case, declared: Declared, keys: list[str]) -> Table:
    """Return one item table: an item a row, its numbers named one by one."""
    columns = item_columns(declared)
    fields = [c.partition(" [")[0] for c in columns if c.partition(" [")[0] in declared.specs]
    if declared.measure:
        fields.append(declared.measure)
    titles = [_title(declared, name, case.currency) for name in fields]
    rows = []
    for key in keys:
        held = [case.rows[f"{declared.prefix}.{key}.{name}"] for name in fields]
        rows.append((key, *(input_cell(row) for row in held), *origin(case, held[-1])))
    title = f"{declared.prefix}: {group_title(declared.prefix)}"
    return Table(("Item", *titles, *ORIGIN), tuple(rows), title)


def _title(declared: Declared, name: str, currency: str) -> str:
    unit = unit_words(declared.specs[name], currency)
    words = name.replace("_", " ").capitalize()
    return f"{words}, {unit}" if unit not in ("", "1") else words


def item_tables(case: Case) -> Iterator[Table]:
    """Yield every item table that this case uses, its items those that it reads."""
    for prefix, declared in DECLARED.items():
        if not in_tables(declared):
            continue
        names = [n for n in case.rows if n.startswith(prefix + ".")]
        keys = list(dict.fromkeys(n.split(".")[1] for n in names if case.uses(n)))
        whole = [k for k in keys if all(f"{prefix}.{k}.{f}" in case.rows for f in declared.specs)]
        if whole:
            yield item_table(case, declared, whole)


def inputs_sheet(made: Made) -> Sheet:
    """Return the sheet of single values."""
    lead = (
        "Every value in force. Ochre cells may be changed and all that follows moves; the others "
        "shape the farm itself or a choice that formulas are written for: change them in the model. "
        "A cell is named in_ and the row's name, dots as underscores; unit 1 is a share or a ratio."
    )
    widths = {0: 56.0, 1: 15.0, 2: 34.0, 3: 15.0, 4: 11.0, 5: 11.0, 6: 19.0, 7: 22.0, 8: 9.0,
              9: 11.0, 10: 76.0}  # fmt: skip
    return Sheet(
        "Inputs",
        "Inputs",
        lead,
        (inputs_table(made.case),),
        widths=widths,
        part="inputs",
        wraps=True,
    )


def items_sheet(made: Made) -> Sheet:
    """Return the sheet of item tables and monthly values."""
    lead = (
        "Tables of items, one item a row, and values by calendar month. Ochre cells may be changed. "
        "A cell is named in_, then the word before the table's colon, the item, the column: "
        "in_bill_pump_price."
    )
    monthly = monthly_table(made.case)
    tables = (*((monthly,) if monthly else ()), *item_tables(made.case))
    return Sheet(
        "Items", "Items", lead, tables, widths=widths_of(tables), part="inputs", wraps=True
    )


def widths_of(tables: tuple[Table, ...]) -> dict[int, float]:
    """Return widths of columns in which every word and number of some tables fits. [character]"""
    widths: dict[int, float] = {}
    for table in tables:
        for cells in table.rows:
            for column, cell in spread(cells):
                for n, x in enumerate(words_of(cell)):
                    most = TITLES if column == 1 else BROAD
                    wide = min(max(len(x) + 2.5, NARROW), most)
                    widths[column + n] = max(widths.get(column + n, NARROW), wide)
    return widths | {max(widths, default=0): NOTES}


def words_of(cell: TableCell) -> tuple[str, ...]:
    """Return the words that a cell shows, longest for numbers."""
    if not isinstance(cell, Cell):
        return (str(cell or ""),)
    many = cell.value if isinstance(cell.value, tuple) else (cell.value,)
    return tuple(x if isinstance(x, str) else f"{x:,.5f}".rstrip("0") for x in many)
