"""
Videos of a lit shutter with their exact figures, for the tests only. Shares no code with the analysis.

The light curve is a closed form: edges are straight ramps, so light let through until t is a polynomial, and
a row's value is its difference over the exposure. What a phone does then follows: rows read one after
another, a bend of its own, noise of the sensor, steps of 8 bits, and a real codec.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace
from fractions import Fraction

import av
import numpy as np


def let_through(t: np.ndarray, at: float, opening: float, plateau: float, closing: float) -> np.ndarray:
    """Exposure from the beginning of time to t of one firing with straight edges, full light 1, [s]."""
    up = np.clip(t - at, 0, opening)
    flat = np.clip(t - at - opening, 0, plateau)
    down = np.clip(t - at - opening - plateau, 0, closing)
    rising = up**2 / (2 * opening) if opening else 0 * up
    falling = down - down**2 / (2 * closing) if closing else 0 * down
    return rising + flat + falling


@dataclass(frozen=True)
class Fired:
    """One firing: first light at `at`, both edges and the time fully open between them, [s]."""

    at: float
    effective: float
    opening: float = 0.002
    closing: float = 0.002

    @property
    def plateau(self) -> float:
        return self.effective - 0.5 * (self.opening + self.closing)


def stored_bt709(light: np.ndarray) -> np.ndarray:
    """Rec. ITU-R BT.709, opto-electronic transfer: 4.5 L below 0.018, else 1.099 L^0.45 - 0.099."""
    light = np.clip(light, 0, None)
    return np.where(light < 0.018, 4.5 * light, 1.099 * light**0.45 - 0.099)


@dataclass(frozen=True)
class Film:
    """How a phone films firings."""

    fired: tuple[Fired, ...]
    fps: float = 240.0
    seconds: float | None = None
    exposure: float = 0.5  # share of a frame period
    sweep: float = 0.6  # first to last row, share of a frame period
    full: float = 0.6  # of white
    dark: float = 0.01
    bend: float = 1.0  # exponent on top of the standard's
    noise: float = 0.01  # of white, each pixel, in the stored value
    gain: object = None  # function of time: the phone's own exposure
    size: tuple[int, int] = (64, 48)
    spot: float = 1.0  # share of the width and height that is lit
    codec: str = "libx264"
    options: dict = field(default_factory=dict)
    container: str = "mp4"
    ticks: int = 60_000  # a second, of the stamps
    replay: float = 1.0  # stamps run so many times slower
    missing: tuple[int, ...] = ()  # frames left out
    shake: float = 0.0  # of a frame period, on the stamps
    trc: int = 1
    notes: dict = field(default_factory=dict)
    seed: int = 0

    def with_(self, **changes) -> Film:
        return replace(self, **changes)

    def rows(self, number: int) -> np.ndarray:
        """Light of every row of one frame, full light 1."""
        period = 1 / self.fps
        begin = number * period + np.arange(self.size[1]) / self.size[1] * self.sweep * period
        share = np.zeros(self.size[1])
        for one in self.fired:
            args = (one.at, one.opening, one.plateau, one.closing)
            share += let_through(begin + self.exposure * period, *args) - let_through(begin, *args)
        return share / (self.exposure * period)

    def frames(self):
        """Number, and stored brightness in 16 to 235."""
        rng = np.random.default_rng(self.seed)
        last = self.fired[-1]
        seconds = self.seconds if self.seconds is not None else last.at + last.effective + 0.15
        w, h = self.size
        lit = np.zeros((h, w), bool)
        dw, dh = int(w * (1 - self.spot) / 2), int(h * (1 - self.spot) / 2)
        lit[dh : h - dh, dw : w - dw] = True
        for number in range(int(seconds * self.fps)):
            gain = self.gain(number / self.fps) if self.gain else 1.0
            light = self.dark + self.full * self.rows(number)[:, None] * lit
            value = stored_bt709(light * gain) ** self.bend
            value = value + self.noise * rng.standard_normal((h, w))
            yield number, np.clip(np.round(16 + 219 * value), 0, 255).astype(np.uint8)

    def bytes(self) -> bytes:
        rng = np.random.default_rng(self.seed + 1)
        out = io.BytesIO()
        with av.open(out, "w", format=self.container, options={"movflags": "use_metadata_tags"}
                     if self.container in ("mp4", "mov") else {}) as container:  # fmt: skip
            for key, value in self.notes.items():
                container.metadata[key] = value
            stream = container.add_stream(self.codec, rate=Fraction(round(self.fps)), options=self.options)
            stream.width, stream.height = self.size
            stream.pix_fmt = "yuvj420p" if self.codec == "mjpeg" else "yuv420p"
            stream.time_base = stream.codec_context.time_base = Fraction(1, self.ticks)
            stream.codec_context.color_trc = self.trc
            stream.codec_context.color_range = 2 if self.codec == "mjpeg" else 1
            if self.codec == "mpeg4":
                stream.codec_context.gop_size = 12
            for number, luma in self.frames():
                if number in self.missing:
                    continue
                frame = self._frame(luma)
                at = number / self.fps * self.replay
                at += rng.uniform(0, self.shake) / self.fps * self.replay
                frame.pts, frame.time_base = round(at * self.ticks), Fraction(1, self.ticks)
                container.mux(stream.encode(frame))
            container.mux(stream.encode(None))
        return out.getvalue()

    def _frame(self, luma: np.ndarray):
        h, w = luma.shape
        if self.codec == "mjpeg":  # the whole range
            luma = np.clip(np.round((luma - 16.0) / 219 * 255), 0, 255).astype(np.uint8)
        planes = np.concatenate([luma.ravel(), np.full(w * h // 2, 128, np.uint8)]).reshape(h * 3 // 2, w)
        frame = av.VideoFrame.from_ndarray(planes, format="yuv420p")
        if self.codec == "mjpeg":
            frame = frame.reformat(format="yuvj420p", src_color_range=2, dst_color_range=2)
        frame.color_trc = self.trc
        frame.color_range = 2 if self.codec == "mjpeg" else 1
        return frame

    def file(self) -> io.BytesIO:
        return io.BytesIO(self.bytes())
