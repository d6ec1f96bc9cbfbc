"""How bad rust is: a grade from 0 to 5 by area, the standards' own grades beside it, what area hides."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from pegwood.trade.grounds import Ground, Grounds, joined
from pegwood.trade.metals._tables import RUST_BANDS, RUST_GRADES, RustBand, RustGrade
from pegwood.trade.names import find
from pegwood.trade.reference import Reference

Flag = Literal["pitted", "cracked", "swollen", "moving part", "optical face"]
FLAGS: tuple[Flag, ...] = get_args(Flag)
#: With these any rust at all is a failure, however small.
FAILING: frozenset[Flag] = frozenset({"cracked", "swollen", "moving part", "optical face"})

#: An area judged by eye is good to about a factor of two.
BY_EYE = 2.0
EYE = Ground("common bench practice: an area judged by eye is good to a factor of two", "practice")
MISLEADS = Ground("common bench practice: area alone misleads", "practice")
FORMULA = Ground("page quoting ISO 10289: Rp = 3 (2 - log10 A), A in %", "seen")
#: Below this area the formula of ISO 10289 no longer holds, [%].
FORMULA_FROM_PERCENT = 0.046416


@dataclass(frozen=True, kw_only=True)
class Graded:
    """
    A rusted area in grades.

    Attributes
    ----------
    percent : float
        Area, [% of the surface].
    grade : RustGrade
        From 0 to 5, after ISO 4628-3: the next worse picture.
    lowest, highest : int
        The grade if the area is half and twice as big: what an eye cannot tell apart.
    d610, rp : RustBand or None
        Grade of ASTM D610 and Rp of ISO 10289, 10 is the best; by the bands of their tables.
    rp_formula : float or None
        Rp before rounding; None where the formula does not hold.
    flags : tuple of str
        What area does not show.
    fails : bool
        Whether a flag makes any rust a failure.
    """

    percent: float
    grade: RustGrade
    lowest: int
    highest: int
    d610: RustBand
    rp: RustBand
    rp_formula: float | None
    flags: tuple[Flag, ...]
    fails: bool

    @property
    def grounds(self) -> Grounds:
        return joined(self.grade.grounds, self.d610.grounds, self.rp.grounds)


def grade_from_area(reference: Reference, percent: float, flags: Iterable[str] = ()) -> Graded:
    """
    The grade of a rusted area.

    Parameters
    ----------
    percent : float
        Rusted part of the surface, [%], from 0 to 100.
    flags : iterable of str
        Of: pitted, cracked, swollen, moving part, optical face.

    Raises
    ------
    ValueError
        If the area is no percentage, or a flag is none of the five.
    """
    if not (math.isfinite(percent) and 0 <= percent <= 100):
        raise ValueError(
            f"The rusted area is {percent:g} %. Expected a part of the surface, from 0 to 100 %."
        )
    flagged = _flags(flags)
    bands = reference.rows(RUST_BANDS).values()
    d610, rp = (
        next(band for band in bands if band.scale == scale and percent <= band.up_to_percent)
        for scale in ("ASTM D610", "ISO 10289")
    )
    grades = tuple(reference.rows(RUST_GRADES).values())
    return Graded(
        percent=percent,
        grade=_grade(grades, percent),
        lowest=_grade(grades, percent / BY_EYE).grade,
        highest=_grade(grades, min(percent * BY_EYE, 100.0)).grade,
        d610=d610,
        rp=rp,
        rp_formula=rp_by_formula(percent),
        flags=flagged,
        fails=percent > 0 and not FAILING.isdisjoint(flagged),
    )


def rp_by_formula(percent: float) -> float | None:
    """
    Rp = 3 (2 - log10 A) of ISO 10289, not rounded; None where the formula does not hold (A up to 0.046416 %).

    The bands of the standard's table decide: at 0.05 % the formula rounds to 10, the band says 9.
    """
    if percent <= FORMULA_FROM_PERCENT:
        return None
    return 3 * (2 - math.log10(percent))


def grade_from_look(reference: Reference, look: str) -> RustGrade:
    """
    The grade of a look: "a few specks", "patches".

    Raises
    ------
    UnknownWord
        With the three nearest.
    """
    return find(reference.rows(RUST_GRADES), look, "look of rust")


def _grade(grades: tuple[RustGrade, ...], percent: float) -> RustGrade:
    return next(one for one in grades if percent <= one.up_to_percent)


def _flags(flags: Iterable[str]) -> tuple[Flag, ...]:
    wanted = {" ".join(flag.replace("-", " ").split()).lower() for flag in flags}
    if unknown := wanted - set(FLAGS):
        raise ValueError(f"{sorted(unknown)[0]!r} is no flag. Expected one of: {', '.join(FLAGS)}.")
    return tuple(flag for flag in FLAGS if flag in wanted)
