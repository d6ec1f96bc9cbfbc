"""What the parts of a camera are made of and finished with, under the names that all other tables use."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pegwood.trade.reference import Named, Table

Kind = Literal[
    "metal",
    "finish",
    "coating",
    "plastic",
    "glass",
    "optical coating",
    "cement",
    "covering",
    "cloth",
    "foam",
    "electrical",
]


@dataclass(frozen=True, kw_only=True)
class Material(Named):
    """
    A material or finish.

    Attributes
    ----------
    kind : str
        What sort of thing it is; a finish or a coating lies over something else.
    tell : str
        How it is recognised on the bench.
    """

    kind: Kind
    tell: str = ""


MATERIALS = Table("materials", Material)
