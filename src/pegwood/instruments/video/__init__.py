"""Slow shutter speeds from a phone's slow-motion video."""

from pegwood.instruments.video._frames import ADD_IT, can_read_video
from pegwood.instruments.video.analysis import analyse_video, fastest_at
from pegwood.instruments.video.results import VideoResult

__all__ = ["ADD_IT", "VideoResult", "analyse_video", "can_read_video", "fastest_at"]
