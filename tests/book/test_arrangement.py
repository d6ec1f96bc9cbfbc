"""How a recording was made: what is kept of it, and what is refused."""

import io

import numpy as np
import pytest
import soundfile

from book.cast import BENNO, BY, REFLEX
from instruments.lightcurves import Bench, Firing
from pegwood.book import arriving
from pegwood.book.arrangement import Arrangement
from pegwood.book.files import store
from pegwood.book.measuring import keep_recording, read_recording
from pegwood.book.models import Measurement
from pegwood.book.refusal import Refused

pytestmark = pytest.mark.django_db
FIRING = Firing(at=0.4, opening=0.002, plateau=0.0065, closing=0.002)


def recording(channels: int = 1) -> io.BytesIO:
    samples = Bench(firings=(FIRING,), rate=24_000, sigma=0.003).samples()
    dark = [np.random.default_rng(i).normal(0, 0.002, len(samples)) for i in range(1, channels)]
    out = io.BytesIO()
    soundfile.write(out, np.column_stack([samples, *dark]), 24_000, subtype="PCM_16", format="WAV")
    out.seek(0)
    return out


def kept(job, arrangement=None, channels=1, content=None):
    content = content or recording(channels)
    return keep_recording(job, content, "r.wav", marked="1/125", arrangement=arrangement, by=BY)


def test_one_light_channel_needs_no_words(arrived):
    assert "arrangement" not in kept(arrived).settings


def test_only_what_was_said_is_kept_in_si_units():
    said = Arrangement(places_m=(0.0, 0.018), gap_m=0.0015, f_number=2.0)
    assert said.to_settings() == {"arrangement": {"places_m": [0.0, 0.018], "gap_m": 0.0015, "f_number": 2.0}}
    assert Arrangement.of(said.to_settings()) == said


def test_a_name_of_a_later_pegwood_is_left_aside():
    assert Arrangement.of({"arrangement": {"widest": 2.8, "hologram": 3}}) == Arrangement(widest=2.8)


def test_the_diary_holds_what_was_asked(arrived):
    kept(arrived, Arrangement(widest=3.5))
    entry = arrived.diary.get(what="recorded the shutter")
    assert entry.new["arrangement"] == {"widest": 3.5}


def test_the_same_file_with_another_stop_is_another_measurement(arrived):
    content = recording().getvalue()
    for widest in (2.8, 2.8, 3.5):
        kept(arrived, Arrangement(widest=widest), content=io.BytesIO(content))
    assert Measurement.objects.count() == 2


def test_the_smaller_stops_are_read_as_asked(arrived):
    read = read_recording(kept(arrived, Arrangement(widest=5.6)), by=BY)
    # straight ramps: at a stop with 1/m**2 of the area each of both edges loses half of 2 ms / m**2
    for one in read.result["at_stops"]:
        m_squared = (one["f_number"] / 5.6) ** 2
        assert one["effective_s"] == pytest.approx(0.0105 - 0.002 / m_squared, abs=4e-5)


def test_curtains_that_cannot_be_told_are_refused_with_the_reason():
    job = arriving.take_in(BENNO, REFLEX, by=BY)
    read = read_recording(kept(job, Arrangement(places_m=(0.018, 0.036)), channels=2), by=BY)
    # the light came in channel 0 and the second sensor saw none: capping, or a blind sensor
    assert read.result["curtains"]["capping"] == "cannot tell"
    other = Arrangement(places_m=(0.0, 0.018))
    both = np.column_stack(
        [Bench(firings=(FIRING,), rate=24_000, sigma=0.003, seed=i).samples() for i in (0, 1)]
    )
    out = io.BytesIO()
    soundfile.write(out, both, 24_000, subtype="PCM_16", format="WAV")
    out.seek(0)
    refused = read_recording(kept(job, other, content=out), by=BY)
    assert refused.progress == "refused"
    assert "at once" in refused.reason


@pytest.mark.parametrize(
    ("said", "shutter", "says"),
    [
        (Arrangement(places_m=(0.0, 0.018)), "leaf", "no curtains"),
        (Arrangement(widest=2.8), "focal-plane", "for a leaf shutter"),
        (Arrangement(widest=2.8, places_m=(0.0, 0.018)), "", "one light channel"),
        (Arrangement(contact=1, places_m=(0.0, 0.018)), "", "one light channel"),
        (Arrangement(contact=-1), "leaf", "count from 0"),
        (Arrangement(contact=10**9), "leaf", "count from 0"),
        (Arrangement(gate_m=0.036), "focal-plane", "need the sensors' places"),
        (Arrangement(places_m=(0.0,)), "focal-plane", "Two or three places"),
        (Arrangement(places_m=(0.018, 0.0)), "focal-plane", "must rise"),
        (Arrangement(places_m=(0.0, float("nan"))), "focal-plane", "plain numbers"),
        (Arrangement(places_m=(0.0, 0.036), gate_m=0.02), "focal-plane", "reach to the last sensor"),
        (Arrangement(places_m=(0.0, 0.036), gap_m=0.0015), "focal-plane", "needs both"),
        (Arrangement(widest=float("inf")), "leaf", "plain numbers"),
        (Arrangement(widest=0.0), "leaf", "such as 2.8"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(said, shutter, says):
    with pytest.raises(Refused, match=says) as refusal:
        said.check(shutter)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(
    ("said", "channels", "says"),
    [
        (Arrangement(contact=1), 1, "no channel 1"),
        (Arrangement(contact=0), 1, "a channel each"),
        (Arrangement(contact=3), 2, "no channel 3"),
    ],
)
def test_channels_that_do_not_fit_are_refused_before_anything_is_stored(arrived, said, channels, says):
    with pytest.raises(Refused, match=says):
        kept(arrived, said, channels)
    assert not Measurement.objects.exists()
    assert list(store().names()) == []


def test_a_file_that_is_no_recording_is_kept_and_refused_as_ever(arrived):
    broken = kept(arrived, Arrangement(contact=1), content=io.BytesIO(b"RIFF and no more"))
    assert read_recording(broken, by=BY).progress == "refused"
