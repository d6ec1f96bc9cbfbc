"""Sound files from a bench, good and hostile."""

from __future__ import annotations

import io
import struct
import time
import tracemalloc

import numpy as np
import pytest
import soundfile

from pegwood.instruments.recordings import RefusedRecording, open_recording

RATE = 48_000


def ramp(n=5000, channels=1) -> np.ndarray:
    return np.linspace(-0.9, 0.9, n * channels).reshape(n, channels)


def sound(y, subtype="PCM_16", format="WAV", rate=RATE) -> io.BytesIO:
    file = io.BytesIO()
    soundfile.write(file, y, rate, subtype=subtype, format=format)
    file.seek(0)
    return file


def all_of(recording, n=777) -> np.ndarray:
    return np.concatenate(list(recording.blocks(n)))


@pytest.mark.parametrize(
    ("format", "subtype", "step"),
    [
        ("WAV", "PCM_U8", 2**-7),
        ("WAV", "PCM_16", 2**-15),
        ("WAV", "PCM_24", 2**-23),
        ("WAV", "PCM_32", 2**-31),
        ("WAV", "FLOAT", 1e-7),
        ("WAV", "DOUBLE", 1e-16),
        ("WAVEX", "PCM_24", 2**-23),
        ("RF64", "PCM_16", 2**-15),
        ("FLAC", "PCM_S8", 2**-7),
        ("FLAC", "PCM_16", 2**-15),
        ("FLAC", "PCM_24", 2**-23),
        ("AIFF", "PCM_16", 2**-15),
        ("AIFF", "PCM_24", 2**-23),
        ("AIFF", "FLOAT", 1e-7),
    ],
)
def test_every_format_gives_back_the_samples(format, subtype, step):
    y = ramp(3000, 2)
    recording = open_recording(sound(y, subtype, format), "bench")
    assert (recording.n_samples, recording.n_channels, recording.sample_rate_hz) == (3000, 2, RATE)
    np.testing.assert_allclose(all_of(recording), y, atol=step)


def test_blocks_can_be_gone_through_again_and_in_between():
    recording = open_recording(sound(ramp()), "bench.wav")
    first, second = recording.blocks(1000), recording.blocks(600)
    np.testing.assert_array_equal(next(first), next(second)[:1000].tolist() + next(second)[:400].tolist())
    np.testing.assert_array_equal(all_of(recording, 999), all_of(recording, 64))


def test_a_stretch_is_the_same_as_in_the_blocks(tmp_path):
    path = tmp_path / "bench.flac"
    path.write_bytes(sound(ramp(20_000), format="FLAC").getvalue())
    recording = open_recording(path)
    np.testing.assert_array_equal(recording.read(7001, 9002), all_of(recording)[7001:9002])
    assert recording.name == "bench.flac"


def test_the_name_is_shown_without_folders_or_line_breaks():
    assert open_recording(sound(ramp()), "../../etc/pass\nwd\x00.wav").name == "passwd.wav"
    assert open_recording(sound(ramp()), "C:\\bench\\first.wav").name == "first.wav"
    assert open_recording(sound(ramp())).name == "recording"


def read_through(file, name) -> None:
    for _ in open_recording(file, name).blocks(1 << 16):
        pass


def refused(file, name="bench.wav") -> str:
    with pytest.raises(RefusedRecording) as caught:
        read_through(file, name)
    said = str(caught.value)
    assert "\n" not in said
    assert said.startswith(name)
    assert len(said) < 400
    return said


@pytest.mark.parametrize("kept", [5, 11, 20, 43, 44, 60, 1000, 5000, 9000])
def test_a_truncated_wav_is_refused(kept):
    refused(io.BytesIO(sound(ramp()).getvalue()[:kept]))


@pytest.mark.parametrize("kept", [5, 20, 41, 60, 500, 3000])
def test_a_truncated_flac_is_refused(kept):
    noisy = np.random.default_rng(1).normal(0, 0.1, 5000)
    refused(io.BytesIO(sound(noisy, format="FLAC").getvalue()[:kept]), "bench.flac")


@pytest.mark.parametrize("kept", [5, 20, 53, 60, 3000])
def test_a_truncated_aiff_is_refused(kept):
    refused(io.BytesIO(sound(ramp(), format="AIFF").getvalue()[:kept]), "bench.aiff")


def test_a_cut_file_says_how_much_is_missing():
    said = refused(io.BytesIO(sound(ramp()).getvalue()[:5000]))
    assert "cut short" in said
    assert "10000 bytes" in said


def test_an_empty_file_is_refused():
    assert "empty" in refused(io.BytesIO(b""))


def test_a_file_that_is_not_there_is_refused(tmp_path):
    assert "no such file" in refused(tmp_path / "bench.wav")
    assert "not a file" in refused(tmp_path, tmp_path.name)


@pytest.mark.parametrize(
    "head",
    [b"PK\x03\x04", b"\x1f\x8b\x08", b"\x89PNG\r\n", b"\xff\xd8\xff\xe0", b"GIF89a", b"%PDF-1.7",
     b"OggS", b"ID3\x04",
     b"\x1aE\xdf\xa3", b"MZ\x90\x00", b"\x7fELF", b"\x00" * 16],
)  # fmt: skip
def test_other_kinds_of_file_are_refused(head):
    refused(io.BytesIO(head + bytes(range(256)) * 64))


@pytest.mark.parametrize("subtype", ["ULAW", "ALAW", "IMA_ADPCM", "MS_ADPCM", "GSM610"])
def test_sound_compressed_with_loss_is_refused(subtype):
    rate = 8000 if subtype == "GSM610" else RATE
    assert "bends the light curve" in refused(sound(ramp(), subtype, rate=rate))


def test_no_samples_at_all_is_refused():
    assert "0 samples" in refused(sound(np.zeros((0, 1))))


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("subtype", ["FLOAT", "DOUBLE"])
def test_a_sample_that_is_no_number_is_refused_by_its_place(value, subtype):
    y = ramp(4000, 2)
    y[3210, 1] = value
    assert "sample 3210 of channel 1" in refused(sound(y, subtype))


def test_an_absurd_sample_is_refused_by_its_place():
    y = ramp(4000)
    y[17] = 1e300
    assert "sample 17 of channel 0" in refused(sound(y, "DOUBLE"))


def patched_wav(**fields) -> io.BytesIO:
    """A WAV whose header lies."""
    data = bytearray(sound(ramp(200)).getvalue())
    for name, value in fields.items():
        place, kind = {"channels": (22, "H"), "rate": (24, "I"), "block": (32, "H"), "data": (40, "I")}[name]
        struct.pack_into("<" + kind, data, place, value)
    return io.BytesIO(bytes(data))


@pytest.mark.parametrize(
    "fields",
    [{"rate": 0}, {"rate": 1}, {"rate": 4_000_000_000}, {"channels": 0}, {"channels": 60_000, "block": 0},
     {"data": 2_000_000_000}, {"data": 0xFFFFFFF0}],
)  # fmt: skip
def test_a_lying_header_is_refused_quickly_and_in_little_memory(fields):
    tracemalloc.start()
    began = time.perf_counter()
    refused(patched_wav(**fields))
    assert time.perf_counter() - began < 2
    assert tracemalloc.get_traced_memory()[1] < 20e6
    tracemalloc.stop()


def test_a_recorder_that_never_wrote_the_length_is_believed_and_told():
    data = bytearray(sound(ramp(2000)).getvalue())
    struct.pack_into("<I", data, 4, 0xFFFFFFFF)
    struct.pack_into("<I", data, 40, 0xFFFFFFFF)
    recording = open_recording(io.BytesIO(bytes(data)), "bench.wav")
    assert recording.n_samples == 2000
    assert "does not say how long" in recording.warnings[0]


def flac_claiming(n_samples: int) -> io.BytesIO:
    data = bytearray(sound(np.random.default_rng(2).normal(0, 0.1, 4000), format="FLAC").getvalue())
    # STREAMINFO holds 36 bits of total samples at the end of the 8 bytes from offset 18 (RFC 9639, 8.2)
    packed = int.from_bytes(data[18:26], "big")
    packed = (packed >> 36 << 36) | n_samples
    data[18:26] = packed.to_bytes(8, "big")
    return io.BytesIO(bytes(data))


@pytest.mark.parametrize("n_samples", [5000, 1_000_000_000, 60_000_000_000])
def test_a_flac_that_claims_more_than_it_holds_is_refused_quickly(n_samples):
    began = time.perf_counter()
    refused(flac_claiming(n_samples), "bench.flac")
    assert time.perf_counter() - began < 5


def test_a_flac_that_unpacks_to_hundreds_of_times_its_size_is_refused():
    file = io.BytesIO()
    with soundfile.SoundFile(file, "w", RATE, 8, subtype="PCM_16", format="FLAC") as out:
        for _ in range(80):
            out.write(np.zeros((100_000, 8), dtype=np.int16))
    file.seek(0)
    assert len(file.getvalue()) < 1_000_000
    assert "packs so small" in refused(file, "bench.flac")


def test_damage_in_the_middle_of_a_flac_is_refused():
    noisy = np.random.default_rng(1).normal(0, 0.1, 50_000)
    data = bytearray(sound(noisy, format="FLAC").getvalue())
    data[len(data) // 2 : len(data) // 2 + 3000] = bytes(3000)
    refused(io.BytesIO(bytes(data)), "bench.flac")


def test_reading_in_blocks_needs_no_more_memory_for_a_longer_file(tmp_path):
    def peak(seconds):
        path = tmp_path / f"{seconds}.wav"
        with soundfile.SoundFile(str(path), "w", RATE, 1, subtype="PCM_16") as out:
            for _ in range(seconds):
                out.write(np.zeros(RATE, dtype=np.int16))
        recording = open_recording(path)
        tracemalloc.start()
        for _ in recording.blocks(1 << 14):
            pass
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return most

    assert peak(60) < 1.2 * peak(5)
