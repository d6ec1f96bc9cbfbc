"""
Image distance, depth of focus and of field, and what a perfect lens can show.

Thin lens, distances from the lens unless said otherwise. Depth of field in the camera's usual form and in the
handbook's, which differ by the order of blur over pupil (W. J. Smith, Modern Optical Engineering, p. 187;
seen).
"""

from __future__ import annotations

import math

from pegwood.instruments.readings import RefusedReadings

__all__ = [
    "depth_of_field",
    "depth_of_field_handbook",
    "depth_of_focus",
    "diffraction_mtf",
    "from_lens",
    "hyperfocal",
    "image_shift",
    "quarter_wave_depth",
]


def image_shift(focal_m: float, distance_m: float) -> float:
    """
    How much further from the lens than an infinite object's the image lies, x' = f^2 / (u - f).

    Parameters
    ----------
    focal_m : float
        Focal length, [m].
    distance_m : float
        From the lens to the object, [m]; ``math.inf`` gives 0.

    Returns
    -------
    shift : float
        [m]. Gaussian optics.

    Raises
    ------
    RefusedReadings
        If the object is no further away than the focal length, or either is not above zero.
    """
    _above_zero(focal_m, "A focal length")
    if math.isnan(distance_m) or not distance_m > focal_m:
        raise RefusedReadings(
            f"At {1e3 * distance_m:.0f} mm a lens of {1e3 * focal_m:.0f} mm makes no image: a distance "
            "must be more than the focal length, in m, or inf."
        )
    return 0.0 if math.isinf(distance_m) else focal_m**2 / (distance_m - focal_m)


def from_lens(focal_m: float, from_film_m: float) -> float:
    """
    Distance from the lens of an object whose distance is counted from the film.

    Parameters
    ----------
    focal_m : float
        Focal length, [m].
    from_film_m : float
        From the film to the object, [m].

    Returns
    -------
    distance : float
        [m]. Thin lens: u + v = s and 1/u + 1/v = 1/f, the longer root.

    Raises
    ------
    RefusedReadings
        If it is below four focal lengths, nearer than any image.
    """
    _above_zero(focal_m, "A focal length")
    if math.isinf(from_film_m) and from_film_m > 0:
        return from_film_m
    if math.isnan(from_film_m) or not from_film_m > 4 * focal_m:
        raise RefusedReadings(
            f"{1e3 * from_film_m:.0f} mm from the film is nearer than four focal lengths, and no image is "
            "sharp there. Give distances in m, or inf."
        )
    return (from_film_m + math.sqrt(from_film_m**2 - 4 * from_film_m * focal_m)) / 2


def depth_of_focus(f_number: float, confusion_m: float, magnification: float = 0.0) -> float:
    """
    How far film may be off to one side, N c (1 + m).

    Parameters
    ----------
    f_number : float
        [-].
    confusion_m : float
        Circle of confusion, [m].
    magnification : float
        Image over object, [-].

    Returns
    -------
    depth : float
        To one side, [m]. Smith p. 187, with the working f-number of p. 184.
    """
    _above_zero(f_number, "An f-number")
    _above_zero(confusion_m, "A circle of confusion")
    return f_number * (1 + magnification) * confusion_m


def hyperfocal(focal_m: float, f_number: float, confusion_m: float) -> float:
    """Distance whose depth of field reaches infinity, f^2 / (N c) + f, [m]."""
    _above_zero(focal_m, "A focal length")
    return focal_m**2 / depth_of_focus(f_number, confusion_m) + focal_m


def depth_of_field(
    focal_m: float, f_number: float, confusion_m: float, distance_m: float
) -> tuple[float, float]:
    """
    From where to where a picture is sharp, in the camera's usual form.

    Parameters
    ----------
    focal_m, f_number, confusion_m : float
        [m], [-], [m].
    distance_m : float
        Focused at, from the lens, [m]; ``math.inf`` allowed.

    Returns
    -------
    near, far : float
        [m]; far is infinite from the hyperfocal distance on.
    """
    h = hyperfocal(focal_m, f_number, confusion_m)
    image_shift(focal_m, distance_m)  # says what cannot be
    if math.isinf(distance_m):
        return h - focal_m, math.inf
    near = distance_m * (h - focal_m) / (h + distance_m - 2 * focal_m)
    far = math.inf if distance_m >= h else distance_m * (h - focal_m) / (h - distance_m)
    return near, far


def depth_of_field_handbook(
    focal_m: float, f_number: float, confusion_m: float, distance_m: float
) -> tuple[float, float]:
    """The same in the handbook's form, by pupil A and blur B: f D (A +- B) / (f A +- D B), [m]."""
    pupil, blur = focal_m / f_number, confusion_m
    near = focal_m * distance_m * (pupil + blur) / (focal_m * pupil + distance_m * blur)
    below = focal_m * pupil - distance_m * blur
    return near, math.inf if below <= 0 else focal_m * distance_m * (pupil - blur) / below


def diffraction_mtf(frequency: float, wavelength: float, f_number: float) -> float:
    """
    Modulation a perfect lens with a round pupil leaves.

    Parameters
    ----------
    frequency : float
        Cycles per unit of length, [1/m].
    wavelength : float
        [m].
    f_number : float
        [-].

    Returns
    -------
    modulation : float
        (2 / pi) (acos x - x sqrt(1 - x^2)) with x = frequency wavelength f-number, [-].
    """
    x = frequency * wavelength * f_number
    return 0.0 if x >= 1 else 2 / math.pi * (math.acos(x) - x * math.sqrt(1 - x * x))


def quarter_wave_depth(wavelength_m: float, f_number: float) -> float:
    """Depth of focus to one side by Rayleigh's quarter wave, 2 lambda N^2, [m]."""
    return 2 * wavelength_m * f_number**2


def _above_zero(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise RefusedReadings(f"{what} must be above zero, not {value:g}.")
