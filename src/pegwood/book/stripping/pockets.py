"""Trays and their pockets, numbered from one, left to right and top to bottom."""

from __future__ import annotations

from pegwood.book.models import Job, Kept, StripDown, TakenOff
from pegwood.book.refusal import Refused

Pocket = tuple[int, int]  # tray, pocket
MOST_TRAYS = 40


def pocket_name(tray: int | None, pocket: int | None) -> str:
    """As people say it: "tray 1, pocket 5"; empty for beside the trays."""
    return "" if tray is None or pocket is None else f"tray {tray}, pocket {pocket}"


def next_pocket(job: Job, strip_down: StripDown) -> Pocket:
    """The pocket after the last one used; those emptied meanwhile are left, so that an order can be read."""
    used = [
        *TakenOff.objects.filter(job=job, tray__isnull=False).values_list("tray", "pocket"),
        *Kept.objects.filter(taken_off__job=job, taken_off__struck_out=False, tray__isnull=False).values_list(
            "tray", "pocket"
        ),
    ]
    tray, pocket = max(((tray or 1, pocket or 1) for tray, pocket in used), default=(1, 0))
    return (tray, pocket + 1) if pocket < strip_down.pockets else (tray + 1, 1)


def read_pocket(text: str, strip_down: StripDown) -> Pocket | None:
    """
    A pocket as it is typed: "2.5" or "2 5" or "tray 2, pocket 5"; "beside" or nothing for beside the trays.

    Raises
    ------
    Refused
        If there is no such pocket.
    """
    words = "".join(one if one.isdigit() else " " for one in text).split()
    if not words:
        if text.strip() in {"", "beside", "beside the trays"}:
            return None
        raise Refused(f"{text.strip()!r} is no pocket. Say 'tray 1, pocket 5', 1.5, or 'beside'.")
    if len(words) == 1:
        words = ["1", *words]
    if len(words) > 2 or any(len(word) > 3 for word in words):
        raise Refused(f"{text.strip()!r} is no pocket. Say 'tray 1, pocket 5', 1.5, or 'beside'.")
    return checked((int(words[0]), int(words[1])), strip_down)


def checked(pocket: Pocket, strip_down: StripDown) -> Pocket:
    """
    The pocket, if there is such a one.

    Raises
    ------
    Refused
        If the tray or the pocket is beyond those there are.
    """
    tray, number = pocket
    if not 1 <= tray <= MOST_TRAYS or not 1 <= number <= strip_down.pockets:
        raise Refused(
            f"There is no tray {tray}, pocket {number}: trays have {strip_down.pockets} pockets here, "
            f"and there are at most {MOST_TRAYS} trays."
        )
    return pocket
