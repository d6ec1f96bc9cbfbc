"""
What an uncertainty is made of, in plain words and as shares of its variance. Pure.

The components of a budget are independent (JCGM 100, 5.1.2), so their variances add up, and a share is the
square of a component over the sum of all squares.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pegwood.papers.figures import plain_time
from pegwood.papers.gauged.figures import SHOWN

PLAIN = {
    "changes of speed": "how a curtain's speed changes between the sensors",
    "clipping": "a top that is cut off",
    "clock": "the recorder's clock",
    "closing's instant": "when the sound of closing begins",
    "codec, closing": "how compression smears the closing",
    "codec, opening": "how compression smears the opening",
    "coupling": "a level that sags at the input",
    "dark level": "how well darkness is known",
    "distance from curtain to film": "the distance from curtain to film",
    "edges of the re-openings": "where bounces begin and end",
    "effective time": "the effective time",
    "fit of the edge": "noise along an edge",
    "frame integration": "light that changes within one frame",
    "frame rate": "how fast the camera really films",
    "full-open level": "how well full light is known",
    "growth of the opening": "how the blades' opening grows",
    "half heights": "where an edge is half way",
    "high-pass": "the input's capacitors: how well their corner is known",
    "light ripple": "flicker of the lamp",
    "light while open": "light that changes while it is open",
    "mirror": "a mirror's sound taken for a curtain's",
    "moment of the sound": "how long after the light its sound comes",
    "noise and sampling": "noise of the sensor, and steps between samples",
    "noise of the light": "noise of the sensor",
    "noise": "noise of the sensor",
    "opening's instant": "when the sound of opening begins",
    "places of the sensors": "where the sensors sit",
    "repeatability": "firings that differ among themselves",
    "resolution": "steps of the converter",
    "restoring": "the input's capacitors: undoing them",
    "rolling rows": "rows that are read one after another",
    "sampling of the light": "steps between samples",
    "sampling": "steps between samples",
    "time stamps": "time stamps that jitter",
    "shape of the edge": "the foot and the shoulder of an edge",
    "shape of the opening": "an opening that is not quite round",
    "stamps": "the frames' time stamps",
    "stop as marked": "a stop that is not quite its marking",
    "total time": "the total time",
    "transfer function": "how a camera turns light into grey",
    "which sound": "sounds so near each other that either may be meant",
    "width of the slit": "the width of the slit",
}
"""The instrument's names in a repairer's words; a name that is missing here stands as it is."""


@dataclass(frozen=True, kw_only=True)
class BudgetLine:
    """One component of an uncertainty, as a row of a table; `share` is that of the variance, in per cent."""

    name: str
    plain: str
    u: str
    share: int
    degrees: str
    kind: str
    note: str
    source: str

    @property
    def share_words(self) -> str:
        return f"{self.share} %" if self.share else "under 1 %"


def budget(components: Iterable[Mapping[str, Any]], locale: str, unit: str = "s") -> tuple[BudgetLine, ...]:
    """
    The components of an uncertainty, the largest first.

    Parameters
    ----------
    components : iterable of mapping
        As the instrument gives them: name, u, df, kind, note, source, mark.
    locale : str
        How figures are written.
    unit : str
        Of `u`, as in the names of data: "s", "ev", "m", "dpt"; empty where it has none.
    """
    ordered = sorted(components, key=lambda c: -(c["u"] or 0))
    variance = sum((c["u"] or 0) ** 2 for c in ordered)
    return tuple(
        BudgetLine(
            name=c["name"],
            plain=PLAIN.get(c["name"], c["name"]),
            u=_u(c["u"], locale, unit),
            share=round(100 * (c["u"] or 0) ** 2 / variance) if variance else 0,
            degrees="∞" if c["df"] is None else f"{c['df']:.3g}",
            kind=c["kind"],
            note=c.get("note") or "",
            source=f"{c['source']} ({c['mark']})" if c.get("source") else "",
        )
        for c in ordered
    )


def _u(u: float | None, locale: str, unit: str) -> str:
    if not u:
        return "0"
    if unit == "s":
        return plain_time(u, locale)
    scale, shown = SHOWN[unit]
    return f"{u * scale:.2g} {shown}".strip()
