"""How far diameters of simulated openings are off, and how often the 95 % interval holds the truth."""

from __future__ import annotations

import math

import numpy as np
import pytest

from instruments.irises import Taking, circle, photographed, polygon
from pegwood.instruments.iris import FocalLength, MarkedStop, Scale, analyse_iris, practice
from pegwood.instruments.photographs import open_photograph

SHAPE = (330, 380)
CASES = 110


def simulated(seed, tone_spread):
    """An opening and its picture, everything about it drawn; also the truth behind scale, tilt and curve."""
    rng = np.random.default_rng([19, seed])
    radius, n = rng.uniform(55, 130), int(rng.choice([0, 5, 6, 7, 8, 9, 10]))
    turned, bow = rng.uniform(0, 2 * math.pi), float(rng.choice([0, 3.0]))
    uneven = float(rng.choice([0, 0.004]))
    opening = circle(radius) if n == 0 else polygon(n, radius, turned, rng, uneven, bow)
    how = Taking(
        light=rng.uniform(0.35, 0.75),
        dark=rng.uniform(0.003, 0.03),
        blur=rng.uniform(0.8, 1.8),
        noise=rng.uniform(0.003, 0.02),
        vignetting=rng.uniform(0, 0.3),
        gradient=rng.uniform(0, 0.25),
        towards=rng.uniform(0, 2 * math.pi),
        tone=1 + tone_spread * rng.standard_normal(),
    )
    at = (SHAPE[1] / 2 + rng.uniform(-15, 15), SHAPE[0] / 2 + rng.uniform(-10, 10))
    return opening, n, rng, open_photograph(photographed(opening, SHAPE, at, how, rng), f"case {seed}")


@pytest.mark.slow
def test_diameters_are_within_the_bar_and_blades_are_counted_right():
    # pictures as the bar names them: their numbers follow sRGB's curve
    off, wrong = [], 0
    for seed in range(45):
        opening, n, _, photograph = simulated(seed, 0.0)
        result = analyse_iris(photograph)
        off.append(result.diameter_px.value / opening.diameter() - 1)
        wrong += result.blades is not None and result.blades != n
        assert result.roundness.value == pytest.approx(opening.roundness(), abs=0.008)
    assert np.abs(off).max() < 0.003
    assert abs(np.mean(off)) < 0.0005
    assert wrong == 0


@pytest.mark.slow
def test_intervals_of_diameter_and_error_hold_the_truth_as_often_as_they_say():
    # Scale, tilt, focal length and the camera's curve differ from what is told by as much as the budget says.
    # 93 to 97 % is asked for; the binomial's deviation at 110 cases is 2.1 %.
    known = practice()
    scale_u, focal_u = 0.001, 0.004
    tone_u, tilt_u = known["tone.spread"].value, math.radians(known["tilt.u_deg"].value)
    pixels = diameters = errors = 0
    for seed in range(CASES):
        opening, _, rng, photograph = simulated(seed, tone_u)
        # a tilted camera sees one axis shorter: the area by the cosine
        tilted = math.cos(tilt_u * rng.standard_normal()) * math.cos(tilt_u * rng.standard_normal())
        true_m = opening.diameter() * 1e-4 / math.sqrt(tilted)
        told = Scale.told(0.1 * (1 + scale_u * rng.standard_normal()), scale_u, known)
        focal = FocalLength.told(50 * (1 + focal_u * rng.standard_normal()), focal_u, known)
        result = analyse_iris(photograph, scale=told, marked=MarkedStop.parse("4"), focal=focal)
        low, high = result.diameter_px.coverage_interval()
        pixels += low <= opening.diameter() <= high
        low, high = result.diameter.coverage_interval()
        diameters += low <= true_m <= high
        low, high = result.stop.error.coverage_interval()
        errors += low <= 2 * math.log2(4 * true_m / 0.05) <= high
    assert 0.9 <= pixels / CASES <= 0.995
    assert 0.9 <= diameters / CASES <= 0.995
    assert 0.9 <= errors / CASES <= 0.995
