"""Whether what a recogniser took speech for is sure enough to be done."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.hearing.spoken.grammar import Commands
from pegwood.hearing.spoken.reading import read_command
from pegwood.hearing.spoken.results import AskAgain, Command, Guess


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """
    From where on a guess is done; what stays below is asked again.

    Attributes
    ----------
    worst, whole : float
        As in `Guess`: of the word that fits worst, and over all.
    votes : float
        As in `Guess`.
    """

    worst: float
    whole: float
    votes: float = 1.0


#: Set where, of 120 sentences of talk, none was taken for a command: other voices, sentences and noise than
#: the
#: tests' (`python -m benchmarks.spoken FAMILY N SEED tuning`).
USUAL = Doubt(worst=-3.2, whole=-1.5)


def understand(guess: Guess, commands: Commands, doubt: Doubt = USUAL) -> Command | AskAgain:
    """
    The command, if it is sure; else what to ask.

    Parameters
    ----------
    guess : Guess
    commands : Commands
        Those that the guess was made with.
    doubt : Doubt
        How sure is sure enough.
    """
    if not guess.words:
        return AskAgain(why="That was no command I know. Say it again, or press it.")
    read = read_command(guess.words, commands)
    if isinstance(read, AskAgain):
        return read
    sure = guess.votes >= doubt.votes and guess.worst >= doubt.worst and guess.whole >= doubt.whole
    if not sure:
        return AskAgain(why="I am not sure enough. Say it again, a little slower.", may_be=(read,))
    return read
