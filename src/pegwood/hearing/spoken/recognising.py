"""What a recogniser is to Pegwood, whichever it is."""

from __future__ import annotations

from typing import Protocol

from pegwood.hearing.spoken.sound import Samples


class NoRecogniser(RuntimeError):
    """A recogniser or its model is not on this machine; one line that says how to add it."""


class Recogniser(Protocol):
    """
    Free dictation: any program that turns sound into words on this machine.

    Its words are narration, to be read and confirmed like any other: never commands that are obeyed.
    """

    def hear(self, samples: Samples, rate_hz: float) -> list[tuple[str, float]]:
        """
        The words in the order spoken, each with a confidence.

        Parameters
        ----------
        samples : ndarray, shape (n,)
            One channel, from -1 to 1.
        rate_hz : float
            [Hz]

        Returns
        -------
        list of (str, float)
            A stretch of words, and how sure the recogniser says it is [0..1].
        """
        ...
