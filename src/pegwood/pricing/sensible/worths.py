"""What a camera is worth: the repairer's own figures, asked and never guessed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pegwood.anatomy.parts import Minutes
from pegwood.pricing.money import Money


@dataclass(frozen=True, kw_only=True)
class Worths:
    """
    What a camera is worth, as the repairer sees it. All in one currency; what is None is not weighed.

    Attributes
    ----------
    mended, unmended : Money
        To the owner: all of it right, and as it lies there.
    stays : mapping of str to Money
        Faults that can stay, and by how much less the mended camera is worth to the owner with each of them.
    cleaned : Money, optional
        To the owner: cleaned, checked and else as it is; and `clean`, how long that takes.
    clean : Minutes, optional
    as_found : Money, optional
        What it fetches as it is, less what selling costs; the owner's.
    for_parts, paid_for_parts : Money, optional
        What its parts are worth to the bench, and what the bench would give the owner for it.

    Raises
    ------
    ValueError
        If an amount is below 0 or of another currency, or only one of a pair is given.
    """

    mended: Money
    unmended: Money
    stays: Mapping[str, Money] = field(default_factory=dict)
    cleaned: Money | None = None
    clean: Minutes | None = None
    as_found: Money | None = None
    for_parts: Money | None = None
    paid_for_parts: Money | None = None

    def __post_init__(self) -> None:
        amounts = {
            name: getattr(self, name)
            for name in ("mended", "unmended", "cleaned", "as_found", "for_parts", "paid_for_parts")
        }
        for name, amount in {**amounts, **self.stays}.items():
            if amount is None:
                continue
            if amount.currency != self.mended.currency:
                raise ValueError(
                    f"{name} is in {amount.currency}, the rest in {self.mended.currency}. "
                    "Expected one currency."
                )
            if amount.minor < 0:
                raise ValueError(f"{name} is {amount.decimal}. Expected 0 or more.")
        if (self.cleaned is None) != (self.clean is None):
            raise ValueError("cleaned and clean go together: what it is worth then, and how long that takes.")
        if (self.for_parts is None) != (self.paid_for_parts is None):
            raise ValueError(
                "for_parts and paid_for_parts go together: worth to the bench, paid to the owner."
            )
