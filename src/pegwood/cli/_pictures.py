"""One answer for each photograph on the command line; one that cannot be read stops no other."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click

from pegwood.cli._into_job import UNREADABLE, say_why_not


def each_photograph(
    photos: Sequence[Path],
    read: Callable[[Path], dict[str, Any]],
    show: Callable[[str, dict[str, Any]], None],
    *,
    as_json: bool,
) -> None:
    """
    Read photographs one after another, and print what each says.

    Raises
    ------
    click.exceptions.Exit
        With 2 at the end, if any could not be read.
    """
    from pegwood.instruments.readings import RefusedReadings

    ended = 0
    for photo in photos:
        try:
            result = read(photo)
        except (RefusedReadings, OSError) as error:
            ended = UNREADABLE
            say_why_not(photo, error)
            continue
        if as_json:
            click.echo(json.dumps({**result, "file": str(photo)}, ensure_ascii=False))
        else:
            show(str(photo), result)
    if ended:
        raise click.exceptions.Exit(ended)
