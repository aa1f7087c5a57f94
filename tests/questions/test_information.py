"""What evidence is worth: analytic curved cases, orders that must hold, and errors stated."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm, qmc

from sitefare.questions.additive import fitted
from sitefare.questions.information import by_chance, gain, partial, perfect, with_none


def points(draws, dimensions, seed=1):
    rng = np.random.default_rng(seed)
    return qmc.Sobol(dimensions, scramble=True, rng=rng).random(draws)


def curved(z, level=0.5):
    """Return a payoff that is best in the middle of one unknown, blurred by another."""
    return level - z[:, 0] ** 2 + 0.7 * z[:, 1]


@pytest.mark.identity
@pytest.mark.parametrize("level", [0.5, 1.0, 1.5])
def test_a_quadratic_payoff_meets_its_integral(level):
    # A straight line would see nothing in an unknown whose effect is even about its mean.
    # Probabilities are clipped to 0.01–0.99, as those of the model's draws are.
    z = norm.ppf(np.clip(points(8192, 3), 0.01, 0.99))
    model = fitted({"bent": z[:, 0], "blur": z[:, 1], "none": z[:, 2]}, curved(z, level))
    end, reach = norm.ppf(0.99), np.sqrt(level)
    inside, _ = quad(lambda x: (level - x * x) * norm.pdf(x), -reach, reach)
    square, _ = quad(lambda x: x * x * norm.pdf(x), -end, end)
    mean = level - square - 0.02 * end**2
    assert partial([model], ["bent"]).value == pytest.approx(inside - max(mean, 0.0), abs=0.008)
    assert partial([model], ["none"]).value < 1e-3


@pytest.mark.identity
def test_a_straight_unknown_beside_a_bent_one():
    z = norm.ppf(np.clip(points(8192, 2), 0.01, 0.99))
    model = fitted({"bent": z[:, 0], "straight": z[:, 1]}, curved(z, 1.0))
    end = norm.ppf(0.99)
    square, _ = quad(lambda x: x * x * norm.pdf(x), -end, end)
    mean = 1.0 - square - 0.02 * end**2
    above, _ = quad(
        lambda x: max(mean + 0.7 * x, 0.0) * norm.pdf(x), -end, end, points=[-mean / 0.7]
    )
    exact = above + 0.01 * (mean + 0.7 * end) - mean
    assert partial([model], ["straight"]).value == pytest.approx(exact, abs=0.008)


@pytest.mark.identity
def test_an_unknown_of_two_that_act_together():
    # Payoff = product of two standard normals: each alone is worth nothing, both all of it.
    u = points(8192, 2)
    z = norm.ppf(u)
    model = fitted({"a": z[:, 0], "b": z[:, 1]}, 0.4 * (z[:, 0] + z[:, 1]) + z[:, 0] * z[:, 1])
    payoff = with_none(0.4 * (z[:, 0] + z[:, 1]) + z[:, 0] * z[:, 1])
    alone = partial([model], ["a"]).value
    both = partial([model], ["a", "b"]).value
    assert alone == pytest.approx(0.4 * norm.pdf(0), abs=0.02)
    assert alone < 0.6 * both
    assert both == pytest.approx(perfect(payoff).value, rel=0.12)


def test_knowing_part_is_never_worth_more_than_knowing_all():
    z = norm.ppf(points(2048, 5))
    payoff = -0.3 + z[:, 0] + 0.5 * z[:, 1] - 0.4 * z[:, 2]
    model = fitted({f"x{i}": z[:, i] for i in range(5)}, payoff)
    everything = perfect(with_none(payoff))
    parts = [partial([model], [f"x{i}"]) for i in range(5)]
    for part in parts:
        assert 0 <= part.value <= everything.value + 2 * everything.error
    assert partial([model], ["x0", "x1"]).value >= parts[0].value
    assert partial([model], [f"x{i}" for i in range(5)]).value == pytest.approx(
        everything.value, rel=0.03
    )
    assert not parts[3].told
    assert not parts[4].told
    assert parts[3].value < 0.01


def test_nothing_is_worth_knowing_when_no_draw_decides_otherwise():
    z = norm.ppf(points(1024, 2))
    payoff = -20 + z[:, 0] + z[:, 1]
    assert perfect(with_none(payoff)).value == 0
    model = fitted({"a": z[:, 0], "b": z[:, 1]}, payoff)
    assert partial([model], ["a"]).value == 0
    assert not partial([model], ["a"]).told


def test_a_number_without_meaning_is_not_told_among_many():
    # 200 numbers that do nothing; at the turn, where noise looks most like news.
    rng = np.random.default_rng(5)
    z = rng.standard_normal((2048, 201))
    payoff = z[:, 0] + rng.standard_normal(2048)
    model = fitted({f"x{i}": z[:, i] for i in range(201)}, payoff)
    chance = by_chance([model])
    told = sum(partial([model], [f"x{i}"], chance=chance).told for i in range(1, 201))
    assert told <= 20
    assert partial([model], ["x0"], chance=chance).told


def test_the_stated_error_covers_other_seeds():
    # Independent draws, away from the turn: exactly there the sample's own mean takes part off.
    exact = norm.pdf(0.5) - 0.5 * norm.cdf(-0.5)
    found = []
    for seed in range(12):
        z = np.random.default_rng(seed).standard_normal((1024, 2))
        model = fitted({"a": z[:, 0], "b": z[:, 1]}, 0.5 + z[:, 0] + z[:, 1])
        found.append(partial([model], ["a"]))
    values = np.array([w.value for w in found])
    errors = np.array([w.error for w in found])
    assert abs(values.mean() - exact) < 0.02
    assert np.mean(np.abs(values - exact) < 2 * errors) >= 0.75
    assert 0.5 < errors.mean() / values.std() < 2


def test_options_are_free_to_be_named_in_any_order_and_scaled():
    rng = np.random.default_rng(3)
    table = rng.normal(size=(500, 4))
    assert gain(table) == pytest.approx(gain(table[:, ::-1]))
    assert gain(3 * table) == pytest.approx(3 * gain(table))
    assert gain(table + 7) == pytest.approx(gain(table))
    assert perfect(table).error > 0
