"""What somebody tells of a camera on the command line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._families import construction_named, known_families

if TYPE_CHECKING:
    from pegwood.anatomy.construction import Construction
    from pegwood.causes.case import Case
    from pegwood.causes.family_net import FamilyCauses
    from pegwood.causes.words.telling import SeenFinding

_OPTIONS = (
    click.option(
        "--story", "told", multiple=True, metavar="WORD", help="What is told: soaked-salt, dropped."
    ),
    click.option("--not", "denied", multiple=True, metavar="WORD", help="What is told not to be so."),
    click.option(
        "--sign",
        "answers",
        multiple=True,
        metavar="ID=ANSWER",
        help='A sign and its answer; "sort of ..." and "don\'t know" are answers, too.',
    ),
    click.option(
        "--finding",
        "findings",
        multiple=True,
        metavar="PART:CONDITION",
        help='What was seen, in your own words: "shutter blades: oily".',
    ),
    click.option("--found", multiple=True, metavar="FAULT", help="A fault that was found."),
    click.option("--cleared", multiple=True, metavar="FAULT", help="A fault that is not there."),
)


def given_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that tell a case."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


@dataclass(frozen=True)
class Given:
    """A family as it is put together, its faults and signs, and what is told of one camera of it."""

    construction: Construction
    causes: FamilyCauses
    case: Case


def given(
    family: str,
    told: tuple[str, ...],
    denied: tuple[str, ...],
    answers: tuple[str, ...],
    findings: tuple[str, ...],
    found: tuple[str, ...],
    cleared: tuple[str, ...],
) -> Given:
    """
    What the options say.

    Raises
    ------
    ValueError
        If one of them speaks of what the family does not have, with the nearest.
    """
    from pegwood.causes.answers import likelihood
    from pegwood.causes.case import Case
    from pegwood.causes.words.telling import FaultHint, said_of

    construction = construction_named(family)
    causes = causes_of(construction)
    for word in (*told, *denied):
        _story(word)
    seen: dict[str, tuple[float, ...]] = {}
    unanswered = set()
    for one in answers:
        sign, equals, answer = one.partition("=")
        if not equals:
            raise ValueError(f"{one!r} is no sign with its answer. Write it as ID=ANSWER.")
        asked = causes.signs[_known(sign.strip(), "sign", causes.signs)]
        weights = likelihood(asked, answer)
        if weights is None:
            unanswered.add(asked.id)
        else:
            seen[asked.id] = weights
    rulings = {_known(one, "fault", causes.faults): True for one in found}
    rulings |= {_known(one, "fault", causes.faults): False for one in cleared}
    for word in (*set(told) & set(denied), *set(found) & set(cleared)):
        raise ValueError(f"{word!r} cannot be so and not so.")
    odds: dict[str, float] = {}
    for hint in said_of(causes, construction, [_finding(one) for one in findings]):
        if isinstance(hint, FaultHint):
            odds[hint.fault] = hint.odds
        else:
            seen.setdefault(hint.sign, hint.levels)
    case = Case(
        told=frozenset(told),
        denied=frozenset(denied),
        answers=seen,
        unanswered=frozenset(unanswered),
        rulings=rulings,
        odds=odds,
    )
    return Given(construction, causes, case)


def causes_of(construction: Construction) -> FamilyCauses:
    """Faults and signs of a family, as the files that came and the workshop's own have them."""
    from pegwood.causes.family_net import family_causes
    from pegwood.causes.own_knowledge import knowledge_in
    from pegwood.frame.workshop import current
    from pegwood.trade.reference import reference_in

    here = current()
    known = knowledge_in(here.root, known_families(), reference_in(here.tables))
    for slip in known.slips:
        click.echo(f"pegwood: left aside: {slip}", err=True)
    return family_causes(construction, known.knowledge)


def _finding(said: str) -> SeenFinding:
    from pegwood.causes.words.telling import SeenFinding

    part, colon, condition = said.partition(":")
    if not (colon and part.strip() and condition.strip()):
        raise ValueError(f"{said!r} is no finding. Write it as PART: CONDITION.")
    return SeenFinding(part=part.strip(), condition=condition.strip())


def _story(word: str) -> None:
    from pegwood.causes.story import STORY

    _known(word, "word of a story", STORY)


def _known(word: str, what: str, known: Any) -> str:
    from pegwood.trade.names import nearest

    if word not in known:
        near = ", ".join(nearest(word, known)) or "none"
        raise ValueError(f"{word!r} is no {what} here. Nearest: {near}.")
    return word
