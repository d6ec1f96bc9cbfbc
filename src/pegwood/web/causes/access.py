"""What must come off before a look, from what is off already. Pure but for a small cache."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Part
from pegwood.anatomy.planning import Unreachable
from pegwood.anatomy.planning.plan import plan
from pegwood.web.causes.kept import Kept


@dataclass(frozen=True, kw_only=True)
class Access:
    """
    What lies before a look.

    Attributes
    ----------
    wanted : tuple of Part
        What the look itself asks to be off and what is not.
    parts : tuple of Part
        All that comes off for it, in order; empty where there is no way, and `closed` says why.
    minutes : float
        Usual minutes, [min].
    cautions : tuple of str
        Of the ways it takes, each once.
    closed : str
    """

    wanted: tuple[Part, ...]
    parts: tuple[Part, ...]
    minutes: float
    cautions: tuple[str, ...] = ()
    closed: str = ""


_lately: Kept[Access] = Kept(200)


def access(construction: Construction, wanted: Iterable[str], off: frozenset[str]) -> Access | None:
    """What must come off so that those parts are off; None where nothing must."""
    missing = frozenset(wanted) - off
    if not missing:
        return None
    return _lately.get((construction,), (missing, off), lambda: _planned(construction, missing, off))


def _planned(construction: Construction, missing: frozenset[str], off: frozenset[str]) -> Access:
    wanted = tuple(part for part in construction.parts.values() if part.id in missing)
    try:
        found = plan(
            construction, sorted(missing), off.intersection(construction.parts), with_alternatives=False
        )
    except (Unreachable, ValueError) as why:
        return Access(wanted=wanted, parts=(), minutes=0.0, closed=str(why))
    return Access(
        wanted=wanted,
        parts=tuple(step.part for step in found.steps),
        minutes=found.minutes,
        cautions=tuple(dict.fromkeys(text for step in found.steps for text in step.way.cautions)),
    )
