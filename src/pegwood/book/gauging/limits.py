"""
The limits of the other instruments as the workshop has them: what is set, what is kept with a reading.

What limits there are stands in `known_limits`.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from pegwood.book.gauging.known_limits import LIMITS
from pegwood.book.gauging.limit import GaugeLimit
from pegwood.book.refusal import Refused
from pegwood.instruments.verdicts import Bounds

__all__ = ["KEY", "LIMITS", "GaugeLimit", "checked", "in_use", "limit_in", "limits_of"]

#: Under which name the limits in use reach a reader, among what was said beside the readings.
KEY = "limits"


def limits_of(instrument: str) -> tuple[GaugeLimit, ...]:
    """The limits of one instrument, in the order of the settings' page."""
    return tuple(one for one in LIMITS.values() if one.is_of(instrument))


def in_use(instrument: str, own: Mapping[str, float]) -> dict[str, dict[str, Any]]:
    """
    The limits an instrument is read against today, as plain data.

    They are kept with a measurement, so that it reads the same for good.

    Parameters
    ----------
    instrument : str
    own : mapping of str to float
        The workshop's own figures by key (the setting `gauge_limits`), in the data's units.

    Returns
    -------
    limits : dict of str to dict
        By key; the fields of `Bounds`.
    """
    return {one.key: asdict(one.stands(own)) for one in limits_of(instrument)}


def limit_in(said: Mapping[str, Any], key: str) -> Bounds:
    """
    The limit a reading is held against: as it was when the reading was taken in.

    Parameters
    ----------
    said : mapping
        What a reader is handed beside the readings.
    key : str
        One of `LIMITS`.

    Returns
    -------
    limit : Bounds
        Pegwood's default where none was kept: readings of before there were own limits.
    """
    kept = (said.get(KEY) or {}).get(key)
    return LIMITS[key].default() if kept is None else Bounds(**kept)


EXAMPLE = '{"meter.error_ev": 0.3}'


def checked(given: str | Mapping[str, Any]) -> dict[str, float]:
    """
    The workshop's own figures, each one that can be; an empty mapping leaves all defaults.

    Parameters
    ----------
    given : str or mapping
        JSON, or what JSON holds: figures by key, in the data's units.

    Raises
    ------
    Refused
        If a key is unknown or a figure cannot be.
    """
    try:
        held = json.loads(given) if isinstance(given, str) else dict(given)
    except ValueError:
        held = None
    if not isinstance(held, dict):
        raise Refused(f"gauge_limits: expected figures by their keys as JSON, such as {EXAMPLE}.")
    return {str(key): _figure(str(key), value) for key, value in held.items()}


def _figure(key: str, value: Any) -> float:
    if key not in LIMITS:
        raise Refused(f"gauge_limits: there is no limit {key[:60]!r}. There are: {', '.join(LIMITS)}.")
    limit = LIMITS[key]
    low, high = limit.range
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
        scale, unit = limit.shown
        raise Refused(
            f"gauge_limits: {key} is {str(value)[:30]}. Expected a number from {low:g} to {high:g} "
            f"({low * scale:.3g} to {high * scale:.3g} {unit})."
        )
    return float(value)
