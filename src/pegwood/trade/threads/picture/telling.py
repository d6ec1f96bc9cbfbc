"""What a picture says of a screw, in words, and which thread that makes it."""

from __future__ import annotations

from dataclasses import replace

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, Grounds, sourced
from pegwood.trade.reference import Reference
from pegwood.trade.threads.likeness import threads_like
from pegwood.trade.threads.picture.reading import ScrewPicture
from pegwood.trade.threads.rows import Crest
from pegwood.trade.threads.telling import told

FROM_PICTURE: Grounds = (Ground("read from the picture, on the scale that was given", "seen"),)


def tell_picture(
    reference: Reference, picture: ScrewPicture, *, crest: Crest | None = None, origin: str | None = None
) -> Answer:
    """
    Which thread the screw of a picture has.

    Parameters
    ----------
    reference : Reference
        The tables.
    picture : ScrewPicture
        What the picture says.
    crest, origin : str, optional
        As for `threads_like`.

    Raises
    ------
    ValueError
        If what was read cannot be a screw's: then the scale is wrong.
    """
    angle = (
        {}
        if picture.angle_deg is None
        else {"angle_deg": picture.angle_deg, "u_angle_deg": picture.u_angle_deg}
    )
    try:
        likeness = threads_like(
            reference,
            picture.diameter_m,
            picture.pitch_m,
            u_diameter_m=picture.u_diameter_m,
            u_pitch_m=picture.u_pitch_m,
            crest=crest,
            origin=origin,
            **angle,
        )
    except ValueError as reason:
        raise ValueError(f"{reason} Or the scale of the picture is wrong.") from None
    answer = told(likeness, origin, (Section(title="The picture shows", lines=_lines(picture)),))
    seen = sourced(
        FROM_PICTURE,
        turns=picture.turns,
        turned_deg=picture.turned_deg,
        blur_pixels=picture.blur_pixels,
        diameter_m=picture.diameter_m,
        u_diameter_m=picture.u_diameter_m,
        pitch_m=picture.pitch_m,
        u_pitch_m=picture.u_pitch_m,
        **angle,
    )
    return replace(answer, data={**answer.data, "picture": seen})


def _lines(picture: ScrewPicture) -> tuple[Statement, ...]:
    says = [
        ("outside diameter", f"{picture.diameter_m * 1e3:.3f} ± {picture.u_diameter_m * 1e3:.3f} mm."),
        (
            "pitch",
            f"{picture.pitch_m * 1e3:.4f} ± {picture.u_pitch_m * 1e3:.4f} mm, from {picture.turns} turns.",
        ),
        (
            "flanks",
            f"{picture.angle_deg:.1f} ± {picture.u_angle_deg:.1f}°."
            if picture.angle_deg is not None
            else "not sharp enough for their angle.",
        ),
    ]
    return tuple(Statement(label=label, says=one, grounds=FROM_PICTURE) for label, one in says)
