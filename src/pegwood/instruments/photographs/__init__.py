"""Photographs as instruments need them: upright, as light, and how much of it was clipped."""

from pegwood.instruments.photographs.averaging import averaged_down
from pegwood.instruments.photographs.opening import Photograph, open_photograph
from pegwood.instruments.photographs.scikit import ADD_IT, can_read_pictures, need_scikit_image

__all__ = [
    "ADD_IT",
    "Photograph",
    "averaged_down",
    "can_read_pictures",
    "need_scikit_image",
    "open_photograph",
]
