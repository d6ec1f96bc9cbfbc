"""Threads: the tables against formulae, published limits and the pairs that are known to fool people."""

from __future__ import annotations

import math
import re
from collections import Counter

import pytest

from pegwood.trade.names import UnknownWord, spellings
from pegwood.trade.reference import Reference
from pegwood.trade.threads import find_thread, looks, stress_area, threads, threads_like, tightening_torque
from trade.screws_as_made import BA, METRIC, MINIATURE, limits

REFERENCE = Reference()
THREADS = threads(REFERENCE)
BY_NAME = {one.name: one for one in THREADS.values()}


def mm(value_m: float) -> float:
    return value_m * 1e3


def figures(value: float, how_many: int) -> float:
    return float(f"{value:.{how_many}g}")


# --- sizes against the laws of their standards -----------------------------------------------------


@pytest.mark.parametrize("number", range(17))
def test_british_association_sizes_follow_their_law_and_the_printed_table(number):
    # BS 93: p = 0.9^n, d = 6 p^1.2 with the pitch not rounded, both to two figures
    found, pitch = BY_NAME[f"{number} BA"], 0.9**number
    assert mm(found.pitch_m) == pytest.approx(figures(pitch, 2))
    assert mm(found.diameter_m) == pytest.approx(figures(6 * pitch**1.2, 2))
    diameter, printed_pitch, minor = BA[number]
    assert (mm(found.diameter_m), mm(found.pitch_m)) == pytest.approx((diameter, printed_pitch))
    # the printed depth is 0.6 p to the nearest 0.005 mm, so its minor may be 0.01 off the rule
    assert mm(found.diameter_m - found.form.d1 * found.pitch_m) == pytest.approx(minor, abs=0.0101)


def test_the_law_for_british_association_fails_with_rounded_pitches():
    """The trap the standard's note warns of: from the rounded pitch, no. 8 and others come out wrong."""
    wrong = [n for n, (d, p, _) in enumerate(BA) if figures(6 * p**1.2, 2) != d]
    assert wrong


@pytest.mark.parametrize("number", range(26))
def test_thury_sizes_follow_the_same_law_to_three_figures(number):
    found, pitch = BY_NAME[f"Thury {number}"], 0.9**number
    assert mm(found.pitch_m) == pytest.approx(figures(pitch, 3))
    assert mm(found.diameter_m) == pytest.approx(figures(6 * pitch**1.2, 3))


def test_thurys_law_gives_his_published_largest_screw():
    # encyclopaedia article: no. -20 is 75.2 mm with a pitch of 8.23 mm
    pitch = 0.9**-20
    assert (figures(6 * pitch**1.2, 3), figures(pitch, 3)) == (75.2, 8.23)


def test_unified_numbers_follow_their_rule_and_the_millimetres_of_a_table():
    numbered = [one for one in THREADS.values() if re.match(r"#[1-9]?\d-", one.name)]
    assert len(numbered) == 17
    for one in numbered:
        number, per_inch = map(int, re.findall(r"\d+", one.name))
        assert one.diameter_m == pytest.approx((0.060 + 0.013 * number) * 0.0254)  # ASME B1.1
        assert one.pitch_m == pytest.approx(0.0254 / per_inch)
    # three published tables agree on these
    printed = {"#0-80 UNF": (1.524, 0.3175), "#1-72 UNF": (1.854, 0.3528), "#4-40 UNC": (2.845, 0.6350)}
    printed |= {"#00-90": (1.194, 0.2822), "#000-120": (0.864, 0.2117), "#0000-160": (0.533, 0.1588)}
    printed |= {"1/4-20 UNC": (6.350, 1.270), "3/8-16 Whitworth": (9.525, 1.5875)}
    for name, (diameter, pitch) in printed.items():
        assert mm(BY_NAME[name].diameter_m) == pytest.approx(diameter, abs=0.0006)
        assert mm(BY_NAME[name].pitch_m) == pytest.approx(pitch, abs=0.00006)


def test_effective_and_minor_diameters_are_those_printed():
    m1 = BY_NAME["M1x0.25"]  # JIS B 0205 (2001): 0.838 and 0.729
    assert mm(m1.diameter_m - m1.form.d2 * m1.pitch_m) == pytest.approx(0.838, abs=0.0005)
    assert mm(m1.diameter_m - m1.form.d1 * m1.pitch_m) == pytest.approx(0.729, abs=0.0005)
    # Machinery's Handbook, table 5: 0.60 UNM 0.503 and 0.420, 1.40 UNM 1.205 and 1.040
    for name, effective, minor in (("S0.6x0.15", 0.503, 0.420), ("S1.4x0.3", 1.205, 1.040)):
        one = BY_NAME[name]
        assert mm(one.diameter_m - one.form.d2 * one.pitch_m) == pytest.approx(effective, abs=0.0006)
        assert mm(one.diameter_m - one.form.d3 * one.pitch_m) == pytest.approx(minor, abs=0.0006)


def test_flank_angles_agree_with_the_height_of_the_sharp_triangle():
    # BS 93: H = 1.13634 p; ISO 68-1: 0.866025 p; BS 84: 0.960491 p
    for name, height in (("2 BA", 1.13634), ("M2x0.4", 0.866025), ("1/4-20 Whitworth", 0.960491)):
        half = math.radians(BY_NAME[name].form.angle_deg / 2)
        assert 0.5 / math.tan(half) == pytest.approx(height, abs=2e-5)
    # Loewenherz: flats of p/8 at top and bottom leave a depth of 0.75 p, so the sharp triangle is p high
    loewenherz = BY_NAME["Loewenherz 2"].form
    assert 0.5 / math.tan(math.radians(loewenherz.angle_deg / 2)) == pytest.approx(1.0, abs=2e-4)
    assert loewenherz.d1 == pytest.approx(2 * 0.75)


# --- limits of screws as made ----------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(BY_NAME))
def test_the_limits_of_every_size_are_those_published(name):
    """By the standards' formulae in the code, by their tables here: rounding differs by a few micrometres."""
    one = BY_NAME[name]
    low, high = limits(name, mm(one.diameter_m), mm(one.pitch_m))
    assert mm(one.limits.low_m) == pytest.approx(low, abs=0.0065)
    assert mm(one.limits.high_m) == pytest.approx(high, abs=0.0065)
    assert 0 < one.limits.low_m < one.limits.high_m <= one.diameter_m * (1 + 1e-12)


def test_every_published_size_is_in_the_tables():
    assert set(METRIC) <= set(BY_NAME)
    sizes = {(round(mm(t.diameter_m), 4), round(mm(t.pitch_m), 4)) for t in THREADS.values()}
    assert {(d, p) for d, p, _ in MINIATURE} <= sizes
    # a published table of Loewenherz sizes
    assert {(1.7, 0.35), (2.3, 0.4), (2.6, 0.45), (5.5, 0.9)} <= sizes
    assert (3.4, 0.5) in sizes  # JIS B 7104, release cable


def test_the_tables_hold_what_they_promise_and_no_name_stands_for_two_threads():
    assert len(THREADS) >= 120
    names = Counter(name for one in THREADS.values() for name in spellings(one.row))
    assert [name for name, times in names.items() if times > 1] == []
    for one in THREADS.values():
        assert 0.09 < one.pitch_m / one.diameter_m < 0.35
        assert one.form.d2 < one.form.d1 <= one.form.d3 or one.form.key == "miniature"


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("M2", "M2x0.4"),
        ("m2 × 0,4", "M2x0.4"),
        ("M 1.7", "M1.7x0.35"),
        ("8ba", "8 BA"),
        ("BA 8", "8 BA"),
        ("#2-56", "#2-56 UNC"),
        ("2-56", "#2-56 UNC"),
        ("1/4-20", "1/4-20 UNC"),
        ("1.20 UNM", "S1.2x0.25"),
        ("löwenherz 2.3", "Loewenherz 2.3"),
        ("M3x0.6", "M3x0.6"),
        ("FS 12", "Thury 12"),
    ],
)
def test_a_thread_is_found_as_people_spell_it(word, name):
    assert find_thread(REFERENCE, word).name == name


def test_an_unknown_thread_names_the_nearest():
    with pytest.raises(UnknownWord, match=r"'M2\.4' is no thread that the tables know\. Nearest: m2"):
        find_thread(REFERENCE, "M2.4")


def test_a_workshops_own_thread_stands_before_all_others(tmp_path):
    (tmp_path / "threads.toml").write_text(
        'source = "my own drawer of screws"\nmark = "practice"\n[[row]]\n'
        'key = "m2x0.4"\nname = "M2x0.4"\nfamily = "iso"\nd_mm = 2.0\np_mm = 0.4\noften = 500\n',
        "utf-8",
    )
    own = Reference(tmp_path)
    found = threads_like(own, 1.97e-3, 0.4e-3).candidates[0]
    assert found.thread.row.own
    assert found.p > threads_like(REFERENCE, 1.97e-3, 0.4e-3).candidates[0].p


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("d_mm = 2.0", "expected d_mm and p_mm, or d_in and per_inch"),
        ("d_mm = 2.0\np_mm = 0.4\nd_in = 0.1\nper_inch = 40", "expected d_mm and p_mm, or d_in and per_inch"),
        ("d_mm = 2.0\np_mm = 0.4\nd_low_mm = 1.9", "both limits"),
        ("d_mm = 2.0\np_mm = 0.4\noften = 0", "often is 0"),
    ],
)
def test_a_slip_in_an_own_thread_is_told(tmp_path, row, says):
    (tmp_path / "threads.toml").write_text(
        f'source = "mine"\nmark = "practice"\n[[row]]\nkey = "x"\nname = "X"\nfamily = "iso"\n{row}\n',
        "utf-8",
    )
    with pytest.raises(ValueError, match=says):
        threads(Reference(tmp_path))


def test_an_own_thread_of_an_unknown_family_names_the_nearest(tmp_path):
    (tmp_path / "threads.toml").write_text(
        'source = "mine"\nmark = "practice"\n[[row]]\nkey = "x"\nname = "X"\nfamily = "isso"\n'
        "d_mm = 2.0\np_mm = 0.4\n",
        "utf-8",
    )
    with pytest.raises(UnknownWord, match=r"'isso' is no family of threads .* Nearest: iso"):
        threads(Reference(tmp_path))


# --- what a screw can be ---------------------------------------------------------------------------

#: Sizes that fool people, worked out from the published sizes: within 0.05 mm and 5 % of pitch.
SIDE_BY_SIDE = [
    (1.69, 0.35, {"M1.7x0.35", "Loewenherz 1.7", "10 BA"}),
    (2.19, 0.45, {"M2.2x0.45", "#2-56 UNC", "8 BA"}),
    (2.48, 0.45, {"M2.5x0.45", "M2.6x0.45"}),
    (1.18, 0.25, {"M1.2x0.25", "Loewenherz 1.2", "13 BA", "S1.2x0.25"}),
    (6.20, 1.27, {"1/4-20 UNC", "1/4-20 Whitworth"}),
    (2.80, 0.53, {"6 BA", "#4-48 UNF"}),
    (1.83, 0.352, {"M1.8x0.35", "#1-72 UNF"}),
]


@pytest.mark.parametrize(("diameter", "pitch", "names"), SIDE_BY_SIDE)
def test_sizes_that_fool_people_are_told_side_by_side(diameter, pitch, names):
    found = threads_like(REFERENCE, diameter * 1e-3, pitch * 1e-3)
    assert names <= {one.thread.name for one in found.candidates[:7] if one.p > 1e-3}


def test_all_probabilities_add_up_to_one():
    for diameter, pitch in ((2.48, 0.45), (0.5, 0.125), (2.15, 0.7), (9.4, 1.59)):
        found = threads_like(REFERENCE, diameter * 1e-3, pitch * 1e-3)
        assert sum(one.p for one in found.candidates) + found.none_p == pytest.approx(1.0)


def test_the_flank_angle_and_the_crest_tell_families_apart():
    plain = threads_like(REFERENCE, 1.69e-3, 0.35e-3)
    with_angle = threads_like(REFERENCE, 1.69e-3, 0.35e-3, angle_deg=47.0)
    rounded = threads_like(REFERENCE, 1.69e-3, 0.35e-3, crest="rounded")

    def p(found, name):
        return next(one.p for one in found.candidates if one.thread.name == name)

    assert plain.candidates[0].thread.name == "M1.7x0.35"
    assert with_angle.candidates[0].thread.name == "10 BA"
    assert p(plain, "10 BA") < p(rounded, "10 BA") < p(with_angle, "10 BA")


@pytest.mark.parametrize(
    ("origin", "name"),
    [("britain", "6 BA"), ("america", "#4-48 UNF"), ("watch", "Thury 6"), ("German", "6 BA")],
)
def test_where_the_camera_was_made_moves_the_odds(origin, name):
    unknown = threads_like(REFERENCE, 2.76e-3, 0.53e-3)
    known = threads_like(REFERENCE, 2.76e-3, 0.53e-3, origin=origin)
    assert known.candidates[0].thread.name == name or origin == "German"
    assert known.candidates != unknown.candidates


def test_a_better_measurement_leaves_less_doubt():
    # M2.2 against no. 2-56: pitches 0.8 % apart
    rough = threads_like(REFERENCE, 2.15e-3, 0.45e-3, u_pitch_m=0.01e-3)
    fine = threads_like(REFERENCE, 2.15e-3, 0.45e-3, u_pitch_m=0.0005e-3)
    assert fine.candidates[0].thread.name == "M2.2x0.45"
    assert fine.candidates[0].p > rough.candidates[0].p


def test_what_is_no_thread_of_the_tables_is_said_to_be_none():
    assert threads_like(REFERENCE, 2.15e-3, 0.7e-3).none_p > 0.99
    assert threads_like(REFERENCE, 12.5e-3, 1.2e-3).none_p > 0.99


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"diameter_m": 0.0}, "outside diameter of 0 mm is outside the tables"),
        ({"diameter_m": 2.48}, "outside diameter of 2480 mm"),
        ({"diameter_m": math.nan}, "outside diameter of nan mm"),
        ({"pitch_m": 2.48e-3}, "A pitch of 2.48 mm does not go with"),
        ({"pitch_m": math.nan}, "A pitch of nan mm"),
        ({"u_diameter_m": 0.0}, "uncertainty of 0 mm in the diameter"),
        ({"u_pitch_m": math.inf}, "uncertainty of inf mm in the pitch"),
        ({"angle_deg": 30.0}, "flank angle of 30 degrees"),
        ({"angle_deg": 60.0, "u_angle_deg": 0.0}, "uncertainty of 0 degrees"),
        ({"crest": "sharp"}, "'sharp' is no form of crest"),
        ({"origin": "the moon"}, "'the moon' is no origin that the tables know"),
    ],
)
def test_figures_that_cannot_be_are_refused_in_one_line(given, says):
    with pytest.raises(ValueError, match=re.escape(says)) as refusal:
        threads_like(REFERENCE, **{"diameter_m": 2.48e-3, "pitch_m": 0.45e-3, **given})
    assert "\n" not in str(refusal.value)


# --- what to measure next --------------------------------------------------------------------------


def gains(diameter: float, pitch: float, **given) -> dict[str, float]:
    return {
        look.do: look.gain_bits
        for look in looks(threads_like(REFERENCE, diameter * 1e-3, pitch * 1e-3, **given))
    }


def test_same_size_at_another_angle_asks_for_the_angle():
    first, *_ = looks(threads_like(REFERENCE, 6.2e-3, 1.27e-3))
    assert first.do == "the angle between the flanks"
    assert dict(first.reads) == {"1/4-20 UNC": "60°", "1/4-20 Whitworth": "55°"}


def test_pitches_that_differ_ask_for_the_pitch_over_ten_turns():
    # M3 of today against M3 of old, from a pitch read with a ruler
    first, *_ = looks(threads_like(REFERENCE, 2.93e-3, 0.55e-3, u_pitch_m=0.03e-3, origin="japan"))
    assert first.do == "the pitch over 10 turns"
    assert {"M3x0.5": "5.00 mm", "M3x0.6": "6.00 mm"}.items() <= dict(first.reads).items()


def test_neighbours_in_one_series_ask_for_a_hole_or_a_micrometer_not_for_the_angle():
    found = gains(2.48, 0.45, origin="japan")
    assert "the angle between the flanks" not in found
    assert set(list(found)[:2]) == {
        "by hand in a hole that is known to be M2.5x0.45",
        "the outside diameter with a micrometer",
    }


def test_no_look_promises_more_than_there_is_doubt():
    for diameter, pitch in (
        (2.48, 0.45),
        (1.69, 0.35),
        (2.19, 0.45),
        (2.75, 0.53),
        (6.2, 1.27),
        (0.5, 0.125),
    ):
        likeness = threads_like(REFERENCE, diameter * 1e-3, pitch * 1e-3)
        among = [one.p for one in likeness.candidates if one.p > 1e-3]
        doubt = -sum(p / sum(among) * math.log2(p / sum(among)) for p in among)
        for look in looks(likeness):
            assert 0 < look.gain_bits <= doubt + 1e-6


def test_two_threads_equally_probable_and_far_apart_in_angle_leave_one_bit_to_gain(tmp_path):
    """The closed form: a look that cannot err takes away the whole doubt; the angle nearly does."""
    rows = "".join(
        f'[[row]]\nkey = "{key}"\nname = "{key}"\nfamily = "{family}"\nd_mm = 8.0\np_mm = 1.9\n'
        f"d_low_mm = 7.8\nd_high_mm = 8.0\noften = {often}\n"
        for key, family, often in (("one", "iso", 1.0), ("two", "ba", 1.0))
    )
    (tmp_path / "threads.toml").write_text(f'source = "made up"\nmark = "practice"\n{rows}', "utf-8")
    likeness = threads_like(Reference(tmp_path), 7.9e-3, 1.9e-3)
    one, two = (one.p for one in likeness.candidates[:2])
    share = one / (one + two)
    doubt = -share * math.log2(share) - (1 - share) * math.log2(1 - share)
    angle = next(look for look in looks(likeness) if look.do == "the angle between the flanks")
    assert 0.97 * doubt < angle.gain_bits <= doubt


# --- torque ----------------------------------------------------------------------------------------

#: Standard tightening torque chart after JIS B 1082, T and 0.5 T in N m.
CHART = {
    "M1": (0.0195, 0.0098), "M1.2": (0.037, 0.0185), "M1.4": (0.058, 0.029), "M1.6": (0.086, 0.043),
    "M1.8": (0.128, 0.064), "M2": (0.176, 0.088), "M2.2": (0.23, 0.116), "M2.5": (0.36, 0.18),
    "M3": (0.63, 0.315),
}  # fmt: skip


@pytest.mark.parametrize("name", CHART)
@pytest.mark.parametrize(
    ("hole", "column"), [("steel", 0), ("brass", 1), ("acetal", 1), ("zinc die-cast", 1)]
)
def test_torques_are_those_of_the_standard_chart(name, hole, column):
    # the chart's K lies between 0.199 and 0.202 against its own stress areas, and it rounds to two figures
    assert tightening_torque(REFERENCE, name, hole).torque_nm == pytest.approx(CHART[name][column], rel=0.016)


def test_stress_areas_are_those_printed():
    # JIS B 1082: M1 0.460, M1.6 1.270, M2 2.073, M2.5 3.391, M3 5.031 mm2
    for name, area in (("M1", 0.460), ("M1.6", 1.270), ("M2", 2.073), ("M2.5", 3.391), ("M3", 5.031)):
        assert stress_area(find_thread(REFERENCE, name)) * 1e6 == pytest.approx(area, abs=0.0015)


def test_the_torque_says_how_far_friction_moves_it():
    found = tightening_torque(REFERENCE, "M2x0.4", "brass")
    assert found.oiled_nm / found.torque_nm == pytest.approx(0.12 / 0.20)
    assert found.rough_nm / found.torque_nm == pytest.approx(0.25 / 0.20)
    assert found.torque_nm == pytest.approx(0.20 * found.pull_n * 2e-3)  # T = K F d


def test_a_material_nobody_cuts_threads_in_is_refused_with_those_that_are_known():
    with pytest.raises(ValueError, match=r"no torque for threads in .*leather.* They do for: steel"):
        tightening_torque(REFERENCE, "M2", "leather")
