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
    margin : float
        So far must another command stay behind, as in `Guess.rivals`.
    """

    worst: float
    whole: float
    votes: float = 1.0
    margin: float = 20.0


#: Set where no sentence of talk was taken for a command, with other sentences and noise than the tests' and
#: for the most part other voices (`python -m benchmarks.spoken FAMILY N SEED tuning`); the margin and the
#: ways of speaking with the tests' own accents.
USUAL = Doubt(worst=-3.2, whole=-1.5)
#: The same where the bench was taught the voice.
TAUGHT = Doubt(worst=-4.0, whole=-2.4, votes=0.5)


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
    near = _near(guess, read, commands, doubt.margin)
    if near:
        return AskAgain(why="That may be one of these. Press it, or say it again.", may_be=(read, *near))
    return read


def _near(guess: Guess, read: Command, commands: Commands, margin: float) -> list[Command]:
    """Other commands that fitted nearly as well; the same one in other words is none."""
    near: list[Command] = []
    for words, behind in guess.rivals:
        other = read_command(words, commands) if behind < margin else None
        if isinstance(other, Command) and not any(other.same_as(one) for one in (read, *near)):
            near.append(other)
    return near[:3]
