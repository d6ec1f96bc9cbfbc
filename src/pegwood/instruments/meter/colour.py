"""
What the colour of the test light does to a reading: spectral mismatch.

A cell that is right in one light is wrong in another by the ratio of what it sees to what the eye sees:
``F = (∫S_Z s / ∫S_Z V) / (∫S_D s / ∫S_D V)``, Z the test light, D the light the meter is meant for, s the
cell's response (after CIE S 023, the spectral mismatch correction factor; memory). The spectra are the
CIE's, every 5 nm from 300 to 780 nm; the integrals are sums over that grid.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pegwood.instruments.given import table_beside
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Mark, Measured, combine

__all__ = [
    "LIGHTS",
    "Mismatch",
    "Response",
    "light_called",
    "mismatch",
    "ratio_of",
    "response_of",
    "wavelengths",
]

Array = NDArray[np.float64]

LIGHTS = ("A", "D55", "D65", "LED-B3")
"""Lights by name; any temperature such as 2700K is a black body's."""
SECOND_RADIATION_CONSTANT = 6.62607015e-34 * 299792458.0 / 1.380649e-23
"""h c / k, [m K]: exact by the definitions of the SI (2019)."""
_KELVIN = re.compile(r"(\d+(?:\.\d+)?)\s*K", re.IGNORECASE)
COOLEST_K, HOTTEST_K = 1500.0, 25000.0


@dataclass(frozen=True)
class Response:
    """
    How a cell sees the colours.

    Parameters
    ----------
    wavelength : array, shape (n,)
        Rising, [m].
    response : array, shape (n,)
        Against its own peak, [-].
    peak : float
        Where the peak lies, [m].
    peak_u : float
        Standard uncertainty of that, [m].
    width_u : float
        Relative standard uncertainty of the curve's width, [-].
    source, mark, note : str
        Where it comes from.
    """

    wavelength: Array
    response: Array
    peak: float
    peak_u: float
    width_u: float
    source: str
    mark: Mark
    note: str = ""

    def at(self, wavelength: ArrayLike, shift: float = 0.0, width: float = 1.0) -> Array:
        """
        The response, maybe with another peak and width.

        Parameters
        ----------
        wavelength : array_like, shape (m,)
            [m].
        shift : float
            How much further to the red the peak lies, [m].
        width : float
            Factor on the width about the peak, [-].

        Returns
        -------
        response : array, shape (m,)
            [-]; held at its end values beyond the table.
        """
        from scipy.interpolate import PchipInterpolator

        back = self.peak + (np.asarray(wavelength, dtype=float) - self.peak - shift) / width
        inside = np.clip(back, self.wavelength[0], self.wavelength[-1])
        return np.asarray(PchipInterpolator(self.wavelength, self.response)(inside), dtype=float)


@dataclass(frozen=True)
class Mismatch:
    """
    What a light's colour does to a cell.

    Parameters
    ----------
    cell, light, meant_for : str
        Which.
    error : Measured
        How much more the meter shows in this light than in the one it is meant for, at the same luminance,
        [EV].
    response : Response
        The cell's.
    """

    cell: str
    light: str
    meant_for: str
    error: Measured
    response: Response

    @property
    def ratio(self) -> float:
        """The same as a factor of what is seen, [-]."""
        return math.exp2(self.error.value)

    def to_json(self) -> dict[str, Any]:
        """The result as plain data, as `measure.meter-light` describes it."""
        from pegwood.instruments.plain_data import budget_of, figure

        return {
            "cell": self.cell,
            "light": self.light,
            "meant_for": self.meant_for,
            "ratio": self.ratio,
            **figure("mismatch", "ev", self.error),
            "mismatch_budget": budget_of(self.error.budget),
            "source": self.response.source,
            "mark": self.response.mark,
        }


def wavelengths() -> Array:
    """The grid of the spectra, shape (n,), [m]."""
    table = _spectra()
    count = len(table["spectrum"]["V"]["values"])
    return np.asarray((table["first_nm"] + table["step_nm"] * np.arange(count)) * 1e-9, dtype=float)


def light_called(name: str) -> Array:
    """
    Spectrum of a light.

    Parameters
    ----------
    name : str
        One of `LIGHTS`, or a temperature such as "2700K" for a black body.

    Returns
    -------
    spectrum : array, shape (n,)
        On the grid of `wavelengths`; its scale is of no weight.

    Raises
    ------
    RefusedReadings
        If it is no light known.
    """
    if name in LIGHTS:
        return np.array(_spectra()["spectrum"][name]["values"], dtype=float)
    kelvin = _KELVIN.fullmatch(name.strip())
    if kelvin and COOLEST_K <= float(kelvin[1]) <= HOTTEST_K:
        at = wavelengths()
        return np.asarray(at**-5 / np.expm1(SECOND_RADIATION_CONSTANT / (at * float(kelvin[1]))), dtype=float)
    raise RefusedReadings(
        f"No light {name[:20]!r}: {', '.join(LIGHTS)}, or a temperature from {COOLEST_K:g}K to "
        f"{HOTTEST_K:g}K."
    )


def response_of(cell: str) -> Response:
    """
    The typical response of a kind of cell.

    Parameters
    ----------
    cell : str
        "selenium" or "cds".

    Returns
    -------
    response : Response

    Raises
    ------
    RefusedReadings
        If it is neither.
    """
    table = _table("responses.toml")
    if cell not in table["cell"]:
        raise RefusedReadings(f"No response of a {cell!r} cell is known: {' or '.join(table['cell'])}.")
    row = table["cell"][cell]
    return Response(
        np.array(row["wavelength_nm"]) * 1e-9,
        np.array(row["response"], dtype=float),
        row["peak_nm"] * 1e-9,
        row["peak_u_nm"] * 1e-9,
        row["width_u"],
        table["source"],
        table["mark"],
        row["note"],
    )


def ratio_of(response: ArrayLike, light: ArrayLike, meant_for: ArrayLike) -> float:
    """
    The mismatch factor F.

    Parameters
    ----------
    response, light, meant_for : array_like, shape (n,)
        The cell, the test light and the light it is meant for, on the grid of `wavelengths`.

    Returns
    -------
    ratio : float
        [-]; 1 for a cell that sees as the eye does.
    """
    eye = np.array(_spectra()["spectrum"]["V"]["values"], dtype=float)
    cell, here, there = (np.asarray(one, dtype=float) for one in (response, light, meant_for))
    return float((here @ cell) * (there @ eye) / ((here @ eye) * (there @ cell)))


def mismatch(cell: str, light: str, meant_for: str = "D55", response: Response | None = None) -> Mismatch:
    """
    What a light's colour does to a kind of cell.

    Parameters
    ----------
    cell : str
        "selenium" or "cds".
    light, meant_for : str
        As `light_called` takes them.
    response : Response, optional
        Measured on the cell itself; the typical one of its kind if not given.

    Returns
    -------
    mismatch : Mismatch
        With what is not known of the response in its budget.

    Raises
    ------
    RefusedReadings
        If a light or the cell is not known.
    """
    known = response or response_of(cell)
    at, here, there = wavelengths(), light_called(light), light_called(meant_for)

    def error(shift: float = 0.0, width: float = 1.0) -> float:
        return math.log2(ratio_of(known.at(at, shift, width), here, there))

    peak = abs(error(known.peak_u) - error(-known.peak_u)) / 2
    width = abs(error(width=1 + known.width_u) - error(width=1 - known.width_u)) / 2
    parts = [
        Component(
            "where the response peaks",
            peak,
            note=f"{1e9 * known.peak_u:g} nm from cell to cell",
            source=known.source,
            mark=known.mark,
        ),
        Component(
            "how wide the response is",
            width,
            note=f"{100 * known.width_u:g} % from cell to cell",
            source=known.source,
            mark=known.mark,
        ),
    ]
    return Mismatch(cell, light, meant_for, combine(error(), parts), known)


def _spectra() -> dict[str, Any]:
    return _table("spectra.toml")


@cache
def _table(name: str) -> dict[str, Any]:
    return table_beside(__package__, name)
