"""A child process that works in a book in a file, and is killed (SIGKILL) at some moment."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.db import connection

from pegwood.book.files import store
from pegwood.book.keeping.check import examine
from pegwood.book.models import StoredFile

DONE = b"."


Work = Callable[[Callable[[], None]], None]


@contextmanager
def child_at(work: Work) -> Iterator[int]:
    """Let a child do `work`, give the pipe on which it says what is done, and kill it in the end."""
    connection.close()
    hear, say = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(hear)
            work(lambda: say_done(say))
        finally:
            os._exit(0)
    os.close(say)
    try:
        yield hear
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(hear)


def killed_while(work: Work, after_s: float) -> int:
    """Let a child do `work`, kill it `after_s` after it began, and say how many deeds it had reported."""
    with child_at(work) as hear:
        heard = os.dup(hear)
        time.sleep(after_s)
    with os.fdopen(heard, "rb") as pipe:
        return len(pipe.read())


def two_deeds_take(work: Work) -> float:
    """How long a child needs for them on this machine, with whatever else it does, [s]."""
    began = time.monotonic()
    with child_at(work) as hear:
        assert os.read(hear, 1) == os.read(hear, 1) == DONE
        return time.monotonic() - began


def say_done(pipe: int) -> None:
    os.write(pipe, DONE)


def expect_sound() -> None:
    report = examine()
    assert report.is_sound, report.remarks
    for file in StoredFile.objects.all():
        store().verified(file.sha256)
