"""
Recordings are read in the background, so that a page can be left and a thumb need not wait.

Two threads of the server take recordings one after another. How far each has come is kept in memory only:
the book itself says which are still to be read, and after a restart they are taken up again from there. The
threads end with the server; a reading cut short has changed nothing.
"""

from __future__ import annotations

import logging
import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass

from django.db import connections

from pegwood.book.measuring import read_recording, unread
from pegwood.book.models import Measurement
from pegwood.book.refusal import Refused

WORKERS = 2

log = logging.getLogger(__name__)
Errand = Callable[[], None]


@dataclass(frozen=True)
class Progress:
    """
    How far a recording has been read.

    Attributes
    ----------
    share : float
        From 0 to 1, [1]; 0 while it waits for its turn.
    trouble : str
        Why it could not be finished, and what to do; empty while all is well.
    """

    share: float = 0.0
    trouble: str = ""


class BackgroundReader:
    """
    Takes recordings to be read, and says how far each has come.

    Parameters
    ----------
    start : callable
        Given something to do, sees that it is done; the server's own hands it to a thread.
    """

    def __init__(self, start: Callable[[Errand], None]) -> None:
        self._start = start
        self._lock = threading.Lock()
        self._under_way: dict[int, Progress] = {}

    def take(self, measurement: Measurement, *, by: str) -> None:
        """Read a recording, unless it is being read already."""
        pk = measurement.pk
        with self._lock:
            begun = self._under_way.get(pk)
            if begun is not None and not begun.trouble:
                return
            self._under_way[pk] = Progress()
        self._start(lambda: self._read(pk, by))

    def take_up_again(self, *, by: str) -> int:
        """Take up what a stopped server left unread; say how many there were."""
        left = unread()
        for measurement in left:
            self.take(measurement, by=by)
        return len(left)

    def progress(self, measurement: Measurement) -> Progress | None:
        """How far it has come; None if nobody is reading it."""
        with self._lock:
            return self._under_way.get(measurement.pk)

    def progress_of(self, measurement: Measurement) -> Progress | None:
        """
        How far it has come; None if nobody is reading it, and then the measurement is as the book has it.

        It may have been read between the page's question to the book and this one: a page that stands on the
        earlier answer would say that nobody has read it, and ask no more.
        """
        progress = self.progress(measurement)
        if progress is None and measurement.progress == Measurement.Progress.UNREAD:
            measurement.refresh_from_db()
        return progress

    def _read(self, pk: int, by: str) -> None:
        trouble = ""
        try:
            measurement = Measurement.objects.select_related("recording", "job__camera").get(pk=pk)
            read_recording(measurement, by=by, told=lambda share: self._tell(pk, share))
        except Refused as refusal:
            trouble = str(refusal)
        except Exception:  # whatever it is, the page must say so, and the next recording must be read
            log.exception("reading the recording of measurement %s", pk)
            trouble = (
                "The recording could not be read, and that is Pegwood's fault. It is kept: read it again."
            )
        with self._lock:
            if trouble:
                self._under_way[pk] = Progress(trouble=trouble)
            else:
                self._under_way.pop(pk, None)

    def _tell(self, pk: int, share: float) -> None:
        with self._lock:
            self._under_way[pk] = Progress(min(max(share, 0.0), 1.0))


class _Threads:
    """A few threads, begun when the first errand comes. They are daemons: stopping the server stops them."""

    def __init__(self, number: int) -> None:
        self._number = number
        self._errands: queue.SimpleQueue[Errand] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._begun = 0

    def __call__(self, errand: Errand) -> None:
        self._errands.put(errand)
        with self._lock:
            if self._begun < self._number:
                self._begun += 1
                threading.Thread(target=self._work, name=f"reader-{self._begun}", daemon=True).start()

    def _work(self) -> None:
        while True:
            errand = self._errands.get()
            try:
                errand()
            finally:
                connections.close_all()  # this thread's own; a kept one would hold the book's file open


reader = BackgroundReader(_Threads(WORKERS))
