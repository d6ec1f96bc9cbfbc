"""Best focus, tilt, distance scale, register and depth of field, against closed forms and worked examples."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from pegwood.instruments.focus import (
    DepthReading,
    Gauge,
    Lens,
    Reading,
    best_focus,
    depth_of_field,
    depth_of_field_handbook,
    depth_of_focus,
    diffraction_mtf,
    fit_plane,
    formats,
    from_lens,
    hyperfocal,
    image_shift,
    measure_register,
    picture_format,
    quarter_wave_depth,
    read_scale,
    shifts_with_stop,
    shims_under,
)
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Measured

# --- optics: standards.md, sections 5 and 12 (rows 15 to 18) ------------------------------------------


def test_image_shift_of_the_worked_examples():
    assert 1e3 * image_shift(0.05, 3.0) == pytest.approx(0.84746, abs=1e-5)  # row 16
    for focal, distance, shift in ((50, 10, 0.251), (50, 1, 2.632), (80, 3, 2.192), (135, 3, 6.361)):
        assert 1e3 * image_shift(focal / 1e3, distance) == pytest.approx(shift, abs=5e-4)
    assert image_shift(0.05, math.inf) == 0


def test_depth_of_field_of_the_worked_example():
    near, far = depth_of_field(0.05, 2, 3e-5, 3.0)  # row 17
    assert (1e3 * near, 1e3 * far) == pytest.approx((2801.64, 3228.58), abs=0.01)
    assert 1e3 * hyperfocal(0.05, 2, 3e-5) == pytest.approx(41716.7, abs=0.1)
    near, far = depth_of_field_handbook(0.05, 2, 3e-5, 3.0)  # Smith, p. 187
    assert (1e3 * near, 1e3 * far) == pytest.approx((2801.9, 3228.9), abs=0.1)
    assert depth_of_field(0.05, 2, 3e-5, math.inf)[1] == math.inf


def test_a_perfect_lens_and_its_depth_of_focus():
    assert diffraction_mtf(30e3, 550e-9, 8) == pytest.approx(0.8324, abs=1e-4)  # row 18
    for x, left in ((0.1, 0.8729), (0.25, 0.6850), (0.5, 0.3910), (0.75, 0.1443), (0.9, 0.0374)):
        assert diffraction_mtf(x, 1, 1) == pytest.approx(left, abs=1e-4)
    assert diffraction_mtf(1.2, 1, 1) == 0
    assert 1e3 * depth_of_focus(2, 3e-5) == pytest.approx(0.060, abs=1e-6)
    assert 1e3 * quarter_wave_depth(0.55e-6, 8) == pytest.approx(0.0704, abs=1e-4)


def test_a_distance_from_the_film_is_the_lens_s_and_the_image_s_together():
    u = from_lens(0.05, 3.0)
    assert u + 1 / (1 / 0.05 - 1 / u) == pytest.approx(3.0, rel=1e-12)  # u + v, thin lens


@pytest.mark.parametrize("distance", [0.0, -1.0, 0.04, math.nan])
def test_a_distance_that_makes_no_image_is_refused(distance):
    with pytest.raises(RefusedReadings, match="mm"):
        image_shift(0.05, distance)


def test_formats_have_sensible_circles():
    for one in formats().values():  # R. Lyon: a 1500th of the diagonal, within a fifth
        assert one.confusion_m == pytest.approx(math.hypot(one.width_m, one.height_m) / 1500, rel=0.2)
        assert one.source
    assert picture_format("24 × 36" if "24x36" in formats() else "").key == "24x36"
    with pytest.raises(RefusedReadings, match="There are: 24x36"):
        picture_format("9x12cm")


# --- best focus --------------------------------------------------------------------------------------


def series(z, z0=0.27, k=12.0, u=0.01, rng=None):
    """MTF50 of Gaussian blurs that add by their squares; sqrt(ln 2 / 2) / (pi s) in closed form."""
    f = math.sqrt(math.log(2) / 2) / math.pi / np.hypot(1.0, k * (np.asarray(z) - z0))
    noise = np.zeros(len(f)) if rng is None else rng.normal(size=len(f))
    return [Measured(v * (1 + u * e), v * u, 10) for v, e in zip(f, noise, strict=True)]


@pytest.mark.parametrize(
    "z", [[0, 0.2, 0.4, 0.6], np.linspace(-0.1, 0.7, 9), [0.0, 0.1, 0.25, 0.3, 0.31, 0.6]]
)
def test_best_focus_of_gaussian_blurs_is_found_exactly(z):
    assert best_focus(z, series(z)).best.value == pytest.approx(0.27, abs=1e-9)


def test_best_focus_agrees_with_a_robust_fit_of_scipy():
    rng = np.random.default_rng(2)
    z = np.linspace(-0.1, 0.7, 11)
    found = series(z, rng=rng)
    f, u = np.array([m.value for m in found]), np.array([m.u for m in found])
    other = least_squares(
        lambda p: (p[0] / np.hypot(1, p[1] * (z - p[2])) - f) / u, (0.18, 8, 0.3), loss="soft_l1"
    )
    peak = best_focus(z, found)
    assert abs(peak.best.value - other.x[2]) < peak.best.u
    assert peak.peak == pytest.approx(other.x[0], rel=0.01)


def test_shifting_and_stretching_the_positions_does_the_same_to_best_focus():
    z = np.linspace(-0.1, 0.7, 8)
    found = series(z, rng=np.random.default_rng(3))
    plain, other = best_focus(z, found).best, best_focus(25.4 * z + 7, found).best
    assert other.value == pytest.approx(25.4 * plain.value + 7, rel=1e-9)
    assert other.u == pytest.approx(25.4 * plain.u, rel=1e-6)


def test_a_shaken_photograph_is_left_out_and_named():
    z = np.linspace(-0.1, 0.7, 9)
    found = series(z, rng=np.random.default_rng(4))
    found[5] = Measured(0.6 * found[5].value, found[5].u, 10)
    peak = best_focus(z, found)
    assert peak.left_out == (5,)
    assert abs(peak.best.value - 0.27) < 3 * peak.best.u


def test_a_refused_photograph_is_passed_over():
    z = np.linspace(-0.1, 0.7, 9)
    found: list = series(z)
    found[3] = None
    assert best_focus(z, found).best.value == pytest.approx(0.27, abs=1e-9)


@pytest.mark.parametrize(
    ("z", "made", "why"),
    [
        ([0, 0.2, 0.4], None, "3 positions"),
        ([0, 0.2, 0.2, 0.4], None, "3 positions"),
        ([0.3, 0.4, 0.5, 0.6, 0.7], None, "below the lowest"),
        ([-0.3, -0.2, -0.1, 0, 0.1], None, "above the highest"),
        ([0, 1, 2, 3, 4], [0.1] * 5, "as sharp as one another"),
        ([0, 1, 2, 3, 4, 5, 6], [0.05, 0.15, 0.1, 0.05, 0.1, 0.15, 0.05], "two peaks"),
        ([0, 1, 2, math.nan], [0.1] * 4, "finite"),
        ([0, 1, 2], [0.1] * 4, "a position for each"),
    ],
)
def test_a_series_that_cannot_tell_is_refused_with_the_remedy(z, made, why):
    found = series(z) if made is None else [Measured(v, 0.01 * v, 10) for v in made]
    with pytest.raises(RefusedReadings, match=why):
        best_focus(z, found)


# --- tilt --------------------------------------------------------------------------------------------

FIVE = [(0.0, 0.0), (-0.015, 0.01), (0.015, 0.01), (-0.015, -0.01), (0.015, -0.01)]


def test_tilt_curvature_and_shims_in_closed_form():
    a, b, curved = 0.004, -0.002, 0.2
    heights = [Measured(1e-4 + a * x + b * y + curved * (x * x + y * y), 2e-6, 50) for x, y in FIVE]
    plane = fit_plane(FIVE, heights)
    assert plane.right.value == pytest.approx(math.atan(a), rel=1e-9)
    assert plane.up.value == pytest.approx(math.atan(b), rel=1e-9)
    assert plane.middle.value == pytest.approx(1e-4, rel=1e-9)
    assert plane.curved.value == pytest.approx(curved * (0.015**2 + 0.01**2), rel=1e-9)
    # four corners carry the slope: u / sqrt(sum of x^2)
    assert plane.right.u == pytest.approx(2e-6 / (2 * 0.015) / (1 + a * a), rel=1e-6)
    screws = [(0.02, 0.0), (-0.01, 0.0173), (-0.01, -0.0173)]
    shims = shims_under(plane, screws)
    for (x, y), shim in zip(screws, shims, strict=True):
        # after the change under each screw best focus is as high everywhere
        assert shim.change.value == pytest.approx(a * x + b * y, rel=1e-9)
    assert min(one.add.value for one in shims) == pytest.approx(0, abs=1e-15)


@pytest.mark.parametrize(
    ("places", "why"), [(FIVE[:2], "three places"), ([(0, 0), (0.01, 0.01), (0.02, 0.02)], "on one line")]
)
def test_too_few_places_are_refused(places, why):
    with pytest.raises(RefusedReadings, match=why):
        fit_plane(places, [Measured(0.0, 1e-6)] * len(places))


@pytest.mark.parametrize(
    ("screws", "why"), [([(0, 0)], "Three screws"), ([(0, 0), (0.01, 0), (0.02, 0)], "on one line")]
)
def test_screws_that_hold_no_plane_are_refused(screws, why):
    plane = fit_plane(FIVE, [Measured(0.0, 1e-6)] * 5)
    with pytest.raises(RefusedReadings, match=why):
        shims_under(plane, screws)


def test_focus_shift_is_held_against_the_depth_at_the_smaller_stop():
    found = shifts_with_stop(
        {2.0: Measured(0.0, 2e-6), 4.0: Measured(8e-5, 2e-6), 8.0: Measured(9e-5, 2e-6)}, 3e-5
    )
    # N c: 0.12 and 0.24 mm to one side; half of it is the limit
    assert [one.depth for one in found] == pytest.approx([1.2e-4, 2.4e-4])
    assert [one.verdict for one in found] == ["outside", "within"]
    assert found[0].shift.u == pytest.approx(2e-6 * math.sqrt(2))


# --- distance scale ----------------------------------------------------------------------------------

NORMAL = Lens(0.05, 2.0, 3e-5, "lens", 0.01)


def test_a_wrong_shim_and_a_wrong_lead_are_told_apart():
    # the lens stands off by 0.05 mm and moves 1 % too far: from the extension back to where it is sharp,
    # u = f + f^2 / x'
    def sharp(marked):
        extension = (0.0 if math.isinf(marked) else 0.0025 / (marked - 0.05)) * 1.01 + 5e-5
        return 0.05 + 0.0025 / extension

    marks = [math.inf, 10, 3, 1.5, 1]
    result = read_scale([Reading(m, sharp(m)) for m in marks], NORMAL, reading_u_m=3e-6)
    assert result.offset.value == pytest.approx(5e-5, rel=1e-6)
    assert result.gain.value == pytest.approx(0.01, rel=1e-6)
    assert result.shim.value == pytest.approx(-5e-5, rel=1e-6)
    assert result.turn.value == pytest.approx(-0.005, rel=1e-6)  # 0.05 mm over 10 mm a turn
    assert "0.050 mm thinner" in result.advice[0]
    assert "towards the film" in result.advice[0]
    assert result.verdict == "outside"


def test_an_error_told_at_the_image_is_taken_as_it_is():
    result = read_scale([Reading(math.inf, error_m=-4e-5)] * 3, NORMAL)
    assert result.offset.value == pytest.approx(-4e-5)
    assert result.shim.value == pytest.approx(4e-5)
    assert "thicker" in result.advice[0]


def test_two_readings_tell_the_offset_but_no_gain():
    result = read_scale([Reading(math.inf, 40.0), Reading(3.0, 2.9)], NORMAL)
    assert result.gain is None
    assert any("three marks" in one for one in result.warnings)
    assert result.offset.u > 0


@pytest.mark.parametrize(
    ("reading", "why"),
    [
        (Reading(0.0, 3.0), "focal length"),
        (Reading(3.0, 0.0), "focal length"),
        (Reading(10.0, 0.1524), "units"),  # half a foot taken for metres or the reverse
        (Reading(3.0), "where it was sharp"),
        (Reading(3.0, error_m=0.05), "in mm"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(reading, why):
    with pytest.raises(RefusedReadings, match=why):
        read_scale([reading], NORMAL)


# --- register ----------------------------------------------------------------------------------------


def depths(height, to="rails", noise=0.0, rng=None):
    return [
        DepthReading((x, y), height + 0.001 * x + 0.0 * y + (rng.normal(0, noise) if rng else 0.0), to)
        for x, y in FIVE[1:]
        for _ in range(3)
    ]


def test_register_channel_and_tilt():
    rng = np.random.default_rng(6)
    readings = depths(0.0539, "rails", 4e-6, rng) + depths(0.0541, "plate", 4e-6, rng)
    result = measure_register(readings, Gauge(1e-5, 1e-6, 0.01), 0.0439)
    rails = result.surfaces[0]
    assert abs(rails.distance.value - 0.0439) < 3 * rails.distance.u
    # the gauge's largest error, taken as rectangular (GUM 4.3.7): a / sqrt 3
    assert rails.distance.u == pytest.approx(math.hypot(1e-5 / math.sqrt(3), 4e-6 / math.sqrt(12)), rel=0.2)
    assert abs(result.channel.value - 2e-4) < 3 * result.channel.u
    assert result.channel.u < rails.distance.u  # the gauge's own error is in both
    assert abs(rails.plane.right.value - 0.001) < 3 * rails.plane.right.u
    assert (result.verdict, result.channel_verdict) == ("within", "within")


def test_a_register_too_long_wants_thinner_shims_where_it_is_longest():
    screws = ((0.02, 0.0), (-0.01, 0.017), (-0.01, -0.017))
    result = measure_register(depths(0.0440), Gauge(1e-6, 1e-6), 0.0439, screws)
    assert "0.100 mm thinner" in result.advice[0]
    assert [one.change.value for one in result.shims] == pytest.approx([-2e-5, 1e-5, 1e-5])
    assert [one.add.value for one in result.shims] == pytest.approx([0, 3e-5, 3e-5], abs=1e-12)


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ([], "no spread"),
        ([DepthReading((0, 0), 0.0439)], "no spread"),
        ([DepthReading((0, 0), 0.0439), DepthReading((0.01, 0), 0.0439)], "at least twice"),
        ([DepthReading((0, 0), 0.0)] * 2, "in mm"),
        ([DepthReading((0, 0), 1.728)] * 2, "units mixed up"),
    ],
)
def test_depths_that_cannot_tell_are_refused(readings, why):
    with pytest.raises(RefusedReadings, match=why):
        measure_register(readings, Gauge(), 0.0439)
