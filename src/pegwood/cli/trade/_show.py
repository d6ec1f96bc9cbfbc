"""An answer on a terminal or as JSON; every line with its mark, every source below."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from contextlib import contextmanager

import click

from pegwood.cli._open import OneLine, json_option, say
from pegwood.trade.answers import FIRST, Answer, Statement, as_json
from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.reference import Reference

__all__ = ["json_option", "reference", "show", "told_in_one_line"]

NOT_UNDERSTOOD = 2
WIDTH = 96


def reference() -> Reference:
    """The tables, with the rows of the workshop's own; no book is opened for it."""
    from pegwood.frame.workshop import current

    return Reference(current().tables)


@contextmanager
def told_in_one_line() -> Iterator[None]:
    """Turn a word that no table knows, a figure that cannot be or a slip in an own table into one line."""
    try:
        yield
    except ValueError as reason:
        raise OneLine(str(reason), NOT_UNDERSTOOD) from None


def show(answer: Answer, as_json_line: bool) -> None:
    """Print an answer."""
    if as_json_line:
        say(as_json(answer))
        return
    grounds = _grounds(answer)
    click.secho(_line(answer.headline, grounds), bold=True)
    for caution in answer.cautions:
        click.secho(_line(caution, grounds, "! "), fg="red")
    for section in answer.sections:
        click.echo(f"\n{section.title}")
        for line in section.lines:
            click.echo(_line(line, grounds, "  "))
    click.echo("\nHow it is known")
    for number, ground in enumerate(grounds, 1):
        own = ", your own table" if ground.own else ""
        click.echo(
            textwrap.fill(f"[{number}] {ground.source} ({ground.mark}{own})", WIDTH, subsequent_indent="    ")
        )
    click.echo(textwrap.fill(FIRST, WIDTH))
    for question in answer.also:
        click.echo(f'Ask too: pegwood trade "{question}"')


def _grounds(answer: Answer) -> Grounds:
    lines = [answer.headline, *answer.cautions, *(line for s in answer.sections for line in s.lines)]
    return joined(*(line.grounds for line in lines))


def _line(line: Statement, grounds: Grounds, indent: str = "") -> str:
    numbers = ",".join(str(grounds.index(ground) + 1) for ground in line.grounds)
    label = f"{line.label}: " if line.label else ""
    verdict = f"{line.verdict.upper()}. " if line.verdict else ""
    return textwrap.fill(
        f"{label}{verdict}{line.says} [{numbers}]",
        WIDTH,
        initial_indent=indent,
        subsequent_indent=" " * len(indent),
    )
