"""What noise does to the rows of a fit, in closed form; reference: the same by dense matrices in NumPy."""

import numpy as np
import pytest

from pegwood.instruments.shutter._steady import Known, Rows, Shape, Steady

STEP = 0.01
SHAPE = (30, 17, 41)  # blocks before, between and after


def trapezoidal(n: int) -> np.ndarray:
    """The trapezoidal rule from the first reading on, as a matrix."""
    rule = np.zeros((n, n))
    for i in range(1, n):
        rule[i] = rule[i - 1]
        rule[i, i - 1 : i + 1] += STEP / 2
    return rule


def without_what_is_free(lit: int | None) -> np.ndarray:
    """The matrix that picks the used readings and takes off darkness, a slope, and the level of a step."""
    left, between, _ = SHAPE
    at = np.r_[0:left, left + between : sum(SHAPE)]
    pick = np.zeros((len(at), sum(SHAPE)))
    pick[np.arange(len(at)), at] = 1
    is_lit = np.zeros(len(at)) if lit is None else (np.arange(len(at)) < left) == (lit == 0)
    free = np.stack([np.ones(len(at)), at, is_lit], axis=1)[:, : 2 if lit is None else 3]
    return pick - free @ np.linalg.pinv(free) @ pick


@pytest.mark.parametrize("lit", [None, 0, 1])
def test_what_noise_adds_to_the_normal_equations_is_what_matrices_say(lit):
    rule, seen = trapezoidal(sum(SHAPE)), without_what_is_free(lit)
    once, twice = -seen @ rule, -seen @ rule @ rule
    noisy = Rows(np.zeros((71, 3)), np.zeros(71), Shape(*SHAPE, lit), STEP).noisy
    normal = [[np.sum(one * other) for other in (once, twice)] for one in (once, twice)]
    np.testing.assert_allclose(noisy.normal, normal, rtol=1e-9, atol=1e-12)
    right = [np.sum(once * seen), np.sum(twice * seen)]
    np.testing.assert_allclose(noisy.right, right, rtol=1e-9, atol=1e-12)
    assert noisy.spare == np.linalg.matrix_rank(seen)


@pytest.mark.parametrize("lit", [None, 0, 1])
def test_how_the_right_side_scatters_is_what_matrices_say(lit):
    a, b = 30.0, 200.0
    rule, seen = trapezoidal(sum(SHAPE)), without_what_is_free(lit)
    columns = seen @ np.random.default_rng(3).normal(size=(sum(SHAPE), 3))
    left_over = seen @ (np.eye(sum(SHAPE)) + a * rule + b * rule @ rule)
    scores = Rows(columns, columns[:, 0], Shape(*SHAPE, lit), STEP).scores(a, b)
    np.testing.assert_allclose(scores, columns.T @ left_over @ left_over.T @ columns, rtol=1e-9)


def test_a_light_that_is_dark_on_both_sides_leaves_nothing_over_behind_one_capacitor():
    # y' + w y = x' with x a pulse: after it y decays as exp(-w t), the textbooks' high-pass
    w, step, n = 20.0, 1e-4, 8000
    t = np.arange(n) * step
    y = np.where((t >= 0.2) & (t < 0.3), np.exp(-w * (t - 0.2)), 0.0)
    y += np.where(t >= 0.3, np.exp(-w * (t - 0.2)) - np.exp(-w * (t - 0.3)), 0.0)
    rows = Steady.read(y, Known(0, 1990, 3010, n), step, 10).rows(n, 0)
    assert rows is not None
    found = float(rows.columns[:, 0] @ rows.seen / (rows.columns[:, 0] @ rows.columns[:, 0]))
    assert found == pytest.approx(w, rel=2e-3)
