"""Slow shutter speeds from a phone's slow-motion video."""

from pegwood.instruments.video.analysis import analyse_video, fastest_at
from pegwood.instruments.video.results import VideoResult

__all__ = ["VideoResult", "analyse_video", "fastest_at"]
