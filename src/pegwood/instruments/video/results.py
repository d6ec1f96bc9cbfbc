"""What a video of a shutter gave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pegwood.instruments.shutter import ShutterResult
from pegwood.instruments.uncertainty import Measured

__all__ = ["VideoResult"]


@dataclass(frozen=True)
class VideoResult:
    """
    Firings of a shutter in a video, and what is known of its frames.

    Parameters
    ----------
    shutter : ShutterResult
        Firings, summary, verdict and warnings, as of a light gate; `sample_rate_hz` is the rate of capture.
        Total, opening and closing time are withheld: frames are too coarse for them.
    captured_fps, stamped_fps : float
        Frames a second while it was filmed, and as the file replays, [1/s].
    rate_source : "told", "notes" or "stamps"
        From whom the rate of capture is.
    frames : int
        Frames read.
    fastest_s : float
        Shortest effective time that can be told at this rate, [s].
    fastest_marked : str
        The fastest marking of the doubling series that is no shorter.
    region : tuple of int
        x, y, width, height of what was read, [pixel].
    region_found : bool
        True where it was found, False where it was given.
    transfer : str
        Transfer function that was undone.
    transfer_told : bool
        Whether the stream names it.
    transfer_source, transfer_mark : str
        Where its formula comes from, and how well that is known.
    row_sweep : Measured or None
        Time from the first to the last row of a frame, [s]; None where the recording does not show it: it is
        then at most one frame period.
    unread : tuple of (float, str)
        Time in the file, [s], and reason for light that was seen and not timed.
    """

    shutter: ShutterResult
    captured_fps: float
    stamped_fps: float
    rate_source: str
    frames: int
    fastest_s: float
    fastest_marked: str
    region: tuple[int, int, int, int]
    region_found: bool
    transfer: str
    transfer_told: bool
    transfer_source: str
    transfer_mark: str
    row_sweep: Measured | None
    unread: tuple[tuple[float, str], ...]

    def to_json(self) -> dict[str, Any]:
        """
        The result as plain data: that of `ShutterResult.to_json`, and `video`.

        Returns
        -------
        data : dict
            Ready for strict JSON: SI units, every number finite or None.
        """
        sweep = self.row_sweep
        interval = None if sweep is None else list(sweep.coverage_interval(0.95))
        return {
            **self.shutter.to_json(),
            "video": {
                "captured_fps": self.captured_fps,
                "stamped_fps": self.stamped_fps,
                "rate_source": self.rate_source,
                "frames": self.frames,
                "fastest_s": self.fastest_s,
                "fastest_marked": self.fastest_marked,
                "region_px": list(self.region),
                "region_found": self.region_found,
                "transfer": self.transfer,
                "transfer_told": self.transfer_told,
                "transfer_source": self.transfer_source,
                "transfer_mark": self.transfer_mark,
                "row_sweep_s": None if sweep is None else sweep.value,
                "row_sweep_u_s": None if sweep is None else sweep.u,
                "row_sweep_95_s": interval,
                "unread": [{"at_s": at, "reason": reason} for at, reason in self.unread],
            },
        }
