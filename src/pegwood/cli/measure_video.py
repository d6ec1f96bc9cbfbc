"""Reading slow-motion videos of a shutter at the command line."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._into_job import UNREADABLE, IntoJob, kept_in_job, need_a_job, say_why_not
from pegwood.cli._open import OneLine
from pegwood.cli._options import judged
from pegwood.cli._progress import progress
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from pegwood.book.taken import Taken
    from pegwood.cli.measure import _Asked
    from pegwood.instruments.video import VideoResult

Rectangle = tuple[int, int, int, int]


@click.command(epilog="Example: pegwood measure video slow.mp4 --marked 1/15 --captured-fps 240 --kind leaf")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option("--marked", help="The speed on the dial: 1/15, 1, 2s, B.")
@click.option(
    "--captured-fps",
    "fps",
    type=click.FloatRange(1, 100_000),
    help="Frames a second while it was filmed; asked for where the file can't tell.",
)
@click.option(
    "--region", metavar="X,Y,W,H", help="Part of the picture to read, in pixels; found if not given."
)
@judged
@kept_in_job
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object a line for each file.")
def video(
    files: tuple[Path, ...],
    marked: str | None,
    fps: float | None,
    region: str | None,
    reading: Any,
    kind: str | None,
    age: str | None,
    number: int | None,
    phase: str | None,
    gear: str | None,
    as_json: bool,
) -> None:
    """
    Read a phone's slow-motion video of the lit shutter.

    Film the lamp through the shutter, exposure and focus locked, and fire. Slow speeds only: the shortest
    time that can be told is six frames, and shorter ones are refused. A file that cannot be read is said on
    stderr and makes the command end with 2; the others are read all the same.

    A phone may store slow motion so that it replays slowly: its time stamps then say 30 frames a second where
    240 were filmed. Say how fast it filmed with --captured-fps.

    With --job it is kept like a reading by light and says so wherever it stands.

    Caution: no sun and no laser as a lamp; batteries out and flash off the camera.
    """
    from pegwood.cli.measure import _asked
    from pegwood.instruments.recordings import RefusedRecording

    if not files:
        raise OneLine("Give at least one video: pegwood measure video FILE.", 2)
    where = None if region is None else _rectangle(region)
    if fps is not None and math.isnan(fps):  # no range of numbers shuts it out
        raise OneLine("No phone films nan frames a second. Give such as --captured-fps 240.", 2)
    if number is not None:
        into = IntoJob(number, phase, gear, as_json)
        into.check(files, marked, kind or age or reading)
        raise click.exceptions.Exit(
            into.keep(files, marked or "", lambda _job: {"taken": _taken(fps, where)}, _show_video)
        )
    need_a_job(phase, gear)
    asked = _asked(marked, reading, kind, age or "older")
    ended = 0
    for file in files:
        try:
            result = _read(file, fps, where, asked)
        except (RefusedRecording, OSError) as error:
            ended = UNREADABLE
            say_why_not(
                file, error, "On the command line: --captured-fps 240." if "how fast it" in str(error) else ""
            )
            continue
        found = result.to_json()
        if as_json:
            click.echo(json.dumps({**found, "file": str(file)}, ensure_ascii=False))
        else:
            _show_video(str(file), found)
    if ended:
        raise click.exceptions.Exit(ended)


def _taken(fps: float | None, region: Rectangle | None) -> Taken:
    from pegwood.book.taken import Taken

    return Taken(by="video", captured_fps=fps, region=region)


def _show_video(file: str, result: dict[str, Any]) -> None:
    from pegwood.cli.measure import _show

    _show(file, result)
    seen = result["video"]
    x, y, w, h = seen["region_px"]
    how = "found" if seen["region_found"] else "given"
    terminal().print(f"region {x},{y},{w},{h} ({how}); {seen['frames']} frames; {seen['transfer']}")


def _read(file: Path, fps: float | None, region: Rectangle | None, asked: _Asked) -> VideoResult:
    from pegwood.instruments.video import analyse_video

    with progress(file.name) as told:
        return analyse_video(
            file,
            captured_fps=fps,
            region=region,
            marked=asked.marked,
            reading=asked.reading,
            limit=asked.limit,
            progress=lambda share: told(share, 1.0),
        )


def _rectangle(region: str) -> Rectangle:
    try:
        x, y, w, h = (int(part) for part in region.split(","))
    except ValueError:
        raise OneLine(
            f"Can't read the region {region!r}: write x,y,width,height, as 200,120,80,60.", 2
        ) from None
    return x, y, w, h
