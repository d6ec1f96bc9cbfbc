"""What a microphone recording of a shutter gave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from pegwood.instruments.shutter import ShutterResult
from pegwood.instruments.uncertainty import Measured

__all__ = ["CannotTell", "HeardFiring", "Sound", "SoundResult", "chance_in_words"]

Called = Literal["opening", "closing", "something else", "cannot tell"]


_SUREST = 0.9  # what was said above 0.99 in simulated rooms was so in nine of ten: no more is claimed


def chance_in_words(chance: float) -> str:
    """
    A chance as people are told it.

    Parameters
    ----------
    chance : float
        [-].

    Returns
    -------
    words : str
        Two digits, or only that it is high.
    """
    return f"over {_SUREST:g}" if chance > _SUREST else f"{chance:.2f}"


@dataclass(frozen=True)
class Sound:
    """
    One sound of the recording.

    Parameters
    ----------
    at : Measured
        When it begins, from the start of the recording, by the recording's own clock, [s].
    level_db : float
        Energy against the loudest sound of the recording, [dB].
    called : "opening", "closing", "something else" or "cannot tell"
        What has a chance of 0.9 or more.
    opening, closing : float
        Chance of being the opening, the closing of a firing, [-].
    fast : float
        Chance of being a whole firing, too fast to be told apart, [-].
    """

    at: Measured
    level_db: float
    called: Called
    opening: float
    closing: float
    fast: float

    @property
    def something_else(self) -> float:
        """Chance of being neither opening nor closing nor a whole firing, [-]."""
        return max(0.0, 1.0 - self.opening - self.closing - self.fast)


@dataclass(frozen=True)
class HeardFiring:
    """
    A firing whose opening and closing were heard.

    Parameters
    ----------
    opened, closed : Measured
        When each sound begins, from the start of the recording, [s].
    between : Measured
        From the one sound to the other, [s]: how well the sounds are timed, and nothing of the light.
    chance : float
        That both sounds are what they are called, [-].
    warnings : tuple of str
        What to know about this firing.
    """

    opened: Measured
    closed: Measured
    between: Measured
    chance: float
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class CannotTell:
    """Something that may be a firing and was given no time: when [s], why, and what to do."""

    at_s: float
    reason: str
    remedy: str


@dataclass(frozen=True)
class SoundResult:
    """
    Firings of a shutter by their sounds.

    Parameters
    ----------
    shutter : ShutterResult
        Firings with a time, summary, verdict and warnings, as of a light gate; `coupling` says nothing here.
        Total, opening and closing time are withheld: nothing of the light is heard.
    firings : tuple of HeardFiring
        One for each of its shots.
    sounds : tuple of Sound
        All sounds, in order of time; the strongest 2000 where there are more.
    unread : tuple of CannotTell
        What was heard and not timed.
    format : str
        What the file is.
    is_compressed : bool
        True where a codec has smeared the sounds.
    fastest_s : float
        Nothing shorter is ever told by sound, [s].
    mirror : float
        Chance that a mirror's strokes are among the sounds, [-].
    """

    shutter: ShutterResult
    firings: tuple[HeardFiring, ...]
    sounds: tuple[Sound, ...]
    unread: tuple[CannotTell, ...]
    format: str
    is_compressed: bool
    fastest_s: float
    mirror: float

    def to_json(self) -> dict[str, Any]:
        """
        The result as plain data: that of `ShutterResult.to_json` without coupling, and `sound`.

        Returns
        -------
        data : dict
            Ready for strict JSON: SI units, every number finite or None.
        """
        return {
            **self.shutter.to_json(),
            "coupling": None,
            "sound": {
                "format": self.format,
                "is_compressed": self.is_compressed,
                "fastest_s": self.fastest_s,
                "mirror": self.mirror,
                "firings": [_firing(firing) for firing in self.firings],
                "cannot_tell": [
                    {"at_s": one.at_s, "reason": one.reason, "remedy": one.remedy} for one in self.unread
                ],
                "events": [_sound(sound) for sound in self.sounds],
            },
        }


def _firing(firing: HeardFiring) -> dict[str, Any]:
    return {
        "opened_s": firing.opened.value,
        "opened_u_s": firing.opened.u,
        "closed_s": firing.closed.value,
        "closed_u_s": firing.closed.u,
        "between_s": firing.between.value,
        "between_u_s": firing.between.u,
        "between_95_s": list(firing.between.coverage_interval(0.95)),
        "chance": firing.chance,
        "warnings": list(firing.warnings),
    }


def _sound(sound: Sound) -> dict[str, Any]:
    return {
        "at_s": sound.at.value,
        "at_u_s": sound.at.u,
        "level_db": sound.level_db,
        "called": sound.called,
        "opening": sound.opening,
        "closing": sound.closing,
        "fast_firing": sound.fast,
        "something_else": sound.something_else,
    }
