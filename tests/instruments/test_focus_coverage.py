"""Whether 95 % intervals hold the truth, over simulated edges and series."""

import numpy as np
import pytest
from scipy.stats import binom

from instruments.slanted import Blur, Scene
from pegwood.instruments.focus import best_focus, fit_plane, measure_edge
from pegwood.instruments.photographs import open_photograph
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Measured

pytestmark = pytest.mark.slow


def may_be(n, share=0.95, low=0.93, high=0.97):
    """Counts that 93 to 97 % of n may give, at odds of one in a hundred to either side."""
    return binom.ppf(0.01, n, low), binom.ppf(0.99, n, high)


def edges(quality, n, seed):
    rng = np.random.default_rng(seed)
    blurs = [Blur(1.0), Blur(1.6), Blur(3.0), Blur(0, 2.5), Blur(0, 4.0), Blur(0.6, 0, 3.0), Blur(0.8, 1.0)]
    for k in range(n):
        blur, degrees = blurs[k % len(blurs)], rng.uniform(2, 15) * rng.choice([-1, 1])
        lit = k % 3 > 0  # even light is the harder case for storing: nothing dithers the levels
        scene = Scene(
            blur=blur, degrees=degrees, width=200, height=200, noise=rng.uniform(0.002, 0.008),
            dark=rng.uniform(0.05, 0.15), bright=rng.uniform(0.5, 0.75),
            slope=lit * rng.uniform(-0.3, 0.3), vignette=lit * rng.uniform(0, 0.3), aside=rng.uniform(-3, 3),
        )  # fmt: skip
        held = scene.picture(rng, quality, across=bool(rng.integers(2)))
        yield measure_edge(open_photograph(held, "edge")).mtf50, blur.mtf50(degrees)


@pytest.mark.parametrize(("quality", "seed"), [(70, 11), (None, 12)])
def test_mtf50_lies_in_its_interval(quality, seed):
    n = 56
    found = list(edges(quality, n, seed))
    held = sum(low <= true <= high for (low, high), true in ((m.coverage_interval(), t) for m, t in found))
    low, high = may_be(n)
    assert low <= held <= high
    errors = np.array([m.value / true - 1 for m, true in found])
    assert (np.abs(errors) < 0.02).mean() >= 0.9
    assert abs(errors.mean()) < 0.004


def test_edges_too_sharp_to_be_stored_with_loss_have_wide_intervals_and_say_why():
    rng = np.random.default_rng(13)
    blurs = [Blur(0.4), Blur(0.5), Blur(0.65), Blur(0, 1.2)]
    n, held, told = 48, 0, 0
    for k in range(n):
        blur, degrees = blurs[k % len(blurs)], rng.uniform(2, 15)
        scene = Scene(blur=blur, degrees=degrees, width=200, height=200, noise=rng.uniform(0.002, 0.008))
        figures = measure_edge(open_photograph(scene.picture(rng), "edge"))
        low, high = figures.mtf50.coverage_interval()
        held += low <= blur.mtf50(degrees) <= high
        told += any("stored with loss" in one for one in figures.warnings)
    low, high = may_be(n)
    assert held >= low
    assert told >= 0.9 * n


def through_focus(rng, positions, z0, k, table, relative):
    """MTF50 as a disc of defocus leaves it, each with an uncertainty known from ten parts."""
    true = np.interp(np.abs(positions - z0) * k, *table)
    u = relative * np.sqrt(rng.chisquare(10, len(true)) / 10)
    return [Measured(v * (1 + relative * rng.normal()), v * s, 10) for v, s in zip(true, u, strict=True)]


@pytest.fixture(scope="module")
def tables():
    r = np.linspace(0, 8, 120)
    disc = np.array([Blur(0.6, 0, x).mtf50(5) for x in r])
    gauss = np.array([Blur(float(np.hypot(1.0, x / 2))).mtf50(5) for x in r])
    return {"disc": (r, disc), "gauss": (r, gauss)}


@pytest.mark.parametrize("kind", ["gauss", "disc"])
@pytest.mark.parametrize("positions", [5, 7, 11])
def test_best_focus_lies_in_its_interval(tables, kind, positions):
    rng = np.random.default_rng(positions)
    n, held = 500, 0
    for _ in range(n):
        z0 = rng.uniform(-0.2, 0.2)
        z = np.linspace(-0.5, 0.5, positions) + rng.uniform(-0.05, 0.05)
        series = through_focus(rng, z, z0, rng.uniform(8, 14), tables[kind], rng.uniform(0.005, 0.02))
        low, high = best_focus(z, series).best.coverage_interval()
        held += low <= z0 <= high
    low, high = may_be(n)
    assert low <= held <= high


def test_tilt_lies_in_its_interval(tables):
    rng = np.random.default_rng(5)
    places = [(0, 0), (-0.015, 0.01), (0.015, 0.01), (-0.015, -0.01), (0.015, -0.01)]
    n, held = 400, 0
    for _ in range(n):
        (right, up), curved = rng.uniform(-0.005, 0.005, 2), rng.uniform(0, 0.3)
        best = []
        for x, y in places:
            z0 = 1e3 * (right * x + up * y + curved * (x * x + y * y))  # [mm]
            z = np.linspace(-0.5, 0.5, 9)
            series = through_focus(rng, z, z0, 10, tables["disc"], 0.01)
            best.append(best_focus(z, series).best.scaled(1e-3))
        plane = fit_plane(places, best)
        for figure, true in ((plane.right, np.arctan(right)), (plane.up, np.arctan(up))):
            low, high = figure.coverage_interval()
            held += low <= true <= high
    low, high = may_be(2 * n)
    assert low <= held <= high


def test_a_series_of_photographs_finds_best_focus():
    # the whole way: rendered, stored as JPEG, opened, measured, fitted
    rng = np.random.default_rng(8)
    n, held, refused = 6, 0, 0
    for _ in range(n):
        z0 = rng.uniform(-0.08, 0.08)
        z = np.linspace(-0.3, 0.3, 6)
        series = []
        for one in z:
            blur = Blur(float(np.hypot(1.0, 9 * (one - z0))))
            scene = Scene(blur=blur, degrees=5, width=200, height=180)
            series.append(measure_edge(open_photograph(scene.picture(rng), "edge")).mtf50)
        try:
            low, high = best_focus(z, series).best.coverage_interval()
        except RefusedReadings:
            refused += 1
            continue
        held += low <= z0 <= high
    assert refused == 0
    assert held >= binom.ppf(0.01, n, 0.95)
