"""A sheet to draw on at twice the size, and the darkroom that turns it into a photograph."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

SIZE = (1600, 1200)
SCALE = 2  # drawn at twice the size and halved: smooth edges

Colour = tuple[int, int, int]
Point = tuple[float, float]

PAPER: Colour = (240, 230, 210)
LINEN: Colour = (122, 110, 95)
WOOD: Colour = (168, 126, 82)
INK: Colour = (32, 37, 42)
MANILA: Colour = (229, 209, 164)
BRASS: Colour = (184, 143, 66)
BRASS_DEEP: Colour = (112, 80, 27)
SATIN: Colour = (214, 208, 196)
SATIN_DEEP: Colour = (126, 120, 110)
BLACK: Colour = (34, 31, 29)
BLACK_DEEP: Colour = (15, 14, 14)
GLASS: Colour = (56, 66, 92)
GLASS_DEEP: Colour = (8, 9, 16)


#: Bright in the middle, fading to nothing at seven tenths of the radius.
_GLOW = Image.radial_gradient("L").point([max(0, 255 - int(v * 1.42)) for v in range(256)])


def mix(a: Colour, b: Colour, share: float) -> Colour:
    """The colour `share` of the way from a to b."""
    r, g, b_ = (round(x + (y - x) * share) for x, y in zip(a, b, strict=True))
    return r, g, b_


class Canvas:
    """
    Drawing in picture coordinates, x to the right and y down, 1600 by 1200, whatever the scale behind it.

    Parameters
    ----------
    seed : int
        Of everything that is left to chance.
    """

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.image = Image.new("RGB", (SIZE[0] * SCALE, SIZE[1] * SCALE), PAPER)
        self.draw = ImageDraw.Draw(self.image)

    # --- the ground ---------------------------------------------------------------------------------

    def table(self, horizon: float = 700) -> None:
        """A linen wall and a sheet of paper on a wooden bench, seen from the front."""
        self.box(0, 0, SIZE[0], horizon, mix(LINEN, INK, 0.55), mix(LINEN, INK, 0.15))
        self._wood(horizon)
        self.polygon([(140, 1120), (290, horizon + 70), (1330, horizon + 70), (1500, 1120)], PAPER)
        self.tag(1330 + 30 * self.rng.random(), 1030, -0.25)

    def sheet(self) -> None:
        """A sheet of ruled paper on the bench, with a scale, seen from above."""
        self._wood(0)
        self.box(70, 50, 1530, 1150, mix(PAPER, (255, 255, 255), 0.3), PAPER)
        for y in range(110, 1130, 52):
            self.line([(90, y), (1510, y)], mix(PAPER, BRASS, 0.18), 1)
        self.ruler(230, 1060)

    def _wood(self, horizon: float) -> None:
        """Boards with a grain that runs from side to side."""
        x, y = SIZE[0] * SCALE, round((SIZE[1] - horizon) * SCALE)
        streaks = np.clip(0.5 + 0.17 * self.rng.normal(0, 1, (max(y // 10, 2), 9, 1)), 0, 1)
        dark, light = (np.array(mix(WOOD, c, 0.25)) for c in (INK, PAPER))
        grain = Image.fromarray((dark + streaks * (light - dark)).astype(np.uint8))
        boards = grain.resize((x // 4, y // 2), Image.Resampling.BICUBIC).resize(
            (x, y), Image.Resampling.NEAREST
        )
        self.image.paste(boards, (0, round(horizon * SCALE)))

    def tag(self, x: float, y: float, turn: float) -> None:
        """The manila tag that hangs on a camera, with its string."""
        corners = [(-150, -62), (-110, -80), (150, -80), (150, 80), (-110, 80), (-150, 62)]
        c, s = math.cos(turn), math.sin(turn)
        at = [(x + c * u - s * v, y + 0.62 * (s * u + c * v)) for u, v in corners]
        self.shadow(x + 8, y + 14, 165, 62, 0.4)
        self.polygon(at, MANILA, outline=mix(MANILA, BRASS_DEEP, 0.5))
        hole = (x - 118 * c, y - 118 * s * 0.62)
        self.disc(*hole, 17, BRASS, BRASS_DEEP)
        self.disc(*hole, 8, INK, INK)
        self.line(
            [hole, (hole[0] - 90, hole[1] - 75), (hole[0] - 240, hole[1] - 120)], mix(PAPER, BRASS, 0.4), 4
        )
        for row in range(3):
            u, v = -70, -34 + 34 * row
            start = (x + c * u - s * v, y + 0.62 * (s * u + c * v))
            long = 150 - 40 * self.rng.random()
            self.line([start, (start[0] + c * long, start[1] + 0.62 * s * long)], mix(MANILA, INK, 0.6), 4)

    def ruler(self, x: float, y: float) -> None:
        """A steel scale: every tenth stroke is long."""
        self.box(x, y, x + 1140, y + 62, SATIN, mix(SATIN, SATIN_DEEP, 0.5), radius=4)
        for i in range(111):
            long = 34 if i % 10 == 0 else 24 if i % 5 == 0 else 15
            self.line([(x + 20 + 10 * i, y), (x + 20 + 10 * i, y + long)], INK, 1.5)
            if i % 10 == 0:
                self.text(x + 20 + 10 * i, y + 48, str(i // 10), 19, INK)

    # --- shapes -------------------------------------------------------------------------------------

    def box(
        self, x0: float, y0: float, x1: float, y1: float, above: Colour, below: Colour, radius: float = 0
    ) -> None:
        """A rectangle, shaded from above to below."""
        size = (max(round((x1 - x0) * SCALE), 1), max(round((y1 - y0) * SCALE), 1))
        column = np.linspace(above, below, size[1])[:, None, :].astype(np.uint8)
        fill = Image.fromarray(column).resize(size, Image.Resampling.NEAREST)
        mask = None
        if radius:
            mask = Image.new("L", size, 0)
            ImageDraw.Draw(mask).rounded_rectangle((0, 0, size[0] - 1, size[1] - 1), radius * SCALE, 255)
        self.image.paste(fill, (round(x0 * SCALE), round(y0 * SCALE)), mask)

    def tube(
        self, x0: float, y0: float, x1: float, y1: float, bright: Colour, dark: Colour, knurls: int = 0
    ) -> None:
        """A cylinder lying upright: bright left of its middle, dark at both sides; knurled if asked."""
        size = (max(round((x1 - x0) * SCALE), 1), max(round((y1 - y0) * SCALE), 1))
        u = np.linspace(0, 1, size[0])
        light = np.clip(1.15 * np.exp(-(((u - 0.36) / 0.3) ** 2)), 0, 1)
        if knurls:
            light *= 0.72 + 0.28 * np.cos(2 * np.pi * knurls * np.arcsin(2 * u - 1) / np.pi)
        row = np.array(dark) + light[:, None] * (np.array(bright) - np.array(dark))
        strip = Image.fromarray(np.clip(row, 0, 255).astype(np.uint8)[None, :, :])
        self.image.paste(strip.resize(size), (round(x0 * SCALE), round(y0 * SCALE)))

    def disc(self, x: float, y: float, r: float, above: Colour, below: Colour) -> None:
        """A circle, shaded from above to below."""
        self.box(x - r, y - r, x + r, y + r, above, below, radius=r)

    def dome(self, x: float, y: float, r: float, inner: Colour, outer: Colour) -> None:
        """A circle, shaded from its middle outwards."""
        side = max(round(2 * r * SCALE), 1)
        left, above = round((x - r) * SCALE), round((y - r) * SCALE)
        self.draw.ellipse((left, above, left + side - 1, above + side - 1), fill=outer)
        self.image.paste(inner, (left, above), _GLOW.resize((side, side), Image.Resampling.BILINEAR))

    def leather(self, points: Sequence[Point], colour: Colour = BLACK, depth: float = 15) -> None:
        """A grained covering inside an outline."""
        tile = self.rng.normal(0, 1, (128, 128))
        smooth = sum(np.roll(tile, (i, j), (0, 1)) for i in range(4) for j in range(4)) / 4
        lit = (np.asarray(smooth) - np.roll(np.asarray(smooth), (2, 2), (0, 1)))[..., None] * depth
        xs, ys = zip(*points, strict=True)
        x0, y0 = round(min(xs) * SCALE), round(min(ys) * SCALE)
        w, h = round(max(xs) * SCALE) - x0, round(max(ys) * SCALE) - y0
        patch = np.clip(np.array(colour) + lit, 0, 255).astype(np.uint8)
        piece = np.tile(patch, (h // 128 + 1, w // 128 + 1, 1))[:h, :w]
        mask = Image.new("L", (w, h), 0)
        ImageDraw.Draw(mask).polygon([(x * SCALE - x0, y * SCALE - y0) for x, y in points], 255)
        self.image.paste(Image.fromarray(piece), (x0, y0), mask)

    def polygon(self, points: Sequence[Point], fill: Colour, outline: Colour | None = None) -> None:
        """A filled outline."""
        at = [(x * SCALE, y * SCALE) for x, y in points]
        self.draw.polygon(at, fill=fill, outline=outline, width=2 * SCALE)

    def line(self, points: Sequence[Point], fill: Colour, width: float) -> None:
        """A stroke."""
        at = [(x * SCALE, y * SCALE) for x, y in points]
        self.draw.line(at, fill=fill, width=max(round(width * SCALE), 1), joint="curve")

    def ring(self, x: float, y: float, r: float, colour: Colour, width: float) -> None:
        """A circle's line."""
        box = ((x - r) * SCALE, (y - r) * SCALE, (x + r) * SCALE, (y + r) * SCALE)
        self.draw.ellipse(box, outline=colour, width=max(round(width * SCALE), 1))

    def text(self, x: float, y: float, words: str, size: float, fill: Colour) -> None:
        """Words, centred."""
        font = ImageFont.load_default(size * SCALE)
        self.draw.text((x * SCALE, y * SCALE), words, font=font, fill=fill, anchor="mm")

    def shadow(
        self,
        x: float,
        y: float,
        half_width: float,
        half_height: float,
        depth: float = 0.6,
        square: bool = False,
    ) -> None:
        """A soft shadow under something round, or under something square."""
        soft = 70
        left, above = x - half_width - soft, y - half_height - soft
        size = (round((half_width + soft) / 4), round((half_height + soft) / 4))
        small = Image.new("L", size, 0)
        box = (soft / 8, soft / 8, size[0] - soft / 8, size[1] - soft / 8)
        draw = ImageDraw.Draw(small)
        if square:
            draw.rectangle(box, fill=round(255 * depth))
        else:
            draw.ellipse(box, fill=round(255 * depth))
        mask = small.filter(ImageFilter.GaussianBlur(4)).resize(
            (size[0] * 8 * SCALE, size[1] * 8 * SCALE), Image.Resampling.BILINEAR
        )
        self.image.paste((24, 18, 12), (round(left * SCALE), round(above * SCALE)), mask)

    def veil(self, colour: Colour, mask: Image.Image) -> None:
        """Lay a colour over the picture where a small mask, of any size, is bright."""
        self.image.paste(colour, (0, 0), mask.resize(self.image.size, Image.Resampling.BICUBIC))

    def cloud(self, cells: int, low: float, high: float) -> Image.Image:
        """A small mask of soft blotches between two depths, 0 to 1."""
        field = self.rng.random((max(cells * 3 // 4, 2), cells))
        return Image.fromarray((255 * np.clip(low + (high - low) * field, 0, 1)).astype(np.uint8))

    # --- glass --------------------------------------------------------------------------------------

    def lens(self, x: float, y: float, r: float, words: str = "", rim: Colour = BLACK) -> None:
        """A front cell: rim, engraved ring, glass with the lights of a window in it."""
        self.disc(x, y, r, mix(rim, PAPER, 0.3), mix(rim, BLACK_DEEP, 0.6))
        self.disc(x, y, r * 0.93, BLACK_DEEP, mix(BLACK, PAPER, 0.12))
        self._engrave(x, y, r * 0.80, words, max(r * 0.105, 9))
        self.disc(x, y, r * 0.66, mix(SATIN_DEEP, BLACK, 0.5), BLACK_DEEP)
        self.dome(x, y, r * 0.61, GLASS_DEEP, GLASS)
        self.dome(x, y, r * 0.36, mix(GLASS_DEEP, BRASS_DEEP, 0.25), GLASS_DEEP)
        self.ring(x, y, r * 0.36, mix(GLASS, PAPER, 0.15), r * 0.012)
        for u, v, size, colour in (
            (-0.24, -0.27, 0.13, (214, 222, 230)),
            (-0.05, -0.36, 0.05, (190, 200, 214)),
            (0.22, 0.27, 0.09, (150, 118, 84)),
            (0.10, 0.12, 0.04, (116, 92, 128)),
        ):
            self.dome(x + u * r, y + v * r, size * r, colour, mix(colour, GLASS, 0.55))

    def _engrave(self, x: float, y: float, r: float, words: str, size: float) -> None:
        """Letters set round a circle, from the left over the top."""
        font = ImageFont.load_default(size * SCALE)
        step = size * 0.82 / r
        for i, letter in enumerate(words):
            angle = -math.pi / 2 + (i - (len(words) - 1) / 2) * step
            side = round(size * 2 * SCALE)
            glyph = Image.new("L", (side, side), 0)
            ImageDraw.Draw(glyph).text((side / 2, side / 2), letter, font=font, fill=235, anchor="mm")
            glyph = glyph.rotate(-math.degrees(angle + math.pi / 2), Image.Resampling.BICUBIC)
            at = ((x + r * math.cos(angle)) * SCALE - side / 2, (y + r * math.sin(angle)) * SCALE - side / 2)
            self.image.paste(PAPER, (round(at[0]), round(at[1])), glyph)

    # --- the darkroom -------------------------------------------------------------------------------

    def developed(self) -> bytes:
        """The picture with the falloff of a window's light and the grain of a small sensor, as JPEG."""
        photo = self.image.reduce(SCALE)
        x = np.linspace(-1, 1, 64)[None, :, None]
        y = np.linspace(-1, 1, 48)[:, None, None]
        centre = -0.35 + 0.3 * self.rng.random()
        light = 1.10 - 0.24 * (x - centre) ** 2 - 0.22 * (y + 0.35) ** 2
        gain = 1.15  # the brightest the light gets, so that it fits into a byte
        warm = np.clip(light / gain * np.array([1.02, 1.0, 0.94]) * 255, 0, 255).astype(np.uint8)
        window = Image.fromarray(warm).resize(SIZE, Image.Resampling.BILINEAR)
        photo = ImageChops.multiply(photo, window).point([min(255, round(v * gain)) for v in range(256)] * 3)
        speck = np.clip(128 + 3.2 * self.rng.standard_normal((400, 400)), 0, 255).astype(np.uint8)
        grain = Image.fromarray(np.tile(speck, (3, 4)))
        photo = ImageChops.add(photo, Image.merge("RGB", (grain, grain, grain)), 1, -128)
        file = io.BytesIO()
        photo.save(file, "JPEG", quality=84, subsampling=2)
        return file.getvalue()
