"""From a phone's slow-motion video of the lit shutter to effective times with their uncertainty."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

from pegwood.instruments.recordings import RefusedRecording
from pegwood.instruments.shutter import SERIES, MarkedSpeed, Reading, ShutterResult, summarise
from pegwood.instruments.verdicts import Limit
from pegwood.instruments.video._figures import shots_of
from pegwood.instruments.video._firings import FEWEST_FRAMES, TOO_SHORT, Firing, find_runs, read_firing
from pegwood.instruments.video._frames import MAX_FRAMES, VideoFile, open_video
from pegwood.instruments.video._rate import rate_of
from pegwood.instruments.video._rows import row_sweep
from pegwood.instruments.video._told import NOTHING_FOUND, about_file, about_light, about_rows, about_unread
from pegwood.instruments.video._trace import Region, Trace, find_region, read_trace
from pegwood.instruments.video._transfer import transfer_of
from pegwood.instruments.video.results import VideoResult

__all__ = ["METHOD", "analyse_video", "fastest_at"]

METHOD = (
    "Video: mean light per frame where it changes, the stored values turned back into light by the transfer "
    "function of the stream; effective time = sum of the frames' light over full light, in frame periods. "
    "Light that falls between the exposures of two frames is not seen: how much that may be is judged by how "
    "often an edge leaves a frame partly lit. Slow speeds only."
)

_WHITE = (
    "full light is white in the video, so its height is not known: dim the lamp, put paper before it, or "
    "lower the phone's exposure"
)


def fastest_at(captured_fps: float) -> tuple[float, str]:
    """
    The shortest time that can be told from a rate of capture.

    Parameters
    ----------
    captured_fps : float
        Frames a second while filming, above zero, [1/s].

    Returns
    -------
    fastest_s : float
        Six frame periods, [s].
    marked : str
        The fastest marking of the doubling series that is no shorter; empty if there is none.

    Raises
    ------
    ValueError
        If the rate is not above zero.
    """
    if not captured_fps > 0:
        raise ValueError(f"A rate of capture must be above zero, not {captured_fps!r}")
    fastest_s = FEWEST_FRAMES / captured_fps
    slow_enough = [(s, text) for text, s in SERIES["doubling"].exact_s.items() if float(s) >= fastest_s]
    return fastest_s, min(slow_enough)[1] if slow_enough else ""


def analyse_video(
    source: Path | BinaryIO,
    *,
    name: str | None = None,
    captured_fps: float | None = None,
    region: tuple[int, int, int, int] | None = None,
    marked: MarkedSpeed | None = None,
    reading: Reading = "exact",
    limit: Limit | None = None,
    progress: Callable[[float], None] | None = None,
) -> VideoResult:
    """
    Find the firings in a video and time each.

    Parameters
    ----------
    source : Path or binary file
        The video; an open one must allow seeking.
    name : str, optional
        Name to show; by default the file's own.
    captured_fps : float, optional
        Frames a second while it was filmed, [1/s]; needed where the stamps can't tell.
    region : tuple of int, optional
        x, y, width, height of what to read, [pixel]; by default where the light changes.
    marked : MarkedSpeed, optional
        What the dial said.
    reading : "exact" or "as marked"
        How the marking is read.
    limit : Limit, optional
        The workshop's limit for this shutter and marking.
    progress : callable, optional
        Called with the fraction done, 0 to 1.

    Returns
    -------
    result : VideoResult
        No firing found is an empty list and a warning.

    Raises
    ------
    RefusedRecording
        If the file can't be used, with the reason and the remedy.
    ValueError
        If the rate of capture is not between 1 and 100000.
    """
    if captured_fps is not None and not 1 <= captured_fps <= 100_000:
        raise ValueError(f"No phone films {captured_fps:g} frames a second. Give such as 240.")
    shown = name or (source.name if isinstance(source, Path) else "video")
    video = open_video(source, shown)
    transfer = transfer_of(video.transfer_code)
    if transfer is None:
        raise RefusedRecording(
            f"{shown}: filmed in a high dynamic range that can't be turned back into light. Switch HDR off."
        )
    tell = progress or (lambda _: None)
    expected = video.n_expected or MAX_FRAMES
    where = find_region(video, region, lambda n: tell(0.5 * min(1.0, n / expected)))
    trace = read_trace(video, where, transfer, lambda n: tell(0.5 + 0.5 * min(1.0, n / expected)))
    rate = rate_of(trace.stamps_s, captured_fps, video.told_fps, shown)
    fastest_s, fastest_marked = fastest_at(rate.captured_fps)
    fastest = f"{1e3 * fastest_s:.3g} ms" + (f" (marked {fastest_marked})" if fastest_marked else "")
    too_fast = f"at {rate.captured_fps:.4g} frames a second nothing shorter than {fastest} can be told"
    read = _read_all(trace, video, where)
    timed = [firing for firing in read if not firing.refusal]
    sweep = row_sweep(timed, trace, video.height, 1 / rate.captured_fps)
    unread = tuple(
        (float(trace.stamps_s[f.first]), f"{f.refusal}: {too_fast}" if f.refusal == TOO_SHORT else f.refusal)
        for f in read
        if f.refusal
    )
    target_s = None if marked is None else marked.seconds(reading)
    warnings = [
        *about_file(video, trace),
        *rate.warnings,
        *about_light(timed, transfer.name, video),
        *about_unread(unread),
    ]
    if not read:
        warnings.append(NOTHING_FOUND)
    if target_s is not None and target_s < fastest_s:
        warnings.append(f"The speed on the dial is too fast for this video: {too_fast}.")
    shots = tuple(shots_of(timed, trace, rate))
    return VideoResult(
        shutter=ShutterResult(
            file=shown,
            method=METHOD,
            coupling="DC",
            sample_rate_hz=rate.captured_fps,
            shots=shots,
            summary=summarise([(shot,) for shot in shots], target_s, limit),
            warnings=tuple(dict.fromkeys(warnings)),
            notes=(f"Shortest time that can be told from this video: {fastest}.", about_rows(sweep, rate)),
            marked=marked,
            reading=reading,
            unread=tuple((0, at, reason) for at, reason in unread),
        ),
        captured_fps=rate.captured_fps,
        stamped_fps=rate.stamped_fps,
        rate_source=rate.source,
        frames=len(trace.light),
        fastest_s=fastest_s,
        fastest_marked=fastest_marked,
        region=(where.x, where.y, where.width, where.height),
        region_found=where.is_found,
        transfer=transfer.name,
        transfer_told=video.transfer_code in transfer.codes,
        transfer_source=transfer.source,
        transfer_mark=transfer.mark,
        row_sweep=sweep,
        unread=unread,
    )


def _read_all(trace: Trace, video: VideoFile, where: Region) -> list[Firing]:
    runs = find_runs(trace.light)
    read = []
    for i, run in enumerate(runs):
        begin = runs[i - 1][1] + 1 if i else 0
        end = runs[i + 1][0] - 1 if i + 1 < len(runs) else len(trace.light) - 1
        firing = read_firing(trace, run, (begin, end), video.tick_s)
        if where.is_clipped and not firing.refusal:
            firing.refusal = _WHITE
        read.append(firing)
    return read
