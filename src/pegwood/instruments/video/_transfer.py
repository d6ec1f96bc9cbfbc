"""Back from the values a video stores to light."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.given import table_beside
from pegwood.instruments.uncertainty import Mark

__all__ = ["ASSUMED", "Transfer", "bend", "light_of_codes", "transfer_of"]

Array = NDArray[np.float64]
ASSUMED = "BT.709"


@dataclass(frozen=True)
class Transfer:
    """
    One transfer function.

    Parameters
    ----------
    name : str
        Short name.
    codes : tuple of int
        Its numbers in ITU-T H.273.
    source, mark : str
        Where the formula comes from, and how well that is known.
    """

    name: str
    codes: tuple[int, ...]
    source: str
    mark: Mark

    def light(self, value: Array) -> Array:
        """
        Light behind a stored value.

        Parameters
        ----------
        value : array, any shape
            Stored value, 0 at black and 1 at white, [-].

        Returns
        -------
        light : array, same shape
            Proportional to light, 1 at white, [-].
        """
        return _LIGHT[self.name](np.clip(value, 0.0, None))


def _bt709(value: Array) -> Array:
    return np.where(value < 0.081, value / 4.5, ((value + 0.099) / 1.099) ** (1 / 0.45))


def _srgb(value: Array) -> Array:
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def _hlg(value: Array) -> Array:
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    return np.where(value <= 0.5, value**2 / 3, (np.exp((value - c) / a) + b) / 12)


_LIGHT: dict[str, Callable[[Array], Array]] = {
    "BT.709": _bt709,
    "sRGB": _srgb,
    "gamma 2.2": lambda value: np.asarray(value**2.2),
    "gamma 2.8": lambda value: np.asarray(value**2.8),
    "linear": lambda value: value,
    "HLG": _hlg,
}


@cache
def _table() -> tuple[float, str, Mark, tuple[Transfer, ...]]:
    data = table_beside(__package__, "transfer.toml")
    rows = (Transfer(r["name"], tuple(r["codes"]), r["source"], r["mark"]) for r in data["transfer"])
    return float(data["bend_u"]), data["source"], data["mark"], tuple(rows)


def bend() -> tuple[float, str, Mark]:
    """
    How far a phone may be from the standard it names.

    Returns
    -------
    u : float
        Standard uncertainty of the exponent, relative, [-].
    source, mark : str
        Whose figure that is.
    """
    return _table()[:3]


def transfer_of(code: int) -> Transfer | None:
    """
    The transfer function a stream names.

    Parameters
    ----------
    code : int
        Transfer characteristics after ITU-T H.273; 2 is "not said".

    Returns
    -------
    transfer : Transfer or None
        BT.709 where the stream does not say; None for one that is not known here.
    """
    rows = _table()[3]
    if code in (0, 2, 3):
        return next(row for row in rows if row.name == ASSUMED)
    return next((row for row in rows if code in row.codes), None)


def light_of_codes(transfer: Transfer, bits: int, is_full_range: bool) -> NDArray[np.float32]:
    """
    Light for every value a pixel can hold.

    Parameters
    ----------
    transfer : Transfer
        How it was stored.
    bits : int
        Bits of a value.
    is_full_range : bool
        True where black and white are the ends of the range; else they lie at 16 and 235 of 255.

    Returns
    -------
    light : array, shape (2**bits,)
        1 at white, [-].
    """
    codes = np.arange(2**bits, dtype=np.float64)
    step = 2.0 ** (bits - 8)
    black, white = (0.0, 2.0**bits - 1) if is_full_range else (16 * step, 235 * step)
    return transfer.light((codes - black) / (white - black)).astype(np.float32)
