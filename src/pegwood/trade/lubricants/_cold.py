"""The winter check: which mechanism slows with a lubricant in the cold, and by how much at most."""

from __future__ import annotations

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, joined, sourced
from pegwood.trade.lubricants._telling import mm2, viscosity_data
from pegwood.trade.lubricants.tables import (
    LUBRICANTS,
    PLACES,
    BelowPourPoint,
    Lubricant,
    Place,
    Ranged,
    lubricant,
    places_of,
)
from pegwood.trade.lubricants.viscosity import check_temperature
from pegwood.trade.numbers import celsius
from pegwood.trade.reference import Reference
from pegwood.trade.wording import capital

ROOM_K = 293.15
WINTER_K = 263.15

BOUND = Ground("drag in a film of oil grows with its viscosity; friction and inertia do not", "memory")
RANGE = Ground(
    "ASTM D341, 3.1: to be used where the oil is a homogeneous liquid, from its cloud point upwards", "seen"
)
GREASE = Ground("a grease adds the stiffness of its thickener, which no equation here gives", "memory")


def tell_cold(reference: Reference, word: str, temperature_k: float = WINTER_K) -> Answer:
    """
    What a lubricant does to a camera at a temperature, against 20 degrees C.

    Parameters
    ----------
    reference : Reference
        The tables.
    word : str
        A class, or points: "32@40 5.4@100".
    temperature_k : float
        [K]

    Raises
    ------
    UnknownWord
        If no class is called that.
    ValueError
        If its viscosity is not known, or the temperature is none a camera meets. Below the pour point it is
        no error: the answer says that it stands still, and gives no figure.
    """
    one = lubricant(reference, word)
    check_temperature(temperature_k)
    degrees = celsius(temperature_k)
    understood = f"{one.name} at {degrees} against 20 °C"
    homes = _felt(reference, one)
    if one.kind == "dry":
        return _dry(one, understood)
    try:
        cold = one.viscosity(temperature_k)
    except BelowPourPoint as reason:
        return _stands_still(reference, one, understood, str(reason), temperature_k)
    warm = one.viscosity(ROOM_K)
    times = one.ratio(temperature_k)
    grounds = one.viscosity_grounds
    slower = homes if times.value > 1 else ()
    sections = (
        Section(title="What slows", lines=tuple(_noticed(one, where, times) for where in slower)),
        Section(title="How far to trust it", lines=_trust(one)),
        Section(title="Thinner in the cold", lines=_thinner(reference, one, homes, temperature_k, times)),
    )
    return Answer(
        subject="cold",
        understood=understood,
        headline=Statement(
            label=one.name,
            says=f"{_times(times)} as thick at {degrees} as at 20 °C: {mm2(cold)} against {mm2(warm)}.",
            grounds=grounds,
        ),
        sections=tuple(section for section in sections if section.lines),
        also=tuple(where.name for where in homes[:1]),
        data={
            "cold": {
                "lubricant": one.key,
                "ratio": sourced(
                    grounds, ratio=times.value, lowest=times.ends[0], highest=times.ends[1], to_k=ROOM_K
                ),
                "viscosities": [
                    viscosity_data(grounds, temperature_k, cold),
                    viscosity_data(grounds, ROOM_K, warm),
                ],
                "slows": [where.key for where in slower],
            }
        },
    )


def _felt(reference: Reference, one: Lubricant) -> tuple[Place, ...]:
    """Where its thickness is felt: where it belongs, or, if it belongs nowhere, where its kind would."""
    if homes := tuple(where for where in places_of(reference, one) if where.viscous):
        return homes
    table = reference.rows(LUBRICANTS)
    return tuple(
        where
        for where in reference.rows(PLACES).values()
        if where.viscous and where.lubricants and table[where.lubricants[0]].kind == one.kind
    )


def _times(times: Ranged) -> str:
    least, most = times.ends
    ends = f" ({least:.2g} to {most:.2g})" if most > 1.02 * least else ""
    return f"{times.value:.2g} times{ends}"


def _noticed(one: Lubricant, where: Place, times: Ranged) -> Statement:
    grounds = joined(where.grounds, one.viscosity_grounds, (BOUND,))
    most = f"{times.ends[1]:.2g}"
    if one.kind == "grease":
        says = f"{capital(where.cold)}; its oil is up to {most} times thicker, the thickener adds to it."
        return Statement(label=where.name, says=says, grounds=joined(grounds, (GREASE,)))
    says = f"{capital(where.cold)}: by less than {most} times, as long as it moves at all."
    return Statement(label=where.name, says=says, grounds=grounds)


def _trust(one: Lubricant) -> tuple[Statement, ...]:
    lines = [
        Statement(
            says="How much of a mechanism's time is oil, and how much friction and inertia, "
            "no source says: measure one that was in the cold.",
            grounds=(BOUND,),
        ),
        Statement(
            says="The line holds while the oil is a clear liquid: "
            "not below its cloud point, where wax begins.",
            grounds=(RANGE,),
        ),
    ]
    if one.index:
        lines.append(
            Statement(
                says="The range in brackets is what the class leaves open; "
                "two points of your own tin are better.",
                grounds=one.viscosity_grounds,
            )
        )
    if one.pour_c:
        lines.append(
            Statement(
                label="stops flowing",
                says=f"At about {one.pour_c.ends[0]:.0f} to {one.pour_c.ends[1]:.0f} °C.",
                grounds=one.pour_c.grounds,
            )
        )
    return tuple(lines)


def _thinner(
    reference: Reference, one: Lubricant, homes: tuple[Place, ...], temperature_k: float, times: Ranged
) -> tuple[Statement, ...]:
    """Others for the same places that thicken less, the least first."""
    keys = dict.fromkeys(key for where in homes for key in where.lubricants if key != one.key)
    found: list[tuple[float, Lubricant]] = []
    table = reference.rows(LUBRICANTS)
    for key in keys:
        other = table.get(key)
        if other and other.known and other.kind == one.kind:
            try:
                found.append((other.ratio(temperature_k).value, other))
            except ValueError:
                continue  # stands still there: no better
    better = sorted((pair for pair in found if pair[0] < 0.9 * times.value), key=lambda pair: pair[0])
    return tuple(
        Statement(label=other.name, says=f"{ratio:.2g} times.", grounds=other.viscosity_grounds)
        for ratio, other in better[:2]
    )


def _dry(one: Lubricant, understood: str) -> Answer:
    return Answer(
        subject="cold",
        understood=understood,
        headline=Statement(
            label=one.name, says="Dry: the cold changes nothing that slows a camera.", grounds=one.grounds
        ),
        data={"cold": {"lubricant": one.key, "slows": []}},
    )


def _stands_still(
    reference: Reference, one: Lubricant, understood: str, reason: str, temperature_k: float
) -> Answer:
    grounds = joined(one.pour_c.grounds if one.pour_c else (), one.grounds)
    homes = _felt(reference, one)
    return Answer(
        subject="cold",
        understood=understood,
        headline=Statement(
            label=one.name, says=capital(reason.split(": ", 1)[1]), verdict="never", grounds=grounds
        ),
        sections=(
            Section(
                title="What stops",
                lines=tuple(
                    Statement(
                        label=where.name, says=f"{capital(where.cold)}, or it stops.", grounds=where.grounds
                    )
                    for where in homes
                    if where.cold
                ),
            ),
        )
        if any(where.cold for where in homes)
        else (),
        data={
            "cold": {
                "lubricant": one.key,
                "slows": [where.key for where in homes if where.viscous],
                "viscosities": [viscosity_data(grounds, temperature_k, reason)],
            }
        },
    )
