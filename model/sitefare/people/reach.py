"""How many people does a distribution model reach, on how many days, and who is missed?

A person is reached directly who gets a portion of the model on every day of handing over, and is
counted once however many days there are. As in the rations, a full project year counts by its
worst month of handing over or by its mean, as the headline ration does; each month of ramp-up
counts by itself, but nobody beyond those whom the full years hold. Nobody is counted beyond the
people that the model can reach. Holiday food that
goes home is handed to the same people and makes days, never more people.
"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.assumptions.declaration import Values, build_all
from sitefare.people.coverage import per_person
from sitefare.people.food import total
from sitefare.people.handover import Model
from sitefare.people.need import PopulationInputs
from sitefare.people.rations import held
from sitefare.people.result import PeopleFed
from sitefare.timeline import Timeline


@dataclass(frozen=True)
class Target:
    """People of a place, those a model means, the most it can reach, (draws, 1). [person]"""

    population: Array
    meant: Array
    most: Array


@dataclass(frozen=True)
class Reach:
    """Whom a model reaches, by month of the life, (draws, months + 1).

    `persons` are people reached directly and `person_days` the days on which they get a portion;
    `indirect` are others in their households, the population never exceeded. `eaten_kg` is the
    edible weight in those portions, `handed_kg` that of all food handed over: the rest reaches
    people too, but makes nobody a balanced portion in every month. `kept_back` marks months in
    which the food would reach more people than the model can.
    """

    model: Model
    target: Target
    persons: Array
    person_days: Array
    indirect: Array
    eaten_kg: Array
    handed_kg: Array
    kept_back: Array


@dataclass(frozen=True)
class GroupReach:
    """One row of the population: people there, reached directly and indirectly. [person]"""

    key: str
    sex: str
    age: str
    persons: Array
    direct: Array
    indirect: Array


def exclusion_error(reached: Array, meant: Array) -> Array:
    """Return the share of the people meant who are not reached: undercoverage. [1]

    Coady, Grosh and Hoddinott 2004, Targeting of Transfers in Developing Countries, ch. 2.

    Parameters
    ----------
    reached : array, shape (draws, 1)
        People reached who are among those meant. [person]
    meant : array, shape (draws, 1)
        People meant. [person]
    """
    return 1.0 - per_person(reached, meant)


def inclusion_error(outside: Array, served: Array) -> Array:
    """Return the share of those served who are not among the people meant: leakage. [1]

    Coady, Grosh and Hoddinott 2004, ch. 2.

    Parameters
    ----------
    outside : array, shape (draws, 1)
        People served who are not meant. [person]
    served : array, shape (draws, 1)
        All people served. [person]
    """
    return per_person(outside, served)


def targeting_performance(benefits: Array, population: Array) -> Array:
    """Return the share of benefits going to a group over its share of the population. [1]

    1 is no better than handing out at random (Coady, Grosh and Hoddinott 2004, ch. 2).

    Parameters
    ----------
    benefits : array, shape (draws, 1)
        The group's share of all benefits. [1]
    population : array, shape (draws, 1)
        The group's share of the people. [1]
    """
    return per_person(benefits, population)


def target_of(values: Values, model: Model) -> Target:
    """Count the people a model means, and the most it can reach.

    Those reached outside the people meant come on top, by the inclusion error.
    """
    table = build_all(PopulationInputs, values).values()
    everyone = total([one.persons for one in table])
    terms = model.inputs
    named = total([one.persons for one in table if one.group in model.targets])
    meant = named * terms.meant_share
    most = meant * terms.coverage / (1.0 - terms.inclusion_error)
    return Target(everyone, meant, np.minimum(most, everyone))


def balanced_days(model: Model, fed: PeopleFed, timeline: Timeline) -> Array:
    """Return the portions that a month's food makes with both foods in each. [1]"""
    days = DAYS[timeline.calendar][None, :]
    asked = {"vegetables": model.inputs.vegetables, "fish": model.inputs.fish}
    parts = [fed.edible_g[name] * days / g for name, g in asked.items() if np.all(g > 0.0)]
    return np.asarray(np.minimum.reduce(parts))


def reached(values: Values, fed: PeopleFed, model: Model, timeline: Timeline) -> Reach:
    """Return the people whom the food handed over by a model reaches.

    Parameters
    ----------
    values : mapping
        Resolved values, for the population.
    fed : PeopleFed
        Where the harvest goes, with this model in force.
    model : Model
        The model.
    timeline : Timeline
        The project's clock.

    Returns
    -------
    Reach
        People, days and kilograms by month. [person, person-day, kg]
    """
    target = target_of(values, model)
    feeding = model.feeding_days[:, timeline.calendar] * timeline.running
    makes = balanced_days(model, fed, timeline)
    basis = fed.rations[fed.headline].basis
    potential = _each_year(makes, feeding, fed.full, basis)
    persons = np.minimum(potential, target.most)
    home = np.where(feeding > 0.0, feeding, DAYS[timeline.calendar][None, :] * timeline.running)
    days = np.minimum(persons * home, makes)
    portion = (model.inputs.vegetables + model.inputs.fish) / 1000.0
    others = np.minimum(persons * model.inputs.household, target.population - persons)
    handed = total(list(fed.edible_g.values())) * DAYS[timeline.calendar][None, :] / 1000.0
    return Reach(
        model=model,
        target=target,
        persons=persons,
        person_days=days,
        indirect=np.maximum(others, 0.0),
        eaten_kg=days * portion,
        handed_kg=handed,
        kept_back=(potential > target.most).astype(np.float64),
    )


def _each_year(makes: Array, feeding: Array, full: Array, basis: str) -> Array:
    """Return the people that portions last for, by month of the life, (draws, months + 1). [person]

    A holiday month counts with its year; in ramp-up it counts nobody. Months of ramp-up count
    nobody beyond those whom the full years hold, as rations do.
    """
    month = per_person(makes, feeding)
    shape = (makes.shape[0], -1, 12)
    gives = np.broadcast_to(feeding, makes.shape)[:, 1:].reshape(shape)
    food, each = makes[:, 1:].reshape(shape), month[:, 1:].reshape(shape)
    if basis == "worst_month":
        year = np.min(np.where(gives > 0.0, each, np.inf), axis=2)
        year = np.where(np.isfinite(year), year, 0.0)
    else:
        year = per_person((food * (gives > 0.0)).sum(axis=2), gives.sum(axis=2))
    month = np.minimum(month, held(year, full))
    later = np.where(np.repeat(full, 12, axis=1) > 0.0, np.repeat(year, 12, axis=1), month[:, 1:])
    return np.concatenate([month[:, :1], later], axis=1)


def by_group(values: Values, found: Reach, direct: Array, indirect: Array) -> list[GroupReach]:
    """Share people reached out over the rows of the population, each counted once.

    Those meant are reached in proportion to their numbers, those outside likewise; households
    are spread over everyone who is not reached directly.

    Parameters
    ----------
    values : mapping
        Resolved values, for the population.
    found : Reach
        The model's reach.
    direct, indirect : array, shape (draws, 1)
        People reached directly, and in their households. [person]
    """
    table = build_all(PopulationInputs, values)
    target, error = found.target, found.model.inputs.inclusion_error
    outside = np.minimum(direct * error, target.population - target.meant)
    inside = direct - outside
    share = found.model.inputs.meant_share
    meant = {
        k: one.persons * (share * (one.group in found.model.targets)) for k, one in table.items()
    }
    odds = per_person(inside, target.meant)
    others = per_person(outside, target.population - target.meant)
    first = {k: meant[k] * odds + (one.persons - meant[k]) * others for k, one in table.items()}
    left = total([one.persons - first[key] for key, one in table.items()])
    return [
        GroupReach(
            key,
            str(one.sex),
            str(one.age),
            one.persons,
            first[key],
            (one.persons - first[key]) * per_person(indirect, left),
        )
        for key, one in table.items()
    ]


def households_within(budget: Array, cost: Array) -> Array:
    """Return how many households a budget reaches at a cost each. [household]

    Parameters
    ----------
    budget : array, shape (draws, 1)
        Money there is. [money]
    cost : array, shape (draws, 1)
        Cost of reaching one household through the programme. [money/household]
    """
    return per_person(budget, cost)


def people_within(budget: Array, cost: Array, size: Array) -> Array:
    """Return how many people a budget reaches in households of a size. [person]

    Parameters
    ----------
    budget : array, shape (draws, 1)
        Money there is. [money]
    cost : array, shape (draws, 1)
        Cost of reaching one household through the programme. [money/household]
    size : array, shape (draws, 1)
        People in a household. [person/household]
    """
    return households_within(budget, cost) * size
