"""Between which lines does the cash of most draws run, year by year?"""

from dataclasses import dataclass

import numpy as np

from sitefare.arrays import Array, order_statistic

#: Percentiles of a fan, from its lower to its upper edge; the middle one is its line. [1]
EDGES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)


@dataclass(frozen=True)
class Fan:
    """Percentiles of paths by year, (percentiles, years + 1), and the base case. [money]"""

    edges: tuple[float, ...]
    lines: Array
    base: Array

    def line(self, edge: float) -> Array:
        """Return one percentile by year, (years + 1,). [money]"""
        found: Array = self.lines[self.edges.index(edge)]
        return found


def fan(paths: Array, base: Array, edges: tuple[float, ...] = EDGES) -> Fan:
    """Return the fan of paths, (draws, years + 1), beside the base case, (years + 1,).

    Percentiles are taken year by year: no single draw follows a line.
    """
    lines = np.empty((len(edges), paths.shape[1]))
    for year in range(paths.shape[1]):
        ordered = np.sort(paths[:, year])
        lines[:, year] = [order_statistic(ordered, edge) for edge in edges]
    return Fan(edges, lines, base)
