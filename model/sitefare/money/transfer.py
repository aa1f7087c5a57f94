"""What does it cost to bring money, rather than food, to the people served?

A transfer costs its value, a share of it for running the programme, and a fee each time it is
paid. So a sum a person-day is worth less in a market than it costs the funder, and a ration
bought with cash costs the funder more than its price.
"""

from sitefare.arrays import Array
from sitefare.assumptions.declaration import inputs, quantity, text


@inputs("transfer", keyed=True)
class TransferInputs:
    """One kind of transfer, cash or vouchers."""

    title: str = text(doc="The transfer in words.")
    administration: Array = quantity(
        "1", low=0, high=5, doc="Cost of running the programme over the value transferred."
    )
    fee: Array = quantity("money", low=0, doc="Fee of paying one transfer.")
    transfers_year: Array = quantity(
        "1/year", low=1, high=365, varies="choice", doc="Transfers made in a year."
    )
    persons: Array = quantity("person", low=1, high=30, doc="Persons that one transfer is for.")


def fee_person_day(kind: TransferInputs) -> Array:
    """Return the fees a person-day, (draws, 1). [money/person/day]"""
    return kind.fee * kind.transfers_year / (365.0 * kind.persons)


def cost_of_transfer(kind: TransferInputs, worth: Array) -> Array:
    """Return what it costs to transfer a value a person-day. [money/person/day]

    Parameters
    ----------
    kind : TransferInputs
        The transfer.
    worth : array, shape (draws, 1)
        Value that a person receives a day. [money/person/day]
    """
    return worth * (1.0 + kind.administration) + fee_person_day(kind)


def worth_of_cost(kind: TransferInputs, cost: Array) -> Array:
    """Return the value that reaches a person for a cost a person-day; below 0, nothing does.

    Parameters
    ----------
    kind : TransferInputs
        The transfer.
    cost : array, shape (draws, 1)
        What the funder spends. [money/person/day]

    Returns
    -------
    array, shape (draws, 1)
        The inverse of `cost_of_transfer`. [money/person/day]
    """
    return (cost - fee_person_day(kind)) / (1.0 + kind.administration)
