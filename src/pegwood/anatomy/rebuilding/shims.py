"""Whether the shim in hand is the one that belongs at a place."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from pegwood.anatomy.bench_log import Kept, TakenOff
from pegwood.trade.numbers import figure
from pegwood.trade.wording import either

ShimVerdict = Literal["fits", "does not fit", "cannot be told apart", "not known"]
#: Two values differ, at 95 %, where they lie further apart than this many standard uncertainties of their
#: difference (normal; JCGM 100:2008, 6.3 and G.1.3).
K_95 = 1.959964


@dataclass(frozen=True, kw_only=True)
class ShimHere:
    """
    Whether a shim belongs at a place.

    Attributes
    ----------
    verdict : str
    says : str
        With the figures, for a person.
    others : tuple of Kept
        The shims of other places that it may be.
    """

    verdict: ShimVerdict
    says: str
    others: tuple[Kept, ...] = ()


def shim_at(log: Iterable[TakenOff], kept_id: str, measured_mm: float, u_mm: float) -> ShimHere:
    """
    Whether the shim in hand is the one that lay at a place.

    It fits only where it agrees with what was measured there and both it and that differ, at 95 %, from every
    other shim and washer of the log: one that was not measured, or not told how well, could be any.

    Parameters
    ----------
    log : iterable of TakenOff
    kept_id : str
        The place: the log's key of the shim that came from there.
    measured_mm, u_mm : float
        Of the shim in hand, with its standard uncertainty, [mm].

    Raises
    ------
    ValueError
        If the log has no such shim or washer, or a figure is not above nought.
    """
    for name, value in (("the thickness", measured_mm), ("its uncertainty", u_mm)):
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"{name} is {value} mm. Expected above 0.")
    shims = [(kept, one) for one in log for kept in one.kept if kept.kind in ("shim", "washer")]
    found = [pair for pair in shims if pair[0].id == kept_id]
    if not found:
        raise ValueError(f"{kept_id!r} is no shim or washer of the log.")
    here, of = found[0]
    hand = f"{_figures((measured_mm, u_mm))} (k = 2) in hand"
    logged = _known(here)
    if logged is None:
        lacks = "its thickness" if here.thickness_mm is None else "how well it was measured"
        return ShimHere(
            verdict="not known", says=f"{_whose(here, of)}: {lacks} was not written down; {hand}."
        )
    figures = f"{hand}, {_figures(logged)} logged for {_whose(here, of)}"
    one = (measured_mm, u_mm)
    rest = [pair for pair in shims if pair[0].id != kept_id]
    like_hand = [pair for pair in rest if _alike(one, _known(pair[0]))]
    if not _alike(one, logged):
        says = _whose_it_is(like_hand) if like_hand else "no other shim of the log is so thick"
        return ShimHere(
            verdict="does not fit",
            says=f"It does not fit: {figures}; {says}.",
            others=tuple(kept for kept, _ in like_hand),
        )
    like = [pair for pair in rest if pair in like_hand or _alike(logged, _known(pair[0]))]
    if like:
        names = either([_with_figures(kept, other) for kept, other in like])
        return ShimHere(
            verdict="cannot be told apart",
            says=f"It may be the one ({figures}), but it cannot be told apart from that of {names}.",
            others=tuple(kept for kept, _ in like),
        )
    return ShimHere(verdict="fits", says=f"It fits: {figures}.")


#: Places that say where, not what.
WHERE = frozenset({"above", "at", "behind", "below", "beneath", "between", "in", "on", "over", "under"})


def _known(kept: Kept) -> tuple[float, float] | None:
    """Thickness and standard uncertainty, where both were written down."""
    if kept.thickness_mm is None or kept.thickness_u_mm is None:
        return None
    return kept.thickness_mm, kept.thickness_u_mm


def _alike(one: tuple[float, float], other: tuple[float, float] | None) -> bool:
    """Whether two values do not differ at 95 %; what was not measured may be any."""
    if other is None:
        return True
    return abs(one[0] - other[0]) <= K_95 * math.hypot(one[1], other[1])


def _whose_it_is(like: list[tuple[Kept, TakenOff]]) -> str:
    names = either([_with_figures(kept, of) for kept, of in like])
    unsure = len(like) > 1 or _known(like[0][0]) is None
    return f"it may be that of {names}" if unsure else f"it is that of {names}"


def _figures(known: tuple[float, float]) -> str:
    return f"{figure(known[0])} ± {figure(2 * known[1], 2)} mm"


def _whose(kept: Kept, of: TakenOff) -> str:
    if not kept.place:
        return f"the {of.name}"
    return f"the shim {kept.place}" if kept.place.split()[0] in WHERE else f"the {kept.place}"


def _with_figures(kept: Kept, of: TakenOff) -> str:
    known = _known(kept)
    return f"{_whose(kept, of)} ({_figures(known) if known else 'not measured'})"
