"""Whether what a recogniser took speech for is sure enough to be done."""

from __future__ import annotations

from collections.abc import Iterable
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
    both : float
        Of the worst word and twice all of it together: a command may be weak in one of them, talk is in both.
    votes : float
        As in `Guess`.
    margin : float
        So far must another command stay behind, as in `Guess.rivals`. Below nought: its search is another,
        and differs by ten or so either way from that which found the first.
    """

    worst: float
    whole: float
    both: float
    votes: float = 1.0
    margin: float = -8.0


#: Both were set with the tuning voices, sentences, noise and talk of `python -m benchmarks.spoken FAMILY N
#: SEED tuning`, none of which are the tests': of 112 commands by eight voices and ten sentences of talk by
#: each, so that no talk was taken and fewer than one in fifty was wrong and done. Only the ways of speaking
#: in the dictionary are older, and were found with the tests' own accents.
USUAL = Doubt(worst=-4.0, whole=-2.4, both=-5.6)
#: Where the bench was taught the voice.
TAUGHT = Doubt(worst=-5.0, whole=-2.7, both=-6.2, votes=0.5)


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
    fits = guess.worst >= doubt.worst and guess.whole >= doubt.whole
    if not fits or guess.worst + 2 * guess.whole < doubt.both:
        return AskAgain(why="I am not sure enough. Say it again, a little slower.", may_be=(read,))
    if guess.votes < doubt.votes:
        others = [(words, 0.0) for words in guess.taken_by_others]
        may_be = (read, *_near(others, read, commands, 1.0))
        return AskAgain(why="That may be one of these. Press it, or say it again.", may_be=may_be)
    near = _near(guess.rivals, read, commands, doubt.margin)
    if near:
        return AskAgain(why="That may be one of these. Press it, or say it again.", may_be=(read, *near))
    return read


def _near(
    rivals: Iterable[tuple[str, float]], read: Command, commands: Commands, margin: float
) -> list[Command]:
    """Other commands that fitted nearly as well; the same one in other words is none."""
    near: list[Command] = []
    for words, behind in rivals:
        other = read_command(words, commands) if behind < margin else None
        if isinstance(other, Command) and not any(other.same_as(one) for one in (read, *near)):
            near.append(other)
    return near[:3]
