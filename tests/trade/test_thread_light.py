"""A picture's numbers as light, against scikit-image's own conversion to CIE XYZ."""

import numpy as np
import pytest
from skimage.color import rgb2xyz

from pegwood.trade.threads.picture.light import light_of


def test_grey_numbers_become_light_as_the_standard_has_it():
    grey = np.arange(256, dtype=np.uint8)[None, :]
    luminance = rgb2xyz(np.stack([grey] * 3, axis=-1))[..., 1]  # Y, by IEC 61966-2-1
    assert light_of(grey) == pytest.approx(luminance, abs=1e-5)
