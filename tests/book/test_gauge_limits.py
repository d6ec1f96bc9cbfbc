"""Limits of the other instruments: Pegwood's or the workshop's own, kept with each reading they judged."""

import json
import math

import pytest

from book.cast import BY
from pegwood.book import measuring
from pegwood.book.gauging import WAYS, keep_gauging, typed_figures
from pegwood.book.gauging.limits import LIMITS, GaugeLimit, in_use, limit_in, limits_of
from pegwood.book.gauging.ways import INSTRUMENTS
from pegwood.book.models import DiaryEntry, Measurement
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings, workshop
from pegwood.instruments.verdicts import Bounds

pytestmark = pytest.mark.django_db
METER = WAYS["meter"]
#: A meter that shows 0.2 EV too much at every light, read to hundredths.
ROWS = [
    *((f"{ev}", f"{ev + 0.2:.2f}", "up") for ev in range(4, 17, 2)),
    *((f"{ev}", f"{ev + 0.2:.2f}", "down") for ev in range(16, 3, -2)),
]


def gauged(job, **said):
    typed = [typed_figures(METER.columns, ROWS, "meter.csv")]
    kept = keep_gauging(job, METER, typed, said={"reference_u_ev": 0.01, **said}, by=BY)
    return measuring.read_recording(kept, by=BY)


def own(**figures):
    change_settings({"gauge_limits": {key.replace("__", "."): it for key, it in figures.items()}}, by=BY)


@pytest.mark.parametrize("limit", LIMITS.values(), ids=LIMITS)
def test_every_limit_has_a_default_with_source_mark_and_an_instrument(limit):
    default = limit.default()
    assert default.source
    assert default.mark in ("seen", "memory", "practice")
    assert limit.instrument in INSTRUMENTS
    assert limit.key.endswith(f"_{default.unit}")  # a name carries its unit
    assert default.is_open or limit.range[0] <= limit.figure_of(default) <= limit.range[1]


@pytest.mark.parametrize("limit", LIMITS.values(), ids=LIMITS)
def test_an_own_figure_bounds_the_same_sides_as_the_default(limit):
    default = limit.default()
    figure = limit.range[1] if default.is_open else limit.figure_of(default)
    mine = limit.own(figure)
    if not default.is_open:
        assert (mine.low, mine.high) == (default.low, default.high)
    assert limit.figure_of(mine) == figure
    assert mine.unit == default.unit
    assert (mine.source, mine.mark) == ("the workshop's own", "practice")


def test_an_instrument_joins_with_one_entry():
    limit = GaugeLimit(
        key="iris.roundness_", words="Roundness", side="at least", shown=(100, "%"), range=(0.5, 1),
        default=lambda: Bounds(0.95, None, "", "bench habit", "practice"),
    )  # fmt: skip
    assert limit.instrument == "iris"
    assert limit.in_words(limit.default()) == "at least 95 %"
    assert limit.own(0.9) == Bounds(0.9, None, "", "the workshop's own", "practice")


def test_a_limit_shown_in_arc_minutes_is_kept_in_radians():
    limit = LIMITS["rangefinder.vertical_rad"]
    # 1 arcmin = pi / 10800 rad
    assert limit.own(4 * math.pi / 10800).high * limit.shown[0] == pytest.approx(4)
    assert limit.in_words(limit.default()) == "±3 arcmin"


def test_without_an_own_limit_the_default_judges_and_is_kept(arrived):
    read = gauged(arrived)
    assert read.result["verdict"] == "within"  # 0.2 EV against 0.5
    assert read.settings["limits"]["meter.error_ev"]["high"] == 0.5
    assert set(read.settings["limits"]) == {one.key for one in limits_of("meter")}


def test_the_workshops_own_limit_judges_and_says_whose_it_is(arrived):
    own(meter__error_ev=0.1)
    read = gauged(arrived)
    assert read.result["verdict"] == "outside"  # 0.2 EV against 0.1
    limit = read.result["judged"][0]["limit"]
    assert (limit["low_ev"], limit["high_ev"]) == (-0.1, 0.1)
    assert (limit["source"], limit["mark"]) == ("the workshop's own", "practice")


def test_a_reading_keeps_the_limit_it_was_taken_under(arrived):
    own(meter__error_ev=0.1)
    read = gauged(arrived)
    change_settings({"gauge_limits": {}}, by=BY)
    again = measuring.read_recording(Measurement.objects.get(pk=read.pk), by=BY)
    assert again.result == read.result
    assert gauged(arrived).result["verdict"] == "within"


def test_a_reading_of_before_there_were_own_limits_is_read_against_the_default(arrived):
    read = gauged(arrived)
    old = {name: value for name, value in read.settings.items() if name != "limits"}
    Measurement.objects.filter(pk=read.pk).update(settings=old)
    own(meter__error_ev=0.1)
    again = measuring.read_recording(Measurement.objects.get(pk=read.pk), by=BY)
    assert again.result["verdict"] == "within"


def test_what_is_kept_comes_back_as_it_was(db):
    kept = json.loads(json.dumps(in_use("rangefinder", {"rangefinder.circle_135_m": 25e-6})))
    assert limit_in({"limits": kept}, "rangefinder.circle_135_m").high == 25e-6
    default = LIMITS["rangefinder.circle_6x6_m"].default()
    assert limit_in({"limits": kept}, "rangefinder.circle_6x6_m") == default
    assert limit_in({}, "rangefinder.circle_6x6_m") == default


def test_a_change_is_in_the_diary_and_json_will_do(db):
    change_settings({"gauge_limits": '{"meter.error_ev": 0.3}'}, by=BY)
    assert workshop().gauge_limits == {"meter.error_ev": 0.3}
    assert DiaryEntry.objects.get(what="changed settings").new == {"gauge_limits": {"meter.error_ev": 0.3}}


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("{", "as JSON, such as"),
        ("[0.3]", "as JSON, such as"),
        ('{"meter.luck_ev": 1}', "There are: meter.error_ev"),
        ('{"meter.error_ev": 0}', "from 0.01 to 5"),
        ('{"meter.error_ev": -0.3}', "from 0.01 to 5"),
        ('{"meter.error_ev": NaN}', "from 0.01 to 5"),
        ('{"meter.error_ev": Infinity}', "from 0.01 to 5"),
        ('{"meter.error_ev": true}', "from 0.01 to 5"),
        ('{"meter.error_ev": "0.3"}', "from 0.01 to 5"),
        ('{"rangefinder.circle_135_m": 0.03}', "0.001 to 1 mm"),  # millimetres taken for metres
    ],
)
def test_what_cannot_be_a_limit_is_refused_and_nothing_changes(db, given, says):
    with pytest.raises(Refused, match=says):
        change_settings({"gauge_limits": given}, by=BY)
    assert workshop().gauge_limits == {}


# --- the rangefinder and what turns ----------------------------------------------------------------------


def read_by(way, rows, marked="", **said):
    from pegwood.book.gauging.ways import GaugeFile

    table = typed_figures(WAYS[way].columns, rows, f"{way}.csv")
    told = {**said, **({"marked": marked} if marked else {})}
    told["limits"] = in_use(WAYS[way].instrument, workshop().gauge_limits)
    return WAYS[way].read([GaugeFile(table.content, table.name, "text/csv")], told)


FINDER = {"base_mm": 40.0, "magnification": 0.7, "focal_mm": 50.0, "stop": 2.0}
COINCIDES = [("1", "1", ""), ("2", "2", ""), ("5", "5", ""), ("inf", "inf", "")]


def test_every_formats_circle_can_be_the_workshops_own():
    from pegwood.instruments.rangefinder import circles

    assert {f"rangefinder.circle_{one}_m" for one in circles()} <= set(LIMITS)


def test_a_rangefinders_limit_is_the_stop_times_the_workshops_circle(db):
    assert read_by("rangefinder", COINCIDES, **FINDER)["limit_m"] == pytest.approx(2 * 30e-6)  # N c
    own(rangefinder__circle_135_m=20e-6)
    found = read_by("rangefinder", COINCIDES, **FINDER)
    assert found["limit_m"] == pytest.approx(2 * 20e-6)
    assert found["limit"]["source"] == "the workshop's own"
    assert read_by("rangefinder", COINCIDES, film_format="6x6", **FINDER)["limit_m"] == pytest.approx(
        2 * 50e-6
    )
    told = read_by("rangefinder", COINCIDES, circle_mm=0.04, **FINDER)
    assert told["limit_m"] == pytest.approx(2 * 40e-6)  # what was told with the readings comes first


def test_one_image_over_the_other_is_held_against_the_workshops_angle(db):
    own(rangefinder__vertical_rad=6 * math.pi / 10800)
    found = read_by("rangefinder", COINCIDES, vertical_arcmin=[4.0, 4.1, 3.9], **FINDER)["vertical"]
    # 6 arcmin at the eye behind 0.7 times is 8.57 arcmin without magnification
    assert found["limit"]["high_rad"] == pytest.approx(6 / 0.7 * math.pi / 10800)
    assert found["limit"]["source"] == "the workshop's own"


def test_a_torque_is_held_against_the_workshops_own(db):
    pulls = [("5.0",), ("5.02",), ("4.98",)]  # 5 N at 12 mm is 60 mN m
    assert read_by("friction", pulls, "rewind", radius_mm=12.0)["verdict"] == "within"  # 100 mN m
    own(**{"transport__rewind_n_m": 0.04})
    found = read_by("friction", pulls, "rewind", radius_mm=12.0)
    assert found["verdict"] == "outside"
    assert found["limit"]["source"] == "the workshop's own"
    assert read_by("friction", pulls, "take-up clutch", radius_mm=12.0)["verdict"] == "no limit given"


# --- the diaphragm and the take-up spool ------------------------------------------------------------------

#: A lens of 50 mm at f/2.8 and f/8: openings a tenth of an EV too wide, 50 / N times 2^(0.1 / 2).
OPENINGS = [
    (mark, f"{50 / 2 ** (half / 2) * 2 ** (0.1 / 2):.3f}", way)
    for mark, half in (("2.8", 3), ("8", 6))
    for way in ("opening", "closing")
    for _ in range(3)
]
LENS = {"focal_mm": 50.0, "focal_u_percent": 0.1, "blades": 6, "calliper_u_mm": 0.005}


def by_mark(result):
    return {one["marked"]: one["verdict"] for one in result["marks"]}


def test_wide_and_small_stops_are_held_against_limits_of_their_own(db):
    # six corners for the equal circle: narrower by sqrt(3 sqrt(3) / 2 pi), so the rows are made wider by it
    wider = 1 / math.sqrt(3 * math.sqrt(3) / (2 * math.pi))
    rows = [(mark, f"{float(mm) * wider:.3f}", way) for mark, mm, way in OPENINGS]
    found = read_by("iris-calliper", rows, **LENS)
    assert by_mark(found) == {"2.8": "within", "8": "within"}
    assert found["marks"][0]["error_ev"] == pytest.approx(0.1, abs=0.01)
    own(iris__wide_ev=0.05)
    assert by_mark(read_by("iris-calliper", rows, **LENS)) == {"2.8": "outside", "8": "within"}
    own(iris__small_ev=0.05)
    found = read_by("iris-calliper", rows, **LENS)
    assert by_mark(found) == {"2.8": "within", "8": "outside"}
    assert found["marks"][-1]["limit"]["source"] == "the workshop's own"


def test_a_rings_play_is_held_against_the_workshops_own(db):
    # a tenth of an EV wider opening than closing
    rows = [(m, f"{float(mm) * (2**0.05 if way == 'opening' else 1):.3f}", way) for m, mm, way in OPENINGS]
    assert read_by("iris-calliper", rows, **LENS)["hysteresis"]["verdict"] == "within"  # 1/6 EV
    own(iris__hysteresis_ev=0.05)
    found = read_by("iris-calliper", rows, **LENS)["hysteresis"]
    assert found["difference_ev"] == pytest.approx(0.1, abs=0.005)
    assert found["verdict"] == "outside"
    assert found["limit"]["source"] == "the workshop's own"


def test_a_spool_may_have_to_slip_more_than_not_at_all(db):
    core = [("14",), ("14.02",), ("13.98",)]
    found = read_by("take-up", core, drive_turns=1.2)
    assert found["slip_verdict"] == "within"
    assert found["slip_limit"]["low_turns"] == 0.0
    more = found["first_slip_turns"] + 0.5
    own(transport__slip_turns=more)
    found = read_by("take-up", core, drive_turns=1.2)
    assert found["slip_verdict"] == "outside"
    assert found["slip_limit"]["source"] == "the workshop's own"


def test_a_limit_of_nothing_at_all_is_one_only_from_below(db):
    own(transport__slip_turns=0, transport__gap_m=0)
    assert workshop().gauge_limits == {"transport.slip_turns": 0, "transport.gap_m": 0}
    with pytest.raises(Refused, match="from"):
        own(transport__scatter_m=0)


# --- focus -----------------------------------------------------------------------------------------------

SCALE = {"focal_mm": 50.0, "stop": 2.0, "film_format": "24x36"}
#: Half a depth of focus too far from the film at every mark, and a little: 0.035 mm at f/2.
OFF = [("inf", "", "0.035"), ("inf", "", "0.035"), ("3", "", "0.035"), ("1", "", "0.035")]
DEPTHS = [
    (f"{depth + slip:.3f}", x, y, to)
    for to, depth in (("", 43.93), ("plate", 44.13))
    for x, y in (("15", "10"), ("-15", "10"), ("0", "-10"))
    for slip in (0.001, -0.001)
]


def scale(**said):
    return read_by("focus-scale", OFF, reading_u_mm=0.0005, **{**SCALE, **said})


def test_a_scale_is_held_against_the_workshops_share_of_the_depth(db):
    found = scale()
    # N c to one side at infinity, half of it allowed
    assert found["marks"][-1]["limit"]["high_m"] == pytest.approx(0.5 * 2 * 30e-6)
    assert found["verdict"] == "outside"
    own(focus__share_depths=0.8)
    found = scale()
    assert found["marks"][-1]["limit"]["high_m"] == pytest.approx(0.8 * 2 * 30e-6)
    assert found["marks"][-1]["limit"]["source"] == "the workshop's own"
    assert found["verdict"] == "within"
    assert scale(limit_mm=0.01)["verdict"] == "outside"  # what was told with the readings comes first


def test_one_circle_of_confusion_reaches_rangefinder_and_focus(db):
    """It was kept for the rangefinder before focus asked for it, and holds under the same name."""
    own(rangefinder__circle_135_m=20e-6)
    assert read_by("rangefinder", COINCIDES, **FINDER)["limit_m"] == pytest.approx(2 * 20e-6)
    found = scale()
    assert found["confusion_m"] == pytest.approx(20e-6)
    assert found["marks"][-1]["limit"]["high_m"] == pytest.approx(0.5 * 2 * 20e-6)
    assert scale(film_format="6x6")["confusion_m"] == pytest.approx(50e-6)
    assert scale(confusion_mm=0.04)["confusion_m"] == pytest.approx(40e-6)
    # and it is kept with either
    for instrument in ("rangefinder", "focus"):
        assert in_use(instrument, workshop().gauge_limits)["rangefinder.circle_135_m"]["high"] == 20e-6
    assert "rangefinder.circle_135_m" not in in_use("meter", workshop().gauge_limits)


def test_rangefinder_and_focus_know_the_same_circles():
    from pegwood.instruments.focus import formats
    from pegwood.instruments.rangefinder import circle, circles

    told = dict.fromkeys(formats().values())
    assert sorted(one.circle for one in told) == sorted(circles())
    for one in told:
        assert (one.confusion_m, one.source) == (circle(one.circle).value, circle(one.circle).source)
        # within a tenth of a 1500th of the diagonal, the rule of thumb
        assert one.confusion_m == pytest.approx(math.hypot(one.width_m, one.height_m) / 1500, rel=0.12)


def test_a_register_and_a_channel_are_held_against_the_workshops_own(db):
    def register():
        return read_by("focus-flange", DEPTHS, nominal_mm=43.9, gauge_error_mm=0.001, gauge_step_mm=0.001)

    found = register()  # 0.03 mm too long, a channel of 0.2 mm
    assert (found["verdict"], found["channel_verdict"]) == ("outside", "within")
    own(focus__register_m=5e-5, **{"focus.channel-most_m": 2e-4, "focus.channel-least_m": 1e-4})
    found = register()
    assert found["verdict"] == "within"
    assert found["limit"]["source"] == found["channel_limit"]["source"] == "the workshop's own"
    assert found["channel_verdict"] == "too close to call"
    own(**{"focus.channel-least_m": 1.9e-4})
    limit = register()["channel_limit"]
    assert (limit["low_m"], limit["high_m"]) == pytest.approx((1.9e-4, 2.4e-4))
    assert "from below the workshop's own; from above" in limit["source"]
