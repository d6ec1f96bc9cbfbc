"""Words for what came off a camera."""

from __future__ import annotations

from django import template

from pegwood.book.models import Kept, TakenOff
from pegwood.book.stripping.kept import described
from pegwood.book.stripping.pockets import pocket_name
from pegwood.web import words

register = template.Library()


@register.filter
def lies(thing: TakenOff | Kept) -> str:
    """{{ step|lies }}: tray 1, pocket 5; or beside the trays."""
    return pocket_name(thing.tray, thing.pocket) or "beside the trays"


@register.filter
def kept_words(kept: Kept) -> str:
    """{{ one|kept_words }}: 3 screws M1.7x0.35, 3.5 mm; rear."""
    return described(kept)


@register.filter
def lying(kept: Kept) -> int:
    """{{ one|lying }}: how many are not back."""
    return kept.count - kept.back


@register.filter
def took(step: TakenOff) -> str:
    """{{ step|took }}: 4 min; empty where the clock did not run."""
    if step.seconds is None:
        return ""
    return words.minutes(round(step.seconds / 60)) if step.seconds >= 30 else "under a minute"
