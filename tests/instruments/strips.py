"""
Strips of film as a phone or a scanner takes them, drawn from known figures; shares nothing with the
analysis.

A pixel is looked at in several places (8 x 8 for the accuracy tests), each place carried through the camera
to the film, and the light averaged. Then blur, noise and JPEG at quality 70. Lengths here are in
millimetres.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter, map_coordinates

WIDTH = 34.98
HOLE_ALONG, HOLE_ACROSS, HOLE_MARGIN, HOLE_CORNER = 1.981, 2.794, 2.01, 0.5


@dataclass(frozen=True)
class Strip:
    """What there is to find. `starts` are the frames' left edges from the strip's left end, [mm]."""

    starts: tuple[float, ...] = (1.0, 39.0, 77.0, 115.0)
    frame: tuple[float, float] = (36.0, 24.0)
    end: float = 152.5
    pitch: float = 4.7498
    first_hole: float = 2.1
    out_of_square: float = 0.0  # degrees, both edges of the gate
    scratches: tuple[tuple[float, float, float], ...] = ()  # from the upper edge, width, density
    kind: str = "negative"  # negative, slide, inverted
    surround: str = "table"  # table (lit), holder (dark)
    dark_edges: float = 0.2  # share of frames that have one side hardly exposed
    blank: tuple[int, ...] = ()
    roll: bool = False  # 120: no holes, 61.5 wide
    edge_print: bool = True
    fog: object = None  # callable (x, y from the middle) -> exposure added
    seed: int = 0

    @property
    def width(self) -> float:
        return 61.5 if self.roll else WIDTH


@dataclass(frozen=True)
class Camera:
    """How it is taken. Angles in degrees; `tilt` is perspective: change of scale over the picture."""

    size: tuple[int, int] = (1800, 420)
    turn: float = 0.8
    tilt: tuple[float, float] = (0.02, 0.01)
    bend: float = 0.0  # radial distortion at half the width, share of the distance
    uneven: float = 0.25
    blur: float = 0.8
    noise: float = 0.006
    quality: int | None = 70
    fill: float = 0.95
    level: float = 0.9
    samples: int = 3
    shift: tuple[float, float] = (0.0, 0.0)
    show: tuple[float, float] | None = None  # part of the strip that is seen
    seed: int = 0


@dataclass
class Scene:
    strip: Strip
    textures: list = field(default_factory=list)

    def __post_init__(self) -> None:
        rng = np.random.default_rng([self.strip.seed, 77])
        self.textures = [self._picture(rng, n) for n in range(len(self.strip.starts))]
        self.marks = rng.uniform(0, 1, 400)

    def _picture(self, rng, n: int) -> np.ndarray:
        """Exposure of one frame on a grid of 6 per mm."""
        along, across = (int(6 * side) + 1 for side in self.strip.frame)
        if n in self.strip.blank:
            return np.zeros((across, along))
        out = np.zeros((across, along))
        for size, weight in ((40, 0.9), (12, 0.5), (3, 0.3), (0.8, 0.15)):
            layer = gaussian_filter(rng.standard_normal((across, along)), size, mode="wrap")
            out += weight * layer / layer.std()
        for _ in range(rng.integers(2, 6)):  # things with straight sides
            x, y = rng.uniform(0, along), rng.uniform(0, across)
            w, h = rng.uniform(6, 100, 2)
            out[int(y) : int(y + h), int(x) : int(x + w)] += rng.normal(0, 1)
        exposure = 0.30 * 2.0 ** (1.1 * out)
        if rng.uniform() < self.strip.dark_edges:
            depth, share = rng.uniform(1, 60), rng.uniform(0.3, 1.0)
            ramp = np.ones((across, along))
            rows = slice(0, int(share * across))
            column = np.clip((np.arange(along) - depth) / 6, 0, 1)
            ramp[rows] = column if rng.uniform() < 0.5 else column[::-1]
            exposure = exposure * (0.004 + ramp)
        return np.clip(exposure, 0, 8)

    def light(self, x, y, soft):
        """Share of light that comes through at places x along from the left end, y from the upper edge."""
        strip = self.strip
        half = strip.width / 2
        exposure = np.zeros(x.shape)
        slant = np.tan(np.radians(strip.out_of_square))
        along, across = strip.frame
        for start, texture in zip(strip.starts, self.textures, strict=True):
            u = x - start - slant * (y - half)
            v = y - (half - across / 2)
            near = (u > -0.5) & (u < along + 0.5) & (v > -0.5) & (v < across + 0.5)
            if not near.any():
                continue
            un, vn = u[near], v[near]
            picture = map_coordinates(texture, [vn * 6, un * 6], order=1, mode="nearest")
            exposure[near] += picture * _in(un, 0, along, soft) * _in(vn, 0, across, soft)
        if strip.edge_print:
            exposure += self._print(x, y, soft)
        if strip.fog is not None:
            exposure += np.clip(strip.fog(x, y - half), 0, None)
        density = 1.9 * (1 - np.exp(-((np.clip(exposure, 0, None) / 0.55) ** 0.9)))
        for at, width, extra in strip.scratches:
            density = density + extra * _in(y, at - width / 2, at + width / 2, soft)
        if strip.kind == "slide":
            density = 2.1 - density
            base = 0.05
        else:
            base = 0.25
        through = 10.0 ** -(base + np.clip(density, 0, None))
        if not strip.roll:
            hole = self._holes(x, y, soft)
            through = through * (1 - hole) + hole
        on_film = _in(x, 0, strip.end, soft) * _in(y, 0, strip.width, soft)
        around = 1.0 if strip.surround == "table" else 0.004
        return through * on_film + around * (1 - on_film)

    def _holes(self, x, y, soft):
        u = (x - self.strip.first_hole) / self.strip.pitch
        u = (u - np.round(u)) * self.strip.pitch
        middle = HOLE_MARGIN + HOLE_ACROSS / 2
        v = np.minimum(np.abs(y - middle), np.abs(y - (self.strip.width - middle)))
        out_u = np.abs(u) - (HOLE_ALONG / 2 - HOLE_CORNER)
        out_v = v - (HOLE_ACROSS / 2 - HOLE_CORNER)
        far = np.hypot(np.maximum(out_u, 0), np.maximum(out_v, 0)) + np.minimum(np.maximum(out_u, out_v), 0)
        return np.clip((HOLE_CORNER - far) / soft + 0.5, 0, 1)

    def _print(self, x, y, soft):
        """Numbers and names the maker's factory prints at the edges, dense strokes at random."""
        out = np.zeros(x.shape)
        for edge, shift in ((0.5, 0), (self.strip.width - 1.7, 150)):
            cell = np.clip(x / 0.45, 0, 100000).astype(int)
            stroke = self.marks[(cell * 7 + shift) % 400] > 0.6
            word = self.marks[(np.clip(x / 6.0, 0, 100000).astype(int) * 3 + shift) % 400] > 0.55
            out += 0.8 * stroke * word * _in(y, edge, edge + 1.2, soft)
        return out


def _in(at, low, high, soft):
    """How much of a soft place lies within, 0 to 1."""
    return np.clip((at - low) / soft + 0.5, 0, 1) * np.clip((high - at) / soft + 0.5, 0, 1)


def film_of(camera: Camera, strip: Strip):
    """From pixels to the film: a function of x and y, [pixel] to [mm], and the scale, [pixel/mm]."""
    width, height = camera.size
    low, high = camera.show or (-3.0, strip.end + 3.0)
    scale = min(camera.fill * width / (high - low), camera.fill * height / (strip.width + 2))
    middle = ((low + high) / 2, strip.width / 2)
    turn = np.radians(camera.turn)
    cos, sin = np.cos(turn), np.sin(turn)

    def to_film(px, py):
        u = (px - (width - 1) / 2 - camera.shift[0]) / (width / 2)
        v = (py - (height - 1) / 2 - camera.shift[1]) / (width / 2)
        far = 1 + camera.bend * (u * u + v * v)
        u, v = u * far, v * far
        depth = 1 + camera.tilt[0] * u / 2 + camera.tilt[1] * v / 2
        u, v = u * width / 2 / depth, v * width / 2 / depth
        return middle[0] + (cos * u + sin * v) / scale, middle[1] + (-sin * u + cos * v) / scale

    return to_film, scale


def drawn(strip: Strip, camera: Camera) -> np.ndarray:
    """The picture as stored numbers, 0 to 255, before JPEG."""
    scene = Scene(strip)
    to_film, scale = film_of(camera, strip)
    width, height = camera.size
    rng = np.random.default_rng([camera.seed, 5])
    py, px = np.mgrid[0:height, 0:width].astype(float)
    light = np.zeros((height, width))
    n = camera.samples
    for i in range(n):
        for j in range(n):
            x, y = to_film(px + (i + 0.5) / n - 0.5, py + (j + 0.5) / n - 0.5)
            light += scene.light(x, y, 1 / (n * scale))
    light /= n * n
    u, v = (px / width - 0.5) * 2, (py / height - 0.5) * 2
    slope = rng.uniform(-0.5, 0.5, 2)
    lamp = 1 - camera.uneven * (0.5 * (u * u + 0.3 * v * v) + slope[0] * u * 0.6 + slope[1] * v * 0.4)
    light = light * camera.level * lamp / lamp.max()
    light = gaussian_filter(light, camera.blur)
    light = light + camera.noise * np.sqrt(np.clip(light, 0.02, None)) * rng.standard_normal(light.shape)
    light = np.clip(light, 0, 1)
    stored = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055) * 255
    if strip.kind == "inverted":
        stored = 255 - stored
    return np.clip(np.rint(stored), 0, 255).astype(np.uint8)


def picture(strip: Strip, camera: Camera) -> io.BytesIO:
    """The picture as a file."""
    image = Image.fromarray(drawn(strip, camera))
    file = io.BytesIO()
    if camera.quality is None:
        image.save(file, "PNG")
    else:
        image.convert("RGB").save(file, "JPEG", quality=camera.quality)
    file.seek(0)
    return file


def at_spacing(spacings, first: float = 1.3, **more) -> Strip:
    """A strip whose frames follow each other at given distances."""
    starts = tuple(first + np.concatenate([[0.0], np.cumsum(spacings)]))
    frame = more.get("frame", (36.0, 24.0))
    more.setdefault("end", starts[-1] + frame[0] + 1.2)
    return replace(Strip(starts=starts), **more)
