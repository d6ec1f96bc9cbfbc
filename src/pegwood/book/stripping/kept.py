"""Screws, shims and springs: what is kept of a part while it is off."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pegwood.book.models import Kept, StripDown, TakenOff
from pegwood.book.refusal import Refused
from pegwood.book.stripping.pockets import Pocket, checked

MOST_ALIKE = 200
#: What a workshop's micrometer is good for where nothing else is told, [mm]: practice, k = 1.
SHIM_U_MM = 0.005
LONGEST = {"what": 120, "place": 120, "side": 120, "thread": 40, "head": 60}
MEASURES = (
    "kind",
    "what",
    "place",
    "side",
    "count",
    "thread",
    "head",
    "length_mm",
    "thickness_mm",
    "as_family",
)


@dataclass(frozen=True, kw_only=True)
class KeptDetails:
    """
    Something kept of a part, as `pegwood.anatomy.bench_log.Kept`; its own pocket where that is another.

    `as_family` says that count and measures are the family's: nobody measured this camera's. `row` is its key
    in the book when it is there already.
    """

    kind: str
    what: str = ""
    place: str = ""
    side: str = ""
    count: int = 1
    thread: str = ""
    head: str = ""
    length_mm: float | None = None
    thickness_mm: float | None = None
    thickness_u_mm: float | None = None
    pocket: Pocket | None = None
    as_family: bool = False
    row: int | None = None


def keep(row: TakenOff, details: KeptDetails) -> Kept:
    tray, pocket = details.pocket or (row.tray, row.pocket)
    values = {name: getattr(details, name) for name in MEASURES}
    u = None if details.thickness_mm is None else details.thickness_u_mm or SHIM_U_MM
    kept = (details.row and row.kept.filter(pk=details.row).first()) or Kept(taken_off=row)
    for name, value in {**values, "thickness_u_mm": u, "tray": tray, "pocket": pocket}.items():
        setattr(kept, name, value.strip() if isinstance(value, str) else value)
    if kept.back > kept.count:
        raise Refused(f"{kept.back} of these are back already: {described(kept)}. Take those out first.")
    kept.save()
    return kept


def check_kept(one: KeptDetails, strip_down: StripDown) -> None:
    if one.kind not in Kept.Kind.values:
        raise Refused(f"What is kept is one of: {', '.join(Kept.Kind.values)}; not {one.kind!r}.")
    if not 1 <= one.count <= MOST_ALIKE:
        raise Refused(f"{one.count} {one.kind}s cannot be. Expected 1 to {MOST_ALIKE}.")
    for what, value, most in (
        ("length", one.length_mm, 100.0),
        ("thickness", one.thickness_mm, 10.0),
        ("uncertainty", one.thickness_u_mm, 1.0),
    ):
        if value is not None and not (math.isfinite(value) and 0 < value <= most):
            raise Refused(f"A {what} of {value:g} mm cannot be. Expected above 0, up to {most:g} mm.")
    for name, longest in LONGEST.items():
        if len(getattr(one, name).strip()) > longest:
            raise Refused(f"The {name} of a {one.kind} is longer than {longest} characters.")
    if one.pocket:
        checked(one.pocket, strip_down)


def described(kept: Kept) -> str:
    """A kept thing in words: "3 screws M1.7x0.35, 3.5 mm, cheese head; right rear"."""
    alike = f"{kept.count} " if kept.count > 1 else ""
    kind = kept.get_kind_display() if kept.kind != Kept.Kind.OTHER or not kept.what else ""
    plural = ("es" if kind.endswith("s") else "s") if kept.count > 1 and kind else ""
    named = " ".join(filter(None, (f"{alike}{kind}{plural}".strip(), kept.thread)))
    length = f"{kept.length_mm:g} mm" if kept.length_mm else ""
    thick = ""
    if kept.thickness_mm is not None:
        thick = f"{kept.thickness_mm:.3f} mm ± {2 * (kept.thickness_u_mm or 0):.3f} mm (k = 2)"
    first = ", ".join(filter(None, (named, kept.what, length, thick, kept.head)))
    if kept.as_family:
        first += " (as such cameras have it, not measured)"
    where = ", ".join(filter(None, (kept.place, kept.side)))
    return f"{first}; {where}" if where else first
