"""What food reaches people beyond the ration, and what could it do?

Those counted get the ration and no more; food beyond the binding part feeds nobody in the count.
Here it is told apart: kilograms a year, the ration's portions it holds, and how many more a
ration of vegetables alone would feed with it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from sitefare.arrays import DAYS, Array, year_sum
from sitefare.assumptions.declaration import Values, build, build_all
from sitefare.people.food import FoodInputs, is_fish
from sitefare.people.rations import RationInputs
from sitefare.people.result import PeopleFed


@dataclass(frozen=True)
class Surplus:
    """Food beyond the headline ration over a full year, of the first draw.

    `kg` is fresh and live weight a year by food. `portions` holds, by `vegetables` and `fish`,
    the people for whom it would give the headline's portion on the mean day of the year and in
    its worst month. `alone` is the ration of vegetables alone, and `more` the people whom the
    surplus of vegetables would feed by it, likewise; both empty where the table has none.
    """

    kg: Mapping[str, float]
    portions: Mapping[str, tuple[float, float]]
    alone: str
    more: tuple[float, float]

    def total(self, fish: bool, species: str) -> float:  # noqa: FBT001
        """Sum fish, or vegetables. [kg/year]"""
        return sum(kg for key, kg in self.kg.items() if (key == species) == fish)


def surplus(values: Values, fed: PeopleFed) -> Surplus:
    """Return what reaches people beyond the headline ration.

    Parameters
    ----------
    values : mapping
        Resolved values at base.
    fed : PeopleFed
        What the harvest feeds.
    """
    foods = {key: build(FoodInputs, values, key) for key in fed.beyond_g}
    table = build_all(RationInputs, values)
    headline = table[fed.headline]
    season = {
        name: _sum(fed.beyond_g, [k for k in foods if is_fish(foods[k]) == (name == "fish")])
        for name in ("vegetables", "fish")
    }
    asked = {name: getattr(headline, name) * headline.share for name in season}
    alone = next(
        (key for key, one in table.items() if one.counted == "grams" and not one.fish.any()), ""
    )
    more = (0.0, 0.0)
    if alone:
        more = _two(season["vegetables"], table[alone].vegetables * table[alone].share)
    return Surplus(
        {key: _kilograms(fed.beyond_g[key], foods[key]) for key in foods},
        {n: _two(g, asked[n]) for n, g in season.items() if headline.counted == "grams"},
        alone,
        more,
    )


def _sum(grams: Mapping[str, Array], keys: list[str]) -> Array:
    """Sum seasons of some foods. [g/day]"""
    return sum((grams[key] for key in keys), 0.0 * next(iter(grams.values())))


def _two(grams: Array, portion: Array) -> tuple[float, float]:
    """Return portions a day on the year's mean and in the worst month; none where none is asked."""
    if float(portion[0, 0]) <= 0:
        return 0.0, 0.0
    people = grams[:1] / portion[:1]
    return float(year_sum(people * DAYS)[0, 0]) / 365.0, float(people.min())


def _kilograms(grams: Array, food: FoodInputs) -> float:
    """Return a season of edible grams a day as fresh or live weight. [kg/year]"""
    edible = float(year_sum(grams * DAYS)[0, 0]) / 1000.0
    share = float(food.edible_share[0, 0])
    return edible / share if share > 0 else 0.0
