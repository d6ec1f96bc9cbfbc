"""
Slow speeds by sound, on simulated sounds whose instants are known.

The simulator (``sounds.py``) shares no code with the analysis. Sessions are drawn from fixed seeds; what
holds on the average over many is in ``test_sound_coverage.py``.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from scipy import signal

from pegwood.instruments.recordings import RefusedRecording
from pegwood.instruments.shutter import MarkedSpeed, limit_for
from pegwood.instruments.sound import FASTEST_S, analyse_sound, chance_in_words

from .sounds import Camera, Impact, Scene, Timbre, as_recording, motor, session, speech

EIGHTH = MarkedSpeed.parse("1/8")


def clear_camera(seed: int = 3, **changes) -> Camera:
    """Opening and closing stand out, a soft release well before, ticks in between."""
    usual = {"opening_db": -3.0, "release_db": -20.0, "release_s": 0.02, "gear_db": -26.0, "rattle_db": None}
    return Camera.drawn(np.random.default_rng(seed), **{**usual, **changes})


def bench(
    open_s: float = 0.25, n: int = 3, seed: int = 11, *, camera: Camera | None = None, **scene
) -> Scene:
    return session(np.random.default_rng(seed), open_s, n, camera=camera or clear_camera(), **scene)


def listen(scene: Scene, *, marked=EIGHTH, mirror="none", kind="leaf", **more):
    result = analyse_sound(scene.recording(), marked=marked, mirror=mirror, kind=kind, **more)
    json.dumps(result.to_json(), allow_nan=False)
    return result


def reasons(result) -> str:
    return " ".join(one.reason for one in result.unread)


def remedies(result) -> str:
    return " ".join(one.remedy for one in result.unread)


def test_times_far_from_the_dial_are_told_with_the_doubt_that_other_sounds_were_meant():
    scene = bench(0.25, camera=clear_camera(release_db=None))
    near, far = (listen(scene, marked=MarkedSpeed.parse(text)) for text in ("1/4", "1"))
    assert not any("on the dial" in warning for warning in near.shutter.warnings)
    # the dial chooses no sound: the same time is told, 2 EV from it
    assert [shot.effective.value for shot in far.shutter.shots] == pytest.approx([0.25] * 3, rel=0.05)
    (warning,) = [warning for warning in far.shutter.warnings if "on the dial" in warning]
    assert 240 < float(warning.split("(about ")[1].split(" ms")[0]) < 260
    assert "check the dial, and one firing with a light gate" in warning


# --- what it tells ------------------------------------------------------------------------------------


@pytest.mark.parametrize("open_s", [1 / 30, 1 / 15, 1 / 8, 1 / 4, 1 / 2, 1.0, 2.0])
def test_a_slow_firing_is_timed_within_its_own_uncertainty(open_s):
    scene = bench(open_s, camera=clear_camera(release_db=None))
    result = listen(scene)
    assert len(result.firings) == 3 if open_s > 0.05 else result.firings
    for heard in result.firings:
        true = min(scene.firings, key=lambda firing: abs(firing.opened - heard.opened.value))
        assert abs(heard.between.value - (true.closed - true.opened)) < 3 * heard.between.u
        assert heard.between.u < 0.0012, "the sounds are timed no worse than what they mean"
        assert heard.chance >= 0.95


def test_the_error_is_that_of_the_times_that_were_made():
    scene = bench(0.15)
    summary = listen(scene).shutter.summary
    made = np.mean([firing.closed - firing.opened for firing in scene.firings])
    assert abs(summary.error.value - math.log2(made * 8)) < 3 * summary.error.u


def test_every_line_of_the_budget_from_outside_has_its_mark():
    shot = listen(bench()).shutter.shots[0]
    lines = {part.name: part for part in shot.effective.budget}
    assert {"opening's instant", "closing's instant", "which sound", "clock", "moment of the sound"} <= set(
        lines
    )
    assert lines["moment of the sound"].mark == "practice"
    assert shot.effective.u == pytest.approx(math.hypot(*(part.u for part in lines.values())))


def test_what_a_sound_means_does_not_average_out_over_the_firings():
    one, many = listen(bench(n=2)), listen(bench(n=6))
    moment = next(p for p in many.shutter.shots[0].effective.budget if p.name == "moment of the sound")
    assert many.shutter.summary.effective.u >= moment.u
    assert one.shutter.summary.effective.u >= moment.u


def test_a_verdict_is_given_where_the_uncertainty_allows():
    speed = MarkedSpeed.parse("1/4")
    limit = limit_for("leaf", "newer", speed)
    assert listen(bench(0.25), marked=speed, limit=limit).shutter.summary.verdict == "within"
    assert listen(bench(0.40), marked=speed, limit=limit).shutter.summary.verdict == "outside"
    # 20 % too slow stands on the limit itself
    assert listen(bench(0.30), marked=speed, limit=limit).shutter.summary.verdict == "too close to call"


def test_curtains_are_less_certain_than_blades_and_an_untold_mirror_makes_it_worse():
    scene = bench()
    leaf = listen(scene).shutter.shots[0].effective.u
    curtains = listen(scene, kind="focal-plane").shutter.shots[0].effective.u
    untold = listen(scene, kind="focal-plane", mirror="not told").shutter.shots[0].effective.u
    assert leaf < curtains < untold


def test_the_speed_on_the_dial_chooses_no_sound():
    scene = bench()
    told = [listen(scene, marked=MarkedSpeed.parse(text)).firings for text in ("1/8", "1/2", "1")]
    assert [[f.between.value for f in firings] for firings in told[1:]] == [
        [f.between.value for f in told[0]]
    ] * 2


@pytest.mark.parametrize("gain", [0.02, 0.9])
def test_a_louder_recording_gives_the_same_times(gain):
    scene = bench()
    times = [[f.between.value for f in listen(s).firings] for s in (scene, scene.with_(gain=gain))]
    assert times[1] == pytest.approx(times[0], abs=1e-4)


def test_a_recording_that_begins_later_gives_the_same_times():
    y = bench().samples()
    whole, late = (
        analyse_sound(as_recording(piece, 48_000), marked=EIGHTH, mirror="none") for piece in (y, y[9600:])
    )
    assert [f.between.value for f in late.firings] == pytest.approx(
        [f.between.value for f in whole.firings], abs=1e-4
    )
    assert late.firings[0].opened.value == pytest.approx(whole.firings[0].opened.value - 0.2, abs=1e-4)


def test_an_instant_is_where_the_sound_leaves_the_noise():
    """Against SciPy's Butterworth high-pass: where short energies first exceed a hundred times the room's."""
    scene = bench(noise_db=-60.0, camera=clear_camera(gear_db=None, release_db=None))
    sos = signal.butter(4, 1000, "highpass", fs=scene.rate, output="sos")
    energy = np.convolve(signal.sosfilt(sos, scene.samples()) ** 2, np.ones(5), "full")  # 0.1 ms
    noise = np.median(energy[: scene.rate // 2])
    for heard in listen(scene).firings:
        for at in (heard.opened.value, heard.closed.value):
            start = int((at - 0.003) * scene.rate)
            first = start + int(np.argmax(energy[start : start + 288] > 100 * noise))
            assert at == pytest.approx(first / scene.rate, abs=0.0003)


def test_every_sound_is_told_with_what_it_may_be():
    scene = bench()
    result = listen(scene)
    for sound in result.sounds:
        total = sound.opening + sound.closing + sound.fast + sound.something_else
        assert total == pytest.approx(1, abs=1e-6)
    called = [sound.called for sound in result.sounds]
    assert (called.count("opening"), called.count("closing")) == (3, 3)
    assert "something else" in called, "release and cocking"


# --- where it cannot tell -----------------------------------------------------------------------------


@pytest.mark.parametrize("open_s", [1 / 125, 1 / 250, 1 / 500])
@pytest.mark.parametrize("marked", [None, EIGHTH, MarkedSpeed.parse("1/125")])
def test_fast_firings_are_given_no_time(open_s, marked):
    result = listen(bench(open_s, camera=clear_camera(gear_db=None)), marked=marked)
    assert result.firings == ()
    assert result.shutter.summary.effective is None
    assert result.shutter.warnings


def test_a_fast_marking_is_answered_with_the_light_gate():
    result = listen(bench(0.25), marked=MarkedSpeed.parse("1/125"))
    assert result.firings == ()
    assert "1/125" in reasons(result)
    assert "light gate" in remedies(result)


def test_a_mirror_is_no_curtain():
    camera = clear_camera(mirror_db=-3.0, mirror_s=0.04)
    result = listen(bench(0.25, camera=camera), mirror="not told", kind="focal-plane")
    assert result.firings == ()
    assert "mirror" in reasons(result)
    assert "lock the mirror up and say so" in remedies(result)


def test_a_mirror_that_is_said_to_move_is_believed():
    assert "mirror" in reasons(listen(bench(), mirror="moving"))


def test_a_time_short_enough_to_be_a_mirrors_needs_the_word_that_there_is_none():
    scene = bench(1 / 15, camera=clear_camera(release_db=None))
    assert len(listen(scene).firings) == 3
    assert listen(scene, mirror="not told").firings == ()


def test_an_opening_softer_than_the_ticks_is_not_guessed():
    for seed in range(4):
        camera = clear_camera(seed, opening_db=-27.0, gear_db=-18.0, release_db=None)
        assert listen(bench(0.5, camera=camera, seed=seed)).firings == ()


def test_one_sound_is_no_time():
    one = Scene((Impact(1.5, 0, Timbre.drawn(np.random.default_rng(1))),), seconds=3.0)
    result = listen(one)
    assert result.firings == ()
    assert result.unread or result.shutter.warnings


def test_a_single_firing_might_be_two_knocks():
    result = listen(bench(n=1))
    assert result.firings == ()
    assert "fire five times" in remedies(result)


def test_a_voice_over_the_firings_is_no_ground_for_a_time():
    result = listen(bench().with_(beside=(speech(0.0, 0.0, 60.0),)))
    assert result.firings == ()
    assert "voice" in reasons(result)


def test_a_winder_all_the_time_is_no_ground_for_a_time():
    result = listen(bench().with_(beside=(motor(-6.0, 0.3, 60.0),)))
    assert result.firings == ()


@pytest.mark.parametrize("colour", ["white", "pink"])
@pytest.mark.parametrize("hum_db", [-200.0, -10.0])
def test_a_room_in_which_nothing_happens_holds_no_firing(colour, hum_db):
    result = listen(Scene(seconds=30.0, noise_db=-20.0, colour=colour, hum_db=hum_db, seed=5))
    assert (result.firings, result.unread, result.sounds) == ((), (), ())
    assert "No firing was heard" in result.shutter.warnings[0]


def test_knocks_alone_are_no_firings():
    rng = np.random.default_rng(8)
    for seed in range(4):
        knocks = tuple(
            Impact(float(at), float(rng.normal(-8, 6)), Timbre.drawn(rng, 200, 4000))
            for at in np.sort(rng.uniform(0, 20, 14))
        )
        assert listen(Scene(knocks, seconds=20.0, seed=seed)).firings == ()


def test_clipped_strokes_are_refused():
    result = listen(bench(camera=clear_camera(opening_db=0.0)).with_(gain=6.0, noise_db=-70.0))
    assert result.firings == ()
    assert "full scale" in reasons(result)


def test_automatic_gain_is_recognised():
    """A limiter: gain falls to a fifth at a stroke and comes back with a time constant of 0.6 s."""
    scene = bench(0.25, noise_db=-45.0)
    y, rate = scene.samples(), scene.rate
    gain, loud = 1.0, 0.05
    out = np.empty_like(y)
    for start in range(0, len(y), 48):
        piece = y[start : start + 48]
        if np.abs(piece).max() > loud:
            gain = 0.2
        out[start : start + 48] = gain * piece
        gain += (1 - gain) * (1 - math.exp(-48 / rate / 0.6))
    result = analyse_sound(as_recording(out, rate), marked=EIGHTH, mirror="none", kind="leaf")
    assert result.firings == ()
    assert "gain" in reasons(result) + remedies(result)


def test_noise_suppression_is_recognised():
    scene = bench(0.25)
    y = scene.samples()
    loud = np.convolve(np.abs(y) > 0.01, np.ones(960), "same") > 0
    result = analyse_sound(as_recording(np.where(loud, y, 0.0), scene.rate), marked=EIGHTH, mirror="none")
    assert result.firings == ()
    assert "noise suppression" in reasons(result)


# --- codecs and files ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("subtype", "format"), [("VORBIS", "OGG"), ("MPEG_LAYER_III", "MP3")])
def test_a_codec_widens_the_uncertainty_and_is_told(subtype, format):
    scene = bench()
    plain = listen(scene)
    packed = analyse_sound(
        scene.recording(subtype, format, compressed=True), marked=EIGHTH, mirror="none", kind="leaf"
    )
    assert packed.is_compressed
    assert len(packed.firings) == 3
    assert any("compressed" in warning for warning in packed.shutter.warnings)
    for heard, before, true in zip(packed.firings, plain.firings, scene.firings, strict=True):
        assert heard.between.u > 3 * before.between.u
        assert abs(heard.between.value - (true.closed - true.opened)) < 2 * heard.between.u


def test_the_light_gate_still_refuses_compressed_sound():
    with pytest.raises(RefusedRecording, match="bends the light curve"):
        bench().recording("VORBIS", "OGG")


def test_too_slow_a_recording_is_refused_with_what_to_do():
    with pytest.raises(RefusedRecording, match="Record with 44100"):
        analyse_sound(as_recording(np.zeros(8000), 4000))


@pytest.mark.parametrize("rate", [16_000, 44_100, 96_000, 192_000])
def test_any_usual_rate_will_do(rate):
    scene = bench().with_(rate=rate)
    result = listen(scene)
    assert len(result.firings) == 3
    for heard, true in zip(result.firings, scene.firings, strict=True):
        assert abs(heard.between.value - (true.closed - true.opened)) < 3 * heard.between.u


def test_a_dead_or_opposed_second_channel_takes_nothing_away():
    y = bench().samples()
    for second in (np.zeros_like(y), -y):
        result = analyse_sound(
            as_recording(np.column_stack([second, y]), 48_000), marked=EIGHTH, mirror="none"
        )
        assert len(result.firings) == 3


def test_what_is_told_is_no_shorter_than_promised():
    assert all(heard.between.value >= FASTEST_S for heard in listen(bench(1 / 30)).firings)


@pytest.mark.parametrize(
    ("chance", "words"), [(0.424, "0.42"), (0.9, "0.90"), (0.95, "over 0.9"), (1.0, "over 0.9")]
)
def test_no_chance_is_told_as_surer_than_simulated_rooms_bear_out(chance, words):
    assert chance_in_words(chance) == words
