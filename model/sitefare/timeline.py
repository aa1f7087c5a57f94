"""The project's clock.

The appraisal date is the end of month 0 (t = 0, undiscounted). Year 1 is months 1 to 12.
A life array has months + 1 entries, month 0 first.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from sitefare.arrays import Array


@dataclass(frozen=True)
class Timeline:
    """Calendar of one project.

    `start_year` and `start_month` (1 to 12) name the calendar month that is month 0;
    `years` is the appraisal period; `construction` counts the months of building after month 0.
    """

    start_year: int
    start_month: int
    years: int
    construction: int

    @property
    def months(self) -> int:
        """Months after month 0; life arrays hold one more."""
        return 12 * self.years

    @cached_property
    def month(self) -> npt.NDArray[np.int64]:
        """Month numbers 0 … months."""
        return np.arange(self.months + 1)

    @cached_property
    def calendar(self) -> npt.NDArray[np.int64]:
        """Calendar month of each project month, 0 for January."""
        return (self.start_month - 1 + self.month) % 12

    @cached_property
    def year(self) -> npt.NDArray[np.int64]:
        """Project year of each month: 0 for month 0, then 1 for months 1 to 12, and so on."""
        return (self.month + 11) // 12

    @cached_property
    def running(self) -> Array:
        """Return 1 from the first month after construction, else 0; (1, months + 1). [1]"""
        return (self.month > self.construction).astype(np.float64)[None, :]

    def full_years(self, ramp: int) -> slice:
        """Return the years of full production as a slice of yearly arrays, year 0 first.

        The first is the first whole project year that begins once building and then `ramp`
        months are over; a short appraisal keeps its last year.

        Parameters
        ----------
        ramp : int
            Months from the end of building until production counts as full. [month]
        """
        first = min(-(-(self.construction + ramp) // 12) + 1, self.years)
        return slice(first, self.years + 1)

    def life(self, season: Array) -> Array:
        """Lay a season (draws, 12) or a value (draws, 1) along the life. [same unit]"""
        if season.shape[1] == 1:
            return np.broadcast_to(season, (season.shape[0], self.months + 1))
        return season[:, self.calendar]

    def growth(self, rate: Array) -> Array:
        """Return (1 + rate)^(t/12) along the life, for a yearly rate (draws, 1). [1]"""
        return np.asarray((1.0 + rate) ** (self.month[None, :] / 12.0), dtype=np.float64)

    def by_year(self, flow: Array) -> Array:
        """Sum a life flow into project years, (draws, years + 1), year 0 first. Not for stocks."""
        later = flow[:, 1:].reshape(flow.shape[0], self.years, 12).sum(axis=2)
        return np.concatenate([flow[:, :1], later], axis=1)

    def label(self, month: int) -> str:
        """Name a project month as year-month, such as 2027-03."""
        count = self.start_year * 12 + self.start_month - 1 + month
        return f"{count // 12:04d}-{count % 12 + 1:02d}"
