"""
How long the analysis of a five-minute light-gate recording at 96 kHz takes, against decoding the same file.

The recording holds 60 firings from 1 s to 1/500 s in noise, 16 bit. The baseline reads the file once through
soundfile, block by block, and does nothing with it. WAV is the hard case: it hardly needs decoding. A
second row holds the growth of memory between the five minutes and twenty.
"""

from __future__ import annotations

import json
import tempfile
import time
import tracemalloc
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
import soundfile

from pegwood.instruments.recordings import open_recording
from pegwood.instruments.shutter import MarkedSpeed, analyse

RATE = 96_000
MINUTES = 5
RUNS = 5
BUDGET = 3.0
BLOCK = 1 << 17
TIMES_S = (1.0, 1 / 2, 1 / 4, 1 / 8, 1 / 15, 1 / 30, 1 / 60, 1 / 125, 1 / 250, 1 / 500)


def write_recording(path: Path, minutes: float) -> int:
    """
    Write a recording with firings every five seconds.

    Parameters
    ----------
    path : Path
        Where to; its suffix says the format.
    minutes : float
        Length, [min].

    Returns
    -------
    n_firings : int
        Firings in it.
    """
    rng = np.random.default_rng(516)
    five_seconds = 5 * RATE
    t = np.arange(five_seconds) / RATE
    edge = 0.0006
    n_firings = round(minutes * 12)
    with soundfile.SoundFile(str(path), "w", RATE, 1, subtype="PCM_16") as out:
        for i in range(n_firings):
            open_s = TIMES_S[i % len(TIMES_S)]
            since = t - 1.0
            light = np.clip(np.minimum(since / edge, (open_s + edge - since) / edge), 0, 1)
            noise = rng.standard_normal(five_seconds, dtype=np.float32)
            out.write((0.6 * light + 0.005 * noise).astype(np.float32))
    return n_firings


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


def peak_memory(path: Path) -> int:
    """
    Most memory Python held during an analysis.

    Parameters
    ----------
    path : Path
        The recording.

    Returns
    -------
    memory : int
        [byte].
    """
    tracemalloc.start()
    analyse_file(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def measure() -> list[dict[str, Any]]:
    """
    Time WAV and FLAC, and the memory of a longer recording against a shorter one.

    Returns
    -------
    rows : list of dict
        As the benchmark command wants them.
    """
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for suffix in ("wav", "flac"):
            path = Path(folder) / f"five_minutes.{suffix}"
            n_firings = write_recording(path, MINUTES)
            rows.append(_time(path, suffix, n_firings))
        short, long = Path(folder) / "five_minutes.wav", Path(folder) / "twenty_minutes.wav"
        write_recording(long, 4 * MINUTES)
        rows.append(_memory(short, long))
    return rows


def _time(path: Path, suffix: str, n_firings: int) -> dict[str, Any]:
    analyse_file(path)  # once, so that nothing is loaded while the clock runs
    pairs = [(analyse_file(path), decode(path)) for _ in range(RUNS)]
    found = pairs[0][0][1]
    if found != n_firings:
        raise RuntimeError(f"{found} firings found of {n_firings}: the figure would mean nothing")
    value, baseline = median(took for (took, _), _ in pairs), median(took for _, took in pairs)
    return {
        "name": f"analysing {MINUTES} min at 96 kHz ({suffix.upper()}), {n_firings} firings",
        "value": value,
        "baseline": baseline,
        "against": "decoding the file",
        "ratio": value / baseline,
        "budget": BUDGET,
    }


def _memory(short: Path, long: Path) -> dict[str, Any]:
    value, baseline = peak_memory(long) / 1e6, peak_memory(short) / 1e6
    return {
        "name": "peak memory, 20 min against 5 min",
        "unit": "MB",
        "value": value,
        "baseline": baseline,
        "against": "5 min",
        "ratio": value / baseline,
        "budget": 1.5,
    }


if __name__ == "__main__":
    print(json.dumps(measure(), indent=2))
