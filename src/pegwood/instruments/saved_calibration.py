"""Calibrations that were saved as plain data, and read again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

__all__ = ["read_saved"]

Calibration = TypeVar("Calibration")


def read_saved(
    data: Mapping[str, Any], of: str, make: Callable[[Mapping[str, Any]], Calibration | None]
) -> Calibration:
    """
    Make a calibration of what was saved of it.

    Parameters
    ----------
    data : mapping
        What its `to_json` gave.
    of : str
        What is calibrated, as `data` and the command name it: "clock", "input".
    make : callable
        Makes it of the data; None where a figure can't be.

    Returns
    -------
    calibration : object
        What `make` gave.

    Raises
    ------
    ValueError
        If it is none of that, or its figures are not there or can't be.
    """
    if data.get("calibration") != of:
        raise ValueError(f"this is no calibration of {_A[of]} {of}: make one with 'pegwood measure {of}'")
    figures = _Figures(data)
    try:
        made = make(figures)
    except KeyError:
        raise ValueError(f"the calibration of the {of} lacks '{figures.asked}': make it again") from None
    except (TypeError, ValueError, OverflowError):
        raise ValueError(
            f"the calibration of the {of} has no figure at '{figures.asked}': make it again"
        ) from None
    if made is None:
        raise ValueError(f"the calibration of the {of} holds a figure that can't be: make it again")
    return made


class _Figures(dict[str, Any]):
    """What was saved, and which figure of it was asked for last: the one that an error is about."""

    asked = ""

    def __getitem__(self, name: str) -> Any:
        self.asked = name
        return super().__getitem__(name)


_A = {"clock": "a", "input": "an"}
