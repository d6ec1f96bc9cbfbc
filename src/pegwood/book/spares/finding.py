"""Looking a spare up, as it is typed."""

from __future__ import annotations

import re
from typing import Any

from django.db.models import Q, QuerySet

from pegwood.book.families import families
from pegwood.book.models import Spare

LONGEST_QUERY = 200
_WORD = re.compile(r"[^\s,;]+")
_FIELDS = ("name", "part", "maker", "model", "place", "note", "donor__serial")


def find_spares(query: str = "", *, with_none: bool = False, limit: int = 60) -> QuerySet[Any]:
    """
    Spares that hold every word of `query`, with how many there are: by name, camera, place, note.

    Parameters
    ----------
    query : str
        Words in any order, each may be only part of one; a spare's number finds it.
    with_none : bool
        Those of which none is left, too.
    """
    found = Spare.objects.counted().select_related("donor")
    words = _WORD.findall(query.replace("\0", "")[:LONGEST_QUERY])
    if len(words) == 1 and words[0].isascii() and words[0].isdecimal() and len(words[0]) < 10:
        by_number = found.filter(pk=int(words[0]))
        if by_number.exists():
            return by_number
    for word in words:
        holds = Q()
        for field in _FIELDS:
            holds |= Q(**{f"{field}__icontains": word})
        kinds = [slug for slug, kind in families().items() if word.lower() in kind.name.lower()]
        found = found.filter(holds | Q(family__in=[*kinds, word.lower()]))
    if not with_none:
        found = found.filter(lies__gt=0)
    return found.order_by("name", "maker", "model", "pk")[:limit]
