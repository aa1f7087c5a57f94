"""How long does a planting take, and in which months is it cut?

A planting ripens when it has grown what it would grow in its listed days at reference light and
warmth: days to harvest = listed days over speed. Beds are planted a little every week, so that
where a crop stands all year a month's harvest is the month's growth: slower growth fills fewer
heads, each as heavy. A crop with a season has nothing to cut until its first planting ripens,
and is cleared by the season's end.
"""

import numpy as np

from sitefare.arrays import DAYS, Array
from sitefare.timeline import Timeline

#: Most that a short season's growth is cut late: a month's harvest over its growth. What does
#: not ripen in a season shorter than two plantings is lost. [1]
MOST_CAUGHT_UP = 2.0


def speed(response: Array, shortest: Array, longest: Array) -> Array:
    """Return growth over that of the listed days, within limits on days. [1]

    Parameters
    ----------
    response : Array, shape (draws, 12)
        Growth over growth at reference light and in mild air. [1]
    shortest, longest : Array, shape (draws, 1)
        Limits of days to harvest over the listed days. [1]
    """
    return np.asarray(np.clip(response, 1.0 / longest, 1.0 / shortest))


def cut_share(days: Array, needed: Array, growth: Array) -> Array:
    """Return harvest over growth by month of a typical year, (draws, 12). [1]

    A season's growth is cut between its first ripe planting and its end.

    Parameters
    ----------
    days : Array, shape (draws, 12)
        Days of growth at the listed speed that each month is worth. [day]
    needed : Array, shape (draws, 1)
        Listed days from planting out to harvest. [day]
    growth : Array, shape (draws, 12)
        Growth in the month, 0 where nothing stands. [kg]
    """
    open_ = growth > 0.0
    if np.all(open_):
        return np.ones_like(growth)
    shape = np.broadcast_shapes(days.shape, growth.shape, (*needed.shape[:1], 12))
    days, open_ = np.broadcast_to(days, shape), np.broadcast_to(open_, shape)
    since, ripe = np.zeros(shape[0]), np.zeros(shape)
    for step in range(24):  # twice round, so that January knows of December
        month = step % 12
        since = (since + days[:, month]) * open_[:, month]
        ripe[:, month] = np.clip((since - needed[:, 0]) / days[:, month], 0.0, 1.0)
    ripe = np.where(np.all(open_, axis=1, keepdims=True), 1.0, ripe * open_)
    total, cut = (np.sum(x, axis=1, keepdims=True) for x in (growth, growth * ripe))
    caught = np.minimum(total / np.where(cut > 0.0, cut, 1.0), MOST_CAUGHT_UP)
    return np.asarray(ripe * caught)


def harvest(
    growth: Array, season: tuple[Array, Array], needed: Array, planted: Array, timeline: Timeline
) -> Array:
    """Return harvest by project month, (draws, months + 1). [kg]

    Parameters
    ----------
    growth : Array, shape (draws, months + 1)
        Growth of bed in production. [kg/month]
    season : tuple of Array, shape (draws, 12)
        Speed and harvest over growth in a typical year. [1]
    needed : Array, shape (draws, 1)
        Listed days from planting out to harvest. [day]
    planted : Array, shape (draws, 1)
        Project month, with its fraction, in which planting starts. [month]
    """
    quick, cut = season
    days = timeline.life(quick * DAYS)
    on = np.clip(timeline.month[None, :] - planted, 0.0, 1.0)
    since = np.cumsum(days * on * (growth > 0.0), axis=1)
    ready = np.clip((since - needed) / days, 0.0, 1.0)
    return np.asarray(growth * timeline.life(cut) * ready)
