"""
What findings are about, from near: haze, fungus, leaked cells, pinholes, oil, torn covering, sand, rust,
seals.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from pegwood.demo.pictures.canvas import (
    BLACK,
    BLACK_DEEP,
    BRASS,
    BRASS_DEEP,
    GLASS,
    GLASS_DEEP,
    INK,
    PAPER,
    SATIN,
    SATIN_DEEP,
    Canvas,
    Colour,
    mix,
)

VERDIGRIS: Colour = (96, 150, 128)
RUST: Colour = (140, 74, 36)
SAND: Colour = (206, 178, 126)


def _round_mask(x: float, y: float, r: float, inside: Image.Image) -> Image.Image:
    """A soft mask kept to a circle; 400 x 300."""
    disc = Image.new("L", (400, 300), 0)
    ImageDraw.Draw(disc).ellipse([v / 4 for v in (x - r, y - r, x + r, y + r)], fill=255)
    return Image.composite(
        inside.resize((400, 300), Image.Resampling.BICUBIC), Image.new("L", (400, 300), 0), disc
    )


def _element(c: Canvas) -> None:
    c.box(0, 0, 1600, 1200, mix(BLACK, PAPER, 0.10), BLACK_DEEP)
    c.disc(800, 600, 575, SATIN, SATIN_DEEP)
    c.disc(800, 600, 548, BLACK, BLACK_DEEP)
    c.dome(800, 600, 500, GLASS_DEEP, GLASS)
    c.dome(800, 600, 250, mix(GLASS_DEEP, BRASS_DEEP, 0.3), GLASS_DEEP)
    c.dome(610, 380, 70, (226, 232, 236), GLASS)
    c.dome(1010, 830, 44, (150, 118, 84), GLASS)


def haze(c: Canvas) -> None:
    """An element with a greyish veil that a lamp from the side shows up."""
    _element(c)
    c.veil((206, 206, 196), _round_mask(800, 600, 498, c.cloud(9, 0.15, 0.62)))
    for _ in range(60):
        x, y = 800 + c.rng.normal(0, 190), 600 + c.rng.normal(0, 190)
        c.dome(x, y, 2 + 3 * c.rng.random(), (232, 228, 214), (150, 152, 150))


def fungus(c: Canvas) -> None:
    """Threads that branch inwards from the edge of an element."""
    _element(c)
    for start in c.rng.uniform(0, 2 * math.pi, 13):
        tips = [(800 + 485 * math.cos(start), 600 + 485 * math.sin(start), start + math.pi)]
        for _ in range(26):
            grown = []
            for x, y, way in tips:
                way += c.rng.normal(0, 0.28)
                to = (x + 11 * math.cos(way), y + 11 * math.sin(way))
                if (to[0] - 800) ** 2 + (to[1] - 600) ** 2 > 492**2:
                    continue  # a thread that has grown back to the rim ends there
                c.line([(x, y), to], (196, 200, 190), 2)
                grown.append((*to, way))
                if c.rng.random() < 0.10 and len(tips) < 9:
                    grown.append((*to, way + 0.7))
            tips = grown


def battery_chamber(c: Canvas) -> None:
    """A battery chamber with a leaked cell's crust on contact and thread."""
    c.box(0, 0, 1600, 1200, mix(SATIN, SATIN_DEEP, 0.3), SATIN_DEEP)
    c.disc(800, 600, 520, SATIN_DEEP, mix(SATIN_DEEP, INK, 0.4))
    for i in range(5):
        c.ring(800, 600, 500 - 22 * i, mix(BRASS, BRASS_DEEP, 0.3 * (i % 2) + 0.3), 9)
    c.dome(800, 600, 392, (40, 36, 32), BLACK_DEEP)
    c.dome(800, 600, 190, BRASS, BRASS_DEEP)
    c.dome(770, 565, 60, mix(BRASS, PAPER, 0.4), BRASS)
    for _ in range(300):
        turn, far = c.rng.uniform(0.2, 3.6), abs(c.rng.normal(0, 1))
        r = 330 - 130 * far if c.rng.random() < 0.6 else 470 + 30 * c.rng.normal()
        tone = mix(VERDIGRIS, (236, 240, 230), c.rng.random())
        x, y = 800 + r * math.cos(turn), 600 + r * math.sin(turn)
        c.dome(x, y, 4 + 13 * c.rng.random(), tone, mix(tone, VERDIGRIS, 0.5))


def bellows_pinhole(c: Canvas) -> None:
    """Folds of a bellows with a lamp inside: light at the corners."""
    c.box(0, 0, 1600, 1200, BLACK_DEEP, BLACK_DEEP)
    for i in range(9):
        y = -60 + 150 * i
        c.leather([(0, y), (1600, y + 60), (1600, y + 130), (0, y + 76)], (44, 38, 33), depth=11)
        c.leather([(0, y + 76), (1600, y + 130), (1600, y + 206), (0, y + 146)], (17, 15, 14), depth=6)
    spots = [(520, 430, 15), (566, 446, 7), (1090, 612, 11), (498, 746, 5)]
    glow = Image.new("L", (400, 300), 0)
    for x, y, r in spots:
        ImageDraw.Draw(glow).ellipse([v / 4 for v in (x - 3 * r, y - 3 * r, x + 3 * r, y + 3 * r)], fill=200)
    c.veil((255, 190, 104), glow.filter(ImageFilter.GaussianBlur(9)))
    for x, y, r in spots:
        c.dome(x, y, r, (255, 250, 232), (255, 206, 128))


def oily_blades(c: Canvas) -> None:
    """Shutter blades, closed, with a film of oil that shows its colours."""
    c.box(0, 0, 1600, 1200, BLACK, BLACK_DEEP)
    c.disc(800, 600, 580, SATIN, SATIN_DEEP)
    c.disc(800, 600, 540, BLACK_DEEP, BLACK)
    for i in range(5):
        a = 2 * math.pi * i / 5 + 0.4
        fan = [
            (800 + 500 * math.cos(a + t * 1.256), 600 + 500 * math.sin(a + t * 1.256))
            for t in np.linspace(0, 1.25, 24)
        ]
        tone = mix((92, 96, 100), (150, 150, 146), 0.5 + 0.5 * math.sin(a + 1.0))
        c.polygon([(800 - 26 * math.cos(a), 600 - 26 * math.sin(a)), *fan], tone)
        c.line([(800 - 26 * math.cos(a), 600 - 26 * math.sin(a)), fan[0]], mix(tone, INK, 0.7), 5)
    c.ring(800, 600, 505, BLACK, 34)
    for colour, depth in (((120, 76, 128), 0.7), ((66, 110, 96), 0.6), ((176, 128, 48), 0.7)):
        c.veil(colour, _round_mask(820, 620, 470, c.cloud(11, -0.7, depth)))
    for _ in range(14):
        x, y = 800 + c.rng.normal(0, 160), 600 + c.rng.normal(0, 160)
        c.dome(x, y, 5 + 11 * c.rng.random(), (214, 196, 150), (110, 106, 96))


def torn_covering(c: Canvas) -> None:
    """A covering that has shrunk and torn at a corner, glue beneath."""
    c.box(0, 0, 1600, 1200, mix(SATIN, SATIN_DEEP, 0.3), SATIN_DEEP)
    c.box(0, 0, 1600, 170, mix(SATIN, PAPER, 0.4), SATIN)
    c.leather([(0, 190), (1600, 190), (1600, 1200), (0, 1200)], mix(BLACK, PAPER, 0.05), depth=22)
    edge = [(x, 560 + 0.45 * (x - 620) + 34 * c.rng.normal()) for x in range(620, 1640, 44)]
    hole = [(620, 190), *edge, (1640, 190)]
    c.polygon(hole, (150, 128, 92))
    c.leather(hole, (158, 134, 94), depth=9)
    for _ in range(90):
        x = c.rng.uniform(700, 1560)
        y = c.rng.uniform(210, 190 + 0.9 * (560 + 0.45 * (x - 620) - 190))
        c.dome(x, y, 5 + 16 * c.rng.random(), (104, 74, 38), (146, 118, 76))
    c.line(edge, mix(BLACK, PAPER, 0.35), 9)
    c.line([(x + 4, y + 14) for x, y in edge], BLACK_DEEP, 14)


def sand(c: Canvas) -> None:
    """Sand between helicoid and barrel."""
    c.box(0, 0, 1600, 1200, SATIN, SATIN_DEEP)
    for turn in range(250, 952, 27):
        c.box(0, turn, 1600, turn + 15, mix(BRASS, PAPER, 0.3), BRASS)
        c.box(0, turn + 15, 1600, turn + 27, BRASS_DEEP, mix(BRASS_DEEP, INK, 0.4))
    for _ in range(360):
        x, y = c.rng.uniform(0, 1600), 600 + c.rng.normal(0, 190)
        tone = mix(SAND, (250, 240, 214), c.rng.random() * 0.7)
        c.dome(x, y, 2.5 + 7 * c.rng.random(), tone, mix(tone, BRASS_DEEP, 0.4))


def rust(c: Canvas) -> None:
    """Rust on a steel plate and round a screw."""
    c.box(0, 0, 1600, 1200, mix(SATIN, SATIN_DEEP, 0.2), SATIN_DEEP)
    for across, down in ((520, 520), (1130, 760)):
        c.disc(across, down, 150, SATIN, SATIN_DEEP)
        c.ring(across, down, 150, mix(SATIN_DEEP, INK, 0.5), 6)
        c.line([(across - 120, down + 50), (across + 120, down - 50)], INK, 22)
    c.veil(RUST, c.cloud(12, -1.1, 1.0))
    for _ in range(220):
        x, y = 560 + c.rng.normal(0, 260), 560 + c.rng.normal(0, 210)
        c.dome(x, y, 2 + 8 * c.rng.random(), mix(RUST, INK, 0.3), RUST)


def light_seal(c: Canvas) -> None:
    """Foam of a door seal gone to tar."""
    c.box(0, 0, 1600, 1200, BLACK, mix(BLACK, PAPER, 0.1))
    c.box(0, 300, 1600, 420, mix(SATIN, PAPER, 0.2), SATIN_DEEP)
    c.box(0, 420, 1600, 600, BLACK_DEEP, BLACK_DEEP)
    c.box(0, 600, 1600, 720, SATIN_DEEP, SATIN)
    for _ in range(360):
        x, y = c.rng.uniform(0, 1600), 510 + c.rng.normal(0, 52)
        c.dome(x, y, 6 + 20 * c.rng.random(), mix(BLACK, PAPER, 0.16 * c.rng.random()), BLACK_DEEP)
    for run in (420, 690, 1180):
        c.line([(run, 560), (run + 12, 700 + 80 * c.rng.random())], BLACK_DEEP, 10)


def curtain_hole(c: Canvas) -> None:
    """A cloth curtain, cracked, with light behind it."""
    c.box(0, 0, 1600, 1200, SATIN_DEEP, mix(SATIN_DEEP, INK, 0.5))
    c.leather([(180, 130), (1420, 130), (1420, 1070), (180, 1070)], (30, 29, 28), depth=7)
    for i in range(30):
        x = 200 + 42 * i
        c.line([(x, 140), (x + 6 * c.rng.normal(), 1060)], (38, 37, 36), 2)
    for x, y in ((640, 480), (700, 500), (980, 720)):
        c.dome(x, y, 26, (255, 214, 150), (60, 46, 30))
        c.dome(x, y, 8, (255, 250, 236), (255, 214, 150))
    c.line([(560, 400), (620, 470), (730, 520), (900, 660), (1010, 740)], (70, 62, 52), 5)


CLOSE_UPS: dict[str, Callable[[Canvas], None]] = {
    "battery chamber": battery_chamber,
    "bellows pinhole": bellows_pinhole,
    "curtain hole": curtain_hole,
    "fungus": fungus,
    "haze": haze,
    "light seal": light_seal,
    "oily blades": oily_blades,
    "rust": rust,
    "sand": sand,
    "torn covering": torn_covering,
}
