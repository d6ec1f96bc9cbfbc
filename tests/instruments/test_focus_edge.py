"""MTF50 of slanted edges, on rendered photographs whose MTF is known in closed form."""

import io

import numpy as np
import pytest
from PIL import Image
from scipy.optimize import curve_fit
from scipy.special import ndtr

from instruments.slanted import Blur, Scene, encoded, kept
from pegwood.instruments.focus import Region, diffraction_mtf, measure_edge
from pegwood.instruments.photographs import open_photograph
from pegwood.instruments.readings import RefusedReadings


def opened(held, name="edge.jpg"):
    return open_photograph(held, name)


def seen(scene, seed=1, quality=70, across=False):
    return measure_edge(opened(scene.picture(np.random.default_rng(seed), quality, across)))


LIT = {"width": 240, "height": 400, "slope": 0.2, "vignette": 0.2, "noise": 0.003}


# The bar: within 2 % of the closed form, pixel aperture included, in JPEG of quality 70 with noise and uneven
# light. Gaussian: exp(-2 (pi s f)^2); round pupil without aberration: standards, section 5; disc: 2 J1(z)/z.
@pytest.mark.parametrize(
    ("blur", "degrees", "across"),
    [
        (Blur(1.0), 5, False), (Blur(1.5), 2.3, False), (Blur(1.2), 15, True), (Blur(3.0), -7, False),
        (Blur(0, 3.0), 5, False), (Blur(0, 4.0), 11, True), (Blur(0.7, 0, 3.0), -4, False),
        (Blur(6.0), 5, True), (Blur(0.8, 1.5), 8.3, False), (Blur(1, 1, 3.0), 3.1, False),
    ],
)  # fmt: skip
def test_mtf50_is_within_two_percent_of_the_closed_form_in_a_jpeg(blur, degrees, across):
    found = seen(Scene(blur=blur, degrees=degrees, **LIT), across=across)
    true = blur.mtf50(degrees)
    assert found.mtf50.value == pytest.approx(true, rel=0.02)
    assert abs(found.mtf50.value - true) < 3.5 * found.mtf50.u
    assert found.mtf50.u < 0.015 * true


@pytest.mark.parametrize("blur", [Blur(0.5), Blur(1.0), Blur(0, 1.5), Blur(0, 4.0), Blur(0.6, 0, 4.0)])
def test_without_loss_and_noise_next_to_nothing_is_left(blur):
    scene = Scene(blur=blur, degrees=5, width=260, height=260, noise=0.002)
    found = seen(scene, quality=None)
    assert found.mtf50.value == pytest.approx(blur.mtf50(5), rel=0.01)


def test_the_whole_curve_follows_the_closed_form():
    blur = Blur(0, 2.0)  # lambda N of two pixels: cut off at half a cycle per pixel
    found = seen(Scene(blur=blur, degrees=5, width=300, height=300, noise=0.001), quality=None)
    true = blur.with_pixel(found.f, 5)
    assert np.abs(found.mtf - true)[true > 0.1].max() < 0.015
    # standards, section 5: half of it is left at 0.4040 of the cut-off
    assert diffraction_mtf(0.4040, 1, 1) == pytest.approx(0.5, abs=1e-4)


def test_a_gaussian_profile_is_the_normal_distribution_fitted_by_scipy():
    # outside check: scipy's curve_fit of a normal distribution to the profile is as sharp
    found = seen(Scene(blur=Blur(2.0), degrees=5, width=260, height=260, noise=0.001), quality=None)
    (sigma, _), _ = curve_fit(lambda x, s, m: ndtr((x - m) / s), found.away, found.profile, (1.0, 0.0))
    # the pixel adds a twelfth to the variance (second moment of a box)
    assert sigma**2 == pytest.approx(2.0**2 + 1 / 12, rel=0.02)
    assert found.mtf50.value == pytest.approx(np.sqrt(np.log(2) / 2) / np.pi / sigma, rel=0.01)


def test_turning_and_mirroring_change_nothing():
    scene = Scene(degrees=6, width=260, height=260)
    stored = encoded(scene.light(np.random.default_rng(4)))
    figures = [
        measure_edge(opened(kept(turned, None))).mtf50
        for turned in (stored, stored.T, stored[::-1], stored[:, ::-1], np.rot90(stored))
    ]
    for one in figures[1:]:
        assert one.value == pytest.approx(figures[0].value, rel=0.004)


def test_the_edge_is_found_small_within_a_large_picture_and_by_region():
    scene = Scene(degrees=6, width=1100, height=800, square=130, noise=0.003)
    photograph = opened(scene.picture(np.random.default_rng(2)))
    for region in (None, Region(440, 320, 100, 160)):
        found = measure_edge(photograph, region)
        assert found.mtf50.value == pytest.approx(Blur(1.0).mtf50(6), rel=0.035)
        assert 440 < found.line.x < 660
        assert found.line.degrees == pytest.approx(6, abs=0.3)


def test_a_bent_edge_is_followed():
    # three pixels of sag; straightened wrongly, it would blur by more than the lens does
    found = seen(Scene(degrees=6, width=260, height=260, bow=3), quality=None)
    assert found.mtf50.value == pytest.approx(Blur(1.0).mtf50(6), rel=0.01)


def test_a_sharpened_picture_is_told():
    light = Scene(degrees=5, width=260, height=260).light()
    from scipy.ndimage import gaussian_filter

    sharpened = light + 1.2 * (light - gaussian_filter(light, 1.5))
    found = measure_edge(opened(kept(encoded(np.clip(sharpened, 0.01, 0.97)), None)))
    assert any("sharpened" in one for one in found.warnings)


def test_where_blocks_meet_the_edge_alike_the_uncertainty_knows():
    # slope 1/4: four places in the blocks of eight come back again and again
    blur, errors = Blur(0.7), []
    for seed in range(5):
        scene = Scene(blur=blur, degrees=14.036, aside=0.7 * seed, **LIT)
        alike = seen(scene, seed).mtf50
        assert "blocks" in alike.budget[0].note
        errors.append((alike.value - blur.mtf50(14.036)) / alike.u)
    assert np.abs(errors).max() < 3
    assert "blocks" not in seen(Scene(blur=blur, degrees=13.2, **LIT)).mtf50.budget[0].note


SMALL = {"width": 240, "height": 220}


@pytest.mark.parametrize(
    ("scene", "why"),
    [
        (Scene(degrees=0, **SMALL), "along the pixels"),
        (Scene(degrees=0.2, **SMALL), "along the pixels"),
        (Scene(degrees=45, **SMALL), "same few distances"),
        (Scene(degrees=5, bright=1.2, **SMALL), "burnt out"),
        (Scene(degrees=5, bright=0.02, dark=0.004, noise=0.001, **SMALL), "too dark"),
        (Scene(degrees=5, dark=-0.02, noise=0.002, **SMALL), "sunk into black"),
        (Scene(degrees=5, bright=0.3, dark=0.25, noise=0.2, **SMALL), "noise|straight|dark|too little|more"),
        (Scene(degrees=5, bar=6, **SMALL), r"no edge|more than one|blur reaches|no straight edge"),
        (Scene(blur=Blur(40), degrees=5, **SMALL), r"blur reaches|no straight edge|no edge"),
    ],
)  # fmt: skip
def test_what_cannot_be_measured_is_refused_with_the_remedy(scene, why):
    with pytest.raises(RefusedReadings, match=why) as refused:
        seen(scene, quality=90)
    assert "\n" not in str(refused.value)
    assert str(refused.value).startswith("edge.jpg: ")


def stored(array):
    held = io.BytesIO()
    Image.fromarray(array).save(held, "PNG")
    held.seek(0)
    return held


@pytest.mark.parametrize("name", ["camera", "coins", "page", "text", "brick", "grass", "moon"])
def test_pictures_of_other_things_are_refused(name):
    # pictures that scikit-image ships
    import skimage.data

    with pytest.raises(RefusedReadings):
        measure_edge(opened(stored(getattr(skimage.data, name)()), name))


def test_noise_and_nothing_are_refused():
    rng = np.random.default_rng(3)
    for array in (rng.integers(0, 255, (300, 300)), np.full((300, 300), 128)):
        with pytest.raises(RefusedReadings):
            measure_edge(opened(stored(array.astype(np.uint8))))


def test_a_region_beyond_the_picture_is_refused():
    photograph = opened(Scene(**SMALL).picture(np.random.default_rng(1)))
    with pytest.raises(RefusedReadings, match="beyond the picture's 240 by 220"):
        measure_edge(photograph, Region(200, 10, 100, 100))
    with pytest.raises(RefusedReadings, match="16 by 16"):
        Region(0, 0, 4, 400)
