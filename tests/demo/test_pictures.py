"""The drawn photographs: whole, of the size they promise, the same every time, and unlike each other."""

import io

import numpy as np
import pytest
from PIL import Image

from pegwood.demo import pictures

EVERY = [
    *[(pictures.front, kind, ("Aldermoor",)) for kind in pictures.FRONTS],
    *[(pictures.top, kind, ("Aldermoor",)) for kind in pictures.TOPS],
    *[(pictures.close_up, subject, ()) for subject in pictures.CLOSE_UPS],
]


def opened(jpeg):
    image = Image.open(io.BytesIO(jpeg))
    image.load()
    return image


@pytest.mark.parametrize(("draw", "subject", "more"), EVERY, ids=[f"{d.__name__} {s}" for d, s, _ in EVERY])
def test_every_subject_is_a_whole_jpeg_with_something_on_it(draw, subject, more):
    image = opened(draw(subject, 1, *more))
    assert (image.format, image.size) == ("JPEG", (1600, 1200))
    assert not image.getexif()
    brightness = np.asarray(image.convert("L").reduce(16), dtype=float)
    assert brightness.std() > 8  # more than grain on an even ground


def test_the_same_seed_draws_the_same_bytes_and_another_one_others():
    assert pictures.front("folder", 5) == pictures.front("folder", 5)
    assert pictures.front("folder", 5) != pictures.front("folder", 6)


def test_every_kind_has_a_front_and_a_top():
    assert pictures.FRONTS.keys() == pictures.TOPS.keys()


def test_an_unknown_kind_is_refused_with_the_kinds_there_are():
    with pytest.raises(ValueError, match="Unknown kind of camera: 'zeppelin'"):
        pictures.front("zeppelin", 1)
