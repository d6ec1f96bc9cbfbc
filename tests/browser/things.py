"""What is sent: photographs as telephones take them, and recordings whose truth somebody knows."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw
from pillow_heif import register_heif_opener

from pegwood.demo import simulator as sim

register_heif_opener()

ON_ITS_SIDE = 6  # Exif tag 0x0112: the top of the picture is at its right (from memory; the page shows it)


def photograph(kind: str = "JPEG", *, grey: int = 120) -> bytes:
    """320 x 240 as the sensor lies; the JPEG says that it was held upright, and where it was taken."""
    image = Image.new("RGB", (320, 240), (grey, grey - 20, grey - 40))
    pen = ImageDraw.Draw(image)
    pen.ellipse((100, 60, 220, 180), fill=(30, 30, 34), outline=(200, 190, 170), width=8)
    pen.rectangle(
        (0, 0, 40, 240), fill=(190, 60, 40)
    )  # the left edge of the sensor is the top of the picture
    out = io.BytesIO()
    if kind == "JPEG":
        exif = Image.Exif()
        exif[0x0112] = ON_ITS_SIDE
        exif[0x010F] = "Kestrane"
        exif.get_ifd(0x8825).update({1: "N", 2: (52.0, 22.0, 12.5), 3: "E", 4: (4.0, 53.0, 42.0)})
        image.save(out, "JPEG", exif=exif)
    else:
        image.save(out, "HEIF", quality=60)
    return out.getvalue()


def sent(name: str, content: bytes, kind: str) -> dict[str, object]:
    return {"name": name, "mimeType": kind, "buffer": content}


@dataclass(frozen=True)
class Recorded:
    """A recording, and the true effective time of each firing in it, [s]."""

    wav: bytes
    effective_s: tuple[float, ...]


def recorded(faults: sim.Faults, *, seed: int, intended_s: float = 1 / 50, firings: int = 4) -> Recorded:
    """A leaf shutter at 1/50, by the simulator, which shares no code with the instrument."""
    rng = np.random.default_rng(seed)
    fired = [sim.fire_leaf(sim.LeafShutter(), faults, intended_s, i, rng) for i in range(firings)]
    recording = sim.record(fired, sim.LightGate(), rng, lead_s=0.25, pause_s=0.3)
    truths = recording.truths(100_001)
    return Recorded(sim.as_audio(recording), tuple(truth.effective_s for truth in truths))


def across_the_gate(*, seed: int, delay_s: float = 0.002, firings: int = 3) -> bytes:
    """Curtains at 2.4 and 2.0 m/s past sensors at 0, 18 and 36 mm, the second 2 ms after the first."""
    shutter = sim.FocalPlaneShutter(
        first=sim.Curtain(speed_m_s=2.4), second=sim.Curtain(speed_m_s=2.0), sensor_m=0.001
    )
    points = [[replace(shutter, point_m=x).fire(delay_s)] * firings for x in (0.0, 0.018, 0.036)]
    return sim.as_audio(sim.record_points(points, sim.LightGate(), np.random.default_rng(seed)))


def with_contact(*, seed: int) -> bytes:
    """A healthy leaf shutter at 1/50 in channel 0; in channel 1 a contact that closes meanwhile."""
    rng = np.random.default_rng(seed)
    fired = [sim.fire_leaf(sim.LeafShutter(), sim.HEALTHY, 1 / 50, i, rng) for i in range(3)]
    light = sim.record(fired, sim.LightGate(), rng, lead_s=0.25, pause_s=0.3)
    rate = light.sample_rate_hz
    contact = rng.normal(0, 0.002, len(light.samples))
    for release in light.releases_s:
        contact[int((release + 0.008) * rate) : int((release + 0.013) * rate)] += 0.6
    return sim.as_audio(replace(light, samples=np.column_stack([light.samples, contact])))


GUMMED = sim.Faults(gum=0.5, first_drag=0.3, scatter=0.01)
CLEANED = sim.HEALTHY


@dataclass(frozen=True)
class Heard:
    """What the browser's microphone hears: a file, and the true effective times in it, [s]."""

    file: Path
    effective_s: tuple[float, ...]


def three_firings(rate_hz: int = 48_000) -> sim.Recording:
    """Three firings of a healthy leaf shutter at 1/25, with a second of dark to either side."""
    rng = np.random.default_rng(11)
    firings = [sim.fire_leaf(sim.LeafShutter(), sim.HEALTHY, 0.04, i, rng) for i in range(3)]
    gate = sim.LightGate(
        diode=sim.Photodiode(bandwidth_hz=15e3), converter=sim.Converter(sample_rate_hz=rate_hz)
    )
    return sim.record(firings, gate, rng, lead_s=1.0, pause_s=0.8)


def microphone(file: Path) -> Heard:
    """Write those firings into a file, for the browser to hear."""
    recording = three_firings()
    file.write_bytes(sim.as_audio(recording))
    return Heard(file, tuple(truth.effective_s for truth in recording.truths(40_001)))
