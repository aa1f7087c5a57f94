"""What would each uncertain assumption be in draw number i?

Low, base and high are the 1-in-10 low, the middle and the 1-in-10 high; the distribution
passes through all three (Keelin 2016, The metalog distributions, Decision Analysis 13(4),
three terms, symmetric percentiles). Probabilities are clipped to 0.01–0.99. Draws come from
one scrambled Sobol sequence whose dimensions are the sorted keys, so a draw depends on its
number and its seed only.
"""

import hashlib
from collections.abc import Sequence
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy.special import expit, logit
from scipy.stats import qmc

from sitefare.arrays import Array
from sitefare.assumptions.declaration import Spec
from sitefare.errors import AssumptionError

Transform = Literal["none", "log", "logit"]

#: Logit of 0.9, the half-width of the P10–P90 interval in logits. [1]
LOGIT_P90 = np.log(9.0)

#: Feasible span of (base − low)/(high − low) for the three-term metalog (Keelin 2016, eq. 22). [1]
FEASIBLE = (0.167, 0.833)

#: Largest count of draws. [1]
MOST_DRAWS = 1_048_576

#: Numbers that the counter generator gives at each step of its counter (Salmon et al. 2011). [1]
OUTPUTS = 4

#: Probabilities are clipped to this span. [1]
CLIP = (0.01, 0.99)


def transform_for(spec: Spec, low: float, high: float) -> Transform:
    """Choose the transform that keeps draws inside the declared bounds.

    A range that touches a bound is used untransformed and its draws are clipped to the bounds.
    """
    if np.isfinite(spec.low) and np.isfinite(spec.high):
        return "logit" if spec.low < low and high < spec.high else "none"
    if np.isfinite(spec.low):
        return "log" if low > spec.low else "none"
    return "none"


def _forward(x: float, spec: Spec, kind: Transform) -> float:
    """Move a number to the transformed scale."""
    if kind == "log":
        return float(np.log(x - spec.low))
    if kind == "logit":
        return float(logit((x - spec.low) / (spec.high - spec.low)))
    return x


def _back(y: Array, spec: Spec, kind: Transform) -> Array:
    """Move numbers back from the transformed scale, clipped to the bounds."""
    if kind == "log":
        return np.asarray(spec.low + np.exp(y))
    if kind == "logit":
        return np.asarray(spec.low + (spec.high - spec.low) * expit(y))
    return np.clip(y, spec.low, spec.high)


def quantile(spec: Spec, triple: tuple[float, float, float], u: Array) -> Array:
    """Return the value at probability u of the distribution through low, base and high.

    Parameters
    ----------
    spec : Spec
        Declaration, for the bounds.
    triple : (float, float, float)
        P10, P50, P90. [canonical unit]
    u : array
        Probabilities, clipped to 0.01–0.99. [1]

    Returns
    -------
    array, shape of `u`
        [canonical unit]
    """
    low, base, high = triple
    kind = transform_for(spec, low, high)
    a, m, b = (_forward(x, spec, kind) for x in (low, base, high))
    z = logit(np.clip(u, *CLIP))
    place = (m - a) / (b - a)
    if FEASIBLE[0] < place < FEASIBLE[1]:
        spread = (b - a) / (2 * LOGIT_P90)
        skew = (b + a - 2 * m) / (0.8 * LOGIT_P90)
        y = m + spread * z + skew * (np.clip(u, *CLIP) - 0.5) * z
    else:
        slope = np.where(z < 0, (m - a) / LOGIT_P90, (b - m) / LOGIT_P90)
        y = m + slope * z
    return _back(np.asarray(y), spec, kind)


def method(spec: Spec, triple: tuple[float, float, float]) -> str:
    """Say in words how a range is sampled, for the register."""
    low, base, high = triple
    kind = transform_for(spec, low, high)
    a, m, b = (_forward(x, spec, kind) for x in (low, base, high))
    shape = "three-term metalog" if FEASIBLE[0] < (m - a) / (b - a) < FEASIBLE[1] else "two slopes"
    words = {"none": "untransformed, clipped at the bounds", "log": "log", "logit": "logit"}
    if kind == "none" and not (np.isfinite(spec.low) or np.isfinite(spec.high)):
        words["none"] = "unbounded"
    return f"{shape}, {words[kind]}"


def check_draws(draws: int, seed: int) -> None:
    """Refuse a count of draws or a seed that no draws can be made of.

    Raises
    ------
    AssumptionError
        Naming what is accepted.
    """
    if seed < 0:
        msg = f"seed must be a whole number from 0; found {seed}"
        raise AssumptionError(msg)
    if draws > MOST_DRAWS:
        msg = f"draws must be at most {MOST_DRAWS:,}; found {draws:,}"
        raise AssumptionError(msg)
    if draws < 0 or draws & (draws - 1):
        near = 1 << max(draws, 1).bit_length()
        msg = f"draws must be 0 or a power of two, such as {near // 2} or {near}; found {draws}"
        raise AssumptionError(msg)


def sobol(keys: Sequence[str], draws: int, seed: int, first: int = 0) -> dict[str, Array]:
    """Return a scrambled Sobol column for each key, (draws, 1). [1]

    Draw i is the same whatever `draws` is; `first` is the number of the first draw returned.

    Raises
    ------
    AssumptionError
        If `draws` is not a power of two.
    """
    check_draws(draws, seed)
    ordered = sorted(set(keys))
    if not ordered:
        return {}
    engine = qmc.Sobol(len(ordered), scramble=True, rng=np.random.default_rng(seed))
    if first:
        engine.fast_forward(first)
    points = engine.random(draws)
    return {key: np.ascontiguousarray(points[:, i : i + 1]) for i, key in enumerate(ordered)}


def columns(
    union: Sequence[str], wanted: Sequence[str], draws: int, seed: int, first: int = 0
) -> dict[str, Array]:
    """Return a column of uniform numbers for each key, (draws, 1). [1]

    Those of the union follow one Sobol sequence; a key wanted beside them is drawn by its name.

    Raises
    ------
    AssumptionError
        If `draws` is not a power of two.
    """
    found = sobol(union, draws, seed, first)
    beside = sorted(set(wanted) - set(found))
    return found | {key: yearly(key, draws, 0, seed, first) for key in beside}


def yearly(key: str, draws: int, years: int, seed: int, first: int = 0) -> npt.NDArray[np.float64]:
    """Return uniform numbers by draw and project year, (draws, years + 1), keyed by name. [1]

    A counter generator (Philox) keyed by seed and name: draw i is the same whatever `draws` is.
    `first`, a multiple of 4, is the number of the first draw returned.
    """
    digest = hashlib.sha256(f"{seed}:{key}".encode()).digest()
    generator = np.random.Philox(key=int.from_bytes(digest[:16], "little"))
    generator.advance(first * (years + 1) // OUTPUTS)
    return np.random.Generator(generator).random((draws, years + 1))
