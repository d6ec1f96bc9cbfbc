"""Reading a screw's picture, tried on pictures drawn from known sizes by code that shares nothing with it."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from pegwood.trade.reference import Reference
from pegwood.trade.threads.picture import UnclearPicture, read_screw
from pegwood.trade.threads.picture.telling import tell_picture
from trade.screws_drawn import PROFILES, draw

#: Quick pictures: twenty-odd pixels a turn.
COARSE = 0.018


def read(diameter: float, pitch: float, mm_per_px: float = COARSE, u_scale: float = 0.0, **how):
    return read_screw(draw(diameter, pitch, mm_per_px=mm_per_px, **how), mm_per_px * 1e-3, u_scale)


@pytest.mark.parametrize("profile", PROFILES)
def test_pitch_diameter_and_flanks_are_read_within_what_is_said(profile):
    found = read(2.75, 0.53, profile=profile, turned_deg=14.0, noise=0.03)
    assert abs(found.pitch_m * 1e3 - 0.53) < 2.6 * found.u_pitch_m * 1e3 < 0.005
    assert abs(found.diameter_m * 1e3 - 2.75) < 2.6 * found.u_diameter_m * 1e3 < 0.04
    assert found.angle_deg == pytest.approx(PROFILES[profile][0], abs=2 * found.u_angle_deg)


@pytest.mark.parametrize("turned", [-75.0, 0.0, 90.0])
def test_how_the_screw_lies_does_not_matter(turned):
    found = read(1.95, 0.4, turned_deg=turned, glints=True)
    assert found.pitch_m == pytest.approx(0.4e-3, rel=0.003)
    assert found.diameter_m == pytest.approx(1.95e-3, rel=0.006)
    assert abs((found.turned_deg - turned + 90) % 180 - 90) < 0.5


@pytest.mark.parametrize(("profile", "level"), [("metric", 6.0), ("ba", -3.5), ("whitworth", 4.0)])
def test_a_screw_that_does_not_quite_lie_level_has_its_shortened_pitch_put_right(profile, level):
    # the pitch is seen shortened by the cosine: 0.55 % at 6 degrees
    found = read(2.75, 0.53, mm_per_px=0.014, profile=profile, level_deg=level)
    shortened = 0.53 * (1 - math.cos(math.radians(level)))
    assert abs(found.pitch_m * 1e3 - 0.53) < 2 * found.u_pitch_m * 1e3 < 0.004
    if profile == "metric":  # how far off level rounded crests lie is known less well
        assert abs(found.pitch_m * 1e3 - 0.53) < 0.6 * shortened


def test_the_blur_of_the_edges_is_known_and_taken_off():
    for blur in (0.5, 1.5):
        found = read(2.75, 0.53, mm_per_px=0.014, blur_px=blur)
        assert found.blur_pixels == pytest.approx(math.hypot(blur, math.sqrt(1 / 12)), abs=0.15)
        assert found.diameter_m == pytest.approx(2.75e-3, abs=2 * found.u_diameter_m)


def test_a_scale_that_is_unsure_makes_all_lengths_unsure_by_as_much():
    sure, unsure = read(2.75, 0.53), read(2.75, 0.53, u_scale=0.02)
    for name in ("pitch_m", "diameter_m"):
        u = getattr(unsure, f"u_{name}")
        assert math.sqrt(u**2 - getattr(sure, f"u_{name}") ** 2) == pytest.approx(0.02 * getattr(sure, name))
    assert unsure.u_angle_deg == sure.u_angle_deg


def nothing():
    return np.full((200, 200), 0.9)


def dark_ground():
    return 1 - draw(1.95, 0.4, mm_per_px=COARSE)


def shadowed():
    """A hard shadow a little below the screw, not quite as dark."""
    picture = draw(2.70, 0.53, mm_per_px=COARSE)
    shadow = np.roll(picture < 0.5, 6, axis=0)
    return np.where(shadow, np.minimum(picture, 0.3), picture)


def rings():
    """Grooves turned into a pin: the same edge above and below, no helix."""
    x = np.arange(700)
    half = 55 + 6 * np.sin(2 * np.pi * x / 28)
    rows = np.abs(np.arange(260) - 130)[:, None]
    picture = np.full((260, 800), 0.9)
    picture[:, 50:750] = np.where(rows < half, 0.1, 0.9)
    return picture


def faint():
    return draw(1.95, 0.4, mm_per_px=COARSE, ground=0.6, screw=0.5, noise=0.02)


def smooth_pin():
    picture = np.full((150, 400), 0.9)
    picture[50:100, 60:340] = 0.1
    return picture


def washer():
    rows, columns = np.mgrid[:200, :200]
    return np.where(np.hypot(rows - 100, columns - 100) < 60, 0.1, 0.9)


@pytest.mark.parametrize(
    ("picture", "says"),
    [
        (nothing, "no dark screw"),
        (dark_ground, "ground is darker than the screw"),
        (faint, "too little to see the edge"),
        (smooth_pin, "Fewer than 6 even turns"),
        (washer, "hardly longer than wide"),
        (shadowed, "a shadow beside the screw"),
        (rings, "do not lie half a turn apart"),
        (lambda: np.linspace(0, 1, 200) * np.ones((200, 1)), "light from one side|too small"),
        (lambda: draw(1.95, 0.4, mm_per_px=COARSE, level_deg=10.0), "does not lie level"),
        (lambda: np.zeros((10, 10)), "too small"),
        (lambda: np.full((100, 100), 255.0), "between 0, black, and 1, white"),
        (lambda: draw(1.95, 0.4, mm_per_px=COARSE, blur_px=3.5), "blurred"),
        (lambda: draw(1.0, 0.25, mm_per_px=0.01, length=1.0, head=False), "even turns|hardly longer"),
        (lambda: draw(1.2, 0.3, mm_per_px=0.014, length=1.2 + 0.3, head=False), "even turns|hardly longer"),
        (lambda: draw(1.0, 0.3, mm_per_px=0.014, length=1.7, head=False), "even turns"),
        (lambda: draw(1.95, 0.4, mm_per_px=COARSE, taper_deg=3.0), "run together by 3.* at a slant"),
    ],
)
def test_a_picture_that_cannot_be_read_is_refused_with_the_reason(picture, says):
    with pytest.raises(UnclearPicture, match=says) as refusal:
        read_screw(picture(), COARSE * 1e-3)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(
    ("scale", "u_scale", "says"),
    [
        (0.0, 0.01, "A scale of 0 mm"),
        (math.nan, 0.01, "A scale of nan mm"),
        (1e-5, 0.5, "uncertainty of 50 %"),
    ],
)
def test_a_scale_that_cannot_be_is_refused(scale, u_scale, says):
    with pytest.raises(ValueError, match=re.escape(says)):
        read_screw(nothing(), scale, u_scale)


def test_a_picture_tells_threads_of_one_size_apart_by_their_flanks():
    """10 BA, Loewenherz 1.7 and the old M1.7 share diameter and pitch; a calliper cannot part them."""
    reference = Reference()
    for profile, name in (("ba", "10 BA"), ("loewenherz", "Loewenherz 1.7"), ("metric", "M1.7x0.35")):
        answer = tell_picture(reference, read(1.66, 0.35, mm_per_px=0.011, profile=profile, u_scale=0.005))
        assert answer.data["candidates"][0]["thread"] == name
        assert answer.data["candidates"][0]["p"] > 0.8
        assert answer.data["picture"]["turns"] >= 10


def test_a_wrong_scale_is_said_to_be_one():
    with pytest.raises(ValueError, match="Or the scale of the picture is wrong"):
        tell_picture(Reference(), read_screw(draw(1.95, 0.4, mm_per_px=COARSE), 10 * COARSE * 1e-3))


@pytest.mark.slow
def test_stated_uncertainties_cover_the_truth_as_often_as_they_should():
    """
    Forty pictures at all angles, blurred, noisy, with glints, slightly slanting, not quite level, scale off.

    Of forty 95 % intervals 38 should hold the truth; 34 or fewer do by chance once in seventy runs.
    """
    rng = np.random.default_rng(11)
    asked = 40
    off_pitch, off_diameter, off_angle = [], [], []
    for seed in range(asked):
        profile = str(rng.choice(list(PROFILES)))
        pitch = rng.uniform(0.25, 0.7)
        diameter = pitch * rng.uniform(4.0, 6.5)
        mm_per_px = pitch / rng.uniform(22, 34)
        scale = 1 + 0.003 * rng.normal()
        picture = draw(
            diameter,
            pitch,
            profile=profile,
            level_deg=rng.uniform(-3, 3),
            length=pitch * rng.uniform(11, 16),
            mm_per_px=mm_per_px,
            turned_deg=rng.uniform(-90, 90),
            blur_px=rng.uniform(0.4, 1.6),
            noise=rng.uniform(0.005, 0.05),
            phase=rng.random(),
            head=bool(rng.random() < 0.7),
            taper_deg=rng.uniform(-0.5, 0.5),
            ground=rng.uniform(0.75, 0.95),
            screw=rng.uniform(0.05, 0.3),
            glints=bool(rng.random() < 0.4),
            seed=seed,
        )
        try:
            found = read_screw(picture, mm_per_px * scale * 1e-3, 0.003)
        except UnclearPicture:
            continue
        off_pitch.append((found.pitch_m * 1e3 - pitch) / (found.u_pitch_m * 1e3))
        off_diameter.append((found.diameter_m * 1e3 - diameter) / (found.u_diameter_m * 1e3))
        if found.angle_deg is not None:
            off_angle.append((found.angle_deg - PROFILES[profile][0]) / found.u_angle_deg)
    assert len(off_pitch) >= 0.95 * asked  # hardly any is refused
    assert len(off_angle) >= 0.6 * asked
    for off in (off_pitch, off_diameter, off_angle):
        assert np.mean(np.abs(off) < 1.96) >= 35 / 40
    assert np.std(off_pitch) > 0.6  # nor is the uncertainty a cloak
    assert np.std(off_diameter) > 0.3
