"""What was worked out lately: between two presses the same is asked again."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

Found = TypeVar("Found")


class Kept(Generic[Found]):
    """
    The answers asked for last, for several threads at once.

    It can be asked whether an answer is there, which a cache around a function does not tell.

    Parameters
    ----------
    most : int
        How many are kept.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._found: OrderedDict[Hashable, tuple[tuple[object, ...], Found]] = OrderedDict()
        self._lock = Lock()

    def has(self, of: tuple[object, ...], asked: Hashable) -> bool:
        """Whether that was worked out and is kept."""
        with self._lock:
            return _key(of, asked) in self._found

    def get(self, of: tuple[object, ...], asked: Hashable, work_out: Callable[[], Found]) -> Found:
        """
        What was kept, or is worked out now.

        Parameters
        ----------
        of : tuple of object
            What it rests on, each by itself: what was read anew is another one, though it says the same.
        asked : hashable
        work_out : callable
            Not under the lock: nobody waits for another's answer.
        """
        key = _key(of, asked)
        with self._lock:
            if key in self._found:
                self._found.move_to_end(key)
                return self._found[key][1]
        found = work_out()
        with self._lock:
            self._found[key] = of, found  # with `of`: what is kept alive gives its id to no other
            self._found.move_to_end(key)
            while len(self._found) > self._most:
                self._found.popitem(last=False)
        return found


def _key(of: tuple[object, ...], asked: Hashable) -> Hashable:
    return tuple(map(id, of)), asked
