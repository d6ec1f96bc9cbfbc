"""What is told of a marking, a pair of them, a series, and an exposure value."""

from __future__ import annotations

import math

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.names import find
from pegwood.trade.numbers import figure
from pegwood.trade.reference import Reference
from pegwood.trade.series.levels import C_RANGE, EV, K_RANGE, exposure_value, illuminance, luminance
from pegwood.trade.series.table import SERIES, Marking, Quantity, is_time, readings, value

POWERS = Ground("powers of two: N = 2^(Av/2), t = 2^-Tv", "memory")
CHOICE = Ground("that ISO 516 takes the exact powers of two for its reference", "memory")
WORD = Ground("taken at its word", "practice")


def tell_stop(reference: Reference, text: str) -> Answer:
    """What a stop is marked for: ``"f/5.6"`` stands for 5.6569."""
    return _marking(reference, text, "stop")


def tell_speed(reference: Reference, text: str) -> Answer:
    """What a time is marked for: ``"1/60"`` stands for 1/64 s, 15.625 ms."""
    return _marking(reference, text, "time")


def _marking(reference: Reference, text: str, quantity: Quantity) -> Answer:
    found = readings(reference, text, quantity)
    at_word = value(text, quantity)
    name = _name(at_word, quantity)
    if not found:
        return Answer(
            subject=quantity,
            understood=name,
            headline=Statement(
                label=name,
                says=f"In no series here; at its word {_value(at_word, quantity)}{_ev(at_word, quantity)}.",
                grounds=(WORD, POWERS),
            ),
            data={"at_its_word": _at_word(at_word, quantity)},
        )
    first = found[0]
    lines = tuple(_reading(one) for one in found)
    mind: tuple[Section, ...] = ()
    if abs(first.error_ev) > 0.001:
        mind = (
            Section(
                title="Which to test against",
                lines=(
                    Statement(
                        says=(
                            f"The exact value or the marking at its word: it moves the result by "
                            f"{abs(first.error_ev):.3f} EV. Say on the paper which."
                        ),
                        grounds=joined((CHOICE, POWERS), first.series.grounds),
                    ),
                ),
            ),
        )
    return Answer(
        subject=quantity,
        understood=name,
        headline=lines[0],
        sections=((Section(title="Or, in another series", lines=lines[1:]),) if lines[1:] else ()) + mind,
        data={"readings": [_data(one) for one in found]},
    )


def _name(number: float, quantity: Quantity) -> str:
    if quantity == "stop":
        return f"f/{number:g}"
    return f"{number:g} s" if number >= 0.3 else f"1/{1 / number:.4g} s"


def _value(number: float, quantity: Quantity) -> str:
    if quantity == "stop":
        return f"{figure(number, 6)}"
    return f"{figure(number, 5)} s" if number >= 1 else f"{number * 1000:.8g} ms"


def _ev(number: float, quantity: Quantity) -> str:
    ev = 2 * math.log2(number) if quantity == "stop" else -math.log2(number)
    return f" ({'Av' if quantity == 'stop' else 'Tv'} {figure(ev)})"


def _reading(one: Marking, named: bool = True) -> Statement:
    quantity = one.series.quantity
    name = f"f/{one.text}" if quantity == "stop" else f"{one.text} s"
    series = f"{one.series.name}: " if named else ""
    if one.ev is None:
        says = f"{series}{_value(one.marked, quantity)}, taken at its word{_ev(one.marked, quantity)}."
        return Statement(label=name, says=says, grounds=one.series.grounds)
    exact = _value(one.exact, quantity)
    if quantity == "time" and one.exact < 0.3:
        exact += f" (1/{figure(1 / one.exact, 5)} s)"
    says = f"{series}stands for {exact}, {'Av' if quantity == 'stop' else 'Tv'} {figure(one.ev)}"
    if abs(one.error_ev) > 5e-4:
        says += f"; at its word {one.error_ev:+.3f} EV"
    return Statement(label=name, says=says + ".", grounds=joined(one.series.grounds, (POWERS,)))


def _data(one: Marking) -> dict[str, object]:
    grounds = joined(one.series.grounds, (POWERS,))
    unit = "f_number" if one.series.quantity == "stop" else "s"
    return sourced(
        grounds,
        series=one.series.key,
        marking=one.text,
        ev=one.ev,
        error_ev=one.error_ev,
        **{f"exact_{unit}": one.exact, f"marked_{unit}": one.marked},
    )


def _at_word(number: float, quantity: Quantity) -> dict[str, object]:
    return sourced((WORD,), **{"f_number" if quantity == "stop" else "s": number})


def tell_series(reference: Reference, word: str) -> Answer:
    """
    A whole series with its exact values.

    Raises
    ------
    UnknownWord
        If there is no such series.
    """
    series = find(reference.rows(SERIES), word, "series")
    lines = tuple(_reading(one, named=False) for one in series)
    steps = [
        abs(math.log2(b.marked / a.marked)) * (2 if series.quantity == "stop" else 1)
        for a, b in zip(list(series), list(series)[1:], strict=False)
    ]
    evenly = (
        f"{series.per_ev} to one EV, exact powers of two behind round markings"
        if series.first_ev is not None
        else f"no exact values; steps from {min(steps):.2f} to {max(steps):.2f} EV"
    )
    return Answer(
        subject="series",
        understood=series.name,
        headline=Statement(
            label=series.name,
            says=f"{', '.join(series.markings)}: {evenly}.",
            grounds=joined(series.grounds, (POWERS,)),
        ),
        sections=(Section(title="Marking by marking", lines=lines),),
        data={"series": [_data(one) for one in series]},
    )


def tell_exposure(reference: Reference, stop: str, time: str) -> Answer:
    """The exposure value of a stop and a time, exact and at their word."""
    n, t = value(stop, "stop"), value(time, "time")
    stops, times = readings(reference, stop, "stop"), readings(reference, time, "time")
    exact_n, exact_t = stops[0].exact if stops else n, times[0].exact if times else t
    ev, at_word = exposure_value(exact_n, exact_t), exposure_value(n, t)
    grounds = joined((EV, POWERS), *(one.series.grounds for one in (*stops[:1], *times[:1])))
    says = f"EV {figure(ev, 4)}"
    if abs(ev - at_word) > 5e-4:
        says += f"; with the markings at their word {at_word:.3f}"
    return Answer(
        subject="exposure",
        understood=f"{_name(n, 'stop')} at {_name(t, 'time')}",
        headline=Statement(
            label=f"{_name(n, 'stop')} at {_name(t, 'time')}", says=says + ".", grounds=grounds
        ),
        sections=(_levels(ev, 100.0),),
        also=(f"EV {figure(ev)}",),
        data={
            "exposure": sourced(grounds, ev=ev, at_their_word_ev=at_word),
            "levels": _level_data(ev, 100.0),
        },
    )


def tell_ev(reference: Reference, ev: float, speed: float = 100.0) -> Answer:
    """
    The stops and times of an exposure value, and the light that a meter takes for it.

    Parameters
    ----------
    reference : Reference
    ev : float
    speed : float
        ISO speed the meter is set to.

    Raises
    ------
    ValueError
        If there is no such exposure value or speed.
    """
    if not -10 <= ev <= 25:
        raise ValueError(f"EV {ev:g} is none that a camera meets. Expected -10 to 25.")
    if not 0.1 <= speed <= 1e6:
        raise ValueError(f"ISO {speed:g} is no film speed. Expected one such as 100.")
    rows = reference.rows(SERIES)
    pairs = [
        (stop, time)
        for stop in rows["stops"]
        for key in ("long-times", "times")
        for time in rows[key]
        if stop.ev is not None and time.ev is not None and math.isclose(stop.ev + time.ev, ev, abs_tol=1e-9)
    ]
    pairs = list({(stop.text, time.text): (stop, time) for stop, time in pairs}.values())
    grounds = joined((EV, POWERS), rows["stops"].grounds, rows["times"].grounds)
    told = ", ".join(f"f/{stop.text} {time.text}" for stop, time in pairs)
    ratio = figure(2**ev, 6)
    return Answer(
        subject="exposure value",
        understood=f"EV {ev:g} at ISO {speed:g}",
        headline=Statement(
            label=f"EV {ev:g}",
            says=f"{told}." if told else f"N^2/t = {ratio}: between the whole stops and times.",
            grounds=grounds,
        ),
        sections=(_levels(ev, speed),),
        data={
            "exposure_value": sourced(grounds, ev=ev, iso_speed=speed),
            "levels": _level_data(ev, speed),
        },
    )


def _levels(ev: float, speed: float) -> Section:
    def light(number: float) -> str:
        return figure(number, 5)

    k12, k14 = (light(luminance(ev, k, speed)) for k in (12.5, 14))
    flat, dome = (light(illuminance(ev, c, speed)) for c in (250, 340))
    return Section(
        title=f"The light a meter takes for it, ISO {speed:g}",
        lines=(
            Statement(
                label="reflected",
                says=f"{k12} cd/m2 with K 12.5; {k14} with K 14, which lies outside ISO 2720's 10.6 to 13.4.",
                grounds=(EV, K_RANGE),
            ),
            Statement(
                label="incident",
                says=f"{flat} lx with C 250, flat; {dome} lx with C 340, dome.",
                grounds=(EV, C_RANGE),
            ),
        ),
    )


def _level_data(ev: float, speed: float) -> dict[str, object]:
    grounds: Grounds = (EV, K_RANGE, C_RANGE)
    return sourced(
        grounds,
        luminance_k12_5_cd_m2=luminance(ev, 12.5, speed),
        luminance_k14_cd_m2=luminance(ev, 14.0, speed),
        illuminance_c250_lx=illuminance(ev, 250.0, speed),
        illuminance_c340_lx=illuminance(ev, 340.0, speed),
    )


def tell_markings(reference: Reference, words: tuple[str, ...], speed: float = 100.0) -> Answer:
    """
    Whatever is asked of stops, times and exposure values.

    Parameters
    ----------
    reference : Reference
    words : tuple of str
        A stop (``"f/5.6"``), a time (``"1/60"``, ``"8s"``), both, ``"ev"`` and a number, or a series' name.
    speed : float
        ISO speed, for an EV.

    Raises
    ------
    ValueError
        If it is none of these.
    """
    if len(words) == 2 and words[0].lower() == "ev":
        try:
            ev = float(words[1])
        except ValueError:
            raise ValueError(f"{words[1]!r} is no exposure value. Give a number, such as ev 15.") from None
        return tell_ev(reference, ev, speed)
    if len(words) == 2 and is_time(words[0]) != is_time(words[1]):
        stop, time = (words[1], words[0]) if is_time(words[0]) else words
        if _is_number(stop):
            return tell_exposure(reference, stop, time)
    if len(words) == 1 and is_time(words[0]):
        return tell_speed(reference, words[0])
    if len(words) == 1 and _is_number(words[0]):
        return tell_stop(reference, words[0])
    return tell_series(reference, " ".join(words))


def _is_number(text: str) -> bool:
    try:
        value(text, "stop")
    except ValueError:
        return False
    return True
