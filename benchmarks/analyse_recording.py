"""
How long the analysis of a five-minute light-gate recording at 96 kHz takes, against decoding the same file.

The recording holds 59 firings from 1 s to 1/500 s in noise, 16 bit. The baseline reads the file once through
soundfile, block by block, and does nothing with it. WAV is the hard case: it hardly needs decoding; behind a
capacitor every firing is restored, and read again. Memory is `long_recording`'s.
"""

from __future__ import annotations

import json
import tempfile
import time
from pathlib import Path
from statistics import median
from typing import Any

import soundfile

from benchmarks.long_recording import write_recording
from pegwood.instruments.recordings import open_recording
from pegwood.instruments.shutter import MarkedSpeed, analyse

RATE = 96_000
MINUTES = 5
RUNS = 5
BUDGET = 3.0
BLOCK = 1 << 17


def decode(path: Path) -> float:
    """
    Read the file once.

    Parameters
    ----------
    path : Path
        The recording.

    Returns
    -------
    time : float
        [s].
    """
    began = time.perf_counter()
    with soundfile.SoundFile(str(path)) as sound:
        for _ in sound.blocks(BLOCK, dtype="float32"):
            pass
    return time.perf_counter() - began


def analyse_file(path: Path) -> tuple[float, int]:
    """
    Analyse the file.

    Parameters
    ----------
    path : Path
        The recording.

    Returns
    -------
    time : float
        [s].
    n_shots : int
        Firings found.
    """
    began = time.perf_counter()
    result = analyse(open_recording(path), marked=MarkedSpeed.parse("1/125"))
    return time.perf_counter() - began, len(result.shots)


def measure() -> list[dict[str, Any]]:
    """
    Time WAV and FLAC, and WAV behind a capacitor.

    Returns
    -------
    rows : list of dict
        As the benchmark command wants them.
    """
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for suffix, corner_hz in (("wav", 0.0), ("flac", 0.0), ("wav", 5.0)):
            path = Path(folder) / f"five_minutes.{suffix}"
            n_firings = write_recording(path, MINUTES, rate=RATE, every_s=5, corner_hz=corner_hz)
            behind = f" behind a capacitor ({corner_hz:g} Hz)" if corner_hz else ""
            rows.append(_time(path, suffix.upper() + behind, n_firings))
    return rows


def _time(path: Path, what: str, n_firings: int) -> dict[str, Any]:
    analyse_file(path)  # once, so that nothing is loaded while the clock runs
    pairs = [(analyse_file(path), decode(path)) for _ in range(RUNS)]
    found = pairs[0][0][1]
    if found != n_firings:
        raise RuntimeError(f"{found} firings found of {n_firings}: the figure would mean nothing")
    value, baseline = median(took for (took, _), _ in pairs), median(took for _, took in pairs)
    return {
        "name": f"analysing {MINUTES} min at 96 kHz, {what}, {n_firings} firings",
        "value": value,
        "baseline": baseline,
        "against": "decoding the file",
        "ratio": value / baseline,
        "budget": BUDGET,
    }


if __name__ == "__main__":
    print(json.dumps(measure(), indent=2))
