"""The machine stops in the middle of a deed: the database fails at the n-th statement that writes."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from typing import Any

from django.db import connection, transaction
from hypothesis import strategies as st

from pegwood.book.refusal import Refused

#: After how many statements that write the machine stops; 0 lets the deed be done.
KILL = st.sampled_from([0, 0, 0, 0, 0, 0, 0, 0, 1, 2, 3, 4, 5, 7, 9])


class Stopped(Exception):
    """The machine stopped."""


class CameTo(StrEnum):
    """What a deed came to."""

    DONE = "done"
    REFUSED = "refused"
    STOPPED = "stopped"


class Stops:
    """Fails at the n-th statement that writes."""

    def __init__(self, after: int) -> None:
        self.left = after

    def __call__(self, execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
        if sql.lstrip()[:6].upper() in {"INSERT", "UPDATE", "DELETE"}:
            self.left -= 1
            if self.left == 0:
                raise Stopped
        return execute(sql, *rest)


def done_or_stopped(deed: Callable[[], Any], kill: int) -> tuple[CameTo, Any]:
    """What a deed came to and gave. Of one that was refused or stopped nothing may be left."""
    try:
        with transaction.atomic(), connection.execute_wrapper(Stops(kill)):
            return CameTo.DONE, deed()
    except Refused:
        return CameTo.REFUSED, None
    except Stopped:
        return CameTo.STOPPED, None
