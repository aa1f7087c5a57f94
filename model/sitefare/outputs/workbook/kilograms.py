"""Where does each kilogram of the harvest go? The first half of sheet People.

Rows follow `people/distribution`: harvest = served + sold elsewhere + eaten by staff + lost +
change in store. Food put by is eaten over a window of months: what is harvested so many months
before counts with a share of its own, a cell each. How many such cells there are is fixed when
the workbook is written, so the windows stay locked.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sitefare.arrays import Array
from sitefare.assumptions.declaration import build
from sitefare.money.project import total
from sitefare.outputs.workbook.frame import GivenScalar, Heading, Item, Line, Scalar
from sitefare.outputs.workbook.made import Made
from sitefare.people.distribution import AcceptanceInputs, DistributionInputs, withheld
from sitefare.people.food import Foods, foods_of, is_fish
from sitefare.people.handover import Model, model_in_force
from sitefare.people.storage import StorageInputs, stored

#: Kinds of food, which share losses and windows.
KINDS = ("vegetables", "fish")

#: Rows that these formulas read but follow only within what is fixed at writing.
LOCKED = frozenset({"storage.vegetables_window", "storage.fish_window"})


def food_name(key: str) -> str:
    """Return a food's key as printed."""
    return key.replace("_", " ").capitalize()


def added(terms: list[str]) -> str:
    """Join terms of a formula by plus; nothing at all is 0."""
    return "+".join(terms) or "0"


@dataclass(frozen=True)
class Table:
    """The foods of one farm: composition, harvest, kind, and the rules of handing over."""

    made: Made

    @cached_property
    def harvest(self) -> Mapping[str, Array]:
        """Marketable crops and live fish by food. [kg/month]"""
        flows = self.made.flows
        return {**flows.crop_kg, self.made.design.species: flows.fish_live_kg}

    @cached_property
    def foods(self) -> Foods:
        """Composition of the foods."""
        return foods_of(self.made.values, list(self.harvest))

    @cached_property
    def rules(self) -> DistributionInputs:
        """Shares that say where a kilogram goes."""
        return build(DistributionInputs, self.made.values)

    @cached_property
    def model(self) -> Model:
        """The distribution model in force."""
        return model_in_force(self.made.values)

    @property
    def open_months(self) -> bool:
        """Whether food is handed over in some months only."""
        return bool(self.model.closed) and self.model.inputs.holiday_food != "households"

    def kind(self, food: str) -> str:
        """Return a food's kind."""
        return KINDS[is_fish(self.foods.items[food])]

    def of(self, kind: str) -> list[str]:
        """List the foods of a kind."""
        return [food for food in self.harvest if self.kind(food) == kind]

    def line(self, food: str) -> str:
        """Return the key of a food's harvest on sheet Farm."""
        return f"farm.crop.{food}" if food in self.made.flows.crop_kg else "farm.fish"

    def window(self, kind: str) -> tuple[Array, Array]:
        """Return months of eating and loss a month of waiting. [month], [1/month]"""
        store = build(StorageInputs, self.made.values)
        return getattr(store, f"{kind}_window"), getattr(store, f"{kind}_loss")

    def ages(self, kind: str) -> range:
        """Return the months that food waits, from 0."""
        return range(int(np.ceil(self.window(kind)[0][0, 0])))

    def shares(self, kind: str) -> dict[str, float]:
        """Return the shares of a harvest lost at once, eaten by staff, offered, sold. [1]"""
        rules = self.rules
        loss, served = (
            float(getattr(rules, f"{kind}_{name}")[0, 0]) for name in ("loss", "served")
        )
        staff, taken = float(rules.staff_meals[0, 0]), float(self.model.inputs.taken[0, 0])
        left = (1.0 - loss) * (1.0 - staff)
        return {
            "staff": (1.0 - loss) * staff,
            "offered": left * served * taken,
            "elsewhere": left * (1.0 - served * taken),
        }

    def accepted_share(self, food: str) -> float:
        """Return the share of a food's harvest that people accept. [1]"""
        accept = float(build(AcceptanceInputs, self.made.values, food).share[0, 0])
        kept = withheld(self.foods.items[food], self.rules.cholera_or_hepatitis_e)
        return 0.0 if kept else self.shares(self.kind(food))["offered"] * accept

    def accepted(self, kind: str) -> Array:
        """Return what people accept of a kind, by month of harvest. [kg/month]"""
        nothing = np.zeros((1, self.made.timeline.months + 1))
        parts = [self.harvest[food] * self.accepted_share(food) for food in self.of(kind)]
        return np.asarray(sum(parts, nothing))

    def term(self, name: str) -> str:
        """Return the input cell of a row of the model in force."""
        return f"{{in:distribution_model.{self.model.key}.{name}}}"


def kilogram_items(table: Table) -> list[Item]:
    """Return the rows of kilograms."""
    items: list[Item] = [
        Heading("Shares of the harvest", "From the moment of harvest; storage below.")
    ]
    for kind in KINDS:
        items += share_items(table, kind)
    for food in table.harvest:
        items.append(accepted_item(table, food))
    for kind in KINDS:
        items += store_items(table, kind)
    items.append(Heading("Kilograms by food", "Crops as marketed, fish in live weight."))
    items += open_items(table)
    for food in table.harvest:
        items += food_items(table, food)
    for kind in KINDS:
        items += kind_items(table, kind)
    return items + total_items(table)


def share_items(table: Table, kind: str) -> list[Item]:
    """Return the shares that all foods of a kind have in common."""
    row = f"{{in:distribution.{kind}_"
    sound = f"(1-{row}loss}})"
    served = f"{row}served}}*{table.term('taken')}"
    left = f"{sound}*(1-{{in:distribution.staff_meals}})"
    formulas = {
        "staff": ("eaten by staff", f"{sound}*{{in:distribution.staff_meals}}"),
        "offered": ("offered to the people served", f"{left}*{served}"),
        "elsewhere": ("sold elsewhere", f"{left}*(1-{served})"),
    }
    shares = table.shares(kind)
    return [
        Scalar(
            f"people.{kind}.{name}_share", f"{kind.capitalize()} {words}", "1", formula,
            shares[name], kind="share",
        )
        for name, (words, formula) in formulas.items()
    ]  # fmt: skip


def accepted_item(table: Table, food: str) -> Item:
    """Return the share of one food's harvest that the people served accept."""
    key, kind, share = f"people.{food}.accepted_share", table.kind(food), table.accepted_share(food)
    label = f"{food_name(food)} accepted by the people served"
    if withheld(table.foods.items[food], table.rules.cholera_or_hepatitis_e):
        note = "Eaten raw, so kept from people while cholera or hepatitis E is present."
        return GivenScalar(key, label, "1", 0.0, note=note, kind="share")
    formula = f"{{people.{kind}.offered_share}}*{{in:acceptance.{food}.share}}"
    return Scalar(key, label, "1", formula, share, kind="share")


def months_on(age: int) -> str:
    """Say how long after harvest."""
    return "in the month of harvest" if age == 0 else f"{age} month{'s' * (age > 1)} later"


def store_items(table: Table, kind: str) -> list[Item]:
    """Return what becomes of a kilogram put by: eaten, spoiled and held, by months waited."""
    window, loss = (float(x[0, 0]) for x in table.window(kind))
    w, rest = f"{{in:storage.{kind}_window}}", f"(1-{{in:storage.{kind}_loss}})"
    items: list[Item] = []
    for age in table.ages(kind):
        waits = f"{kind.capitalize()} put by, {months_on(age)}: "
        eaten = min(max(window - age, 0.0), 1.0) / window * (1.0 - loss) ** age
        held = max(1.0 - min(window, age + 1) / window, 0.0) * (1.0 - loss) ** age
        items.append(
            Scalar(
                f"people.{kind}.eaten_{age}", waits + "handed over", "1",
                f"MAX(0,MIN(1,{w}-{age}))/{w}*{rest}^{age}", eaten, kind="share",
            )
        )  # fmt: skip
        if age < table.ages(kind)[-1]:
            formula = f"(1-MIN({w},{age + 1})/{w})*{rest}^{age}"
            key = f"people.{kind}.held_{age}"
            items.append(Scalar(key, waits + "still held", "1", formula, held, kind="share"))
        if age > 0:
            spoiled = (1.0 - min(window, age) / window) * loss * (1.0 - loss) ** (age - 1)
            formula = f"(1-MIN({w},{age})/{w})*{{in:storage.{kind}_loss}}*{rest}^{age - 1}"
            key = f"people.{kind}.spoiled_{age}"
            items.append(Scalar(key, waits + "spoiled", "1", formula, spoiled, kind="share"))
    return items


def spread(table: Table, line: str, kind: str, what: str) -> str:
    """Return the sum over months waited of a row times its share eaten, spoiled or held."""
    ages = table.ages(kind)
    ages = {"spoiled": ages[1:], "held": ages[:-1]}.get(what, ages)
    terms = [f"{{{line}{f'<{age}' if age else ''}}}*{{people.{kind}.{what}_{age}}}" for age in ages]
    return f"({added(terms)})"


def open_items(table: Table) -> list[Item]:
    """Return the row that is 1 in months of handing over, where the model stands still in some."""
    if not table.open_months:
        return []
    closed = ",".join(f"{{calendar}}={month + 1}" for month in table.model.closed)
    values = table.model.open_months[table.made.timeline.calendar][None, :]
    label, formula = "1 in months of handing over", f"IF(OR({closed}),0,1)"
    return [Line("people.open", label, "1", formula, values, kind="count")]


def food_items(table: Table, food: str) -> list[Item]:
    """Return what of one food reaches people and what is sold elsewhere."""
    fed, kind, line = table.made.fed, table.kind(food), table.line(food)
    handed = f"{{people.{food}.accepted_share}}*{spread(table, line, kind, 'eaten')}"
    served = f"{handed}*(1-{table.term('leakage')})"
    elsewhere = f"{{{line}}}*{{people.{kind}.elsewhere_share}}"
    if table.open_months:
        served += "*{people.open}"
        if table.model.inputs.holiday_food == "sold":
            elsewhere += f"+{handed}*(1-{{people.open}})"
    name = food_name(food)
    return [
        Line(
            f"people.{food}.served", f"{name}, reaches the people served", "kg", served,
            fed.served_kg[food], kind="number", total=True,
        ),
        Line(
            f"people.{food}.elsewhere", f"{name}, for sale elsewhere", "kg", elsewhere,
            fed.elsewhere_kg[food], kind="number", total=True,
        ),
    ]  # fmt: skip


def kind_items(table: Table, kind: str) -> list[Item]:
    """Return the kilograms of a kind by where they end, and what of them is lost."""
    fed, foods, name = table.made.fed, table.of(kind), kind.capitalize()
    nothing = np.zeros((1, table.made.timeline.months + 1))

    def summed(of: Mapping[str, Array]) -> Array:
        return np.asarray(sum((of[food] for food in foods), nothing))

    def line(key: str, words: str, formula: str, values: Array, *, flow: bool = True) -> Item:
        return Line(key, f"{name}, {words}", "kg", formula, values, kind="number", total=flow)

    harvest, accepted = f"people.{kind}.harvest", f"people.{kind}.accepted"
    window, loss = table.window(kind)
    waits = stored(table.accepted(kind), window, loss)
    picked = {what: added([f"{{people.{food}.{what}}}" for food in foods])
              for what in ("served", "elsewhere")}  # fmt: skip
    taken = added([f"{{{table.line(food)}}}*{{people.{food}.accepted_share}}" for food in foods])
    return [
        Heading(f"{name} by where they end"),
        line(harvest, "harvest", added([f"{{{table.line(food)}}}" for food in foods]),
             summed(table.harvest)),
        line(f"people.{kind}_kg", "reach the people served", picked["served"],
             summed(fed.served_kg)),
        line(f"people.{kind}.elsewhere", "for sale elsewhere", picked["elsewhere"],
             summed(fed.elsewhere_kg)),
        line(f"people.{kind}.staff", "eaten by staff",
             f"{{{harvest}}}*{{people.{kind}.staff_share}}", summed(fed.staff_kg)),
        line(accepted, "accepted by the people served and put by", taken, table.accepted(kind)),
        line(f"people.{kind}.spoiled", "spoiled while waiting",
             spread(table, accepted, kind, "spoiled"), waits.spoiled),
        line(f"people.{kind}.held", "in store at month end",
             spread(table, accepted, kind, "held"), waits.held, flow=False),
        line(f"people.{kind}.lost", "lost, spoiled or not accepted", lost(table, kind),
             summed(fed.lost_kg)),
    ]  # fmt: skip


def lost(table: Table, kind: str) -> str:
    """Return the formula of what is lost: at once, not accepted, spoiled, astray, in holidays."""
    harvest, accepted = f"{{people.{kind}.harvest}}", f"{{people.{kind}.accepted}}"
    parts = [
        f"{harvest}*{{in:distribution.{kind}_loss}}",
        f"{harvest}*{{people.{kind}.offered_share}}-{accepted}",
        f"{{people.{kind}.spoiled}}",
    ]
    handed = spread(table, f"people.{kind}.accepted", kind, "eaten")
    open_ = "*{people.open}" if table.open_months else ""
    parts.append(f"{handed}*{table.term('leakage')}{open_}")
    if table.open_months and table.model.inputs.holiday_food == "lost":
        parts.append(f"{handed}*(1-{{people.open}})")
    return added(parts)


def total_items(table: Table) -> list[Item]:
    """Return all that reaches people and all that is sold elsewhere, for money."""
    fed = table.made.fed
    return [
        Heading("All food"),
        Line(
            "people.served_kg", "Food that reaches the people served", "kg",
            "{people.vegetables_kg}+{people.fish_kg}", total(fed.served_kg.values()),
            kind="number", total=True, strong=True,
        ),
        Line(
            "people.elsewhere_kg", "Food for sale elsewhere", "kg",
            "{people.vegetables.elsewhere}+{people.fish.elsewhere}",
            total(fed.elsewhere_kg.values()), kind="number", total=True, strong=True,
        ),
        *(gap_item(table, kind) for kind in KINDS),
    ]  # fmt: skip


def gap_item(table: Table, kind: str) -> Item:
    """Return harvest less every place where it ends, which must be nothing."""
    at = f"people.{kind}"
    ends = added([f"{{{at}_kg}}", *(f"{{{at}.{x}}}" for x in ("elsewhere", "staff", "lost"))])
    formula = f"ROUND({{{at}.harvest}}-({ends})-({{{at}.held}}-{{{at}.held<}}),6)"
    values = np.zeros((1, table.made.timeline.months + 1))
    label = f"{kind.capitalize()}: harvest less all ends (a check, 0)"
    return Line(f"{at}.gap", label, "kg", formula, values, kind="number")
