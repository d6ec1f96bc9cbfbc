"""Questions that are asked in figures: screws, springs, shims, capacitors, stops, speeds, areas of rust."""

from __future__ import annotations

import re
from collections.abc import Callable

from pegwood.trade.answers import Answer
from pegwood.trade.asking._words import Figure, Words
from pegwood.trade.numbers import INCH_M, ZERO_C_K
from pegwood.trade.reference import Reference

FARADS = {"nf": 1e-9, "uf": 1e-6, "µf": 1e-6, "mf": 1e-3, "f": 1.0}
VOLTS = {"v": 1.0, "kv": 1e3}
OHMS = {"ohm": 1.0, "ohms": 1.0, "ω": 1.0, "kohm": 1e3, "kω": 1e3}
METRES = {"": 1e-3, "mm": 1e-3, "um": 1e-6, "µm": 1e-6, "in": INCH_M, "inch": INCH_M}
SCREW = ("thread", "screw")
DEGREES = ("deg", "°", "degrees")
PER_INCH = ("tpi",)
CELSIUS = ("c", "°c")
PERCENT = ("%", "percent")
UNITS = (*FARADS, *VOLTS, *OHMS, *METRES, *DEGREES, *PER_INCH, *CELSIUS, *PERCENT, "turns")

#: As the commands take them where nothing else is said: a calliper on wire and coil, turns counted by eye.
WIRE_U_M, COIL_U_M, TURNS_U = 0.01e-3, 0.03e-3, 0.15

#: What a fit is reckoned for where no temperature is told.
FROST_C = -10.0

_MARKINGS = re.compile(r"(?:(?:f/\S+|1/\d+|\d+(?:\.\d+)?\s?s|ev\s*-?\d+(?:\.\d+)?)(?:\s+|$)){1,2}")


def markings(reference: Reference, question: str) -> Answer | None:
    """Stops, times and exposure values are read as they are written: "f/5.6 1/60", "ev 12"."""
    question = " ".join(question.split()).lower()
    if not _MARKINGS.fullmatch(question):
        return None
    spaced = re.sub(r"^ev\s*(?=[-\d])", "ev ", question)
    from pegwood.trade.series import tell_markings

    return tell_markings(reference, tuple(re.sub(r"(?<=\d)\s+s\b", "s", spaced).split()))


def thread(reference: Reference, words: Words) -> Answer | None:
    """Diameter and pitch in mm or inches, or threads per inch; perhaps the angle of the flanks."""
    of = [figure for figure in words.figures if figure.unit not in DEGREES]
    angles = [figure.value for figure in words.figures if figure.unit in DEGREES]
    known = of and of[0].unit in METRES and len(of) == 2 and of[1].unit in (*METRES, *PER_INCH)
    if words.named or not known or len(angles) > 1:
        return None
    diameter, pitch = of
    pitch_m = INCH_M / pitch.value if pitch.unit in PER_INCH and pitch.value > 0 else _metres(pitch)
    from pegwood.trade.threads import tell_thread

    return tell_thread(reference, _metres(diameter), pitch_m, angle_deg=angles[0] if angles else None)


def torque(reference: Reference, words: Words) -> Answer | None:
    """A thread by its name, perhaps with what the hole is cut in."""
    threads, holes = words.of("thread"), words.of("material")
    if len(threads) != 1 or len(holes) > 1 or words.figures or not words.all_of("thread", "material"):
        return None
    from pegwood.trade.threads import tell_torque

    return tell_torque(reference, threads[0], *holes)


def capacitor(reference: Reference, words: Words) -> Answer | None:
    """A capacitance and a voltage, perhaps the resistor at hand."""
    farads, volts, ohms = (_in(words, units) for units in (FARADS, VOLTS, OHMS))
    if farads is None or volts is None:
        return None
    from pegwood.trade.safety import tell_capacitor

    return tell_capacitor(reference, farads, volts, ohms)


def spring(reference: Reference, words: Words) -> Answer | None:
    """Wire, outside diameter and free turns, perhaps the metal."""
    if len(words.figures) != 3 or len(words.named) > 1:
        return None
    wire, coil, turns = words.figures
    from pegwood.trade.measured import Measured
    from pegwood.trade.springs import Coil, tell_spring

    return tell_spring(
        reference,
        Coil(
            wire=Measured(_metres(wire), WIRE_U_M),
            diameter=Measured(_metres(coil), COIL_U_M),
            turns=Measured(turns.value, TURNS_U),
        ),
        metal=words.named[0][0].typed if words.named else "music-wire",
    )


def shim(reference: Reference, words: Words) -> Answer | None:
    """A thickness."""
    from pegwood.trade.shims import tell_shims

    return (
        tell_shims(reference, _metres(words.figures[0]) * 1e3)
        if len(words.figures) == 1 and not words.named
        else None
    )


def fit(reference: Reference, words: Words) -> Answer | None:
    """The outer metal, the inner one and a diameter, perhaps the temperature it comes to."""
    metals = words.of("material")
    across = [figure for figure in words.figures if figure.unit in METRES]
    if len(metals) != 2 or len(across) != 1:
        return None
    warm = [figure.value for figure in words.figures if figure.unit in CELSIUS]
    from pegwood.trade.fits import tell_fit

    return tell_fit(
        reference, metals[0], metals[1], diameter_m=_metres(across[0]), to_c=warm[0] if warm else FROST_C
    )


def rust(reference: Reference, words: Words) -> Answer | None:
    """A share of the area that rusted."""
    if not words.all_of("corrosion"):
        return None
    share = [figure for figure in words.figures if figure.unit in PERCENT]
    from pegwood.trade.metals import tell_rust

    return tell_rust(reference, f"{share[0].value:g}") if len(share) == 1 else None


def film(reference: Reference, words: Words) -> Answer | None:
    """A film by its number alone."""
    names = words.of("film")
    if not names and (words.named or len(words.figures) != 1):
        return None
    from pegwood.trade.films import FILMS, tell_film

    if not names:
        names = tuple(key for key in map(str, reference.rows(FILMS)) if key == f"{words.figures[0].value:g}")
    return tell_film(reference, names[0]) if len(names) == 1 else None


def celsius(words: Words) -> float | None:
    """The one temperature among the figures, [K]."""
    told = [figure.value for figure in words.figures if figure.unit in CELSIUS]
    return told[0] + ZERO_C_K if len(told) == 1 else None


def _metres(figure: Figure) -> float:
    return figure.value * METRES.get(figure.unit, 1e-3)


def _in(words: Words, units: dict[str, float]) -> float | None:
    told = [figure.value * units[figure.unit] for figure in words.figures if figure.unit in units]
    return told[0] if len(told) == 1 else None


Asked = Callable[[Reference, Words], Answer | None]
