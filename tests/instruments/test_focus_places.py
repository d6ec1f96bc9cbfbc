"""Edges at five places: where on the film, and the tilt that follows; truth is drawn into the picture."""

import io
import math

import numpy as np
import pytest

from instruments.five_places import five
from pegwood.instruments.focus import (
    PLACES,
    FiveEdges,
    Setting,
    edges_at_places,
    picture_format,
    read_series,
    shots_at_places,
)
from pegwood.instruments.photographs import open_photograph
from pegwood.instruments.readings import RefusedReadings

AT = (0.0, 0.12, 0.24, 0.36, 0.48)
#: Cells lie 12 mm from the middle of a picture 36 mm wide.
RISE, BEST = 0.04, 0.24


@pytest.fixture(scope="module")
def seen():
    """Sharp farther from the film towards the top of the picture."""
    rng = np.random.default_rng(21)
    pictures = [five(lambda _right, up: BEST + RISE * up, z, rng, side=150) for z in AT]
    return [
        edges_at_places(open_photograph(io.BytesIO(one), f"f{n}.jpg"), z)
        for n, (one, z) in enumerate(zip(pictures, AT, strict=True))
    ]


def test_each_place_is_where_its_edge_was_drawn(seen):
    shots = shots_at_places(seen, 36e-3, is_upright=False)
    assert len(shots) == len(PLACES) * len(AT)
    # the middle of each edge lies near that of its ninth, a third of 36 mm away
    for shot, name in zip(shots[:: len(AT)], PLACES, strict=True):
        column, row = PLACES[name]
        assert shot.place == pytest.approx((12e-3 * (column - 1), 12e-3 * (1 - row)), abs=1.5e-3)


def test_a_ground_glass_and_an_upright_picture_tell_opposite_tilts(seen):
    for is_upright, sign in ((False, 1), (True, -1)):
        shots = shots_at_places(seen, 36e-3, is_upright=is_upright)
        tilt = read_series(shots, Setting(format=picture_format("24x36"))).tilt
        assert abs(tilt.up.value - sign * math.atan(RISE / 12)) < 3 * tilt.up.u
        assert abs(tilt.right.value) < 3 * tilt.right.u
        assert tilt.up.u < 4e-4


def test_half_the_width_is_twice_the_tilt(seen):
    whole, half = (
        read_series(shots_at_places(seen, width, is_upright=False)).tilt for width in (36e-3, 18e-3)
    )
    assert half.slopes[1] == pytest.approx(2 * whole.slopes[1], rel=1e-6)


def blank(name, width=300, height=300):
    return FiveEdges(name, 0.0, width, height, dict.fromkeys(PLACES, "no edge"))


def test_pictures_of_two_sizes_and_a_width_that_is_none_are_refused():
    with pytest.raises(RefusedReadings, match="is not as large as"):
        shots_at_places([blank("a.jpg"), blank("b.jpg", 200)], 36e-3, is_upright=True)
    for width in (0.0, 36.0, math.nan):
        with pytest.raises(RefusedReadings, match="Give mm"):
            shots_at_places([blank("a.jpg")], width, is_upright=True)
    assert shots_at_places([blank("a.jpg")], 36e-3, is_upright=True) == []
