"""A diaphragm from photographs whose truth is known, by calliper, and against polygons in closed form."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from PIL import Image

from instruments.irises import Taking, circle, late_blade, photographed, polygon
from pegwood.instruments.iris import (
    Curve,
    Darker,
    FocalLength,
    MarkedStop,
    Scale,
    analyse_callipers,
    analyse_iris,
    calliper_readings,
    equal_circle,
    practice,
)
from pegwood.instruments.photographs import Photograph, open_photograph
from pegwood.instruments.readings import RefusedReadings, open_figures

SHAPE, AT = (380, 440), (221.3, 188.6)
MM_PER_PX = 0.05


def photo(opening, rng=None, at=AT, shape=SHAPE, name="picture", **how) -> Photograph:
    rng = rng or np.random.default_rng(5)
    return open_photograph(photographed(opening, shape, at, Taking(**how), rng), name)


def plain(values, name="picture") -> Photograph:
    held = io.BytesIO()
    Image.fromarray(np.asarray(values, dtype=np.uint8)).save(held, "PNG")
    held.seek(0)
    return open_photograph(held, name)


def exact_scale() -> Scale:
    return Scale.told(MM_PER_PX, 0.0, practice())


# facts in the workshop's table of apertures: De/2R and De/flats of regular polygons, worked out by hand there
TABLE = {
    5: (0.86996, 1.07533), 6: (0.90939, 1.05008), 7: (0.93329, 1.03587),
    8: (0.94885, 1.02703), 9: (0.95954, 1.02113), 10: (0.96721, 1.01698),
}  # fmt: skip


@pytest.mark.parametrize("n", TABLE)
def test_equal_circles_are_those_of_the_table(n):
    corners, flats = TABLE[n]
    assert equal_circle(1.0, n, corners=True) == pytest.approx(corners, abs=5e-6)
    assert equal_circle(1.0, n, corners=False) == pytest.approx(flats, abs=5e-6)


@pytest.mark.parametrize("n", [5, 6, 7, 8, 9, 10])
def test_a_regular_polygon_has_the_diameter_roundness_and_blades_of_the_closed_form(n):
    radius = 140.0
    result = analyse_iris(photo(polygon(n, radius, turned=0.37 * n)), scale=exact_scale())
    expected = 2 * radius * TABLE[n][0] * MM_PER_PX / 1000
    assert result.diameter.value == pytest.approx(expected, rel=0.003)
    low, high = result.diameter.coverage_interval()
    assert low < expected < high
    # widths of a regular polygon: even n flats over corners, odd n height over the longest diagonal
    roundness = math.cos(math.pi / n) if n % 2 == 0 else math.cos(math.pi / (2 * n))
    assert result.roundness.value == pytest.approx(roundness, abs=0.004)
    assert result.blades == n
    assert result.out_of_place == ()


def test_a_circle_has_its_diameter_is_round_and_its_blades_are_not_told():
    result = analyse_iris(photo(circle(120.0)), scale=exact_scale())
    assert result.diameter.value == pytest.approx(240 * MM_PER_PX / 1000, rel=0.003)
    assert result.roundness.value == pytest.approx(1, abs=0.004)
    assert result.blades is None
    assert any("no corners" in one for one in result.warnings)


def test_blades_with_a_curved_edge_are_counted_too():
    opening = polygon(7, 140.0, turned=0.2, bow=3.0)
    result = analyse_iris(photo(opening), scale=exact_scale())
    assert result.blades == 7
    assert result.diameter.value == pytest.approx(opening.diameter() * MM_PER_PX / 1000, rel=0.003)
    assert result.roundness.value == pytest.approx(opening.roundness(), abs=0.004)  # by brute force there


def test_nothing_but_a_clean_edge_is_left_when_the_picture_is_clean():
    # the area by partial coverage against the shoelace: no noise, no codec
    for radius in (40.0, 90.0, 150.0):
        opening = polygon(6, radius, turned=0.1)
        result = analyse_iris(photo(opening, noise=0.002, quality=None, gradient=0.0, vignetting=0.0))
        assert result.diameter_px.value == pytest.approx(opening.diameter(), rel=4e-4)


@pytest.mark.parametrize(
    "how",
    [
        {"vignetting": 0.35},
        {"gradient": 0.35},
        {"blur": 2.5},
        {"noise": 0.03},
        {"dark": 0.05, "light": 0.4},
        {"quality": None},
        {"quality": 95},
        {"light": 0.25},
    ],
)
def test_it_holds_whatever_the_picture_is_like(how):
    opening = polygon(8, 130.0, turned=0.3)
    result = analyse_iris(photo(opening, **how))
    assert result.diameter_px.value == pytest.approx(opening.diameter(), rel=0.003)
    assert result.blades == 8


def test_numbers_stored_without_a_curve_are_found_out_or_the_uncertainty_says_so():
    # a clean picture of plain numbers: its edges are lopsided until it is read as such
    opening = polygon(7, 140.0, turned=0.3)
    result = analyse_iris(photo(opening, plain=True, quality=None, noise=0.004, blur=1.6))
    low, high = result.diameter_px.coverage_interval()
    assert low < opening.diameter() < high
    assert result.tone > 0.7
    assert any("without sRGB's curve" in one for one in result.warnings)


def stepped(opening, own, steps=(1, 2, 3), **how):
    rng = np.random.default_rng(12)
    pictures = [
        photo(opening, rng, own=own, light=0.6 * 2.0**-ev, dark=0.01 * 2.0**-ev, **how) for ev in (0, *steps)
    ]
    return pictures[0], [Darker(one, ev) for one, ev in zip(pictures[1:], steps, strict=True)]


@pytest.mark.parametrize("own", ["power 1.2", "contrast 0.9", "pivot 0.65", "lifted", "shoulder"])
def test_darker_pictures_tell_what_a_telephone_does_to_light(own):
    opening = polygon(7, 75.0, turned=0.3)
    first, darker = stepped(opening, own, blur=1.8)
    told = analyse_iris(first, darker=darker).diameter_px
    assert told.value == pytest.approx(opening.diameter(), rel=0.003)
    low, high = told.coverage_interval()
    assert low < opening.diameter() < high


def test_a_curve_that_is_a_power_is_undone_between_and_beyond_the_steps():
    # closed form: what is read is the light to a power, up to a factor that no edge asks for
    true = np.array([0.05, 0.1, 0.2, 0.4, 0.5])
    curve = Curve(0.9 * true**1.3, true)
    light = np.array([0.01, 0.07, 0.15, 0.33, 0.6], dtype=np.float32)
    assert curve.light((0.9 * light**1.3).astype(np.float32)) == pytest.approx(light, rel=2e-3)


@pytest.mark.parametrize(
    ("steps", "says"),
    [
        ((3,), "Give three"),
        ((0.5, 1), "Give three"),
        ((1, 1, 3), "exposed alike"),
        ((0, 1, 3), "no step down"),
        ((-1, 1, 3), "no step down"),
        ((float("nan"), 1, 3), "no step down"),
        ((3, 2, 1), "does not get darker"),
    ],
)
def test_darker_pictures_that_tell_no_curve_are_refused(steps, says):
    first, darker = stepped(circle(60.0), "")
    told = [Darker(one.photograph, ev) for one, ev in zip(darker, steps, strict=False)]
    with pytest.raises(RefusedReadings, match=says):
        analyse_iris(first, darker=told)


def test_turning_and_shifting_the_picture_changes_nothing():
    found = [
        analyse_iris(photo(polygon(6, 120.0, turned=turned), at=at)).diameter_px
        for turned, at in ((0.0, (220.0, 190.0)), (0.26, (220.5, 190.5)), (0.5, (203.3, 171.8)))
    ]
    for one in found[1:]:
        assert one.value == pytest.approx(found[0].value, rel=6e-4)


@pytest.mark.parametrize("which", [0, 2, 5])
@pytest.mark.parametrize("by", [6.0, -6.0])
def test_a_late_blade_is_found_and_told_where(which, by):
    turned = 0.4
    result = analyse_iris(photo(late_blade(7, 140.0, which, by, turned)), scale=exact_scale())
    (blade,) = result.out_of_place
    truth = math.degrees(turned + which * 2 * math.pi / 7) + 90  # clockwise from upright, y downwards
    assert (math.degrees(blade.direction) - truth + 180) % 360 - 180 == pytest.approx(0, abs=3)
    assert blade.inward == pytest.approx(by, abs=1.0)
    assert any(f"at {blade.hour} o'clock" in one for one in result.warnings)


def test_without_a_scale_roundness_and_blades_are_told_and_the_diameter_is_refused_with_the_remedy():
    result = analyse_iris(photo(polygon(6, 120.0)))
    assert result.diameter is None
    assert result.blades == 6
    assert result.roundness is not None
    assert any("how large a pixel" in one for one in result.warnings)


def test_a_scale_from_two_points_is_their_distance_and_says_how_well_they_were_pointed_at():
    scale = Scale.between((10, 20, 310, 420), 25.0, 0.0, practice())  # 3-4-5: 500 pixels
    assert scale.m_per_px == pytest.approx(0.025 / 500)
    pointed = next(one for one in scale.components if "points" in one.name)
    assert pointed.u == pytest.approx(math.sqrt(2) * 0.7 / 500)
    assert pointed.mark == "practice"


@pytest.mark.parametrize(
    "made",
    [
        lambda: Scale.told(0.0, None, practice()),
        lambda: Scale.told(float("nan"), None, practice()),
        lambda: Scale.told(0.05, -0.1, practice()),
        lambda: Scale.between((1, 1, 1, 1), 5, None, practice()),
        lambda: Scale.between((1, 1, 100, 1), 0, None, practice()),
        lambda: Scale.between((1, 1, float("inf"), 1), 5, None, practice()),
    ],
)
def test_a_scale_that_cannot_be_is_refused(made):
    with pytest.raises(RefusedReadings):
        made()


def test_an_overexposed_opening_has_no_diameter():
    result = analyse_iris(photo(polygon(6, 120.0), light=1.3), scale=exact_scale())
    assert result.diameter is None
    assert result.diameter_px is None
    assert result.blades == 6
    assert any("Expose less" in one for one in result.warnings)


def test_an_opening_out_of_focus_is_refused():
    with pytest.raises(RefusedReadings, match="too soft"):
        analyse_iris(photo(circle(60.0), blur=7.0), scale=exact_scale())


# --- stops ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "exact"),
    [("1.4", 2**0.5), ("f/2.8", 2**1.5), ("5,6", 2**2.5), ("1:11", 2**3.5), ("22", 2**4.5), ("3.5", 3.5)],
)
def test_a_mark_stands_for_its_power_of_the_square_root_of_two(text, exact):
    # the series adopted in Paris in 1900; 3.5 is none of it
    assert MarkedStop.parse(text).exact == pytest.approx(exact)


@pytest.mark.parametrize("text", ["", "f", "0", "-4", "inf", "nan", "8.5.6", "1e3", "999"])
def test_what_is_no_f_number_is_refused(text):
    with pytest.raises(RefusedReadings, match="f-number"):
        MarkedStop.parse(text)


@pytest.mark.parametrize(("percent", "ev"), [(5, 0.141), (10, 0.275), (12, 0.327), (18, 0.478)])
def test_an_f_number_off_by_percent_is_off_by_the_ev_of_the_table(percent, ev):
    # 2 log2(1 + p), as printed in the workshop's facts
    focal = FocalLength.told(50.0, 0.0, practice())
    readings = calliper_readings(csv(f"marked,diameter_mm\n4,{50 / 4 * (1 + percent / 100)}\n"))
    result = analyse_callipers(readings, focal=focal)
    assert result.stop.error.value == pytest.approx(ev, abs=0.0005)  # wider: too much light


def test_an_engraved_focal_length_widens_the_error_by_what_the_source_says():
    engraved, measured = FocalLength.told(50.0, None, practice()), FocalLength.told(50.0, 0.002, practice())
    # evenly spread over 6 %: 6 / sqrt(3), twice over ln 2 in EV
    assert engraved.component.u / engraved.value_m == pytest.approx(0.06 / math.sqrt(3))
    one, other = (
        analyse_iris(photo(circle(125.0)), scale=exact_scale(), marked=MarkedStop.parse("4"), focal=focal)
        for focal in (engraved, measured)
    )
    assert one.stop.error.u > 0.099 > 0.02 > other.stop.error.u
    assert one.stop.error.value == pytest.approx(0, abs=0.02)  # 50 mm over 12.5 mm
    assert other.stop.verdict == "within"
    assert any(line.mark == "seen" for line in one.stop.error.budget)


def test_the_same_stop_set_again_is_the_same_and_another_is_not():
    rng = np.random.default_rng(8)
    first, same = (photo(polygon(6, 100.0), rng) for _ in range(2))
    wider = photo(polygon(6, 104.0), rng)
    result = analyse_iris(first, again=same, closing=wider)
    assert result.returns.same
    assert result.returns.verdict == "within"
    # opening (first) against closing: 2 log2(100/104)
    assert result.hysteresis.ev.value == pytest.approx(2 * math.log2(100 / 104), abs=0.01)
    assert not result.hysteresis.same


def test_pictures_of_two_sizes_are_not_compared():
    with pytest.raises(RefusedReadings, match="not as large"):
        analyse_iris(photo(circle(80.0)), again=photo(circle(80.0), shape=(300, 320), at=(160, 150)))


# --- callipers ------------------------------------------------------------------------------------


def csv(text: str):
    return open_figures(io.BytesIO(text.encode()), "readings.csv")


def test_a_ring_with_play_shows_it_between_opening_and_closing():
    ways = (("opening", 1.02), ("opening", 1.021), ("closing", 0.98), ("closing", 0.981))
    rows = "".join(f"{n},{50 / n * f},{way}\n" for n in (2.8, 4, 5.6, 8) for way, f in ways)
    result = analyse_callipers(
        calliper_readings(csv("marked,diameter_mm,direction\n" + rows)),
        focal=FocalLength.told(50.0, 0.001, practice()),
    )
    # 2 log2(1.0205 / 0.9805)
    assert result.hysteresis.ev.value == pytest.approx(2 * math.log2(1.0205 / 0.9805), abs=1e-6)
    assert not result.hysteresis.same
    assert len(result.marks) == 8


def test_across_flats_is_turned_into_the_equal_circle():
    readings = calliper_readings(csv("marked,diameter_mm\n4,10\n"))
    result = analyse_callipers(readings, blades=5, across="flats")
    assert result.diameter.value == pytest.approx(0.0107533, abs=1e-7)  # the table: 1.07533


def test_a_chord_of_unknown_shape_is_uncertain():
    readings = calliper_readings(csv("marked,diameter_mm\n4,10\n"))
    assert analyse_callipers(readings).diameter.u / 0.01 > 0.025
    assert any("number of blades" in one for one in analyse_callipers(readings).warnings)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("marked,diameter_mm\n4,inf\n", "line 2"),
        ("marked,diameter_mm\n4,0\n", "Write it in mm"),
        ("marked,diameter_mm\n4,2 ft\n", "Write it in mm"),
        ("marked,diameter_mm\n4,-3\n", "Write it in mm"),
        ("marked,diameter_mm\nwide,3\n", "f-number"),
        ("marked,diameter_mm,direction\n4,3,sideways\n", "opening, closing"),
        ("stop,width\n4,3\n", "no column 'marked'"),
    ],
)
def test_a_table_that_cannot_be_read_says_where_and_why(text, says):
    with pytest.raises(RefusedReadings, match=says):
        calliper_readings(csv(text))


def test_a_smaller_stop_that_was_read_wider_is_said():
    result = analyse_callipers(calliper_readings(csv("marked,diameter_mm\n4,10\n5.6,11\n")))
    assert any("f/5.6 than f/4" in one for one in result.warnings)


# --- pictures of something else -------------------------------------------------------------------


def discs(*them, shape=(400, 500), level=180, ground=10):
    y, x = np.mgrid[: shape[0], : shape[1]]
    inside = np.zeros(shape, dtype=bool)
    for cx, cy, r in them:
        inside |= np.hypot(x - cx, y - cy) < r
    return np.where(inside, level, ground)


@pytest.mark.parametrize(
    ("picture", "says"),
    [
        (np.full((300, 400), 128), "nothing in it stands out"),
        (np.zeros((300, 400)), "nothing in it stands out"),
        (np.random.default_rng(1).integers(0, 255, (300, 400)), "no lit opening"),
        (discs((150, 200, 70), (350, 200, 60)), "bright patches of like size"),
        (discs((250, 200, 70), level=10, ground=180), "dark opening on a light ground"),
        (discs((40, 200, 70)), "no lit opening"),
        (discs((250, 200, 15)), "pixels across"),
        (discs((80, 200, 74)), "picture's edge"),
    ],
)
def test_a_picture_of_something_else_is_refused(picture, says):
    with pytest.raises(RefusedReadings, match=says):
        analyse_iris(plain(picture))


@pytest.mark.parametrize(
    "name", ["camera", "coins", "page", "text", "moon", "clock", "brick", "chelsea", "astronaut", "rocket"]
)
def test_pictures_a_library_ships_are_no_openings(name):
    import skimage.data

    with pytest.raises(RefusedReadings):
        analyse_iris(plain(getattr(skimage.data, name)(), name))


def test_a_round_coin_of_a_library_is_as_large_as_its_pixels_say():
    # scikit-image's coins; one of them cut out. Its area by counting pixels above Otsu's level is the
    # other route.
    import skimage.data
    from scipy.ndimage import binary_fill_holes
    from skimage.filters import threshold_otsu
    from skimage.measure import label, regionprops

    coins = skimage.data.coins()
    filled = binary_fill_holes(coins > threshold_otsu(coins))
    whole = [one for one in regionprops(label(filled)) if 1500 < one.area < 4000 and one.solidity > 0.95]
    coin = max(whole, key=lambda one: one.area)
    lone = np.where(label(filled) == coin.label, 170, 20).astype(np.uint8)
    top, left, bottom, right = coin.bbox
    cut = np.full((bottom - top + 80, right - left + 80), 20, np.uint8)
    cut[40:-40, 40:-40] = lone[top:bottom, left:right]
    result = analyse_iris(plain(cut))
    assert result.diameter_px.value == pytest.approx(coin.equivalent_diameter_area, rel=0.005)


@pytest.mark.parametrize(("n", "by"), [(5, 3.0), (6, -5.0), (7, 8.0), (9, 0.0)])
def test_how_far_the_worst_blade_is_off_is_told_with_its_uncertainty(n, by):
    """Truth is where the blade was drawn; its share of the diameter by the shoelace formula's area."""
    opening = late_blade(n, 120.0, 1, by, 0.3)
    found = analyse_iris(photo(opening)).out_of_line
    low, high = found.coverage_interval()
    assert low < 100 * abs(by) / opening.diameter() < high
    assert found.u < 0.2


def test_four_blades_always_fit_some_middle_so_that_none_is_said_to_be_off():
    assert analyse_iris(photo(late_blade(4, 120.0, 1, 6.0, 0.3))).out_of_line is None
