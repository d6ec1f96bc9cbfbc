"""Time and memory that a hostile file may cost."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_STATUS, _CLEAR = Path("/proc/self/status"), Path("/proc/self/clear_refs")


@contextmanager
def bounded(cpu_s: float = 4.0, megabytes: float = 300.0) -> Iterator[None]:
    """
    Fail if what is done inside takes more of the processor or of the memory.

    Processor time rather than the clock, so that a busy machine makes no difference. Memory is the highest
    resident size above the one at the start, as the kernel of Linux counts it; elsewhere only time is held.
    """
    with suppress(OSError):
        _CLEAR.write_text("5")  # the high-water mark begins anew (proc(5))
    begun, before = time.process_time(), _kilobytes("VmRSS")
    yield
    took, grown = time.process_time() - begun, (_kilobytes("VmHWM") - before) / 1024
    assert took < cpu_s, f"took {took:.1f} s of the processor"
    assert grown < megabytes, f"took {grown:.0f} MB of memory"


def _kilobytes(name: str) -> int:
    try:
        lines = _STATUS.read_text().splitlines()
    except OSError:
        return 0
    return next(int(line.split()[1]) for line in lines if line.startswith(f"{name}:"))
