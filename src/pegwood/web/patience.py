"""
Guessing passwords takes time: each wrong one beyond a few makes the next try of that name wait twice as long.

Kept in the server's memory: a stranger cannot restart the server, and whoever can needs no password.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

FREE_TRIES = 5
FIRST_WAIT_S = 15.0
LONGEST_WAIT_S = 300.0
#: Names that are remembered at once; made-up ones must not fill the memory.
MOST_NAMES = 1000


class Patience:
    """
    Counts wrong tries by name.

    Parameters
    ----------
    clock : callable
        Seconds that only ever go up, [s].
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._wrong: dict[str, tuple[int, float]] = {}

    def wait_s(self, name: str) -> float:
        """How long that name must still wait before its next try, [s]."""
        with self._lock:
            tries, last = self._wrong.get(name.casefold(), (0, 0.0))
        if tries < FREE_TRIES:
            return 0.0
        wait = min(FIRST_WAIT_S * 2.0 ** min(tries - FREE_TRIES, 10), LONGEST_WAIT_S)
        return max(0.0, last + wait - self._clock())

    def wrong(self, name: str) -> None:
        """Count a try with a wrong password."""
        key = name.casefold()
        with self._lock:
            tries, _ = self._wrong.pop(key, (0, 0.0))
            self._wrong[key] = (tries + 1, self._clock())
            while len(self._wrong) > MOST_NAMES:
                del self._wrong[next(iter(self._wrong))]

    def right(self, name: str) -> None:
        """Forget what was wrong before."""
        with self._lock:
            self._wrong.pop(name.casefold(), None)


patience = Patience()
