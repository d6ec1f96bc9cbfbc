"""What the first firing, or the first page of a day, would otherwise wait for."""

from __future__ import annotations

import logging

import numpy as np
from django.db import DatabaseError, connections

from pegwood.book.families import known
from pegwood.book.models import Job
from pegwood.book.states import OVER
from pegwood.book.weighing.learnt import learnt_of
from pegwood.instruments.recordings import held
from pegwood.instruments.shutter import analyse, doubts

_RATE = 8000


def warm_up() -> None:
    """Read two made-up firings, one behind a capacitor, so that all that reading needs is loaded."""
    n = np.arange(_RATE)
    noise = 1e-3 * np.sin(n * n * 0.7)  # any readings that are not all the same will do
    light = ((n > 4000) & (n < 4160)).astype(np.float64)
    slow, behind = 0.0, np.empty_like(light)
    for i, value in enumerate(light):
        slow += 0.003 * (value - slow)
        behind[i] = value - slow
    for curve in (light, behind):
        result = analyse(held((0.5 * curve + noise)[:, None], float(_RATE), "warm-up"))
        doubts(3 * list(result.shots[:1]))


def learn_lessons() -> None:
    """
    Weigh all closed jobs and learn from them for the families on the bench, in a thread of its own.

    Three hundred jobs take ten seconds on one slow core, and two more for each family; the first page on
    what is wrong would wait for it. Whatever fails here fails again there, and is told there.
    """
    try:
        open_jobs = Job.objects.exclude(standing__in=OVER).order_by("-pk")
        families = dict.fromkeys(open_jobs.values_list("camera__family", flat=True))
        for construction in [known().constructions[one] for one in families if one in known().constructions]:
            learnt_of(construction)
    except (DatabaseError, ValueError, OSError) as trouble:
        logging.getLogger(__name__).warning("lessons were not learned beforehand: %s", trouble)
    finally:
        connections.close_all()  # this thread's own; a kept one would hold the book's file open
