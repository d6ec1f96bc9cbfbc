"""Spares as commands name and print them."""

from __future__ import annotations

from typing import Any

from pegwood.cli._open import OneLine


def spare_numbered(number: int) -> Any:
    """The spare of that number, or a refusal."""
    from pegwood.book.models import Spare

    spare = Spare.objects.filter(pk=number).first() if number < 2**63 else None
    if spare is None:
        raise OneLine(f"There is no spare {number}. `pegwood spares find` shows them.")
    return spare


def as_data(spare: Any, lies: int, held: int) -> dict[str, Any]:
    """A spare for a script."""
    return {
        "spare": spare.pk,
        "name": spare.name,
        "part": spare.part,
        "family": spare.family,
        "camera": spare.camera,
        "grade": spare.grade,
        "place": spare.place,
        "on_the_shelf": lies,
        "reserved": held,
        "cost_minor": spare.cost_minor,
        "currency": spare.currency,
        "donor": spare.donor_id,
    }


def in_words(spare: Any, lies: int, held: int) -> str:
    """A spare in one line."""
    kept = f", {held} reserved" if held else ""
    where = spare.place or "no place is said"
    of = f" ({spare.camera})" if spare.camera else ""
    grade = f", grade {spare.grade}" if spare.grade is not None else ""
    return f"{spare.pk:>6}  {spare.name}{of}{grade}: {lies} there{kept}; {where}"
