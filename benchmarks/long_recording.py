"""
How much memory the analysis of one hour at 192 kHz takes, against a process that only loads the analysis.

Each analysis runs in a process of its own and tells its peak resident memory as the operating system counts
it. A further row holds an hour against a quarter of one: beyond some eighteen minutes nothing may grow.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from scipy.signal import lfilter

RATE = 192_000
MINUTES = 60
BUDGET_MB = 300.0
TIMES_S = (1.0, 1 / 2, 1 / 4, 1 / 8, 1 / 15, 1 / 30, 1 / 60, 1 / 125, 1 / 250, 1 / 500)
EDGE_S = 0.0006

_CHILD = """
import json, re, resource, sys
from pathlib import Path
from pegwood.instruments.recordings import open_recording
from pegwood.instruments.shutter import analyse

found = 0
if sys.argv[1:]:
    found = len(analyse(open_recording(Path(sys.argv[1]))).shots)
status = Path("/proc/self/status")
if status.exists():  # there, what getrusage tells is at least what the parent held as it forked
    peak = int(re.search(r"VmHWM:\\s*(\\d+) kB", status.read_text())[1]) * 1024
else:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
print(json.dumps([found, peak / 1e6]))
"""


def write_recording(
    path: Path,
    minutes: float,
    *,
    rate: int = RATE,
    every_s: int = 90,
    subtype: str = "PCM_16",
    corner_hz: float = 0.0,
) -> int:
    """
    Write a long recording second by second.

    Parameters
    ----------
    path : Path
        Where to; its suffix says the format.
    minutes : float
        Length, [min].
    rate : int
        Samples per second, [Hz].
    every_s : int
        From firing to firing, [s].
    subtype : str
        As soundfile calls it.
    corner_hz : float
        Corner of a capacitor in the way; 0 for none, [Hz].

    Returns
    -------
    n_firings : int
        Firings in it, the first after five seconds.
    """
    rng = np.random.default_rng(192)
    noise = 0.002 * rng.standard_normal(7 * rate, dtype=np.float32)  # drawn once: noise takes longest
    seconds = round(60 * minutes)
    starts = range(5, seconds - 3, every_s)
    pole = float(np.exp(-2 * np.pi * corner_hz / rate))
    kept = np.zeros(1)
    with soundfile.SoundFile(str(path), "w", rate, 1, subtype=subtype) as out:
        for second in range(seconds):
            light = np.zeros(rate)
            number = max(0, (second - 5) // every_s)
            if number < len(starts):
                since = second - starts[number] - 0.3 + np.arange(rate) / rate
                open_s = TIMES_S[number % len(TIMES_S)]
                light = 0.4 * np.clip(np.minimum(since / EDGE_S, (open_s + EDGE_S - since) / EDGE_S), 0, 1)
            if corner_hz:
                gain = (1 + pole) / 2
                light, kept = lfilter([gain, -gain], [1, -pole], light, zi=kept)
            begin = int(rng.integers(0, 6 * rate))
            out.write(light.astype(np.float32) + noise[begin : begin + rate])
    return len(starts)


def peak_memory(path: Path | None = None) -> tuple[int, float]:
    """
    Analyse a recording in a process of its own.

    Parameters
    ----------
    path : Path, optional
        The recording; without one the analysis is only loaded.

    Returns
    -------
    n_shots : int
        Firings found.
    memory : float
        Peak resident memory of that process, [MB].
    """
    arguments = [sys.executable, "-c", _CHILD, *([str(path)] if path else [])]
    # every thread of a linear-algebra library holds memory of its own: one is enough here
    alone = os.environ | {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run(arguments, check=True, capture_output=True, text=True, env=alone)
    found, memory = json.loads(done.stdout)
    return int(found), float(memory)


def measure() -> list[dict[str, Any]]:
    """
    Peak memory of an hour that passes direct current, of one behind a capacitor, and of a quarter of one.

    Returns
    -------
    rows : list of dict
        As the benchmark command wants them.
    """
    loaded = peak_memory()[1]
    rows, direct = [], {}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.wav"
        for minutes, corner_hz in ((MINUTES, 0.0), (MINUTES / 4, 0.0), (MINUTES, 3.0)):
            written = write_recording(path, minutes, corner_hz=corner_hz)
            found, memory = peak_memory(path)
            if found != written:
                raise RuntimeError(f"{found} firings found of {written}: the figure would mean nothing")
            if not corner_hz:
                direct[minutes] = memory
            if minutes == MINUTES:
                behind = f" behind a capacitor ({corner_hz:g} Hz)" if corner_hz else ""
                rows.append(_row(f"peak memory, 1 h at 192 kHz{behind}", memory, loaded))
    longer, shorter = direct[MINUTES], direct[MINUTES / 4]
    grown = _row("peak memory, 60 min against 15 min", longer, shorter)
    rows.append(grown | {"against": "15 min", "budget": 1.3, "budget_is": "ratio"})
    return rows


def _row(name: str, value: float, baseline: float) -> dict[str, Any]:
    return {
        "name": name,
        "unit": "MB",
        "value": value,
        "baseline": baseline,
        "against": "the analysis only loaded",
        "ratio": value / baseline,
        "budget": BUDGET_MB,
        "budget_is": "value",
    }


if __name__ == "__main__":
    print(json.dumps(measure(), indent=2))
