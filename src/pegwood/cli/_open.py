"""What every command shares: opening the workshop, saying no in one line, printing for scripts."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import wraps
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

import click

if TYPE_CHECKING:
    from pegwood.instruments.readings import RefusedReadings

P = ParamSpec("P")
R = TypeVar("R")


class OneLine(click.ClickException):
    """A refusal on stderr in one line."""

    exit_code: int = 1  # type: ignore[misc]  # click says it belongs to the class; here each has its own

    def __init__(self, message: str, exit_code: int = 1) -> None:
        super().__init__(" ".join(message.split()))
        self.exit_code = exit_code

    def show(self, file: Any = None) -> None:
        click.echo(f"pegwood: {self.message}", err=True)


def refused(refusal: RefusedReadings) -> OneLine:
    """What an instrument refuses, with the option it is about."""
    option = f" Option: --{refusal.about.replace('_', '-')}." if refusal.about else ""
    return OneLine(f"{refusal}{option}", 2)


def start() -> None:
    """Make Django ready for the workshop named in the environment; its folder is made if it is new."""
    # Ours, whatever another Django project may have left in this shell's environment.
    os.environ["DJANGO_SETTINGS_MODULE"] = "pegwood.frame.settings"
    import django

    try:
        django.setup()
    except OSError as error:
        raise OneLine(
            f"The workshop cannot be opened: {error}. Name another folder with --workshop."
        ) from error
    except ValueError as error:  # the address of a shared book is not one
        raise OneLine(f"The workshop cannot be opened: {error}") from error


def has_book() -> bool:
    """Whether there is a book to read; a shared one is taken to be there until it is asked."""
    from pegwood.frame.workshop import current

    return bool(os.environ.get("PEGWOOD_DATABASE_URL")) or current().database.exists()


def need_a_book() -> None:
    """
    Refuse what only reads where there is no book, before anything is made there.

    A mistyped --workshop would else become a new, empty workshop that answers as if all were well.
    """
    from pegwood.frame.workshop import current

    if not has_book():
        raise OneLine(
            f"There is no book in {current().root}. Name the workshop's folder with --workshop; "
            "`pegwood serve` begins a new one."
        )


def open_book() -> None:
    """Open the workshop's book, bringing it up to date if this program is newer than the book."""
    start()
    from django.db import DatabaseError

    from pegwood.book.keeping.schema import bring_up_to_date
    from pegwood.book.refusal import Refused

    try:
        bring_up_to_date()
    except Refused as reason:
        raise OneLine(str(reason)) from None
    except DatabaseError as error:
        raise OneLine(
            f"The book cannot be opened: {error}. Run `pegwood check`, or restore a backup."
        ) from None


def with_book(command: Callable[P, R]) -> Callable[P, R]:
    """A command that works in a book that is there, and whose refusals come out as one line."""
    opened = with_book_or_new(command)

    @wraps(command)
    def only_there(*args: P.args, **kwargs: P.kwargs) -> R:
        need_a_book()
        return opened(*args, **kwargs)

    return only_there


def with_book_or_new(command: Callable[P, R]) -> Callable[P, R]:
    """A command that may be a workshop's first: it begins the book if there is none."""

    @wraps(command)
    def opened(*args: P.args, **kwargs: P.kwargs) -> R:
        open_book()
        with one_line():
            return command(*args, **kwargs)

    return opened


@contextmanager
def one_line() -> Iterator[None]:
    """Turn a refusal of the book's into one line on stderr and exit code 1."""
    from pegwood.book.refusal import Refused

    try:
        yield
    except Refused as reason:
        raise OneLine(str(reason)) from None


def who() -> str:
    """Who acts at this terminal."""
    from pegwood.book.workshop import workshop

    return workshop().who


def job_numbered(number: int) -> Any:
    """The job of that number, or a refusal."""
    from pegwood.book.models import Job

    job = Job.objects.select_related("owner", "camera").filter(number=number).first()
    if job is None:
        raise OneLine(f"There is no job {number}. `pegwood job list` shows them.")
    return job


def say(data: Any) -> None:
    """Print JSON on one line, for a script; days and moments are written as ISO 8601 has them."""
    click.echo(json.dumps(data, ensure_ascii=False, sort_keys=True, default=_as_text))


def _as_text(value: Any) -> str:
    return str(value.isoformat()) if isinstance(value, date) else str(value)  # a moment is a day, too


json_option = click.option("--json", "as_json", is_flag=True, help="For scripts: JSON, one object a line.")
