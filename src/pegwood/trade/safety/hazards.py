"""What in a camera or beside it can hurt: how it is recognised, what to do, what never, what the law says."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.trade.names import find
from pegwood.trade.reference import Named, Reference, Table
from pegwood.trade.said import Said


@dataclass(frozen=True, kw_only=True)
class Hazard(Named):
    """
    A hazard of the bench.

    Attributes
    ----------
    short : str
        What it does, in one sentence.
    recognise, do, never, law : tuple of Said
        How it is known, what to do, what never to do, what rules say; each with its source.
    pictograms : tuple of str
        Symbols that belong to it ("GHS06").
    substance : str
        The key of the substance behind it, or nothing.
    materials : tuple of str
        Keys of the materials that carry it: whoever asks about one of them is warned.
    """

    short: str
    recognise: tuple[Said, ...]
    do: tuple[Said, ...]
    never: tuple[Said, ...]
    law: tuple[Said, ...] = ()
    pictograms: tuple[str, ...] = ()
    substance: str = ""
    materials: tuple[str, ...] = ()


HAZARDS = Table("hazards", Hazard)


def hazard(reference: Reference, word: str) -> Hazard:
    """
    The hazard of a name.

    Raises
    ------
    UnknownWord
        If no row answers to it.
    """
    return find(reference.rows(HAZARDS), word, "hazard")
