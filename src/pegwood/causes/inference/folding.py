"""
Faults and signs that hang together: what can be folded away without a table, and an order for the rest.

A sign with one cause left only weighs that cause; a cause with one sign left only changes what the sign
starts from. Folding one after the other takes every branch off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pegwood.causes.inference.looked import Looked
from pegwood.causes.inference.order import Order, order_of


@dataclass(frozen=True)
class Fold:
    """A sign folded into its last cause, or a cause into its last sign."""

    fault: str
    sign: str
    into_sign: bool


@dataclass(frozen=True)
class Lot:
    """
    Faults and signs that hang together.

    Attributes
    ----------
    faults : tuple of str
    signs : mapping of str to Looked
    folds : tuple of Fold
        In the order in which they are done.
    order : Order
        Of the faults that remain.
    last : str
        The sign that remains alone when all its causes are folded into it, or empty.
    """

    faults: tuple[str, ...]
    signs: Mapping[str, Looked]
    folds: tuple[Fold, ...]
    order: Order
    last: str


def lots(signs: Sequence[Looked]) -> Iterator[Lot]:
    """What hangs together, each sign having a cause that may be there."""
    left = list(signs)
    while left:
        lot = [left.pop()]
        faults = set(lot[0].shows)
        while more := [sign for sign in left if not faults.isdisjoint(sign.shows)]:
            lot += more
            left = [sign for sign in left if faults.isdisjoint(sign.shows)]
            faults.update(*(sign.shows for sign in more))
        yield _folded(sorted(faults), {sign.id: sign for sign in lot})


def _folded(faults: Sequence[str], signs: Mapping[str, Looked]) -> Lot:
    causes = {sign: set(of.shows) for sign, of in signs.items()}
    shown = {fault: {sign for sign in signs if fault in signs[sign].shows} for fault in faults}
    folds: list[Fold] = []
    done = -1
    while done < len(folds):
        done = len(folds)
        for sign in [sign for sign, of in causes.items() if len(of) == 1]:
            (fault,) = causes.pop(sign)
            shown[fault].discard(sign)
            folds.append(Fold(fault, sign, into_sign=False))
        for fault in [fault for fault, of in shown.items() if len(of) == 1]:
            (sign,) = shown.pop(fault)
            causes[sign].discard(fault)
            folds.append(Fold(fault, sign, into_sign=True))
    last = next((sign for sign, of in causes.items() if not of), "")
    causes.pop(last, None)
    states = {sign: len(signs[sign].weights) for sign in causes}
    return Lot(tuple(faults), signs, tuple(folds), order_of(tuple(shown), causes, states), last)
