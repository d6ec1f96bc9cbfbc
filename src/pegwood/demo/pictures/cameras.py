"""Six kinds of camera, from the front and from above. None is any maker's."""

from __future__ import annotations

from collections.abc import Callable

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

Drawing = Callable[[Canvas, str], None]
BROWN: Colour = (70, 47, 32)


def _rectangle(x0: float, y0: float, x1: float, y1: float) -> list[tuple[float, float]]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _window(c: Canvas, x: float, y: float, w: float, h: float) -> None:
    """A finder window: a frame and dark glass with a light in it."""
    c.box(x - w / 2 - 7, y - h / 2 - 7, x + w / 2 + 7, y + h / 2 + 7, SATIN_DEEP, SATIN, radius=6)
    c.box(x - w / 2, y - h / 2, x + w / 2, y + h / 2, GLASS_DEEP, GLASS, radius=3)
    c.polygon(
        [
            (x - w * 0.3, y - h / 2),
            (x - w * 0.05, y - h / 2),
            (x - w * 0.28, y + h / 2),
            (x - w * 0.45, y + h / 2),
        ],
        mix(GLASS, PAPER, 0.35),
    )


def _shutter(c: Canvas, x: float, y: float, r: float, words: str) -> None:
    """A leaf shutter's face: speed ring, levers, the lens in its middle."""
    c.disc(x, y, r, BLACK, BLACK_DEEP)
    c.disc(x, y, r * 0.95, SATIN, SATIN_DEEP)
    c.disc(x, y, r * 0.80, mix(BLACK, PAPER, 0.08), BLACK_DEEP)
    for u, v in ((-0.78, -0.72), (0.80, -0.66), (0.86, 0.56)):
        c.line([(x + u * r * 0.8, y + v * r * 0.8), (x + u * r * 1.12, y + v * r * 1.12)], SATIN, r * 0.09)
        c.disc(x + u * r * 1.14, y + v * r * 1.14, r * 0.065, SATIN, SATIN_DEEP)
    c.lens(x, y, r * 0.66, words, rim=SATIN_DEEP)


def _knob(c: Canvas, x: float, y: float, w: float, h: float) -> None:
    """A knurled knob on a top plate, seen from the side."""
    c.tube(x - w / 2, y - h, x + w / 2, y, SATIN, SATIN_DEEP, knurls=22)
    c.tube(x - w / 2 + 6, y - h - 10, x + w / 2 - 6, y - h, mix(SATIN, PAPER, 0.5), SATIN_DEEP)


def _dial(c: Canvas, x: float, y: float, r: float, marks: str = "") -> None:
    """A dial from above: knurled rim, turned face, engraved figures."""
    c.shadow(x + 8, y + 10, r * 1.08, r * 1.08, 0.5)
    c.disc(x, y, r, SATIN_DEEP, mix(SATIN_DEEP, INK, 0.5))
    c.dome(x, y, r * 0.92, SATIN, mix(SATIN, SATIN_DEEP, 0.45))
    for share in (0.3, 0.45, 0.6):
        c.ring(x, y, r * share, mix(SATIN, SATIN_DEEP, 0.35), 1)
    c.dome(x, y, r * 0.16, SATIN_DEEP, mix(SATIN_DEEP, INK, 0.4))
    if marks:
        c.text(x, y - r * 0.6, marks, r * 0.26, INK)


def folder(c: Canvas, name: str) -> None:
    """A folding camera with its bed down and its bellows out."""
    c.shadow(800, 985, 420, 60)
    c.box(520, 170, 1080, 980, mix(BLACK, PAPER, 0.16), BLACK_DEEP, radius=70)
    c.leather(_rectangle(545, 200, 1055, 950), BLACK)
    c.box(600, 240, 1000, 880, BLACK_DEEP, BLACK_DEEP, radius=12)
    for i in range(9):  # the folds grow smaller towards the lens
        inset = 18 * i
        tone = mix(BROWN, BLACK_DEEP, 0.35 + 0.4 * (i % 2))
        c.box(
            620 + inset,
            265 + inset * 0.8,
            980 - inset,
            800 - inset * 0.8,
            mix(tone, PAPER, 0.10),
            tone,
            radius=6,
        )
    c.polygon([(600, 880), (1000, 880), (1090, 1060), (510, 1060)], mix(BLACK, PAPER, 0.10))
    c.leather([(640, 900), (960, 900), (1030, 1040), (570, 1040)], BLACK)
    for x, turn in ((655, -1), (945, 1)):
        c.line([(x, 880), (x - 60 * turn, 640)], SATIN_DEEP, 13)
        c.line([(x, 880), (x - 60 * turn, 640)], SATIN, 5)
    c.box(660, 735, 940, 790, SATIN, SATIN_DEEP, radius=8)
    _shutter(c, 800, 570, 178, name)
    c.box(735, 96, 865, 176, SATIN, SATIN_DEEP, radius=8)
    _window(c, 800, 136, 84, 46)
    c.tube(560, 140, 640, 176, SATIN, SATIN_DEEP, knurls=20)


def twin_lens(c: Canvas, name: str) -> None:
    """A twin-lens reflex with its hood up."""
    c.shadow(800, 985, 380, 55)
    c.polygon([(560, 250), (600, 90), (1000, 90), (1040, 250)], mix(BLACK, PAPER, 0.10))
    c.polygon([(600, 240), (628, 112), (972, 112), (1000, 240)], BLACK_DEEP)
    c.box(540, 240, 1060, 990, mix(BLACK, PAPER, 0.18), BLACK_DEEP, radius=26)
    c.leather(_rectangle(558, 300, 1042, 970), BLACK)
    c.box(610, 300, 990, 940, SATIN, mix(SATIN, SATIN_DEEP, 0.55), radius=30)
    c.box(622, 312, 978, 928, mix(BLACK, PAPER, 0.14), BLACK, radius=24)
    c.box(660, 322, 940, 362, BLACK_DEEP, BLACK, radius=6)
    c.text(800, 342, name.upper(), 27, SATIN)
    c.disc(800, 492, 120, SATIN, SATIN_DEEP)
    c.lens(800, 492, 112, "", rim=BLACK)
    _shutter(c, 800, 762, 150, name)
    for x in (648, 952):
        c.disc(x, 628, 30, SATIN, SATIN_DEEP)
        c.disc(x, 628, 22, mix(BLACK, PAPER, 0.2), BLACK)
    c.tube(1060, 400, 1128, 520, SATIN, SATIN_DEEP, knurls=0)
    c.tube(1060, 690, 1140, 850, SATIN, SATIN_DEEP, knurls=0)
    c.line([(560, 880), (620, 880)], SATIN, 8)


def box_camera(c: Canvas, name: str) -> None:
    """A box camera with a strap."""
    c.shadow(800, 985, 430, 60)
    c.line([(610, 262), (660, 190), (940, 190), (990, 262)], BROWN, 30)
    c.line([(610, 258), (662, 182), (938, 182), (990, 258)], mix(BROWN, PAPER, 0.25), 6)
    c.box(500, 250, 1100, 985, mix(BLACK, PAPER, 0.12), BLACK_DEEP, radius=10)
    c.leather(_rectangle(508, 258, 1092, 978), mix(BLACK, BROWN, 0.35), depth=20)
    c.box(560, 310, 1040, 930, mix(BLACK, PAPER, 0.10), BLACK, radius=6)
    for inset in (14, 26):
        x0, y0, x1, y1 = 560 + inset, 310 + inset, 1040 - inset, 930 - inset
        c.line([(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)], BRASS if inset == 14 else BRASS_DEEP, 5)
    for x in (660, 940):
        c.disc(x, 408, 48, BRASS, BRASS_DEEP)
        c.dome(x, 408, 39, GLASS_DEEP, GLASS)
        c.dome(x - 12, 396, 9, (220, 226, 230), GLASS)
    for i in range(7):
        c.line([(800, 640), (640 + i * 53.3, 480)], mix(BRASS_DEEP, BLACK, 0.3), 3)
    c.disc(800, 650, 150, BRASS, BRASS_DEEP)
    c.disc(800, 650, 136, BLACK, BLACK_DEEP)
    c.lens(800, 650, 96, "", rim=BLACK)
    c.box(660, 836, 940, 890, BRASS, BRASS_DEEP, radius=6)
    c.text(800, 862, name, 32, BLACK_DEEP)
    c.tube(1100, 560, 1160, 650, SATIN, SATIN_DEEP)
    c.line([(1092, 800), (1140, 818)], SATIN, 14)


def _body(
    c: Canvas, x0: float, y0: float, x1: float, y1: float, plate: float, covering: Colour = BLACK
) -> None:
    """A low 35 mm body: metal plates above and below, covering between."""
    c.shadow((x0 + x1) / 2, y1 + 4, (x1 - x0) / 2 + 40, 52)
    c.box(x0, y0, x1, y1, SATIN, SATIN_DEEP, radius=56)
    c.box(x0 + 4, y1 - 60, x1 - 4, y1 - 4, SATIN, mix(SATIN_DEEP, INK, 0.3), radius=40)
    c.leather(
        [
            (x0, y0 + plate),
            (x1, y0 + plate),
            (x1, y1 - 92),
            (x1 - 8, y1 - 48),
            (x0 + 8, y1 - 48),
            (x0, y1 - 92),
        ],
        covering,
    )
    c.line([(x0, y0 + plate), (x1, y0 + plate)], mix(SATIN_DEEP, INK, 0.5), 4)


def reflex(c: Canvas, name: str) -> None:
    """A 35 mm single-lens reflex with its prism."""
    _knob(c, 390, 372, 120, 52)
    _knob(c, 1130, 372, 100, 44)
    c.tube(1210, 340, 1262, 374, SATIN, SATIN_DEEP, knurls=0)
    _body(c, 270, 370, 1330, 960, 150)
    c.polygon(
        [(560, 520), (600, 330), (680, 222), (920, 222), (1000, 330), (1040, 520)],
        mix(SATIN, SATIN_DEEP, 0.15),
    )
    c.polygon([(600, 330), (680, 222), (920, 222), (1000, 330)], mix(SATIN, PAPER, 0.35))
    c.box(650, 372, 950, 440, mix(SATIN, SATIN_DEEP, 0.2), mix(SATIN, SATIN_DEEP, 0.2))
    c.text(800, 408, name.upper(), 44, INK)
    c.disc(800, 695, 262, SATIN, SATIN_DEEP)
    c.disc(800, 695, 246, mix(BLACK, PAPER, 0.22), BLACK_DEEP)
    c.disc(800, 695, 226, SATIN, mix(SATIN_DEEP, INK, 0.4))
    c.disc(800, 695, 212, BLACK, BLACK_DEEP)
    c.lens(800, 695, 190, name, rim=SATIN_DEEP)
    c.disc(440, 640, 34, SATIN, SATIN_DEEP)
    c.line([(440, 640), (452, 742)], SATIN, 26)


def rangefinder(c: Canvas, name: str) -> None:
    """A coupled-rangefinder camera, its windows in a stepped top plate."""
    _knob(c, 372, 400, 116, 54)
    _knob(c, 1120, 400, 96, 50)
    c.disc(1228, 386, 22, SATIN, SATIN_DEEP)
    _body(c, 270, 396, 1330, 950, 160)
    c.box(470, 356, 1090, 470, mix(SATIN, PAPER, 0.25), SATIN, radius=14)
    _window(c, 1010, 446, 104, 66)
    _window(c, 800, 440, 118, 46)
    c.disc(590, 446, 38, SATIN_DEEP, SATIN)
    c.dome(590, 446, 29, GLASS_DEEP, GLASS)
    c.text(800, 506, name, 40, INK)
    c.disc(800, 742, 204, SATIN, SATIN_DEEP)
    c.disc(800, 742, 190, mix(SATIN_DEEP, INK, 0.5), SATIN)
    for i in range(48):
        c.line([(640 + 6.8 * i, 925), (640 + 6.8 * i, 938)], mix(SATIN_DEEP, INK, 0.4), 2)
    c.lens(800, 742, 150, name, rim=SATIN)
    c.disc(430, 800, 28, SATIN, SATIN_DEEP)


def compact(c: Canvas, name: str) -> None:
    """A small fixed-lens camera with the honeycomb of a light cell over its lens."""
    c.tube(1060, 446, 1128, 480, SATIN, SATIN_DEEP)
    _body(c, 380, 476, 1220, 960, 150, mix(BLACK, BROWN, 0.2))
    c.box(620, 500, 900, 604, mix(BLACK, PAPER, 0.3), BLACK, radius=10)
    for row in range(4):
        for i in range(12):
            x, y = 640 + 21.5 * i + 10 * (row % 2), 518 + 22 * row
            c.dome(x, y, 9, mix(SATIN, BRASS, 0.3), mix(BRASS_DEEP, BLACK, 0.3))
    _window(c, 1010, 548, 112, 62)
    c.text(490, 560, name, 32, INK)
    c.disc(800, 766, 156, SATIN, SATIN_DEEP)
    c.disc(800, 766, 142, BLACK, BLACK_DEEP)
    c.lens(800, 766, 122, name, rim=BLACK)
    c.disc(1120, 840, 20, SATIN, SATIN_DEEP)


def _lens_from_above(
    c: Canvas, x: float, y0: float, widths: list[float], step: float, bright: Colour
) -> None:
    """A lens that points down the page: rings of several widths."""
    for i, half in enumerate(widths):
        dark = mix(bright, INK, 0.65)
        c.tube(
            x - half,
            y0 + i * step,
            x + half,
            y0 + (i + 1) * step - 3,
            bright,
            dark,
            knurls=34 if i % 2 else 0,
        )


def _low_top(c: Canvas, name: str, *, prism: bool, lever: bool, widths: list[float]) -> None:
    """A 35 mm body from above."""
    c.shadow(822, 472, 560, 120, square=True)
    _lens_from_above(c, 800, 520, widths, 62, mix(BLACK, PAPER, 0.45) if prism else SATIN)
    c.box(240, 330, 1360, 560, mix(BLACK, PAPER, 0.2), BLACK_DEEP, radius=100)
    c.leather(_rectangle(330, 520, 1270, 552), BLACK)
    c.box(250, 350, 1350, 518, mix(SATIN, PAPER, 0.35), mix(SATIN, SATIN_DEEP, 0.45), radius=82)
    if prism:
        c.polygon(
            [(640, 560), (610, 350), (700, 316), (900, 316), (990, 350), (960, 560)],
            mix(SATIN, SATIN_DEEP, 0.25),
        )
        c.polygon([(690, 520), (670, 360), (930, 360), (910, 520)], mix(SATIN, PAPER, 0.4))
        c.text(800, 545, name.upper(), 25, INK)
    else:
        c.box(690, 372, 850, 486, SATIN_DEEP, mix(SATIN_DEEP, INK, 0.4), radius=4)
        c.box(712, 372, 828, 486, SATIN, SATIN_DEEP)
        c.text(580, 430, name, 28, INK)
    _dial(c, 400, 432, 72, "")
    _dial(c, 1080, 432, 66, "125")
    c.disc(1176, 470, 21, mix(SATIN, PAPER, 0.6), SATIN_DEEP)
    c.ring(1176, 470, 21, SATIN_DEEP, 2)
    _dial(c, 1258, 430, 56, "24")
    if lever:
        c.line([(1258, 430), (1330, 380), (1376, 300)], SATIN_DEEP, 30)
        c.line([(1258, 430), (1330, 380), (1376, 300)], SATIN, 20)


def folder_top(c: Canvas, name: str) -> None:
    """A folding camera from above: the bellows run out towards the lens."""
    c.shadow(824, 366, 480, 76, square=True)
    c.shadow(822, 640, 190, 270, square=True)
    c.polygon([(560, 400), (1040, 400), (960, 760), (640, 760)], BLACK_DEEP)
    for i in range(12):
        y, inset = 405 + 29 * i, 6.4 * i
        tone = mix(BROWN, BLACK_DEEP, 0.2 + 0.5 * (i % 2))
        c.polygon([(566 + inset, y), (1034 - inset, y), (1028 - inset, y + 27), (572 + inset, y + 27)], tone)
    for x, to in ((545, 640), (1055, 960)):
        c.line([(x, 410), (to, 770)], SATIN_DEEP, 11)
        c.line([(x, 410), (to, 770)], SATIN, 4)
    _lens_from_above(c, 800, 760, [170, 150, 96], 54, SATIN)
    c.box(330, 260, 1270, 412, mix(BLACK, PAPER, 0.2), BLACK_DEEP, radius=66)
    c.leather(_rectangle(420, 268, 1180, 404), BLACK)
    c.box(640, 286, 960, 388, SATIN, SATIN_DEEP, radius=10)
    c.text(800, 336, name, 34, INK)
    _dial(c, 420, 336, 56)
    c.disc(1170, 336, 24, mix(SATIN, PAPER, 0.6), SATIN_DEEP)


def twin_lens_top(c: Canvas, name: str) -> None:
    """A twin-lens reflex from above, hood open over its focusing glass."""
    c.shadow(824, 560, 335, 325, square=True)
    _lens_from_above(c, 800, 830, [150, 132, 96], 44, SATIN)
    c.box(470, 220, 1130, 850, mix(BLACK, PAPER, 0.18), BLACK_DEEP, radius=36)
    c.leather(_rectangle(486, 240, 1114, 830), BLACK)
    c.box(540, 280, 1060, 790, SATIN_DEEP, BLACK, radius=8)
    c.polygon([(540, 280), (1060, 280), (1000, 350), (600, 350)], mix(BLACK, PAPER, 0.10))
    c.box(600, 350, 1000, 740, (150, 148, 132), (86, 88, 84), radius=4)
    for i in (1, 2):
        c.line([(600 + 133 * i, 350), (600 + 133 * i, 740)], (70, 70, 66), 2)
        c.line([(600, 350 + 130 * i), (1000, 350 + 130 * i)], (70, 70, 66), 2)
    c.box(600, 350, 660, 380, mix(PAPER, (255, 255, 255), 0.2), (150, 148, 132))
    c.text(800, 812, name.upper(), 26, SATIN)
    c.box(1130, 360, 1214, 470, SATIN, SATIN_DEEP, radius=8)
    c.box(1130, 600, 1206, 690, SATIN, SATIN_DEEP, radius=8)


def box_top(c: Canvas, name: str) -> None:
    """A box camera from above: strap, finder lid and winding key."""
    c.shadow(826, 570, 380, 350, square=True)
    c.box(420, 190, 1180, 900, mix(BLACK, PAPER, 0.12), BLACK_DEEP, radius=10)
    c.leather(_rectangle(428, 198, 1172, 892), mix(BLACK, BROWN, 0.35), depth=20)
    c.box(560, 470, 1040, 540, mix(BROWN, PAPER, 0.2), mix(BROWN, INK, 0.4), radius=30)
    for x in (575, 1025):
        c.disc(x, 505, 20, BRASS, BRASS_DEEP)
    c.box(690, 250, 910, 400, SATIN, SATIN_DEEP, radius=6)
    c.box(708, 268, 892, 382, GLASS_DEEP, GLASS, radius=4)
    c.text(800, 720, name, 46, mix(BRASS, PAPER, 0.2))
    c.box(1180, 640, 1250, 668, SATIN, SATIN_DEEP, radius=8)
    c.box(1240, 600, 1268, 708, SATIN, SATIN_DEEP, radius=12)


def reflex_top(c: Canvas, name: str) -> None:
    """A 35 mm reflex from above."""
    _low_top(c, name, prism=True, lever=True, widths=[210, 226, 206, 222, 196, 176])


def rangefinder_top(c: Canvas, name: str) -> None:
    """A rangefinder camera from above."""
    _low_top(c, name, prism=False, lever=False, widths=[190, 178, 150, 164])


def compact_top(c: Canvas, name: str) -> None:
    """A compact camera from above."""
    _low_top(c, name, prism=False, lever=True, widths=[150, 140, 120])


FRONTS: dict[str, Drawing] = {
    "box": box_camera,
    "compact": compact,
    "folder": folder,
    "rangefinder": rangefinder,
    "reflex": reflex,
    "twin-lens": twin_lens,
}
TOPS: dict[str, Drawing] = {
    "box": box_top,
    "compact": compact_top,
    "folder": folder_top,
    "rangefinder": rangefinder_top,
    "reflex": reflex_top,
    "twin-lens": twin_lens_top,
}
