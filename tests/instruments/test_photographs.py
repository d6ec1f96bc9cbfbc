"""Photographs as light."""

import io

import numpy as np
import pytest
from PIL import Image

from pegwood.instruments.photographs import open_photograph
from pegwood.instruments.readings import RefusedReadings


def stored(image, kind="PNG", **more):
    held = io.BytesIO()
    image.save(held, kind, **more)
    held.seek(0)
    return held


def test_half_the_light_lies_at_188_of_255():
    # IEC 61966-2-1: linear 0.5 encodes as 0.7354 of full scale, 187.5 of 255 (memory)
    light = open_photograph(stored(Image.new("L", (40, 40), 188)), "grey").light
    assert light == pytest.approx(0.5, abs=0.004)


def test_colours_weigh_as_in_bt709_and_white_is_one():
    for colour, weight in (
        ((255, 0, 0), 0.2126),
        ((0, 255, 0), 0.7152),
        ((0, 0, 255), 0.0722),
        ((255,) * 3, 1.0),
    ):
        one = open_photograph(stored(Image.new("RGB", (40, 40), colour)), "colour")
        assert one.light == pytest.approx(weight, abs=1e-6)
    assert not one.colour
    assert one.clipped == 1


def test_sixteen_bits_are_as_light_as_eight():
    grey = np.full((40, 40), round(0.7354 * 65535), dtype=np.uint16)
    assert open_photograph(stored(Image.fromarray(grey)), "deep").light == pytest.approx(0.5, abs=1e-4)


def test_a_picture_held_sideways_is_upright():
    picture = Image.new("L", (60, 40))
    exif = Image.Exif()
    exif[0x0112] = 6  # Exif: turned a quarter to the right
    photograph = open_photograph(stored(picture, "JPEG", exif=exif), "sideways")
    assert photograph.shape == (60, 40)
    assert photograph.lossy


@pytest.mark.parametrize(
    ("held", "why"),
    [
        (b"", "no picture"),
        (b"a,b\n1,2\n", "no picture"),
        (stored(Image.new("L", (400, 400), 7), "JPEG").getvalue()[:300], "to its end"),
        (stored(Image.new("L", (8, 400))).getvalue(), "too small"),
    ],
)
def test_what_cannot_be_measured_is_refused_in_one_line(held, why):
    with pytest.raises(RefusedReadings, match=why) as refused:
        open_photograph(io.BytesIO(held), "this")
    assert "\n" not in str(refused.value)


def test_a_picture_beyond_all_bounds_is_refused_before_it_is_decoded():
    # a PNG of zeros packs into next to nothing
    with pytest.raises(RefusedReadings, match="million"):
        open_photograph(stored(Image.new("1", (9000, 9000))), "huge")
