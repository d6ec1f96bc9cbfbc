"""What must come off before a look, from what is off already. Pure but for a small cache."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Part
from pegwood.anatomy.planning import Unreachable
from pegwood.anatomy.planning.plan import plan


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


#: Between two presses the same is asked again. A construction that was read anew is another one.
_lately: OrderedDict[tuple[str, frozenset[str], frozenset[str]], tuple[Construction, Access]] = OrderedDict()
MOST_KEPT = 200


def access(construction: Construction, wanted: Iterable[str], off: frozenset[str]) -> Access | None:
    """What must come off so that those parts are off; None where nothing must."""
    missing = frozenset(wanted) - off
    if not missing:
        return None
    key = (construction.id, missing, off)
    kept = _lately.get(key)
    if kept is None or kept[0] is not construction:
        _lately[key] = kept = construction, _planned(construction, missing, off)
        while len(_lately) > MOST_KEPT:
            _lately.popitem(last=False)
    return kept[1]


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
