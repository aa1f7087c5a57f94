"""Which tanks stand bare after a mishap has killed their fish, and until when?

A tank that lost its fish is stocked again when its turn comes, when its fish would have left and
the tank has rested, so that harvests stay spread over the year: until then its place in the
rotation runs on with no fish in it. A tank whose turn comes in a month in which fish still die
misses it and is stocked at its next. So the rotation is never moved, and once every struck tank
has had its turn and a cycle the farm is where it would have been.
"""

import numpy as np

from sitefare.arrays import Array
from sitefare.farm.cohorts import Cohort, Moved, Tanks


class Bare:
    """Tanks without their fish, (draws, tanks), month after month."""

    def __init__(self, cohort: Cohort, draws: int, tanks: int) -> None:
        self.cohort = cohort
        self.stocked = np.sum(np.broadcast_to(cohort.stocked, cohort.pace.shape), axis=2)
        self.rank = np.arange(tanks) / tanks
        self.bare = np.zeros((draws, tanks), dtype=bool)

    def month_on(self, before: Tanks, after: Tanks, moved: Moved, share: Array) -> Moved:
        """Take the fish of bare tanks out of a month's movements.

        Parameters
        ----------
        before, after : Tanks
            The rotation as the month begins and ends.
        moved : Moved
            What would move if every tank had its fish.
        share : Array, shape (draws, 1)
            Share of the tanks that lose their fish as the month begins. [1]
        """
        struck = share > self.rank
        occupied, turn = before.size[:, :, -1] > 0.0, moved.stocked > 0.0
        lost = (self.bare | struck) & occupied
        refused = turn & struck
        fresh = turn & lost & ~refused
        none = (lost | refused) & ~fresh
        standing = self.cohort.standing(before.size)
        deaths = 0.0 if moved.deaths is None else moved.deaths
        killed = np.where(struck & ~self.bare, standing, deaths)
        biomass = np.where(none, 0.0, moved.biomass)
        stocked = np.where(none, 0.0, moved.stocked)
        gain = np.where(fresh, biomass - stocked * self.stocked, moved.gain)
        real = Moved(
            harvest=np.where(lost, 0.0, moved.harvest),
            gain=np.where(none, 0.0, gain),
            biomass=biomass,
            stocked=stocked,
            deaths=np.where(self.bare, 0.0, killed),
        )
        self.bare = none & (after.size[:, :, -1] > 0.0)
        return real
