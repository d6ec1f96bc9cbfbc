"""What holds two materials together: what comes off again stands first, what is never is refused."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from pegwood.trade.agents import Judgement, verdict
from pegwood.trade.glues._tables import GLUES, JOINS, Fit, Glue, Holds, Join, Removable
from pegwood.trade.grounds import Ground, Grounds, joined
from pegwood.trade.materials import MATERIALS, Material
from pegwood.trade.names import find
from pegwood.trade.reference import Reference

#: Materials beside which every join counts as near optics.
OPTICAL = frozenset({"glass", "optical coating"})
#: What a glue's own solvent spoils where it is laid; a covering bears a thin coat that is nearly dry.
SPOILED = frozenset({"coating", "plastic", "optical coating"})
#: What a camera is repaired by: it must come apart again.
COMES_OFF = Ground(
    "common bench practice: what comes off again first, what does not only for broken structural parts",
    "practice",
)

STAYS = "it does not come off again; only for a broken part that is to become one"

_REMOVABLE: tuple[Removable, ...] = get_args(Removable)
_HOLDS: tuple[Holds, ...] = get_args(Holds)


@dataclass(frozen=True, kw_only=True)
class Choice:
    """
    A glue that may be used, or one that is refused, with the reason.

    Attributes
    ----------
    only_for_good : bool
        Refused for one thing alone: that it does not come off again.
    spoils : tuple of Judgement
        Where the glue's own solvent must never touch what it is laid on.
    """

    glue: Glue
    fit: Fit
    reason: str
    only_for_good: bool
    spoils: tuple[Judgement, ...]
    grounds: Grounds


@dataclass(frozen=True, kw_only=True)
class Ranking:
    """
    What holds two materials together.

    Attributes
    ----------
    a, b : Material
        The two.
    join : Join or None
        The row that speaks of them; None where no table does.
    near_optics : bool
        As asked, or because one of the two is glass or a coating on it.
    choices, refused : tuple of Choice
        The best first; and what must not be used.
    """

    a: Material
    b: Material
    join: Join | None
    near_optics: bool
    choices: tuple[Choice, ...]
    refused: tuple[Choice, ...]


def best_glues(
    reference: Reference, a: str, b: str, *, near_optics: bool, must_come_off_again: bool = True
) -> Ranking:
    """
    Rank the glues for a join.

    Parameters
    ----------
    a, b : str
        Names of two materials, in either order.
    near_optics : bool
        Whether glass is near enough for a vapour to reach.
    must_come_off_again : bool
        False only for a broken part that is to become one again.

    Raises
    ------
    UnknownWord
        If a name stands for no material.
    """
    first, second = (find(reference.rows(MATERIALS), word, "material") for word in (a, b))
    optical = near_optics or not OPTICAL.isdisjoint({first.kind, second.kind})
    join = _join(reference, first, second)
    choices: list[Choice] = []
    refused: list[Choice] = []
    for fit in join.fits if join else ():
        glue = reference.rows(GLUES).get(fit.glue)
        if glue is None:
            raise ValueError(f"joins.toml: {fit.glue!r} is the key of no glue.")
        never = _never(glue, fit, optical)
        stays = must_come_off_again and glue.removable == "no"
        against = never or (STAYS if stays else "")
        grounds = joined(join.grounds if join else (), glue.grounds, (COMES_OFF,))
        reason = against or f"holds {fit.holds}: {fit.why}"
        choice = Choice(
            glue=glue,
            fit=fit,
            reason=reason,
            only_for_good=stays and not never,
            spoils=_spoils(reference, glue, (first, second)),
            grounds=grounds,
        )
        (refused if against else choices).append(choice)
    return Ranking(
        a=first,
        b=second,
        join=join,
        near_optics=optical,
        choices=tuple(sorted(choices, key=_rank)),
        refused=tuple(refused),
    )


def _never(glue: Glue, fit: Fit, near_optics: bool) -> str:
    """Why a glue must never be used here; empty if it may."""
    if near_optics and glue.near_optics == "never":
        return glue.why
    return fit.why if fit.holds == "never" else ""


def _spoils(reference: Reference, glue: Glue, materials: tuple[Material, ...]) -> tuple[Judgement, ...]:
    """What the matrix holds against a glue's own solvent; a weld is meant to dissolve its plastic."""
    if glue.removable == "no":
        return ()
    touched = sorted({one for one in materials if one.kind in SPOILED}, key=lambda one: one.key)
    judged = (verdict(reference, agent, one.key) for one in touched for agent in glue.carries)
    return tuple(one for one in judged if one.verdict == "never")


def _rank(choice: Choice) -> tuple[bool, int, int]:
    return (
        choice.fit.holds == "poorly" or bool(choice.spoils),
        _REMOVABLE.index(choice.glue.removable),
        _HOLDS.index(choice.fit.holds),
    )


def _join(reference: Reference, a: Material, b: Material) -> Join | None:
    """The row that names the two most exactly."""
    fits = [(_exactly(row, a, b), row) for row in reference.rows(JOINS).values()]
    best, row = max(fits, key=lambda fit: fit[0])
    return row if best else None


def _exactly(row: Join, a: Material, b: Material) -> int:
    """How exactly a row names two materials, either way round; 0 where it does not speak of them."""
    return max(
        _names(row.a, one) and _names(row.b, other) and _names(row.a, one) + _names(row.b, other)
        for one, other in ((a, b), (b, a))
    )


def _names(side: tuple[str, ...], material: Material) -> int:
    return 2 if material.key in side else 1 if f"any {material.kind}" in side else 0
