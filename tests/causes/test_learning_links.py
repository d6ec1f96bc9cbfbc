"""What causes show, learned where several were there: held to direct maximisation and to what was drawn."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from pegwood.causes.inference import FaultNet, Link, SignNode, posterior
from pegwood.causes.learning.links import before_sign, fitted

#: positives / jobs: none 4/80, A 30/40, B 12/40, both 35/40; causes A, B, leak
CELLS = (((0, 0), 4, 80), ((1, 0), 30, 40), ((0, 1), 12, 40), ((1, 1), 35, 40))


def jobs(cells=CELLS):
    present, likely = [], []
    for causes, yes, n in cells:
        present += [(*causes, 1)] * n
        likely += [(0, 1)] * yes + [(1, 0)] * (n - yes)
    return np.array(present, float).T, np.array(likely, float).T


def test_noisy_or_strengths_are_those_of_direct_maximisation():
    present, likely = jobs()
    found = fitted(present, likely, np.full((3, 2), 0.5), np.zeros((3, 2)), still=1e-12)
    # SciPy's BFGS on the likelihood, and EM written apart from this
    assert found.shows[:, 1] == pytest.approx([0.76967604, 0.27693706, 0.04902793], abs=1e-8)
    assert fitted(present, likely, np.full((3, 2), 0.5), np.zeros((3, 2))).shows[2, 1] == pytest.approx(
        0.04902793, abs=1e-5
    )


def minus_log(at, counts):
    """Of noisy-OR, by its formula alone, with the starting counts on the log-odds."""
    w = 1 / (1 + np.exp(-at))
    total = 0.0
    for (a, b), yes, n in CELLS:
        no = (1 - w[2]) * (1 - w[0]) ** a * (1 - w[1]) ** b
        total -= yes * np.log(1 - no) + (n - yes) * np.log(no)
    return total - (counts[:, 1] * np.log(w) + counts[:, 0] * np.log(1 - w)).sum()


def test_starting_counts_pull_as_a_beta_distribution_on_the_log_odds_and_widths_are_the_curvature():
    present, likely = jobs()
    counts = np.array([[2.0, 8.0], [9.0, 1.0], [9.8, 0.2]])
    found = fitted(present, likely, counts / 10, counts, still=1e-12)
    other = minimize(minus_log, np.zeros(3), args=(counts,), method="BFGS", options={"gtol": 1e-9})
    w = 1 / (1 + np.exp(-other.x))
    assert found.shows[:, 1] == pytest.approx(w, abs=1e-6)
    step = 1e-4 * np.eye(3)
    curved = np.array(
        [
            [
                sum(s * t * minus_log(other.x + s * one + t * two, counts) for s in (1, -1) for t in (1, -1))
                / 4e-8
                for two in step
            ]
            for one in step
        ]
    )
    known = 1 / (np.diag(np.linalg.inv(curved)) * w * (1 - w))
    # squares of slopes stand for the curvature: equal on the mean over jobs, not in any one lot of them
    assert found.known[:, 1] == pytest.approx(known, rel=0.25)


def test_without_jobs_what_was_known_stays():
    counts = np.array([[3.0, 7.0], [9.0, 1.0]])
    found = fitted(np.zeros((2, 0)), np.zeros((2, 0)), counts / 10, counts)
    assert found.shows == pytest.approx(counts / 10)
    assert found.known == pytest.approx(np.full((2, 2), 10))


def test_one_cause_alone_gives_the_dirichlet_mean():
    # Dirichlet(4,3,2,1) and counts 10,2,5,3 (SciPy); no leak
    levels = np.repeat(np.eye(4), (10, 2, 5, 3), axis=0)
    counts = np.array([[4.0, 3, 2, 1]])
    found = fitted(np.ones((1, 20)), levels.T, counts / 10, counts)
    assert found.shows[0] == pytest.approx([0.466667, 0.166667, 0.233333, 0.133333], abs=1e-6)
    assert found.known[0] == pytest.approx(np.full(4, 30), rel=0.35)


def test_three_levels_drawn_from_known_chances_are_found_again():
    rng = np.random.default_rng(5)
    true = np.array([[0.2, 0.5, 0.3], [0.6, 0.1, 0.3], [0.93, 0.05, 0.02]])
    present = np.column_stack((rng.random((4000, 2)) < 0.4, np.ones(4000)))
    shown = np.stack([rng.choice(3, 4000, p=one) for one in true], axis=1)
    seen = np.where(present == 1, shown, 0).max(axis=1)
    counts = np.full((3, 3), 1.0)
    found = fitted(present.T, np.eye(3)[seen].T, np.full((3, 3), 1 / 3), counts)
    inside = [
        low <= t <= high for n in range(3) for (low, high), t in zip(found.intervals(n), true[n], strict=True)
    ]
    assert found.shows == pytest.approx(true, abs=0.03)
    assert sum(inside) >= 7  # nine of 90 %: fewer than seven comes one time in a hundred


def test_chances_before_a_sign_are_those_the_net_began_with():
    shows = {"a": (0.3, 0.5, 0.2), "b": (0.7, 0.1, 0.2), "c": (0.1, 0.1, 0.8)}
    priors = {"a": 0.2, "b": 0.05, "c": 0.4}
    net = FaultNet(
        priors,
        {"s": SignNode(id="s", leak=(0.9, 0.06, 0.04))},
        tuple(Link(fault=one, sign="s", shows=of) for one, of in shows.items()),
    )
    for answer in ((0, 1, 0), (1, 0, 0), (0.2, 0.5, 1)):
        after = posterior(net, {"s": answer}).faults
        rows = np.array([[*(after[one] for one in shows), 1.0]])
        table = np.array([*shows.values(), (0.9, 0.06, 0.04)])
        found = before_sign(rows.T, np.array([answer], float).T, table, rows.T < 1)
        assert found[:, 0] == pytest.approx([0.2, 0.05, 0.4, 1], abs=1e-5)
