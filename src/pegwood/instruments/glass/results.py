"""What photographs of a lens's glass gave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pegwood.instruments.glass.place import Glass
from pegwood.instruments.glass.veil import Veil
from pegwood.instruments.plain_data import bounds_of, budget_of, figure, plain
from pegwood.instruments.uncertainty import Mark, Measured
from pegwood.instruments.verdicts import Bounds, verdict

__all__ = ["Change", "Condition", "GlassLimits", "GlassResult", "Graded"]


@dataclass(frozen=True)
class GlassLimits:
    """
    What glass is held against, [%]; Pegwood comes without any: how much a lens bears is the repairer's word.

    Parameters
    ----------
    share : Bounds or None
        Share of the glass that stands out in side light, after cleaning where that was photographed.
    haze : Bounds or None
        Light of its clean parts over a white card's, of the same picture.
    come : Bounds or None
        Share that scatters more after cleaning than before.
    glare : Bounds or None
        Veiling glare.
    """

    share: Bounds | None = None
    haze: Bounds | None = None
    come: Bounds | None = None
    glare: Bounds | None = None


@dataclass(frozen=True)
class Graded:
    """
    A grade and how sure it is.

    Parameters
    ----------
    kind : str
        What was graded: "marks", "fungus", "separation", "cement" or "haze".
    grade : int
        0 as new, 1 slight, 2 plain to see, 3 marked, 4 heavy, 5 past use.
    low, high : int
        Grades at the ends of the 95 % interval.
    source, mark : str
        Whose grades they are.
    """

    kind: str
    grade: int
    low: int
    high: int
    source: str
    mark: Mark

    def to_json(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "kind": self.kind,
            "grade": self.grade,
            "grade_95": [self.low, self.high],
            "source": self.source,
            "mark": self.mark or None,
        }


@dataclass(frozen=True)
class Condition:
    """
    One photograph of the glass in side light.

    Parameters
    ----------
    share : Measured
        Share of the glass that stands out, [%].
    graded : Graded
        By that share, or by the haze where that was asked for and told.
    n : int
        Marks.
    scattered : Measured
        Light from the whole glass, of full scale, [-].
    haze : Measured or None
        That of its clean parts over a white card's, [%]; None without a card.
    middle, rim : float
        Share of the inner half of the glass's area and of the outer that stands out, [%].
    least : float
        Light from which on a mark is seen, of full scale, [-].
    """

    share: Measured
    graded: Graded | None
    n: int
    scattered: Measured
    haze: Measured | None
    middle: float
    rim: float
    least: float

    def to_json(self) -> dict[str, Any]:
        """As plain data."""
        return {
            **figure("share", "percent", self.share),
            "share_budget": budget_of(self.share.budget),
            "graded": self.graded.to_json() if self.graded else None,
            "n": self.n,
            **figure("scattered", "", self.scattered),
            **figure("haze", "percent", self.haze),
            "middle_percent": plain(self.middle),
            "rim_percent": plain(self.rim),
            "least": plain(self.least),
        }


@dataclass(frozen=True)
class Change:
    """
    Before against after.

    Parameters
    ----------
    gone, come : Measured
        Share of the glass that scatters less, and more, than before, [%].
    scattered_less : Measured
        Light of the whole glass that is gone, [%] of that before; below zero where there is more.
    factor : Measured
        By which the second picture's exposure was brought to the first's, [-].
    shift_px : (float, float)
        By which it was moved.
    turned_deg : float
        By which it was turned.
    agreement : float
        Correlation of what surrounds the glass, [-].
    """

    gone: Measured
    come: Measured
    scattered_less: Measured
    factor: Measured
    shift_px: tuple[float, float]
    turned_deg: float
    agreement: float

    def to_json(self) -> dict[str, Any]:
        """As plain data."""
        return {
            **figure("gone", "percent", self.gone),
            "gone_budget": budget_of(self.gone.budget),
            **figure("come", "percent", self.come),
            "come_budget": budget_of(self.come.budget),
            **figure("scattered_less", "percent", self.scattered_less),
            "scattered_less_budget": budget_of(self.scattered_less.budget),
            **figure("exposure_factor", "", self.factor),
            "shift_px": list(self.shift_px),
            "turned_deg": plain(self.turned_deg),
            "agreement": plain(self.agreement),
        }


@dataclass(frozen=True)
class GlassResult:
    """
    The condition of a lens's glass.

    Parameters
    ----------
    before : Condition or None
        The only photograph, or that before cleaning.
    after : Condition or None
        That after it.
    change : Change or None
        One against the other.
    veil : Veil or None
        Veiling glare.
    glass : Glass or None
        Where the glass lies in the first picture.
    warnings, notes : tuple of str
        What was refused and why, what is doubtful; how it was reckoned.
    limits : GlassLimits
        The workshop's.
    """

    before: Condition | None
    after: Condition | None
    change: Change | None
    veil: Veil | None
    glass: Glass | None
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    limits: GlassLimits = GlassLimits()

    def to_json(self) -> dict[str, Any]:
        """
        The result as plain data.

        Returns
        -------
        data : dict
            Ready for strict JSON; described by the schema ``measure.glass``.
        """
        latest = self.after or self.before
        graded = latest.graded if latest else None
        veil = self.veil
        glass = self.glass
        return {
            "grade": graded.grade if graded else None,
            "before": self.before.to_json() if self.before else None,
            "after": self.after.to_json() if self.after else None,
            "change": self.change.to_json() if self.change else None,
            **figure("veiling_glare", "percent", veil.glare if veil else None),
            "veiling_glare_budget": budget_of(veil.glare.budget) if veil else [],
            **figure("with_camera", "percent", veil.with_camera if veil else None),
            **figure("camera", "percent", veil.camera if veil else None),
            "patch_px": [veil.patch.left, veil.patch.top, veil.patch.width, veil.patch.height]
            if veil
            else None,
            **_judged("share", latest.share if latest else None, self.limits.share),
            **_judged("haze", latest.haze if latest else None, self.limits.haze),
            **_judged("come", self.change.come if self.change else None, self.limits.come),
            **_judged("veiling_glare", veil.glare if veil else None, self.limits.glare),
            "glass_px": [glass.x, glass.y, glass.radius] if glass else None,
            "warnings": list(self.warnings),
            "notes": list(self.notes),
        }


def _judged(name: str, measured: Measured | None, limit: Bounds | None) -> dict[str, Any]:
    """A limit and what the figure says about it; neither where there is no figure or no limit."""
    held = None if measured is None or limit is None or limit.is_open else limit
    return {f"{name}_limit": bounds_of(held), f"{name}_verdict": verdict(measured, held)}
