"""Results of the instrument with stops, contacts and curtains whose figures are set here, by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from pegwood.instruments.shutter import AtStop, Contact, Curtains, Flash, Place, ShutterResult
from pegwood.instruments.uncertainty import Measured

ASKED = (
    ("electronic", "electronic: contact closes not before the shutter is fully open", "a glossary", "seen"),
    ("M", "M: contact closes 13 to 19 ms before", "a glossary", "seen"),
)


def known(value: float, u: float) -> Measured:
    return Measured(value, u)


def at_stops() -> tuple[AtStop, ...]:
    """Wide open 8 ms; at f/4 2**0.25 times as much."""
    return (
        AtStop(2.8, known(8e-3, 20e-6), 0.0),
        AtStop(4.0, known(8e-3 * 2**0.25, 30e-6), 0.25),
    )


def contact(delay_s: float, electronic: str = "within", bounces: int = 0) -> Contact:
    return Contact(
        at_s=0.5,
        channel=1,
        delay=known(delay_s, 10e-6),
        closed=known(5e-3, 10e-6),
        bounces=bounces,
        bounce=known(0.3e-3, 10e-6) if bounces else None,
        verdicts={"electronic": electronic, "M": "outside", "FP": "cannot tell"},  # type: ignore[dict-item]
        leads={},
        asked=ASKED,
    )


def curtains(capping: str = "not found", **more: Any) -> Curtains:
    """36 mm: 15 ms for the first curtain, 18 ms for the second; open for 2 ms, then 5 ms at the end."""
    places = tuple(
        Place(
            x,
            i,
            known(open_s, 5e-6),
            known(2.4, 0.01),
            known(2.0, 0.01),
            known(slit, 20e-6),
            None,
            known(x / 2.4, 2e-6 if x else 0.0),
            known(0.002 + x / 2.0, 2e-6),
        )
        for i, (x, open_s, slit) in enumerate(
            ((0.0, 2e-3, 4.4e-3), (0.018, 3.5e-3, 7.7e-3), (0.036, 5e-3, 11e-3))
        )
    )
    flash = Flash(
        known(0.015, 5e-6), "1/60", known(-0.013, 5e-6), "no", known(0.015, 5e-6), known(0.002, 5e-6)
    )
    return Curtains(
        method="made",
        places=places,
        n=3,
        first_travel=known(0.015, 5e-6),
        second_travel=known(0.018, 5e-6),
        taper=known(1.32, 0.004),
        capping=capping,  # type: ignore[arg-type]
        flash=flash,
        withheld={"slit_efficiency": "needs the distance from curtain to film and the stop"},
        **more,
    )


def beside_it(result: ShutterResult, **more: Any) -> ShutterResult:
    """``beside_it(result, curtains=...)``: the same result with what was measured beside it."""
    return replace(result, **more)
