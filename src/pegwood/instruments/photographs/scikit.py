"""The extra `pictures`: scikit-image, which finds outlines, regions and shifts."""

from __future__ import annotations

from importlib.util import find_spec

from pegwood.instruments.readings import RefusedReadings

__all__ = ["ADD_IT", "can_read_pictures", "need_scikit_image"]

ADD_IT = "Reading photographs needs scikit-image: pip install 'pegwood[pictures]'"


def can_read_pictures() -> bool:
    """Whether what finds outlines is installed; where not, `ADD_IT` has to be said."""
    return find_spec("skimage") is not None


def need_scikit_image() -> None:
    """
    Refuse at the door rather than in the middle.

    Raises
    ------
    RefusedReadings
        If the extra is not installed, with the line that adds it.
    """
    if not can_read_pictures():
        raise RefusedReadings(f"{ADD_IT}.")
