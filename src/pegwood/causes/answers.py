"""What a person answers to a sign, as how likely that answer is at each of the sign's levels."""

from __future__ import annotations

from pegwood.causes.known import DONT_KNOW, SORT_OF, Sign
from pegwood.trade.names import nearest

#: "Sort of stiff" is taken to be right so many times as often as the next grade would be called so
#: (practice: nobody has counted it).
SORT_OF_ODDS = 3.0


def likelihood(sign: Sign, answer: str) -> tuple[float, ...] | None:
    """
    How likely an answer is at each level of a sign.

    Parameters
    ----------
    sign : Sign
    answer : str
        One of the sign's answers; "sort of" before it where it is only partly so; "don't know".

    Returns
    -------
    tuple of float or None
        None for "don't know": that says nothing.

    Raises
    ------
    ValueError
        If it is no answer to that sign.
    """
    said = answer.strip().casefold().replace("’", "'")
    if said == DONT_KNOW:
        return None
    sure = not said.startswith(SORT_OF)
    words = [one.casefold() for one in sign.answers]
    word = said.removeprefix(SORT_OF).strip()
    if word not in words:
        near = ", ".join(nearest(word, words)) or ", ".join(sign.answers)
        raise ValueError(f"{answer.strip()!r} is no answer to {sign.id!r}. Nearest: {near}.")
    at = words.index(word)
    if sure:
        return tuple(float(level == at) for level in range(len(words)))
    return tuple(SORT_OF_ODDS ** -abs(level - at) for level in range(len(words)))
