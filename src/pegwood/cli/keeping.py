"""Backing up, restoring, checking."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import click

from pegwood.cli._open import OneLine, json_option, need_a_book, one_line, say, start, with_book
from pegwood.cli._progress import progress


@click.command(epilog="Example: pegwood backup /media/stick/workshop.zip")
@click.argument("archive", required=False, type=click.Path(path_type=Path))
@json_option
@with_book
def backup(archive: Path | None, as_json: bool) -> None:
    """
    Put the whole workshop into one archive.

    It holds a consistent copy of the book, every photograph, recording and paper, the jobs as lines of JSON,
    and a list with the hash of each. Without a name it is made in this folder, named for the moment.
    """
    from django.utils import timezone

    from pegwood.book.keeping.backup import back_up
    from pegwood.book.workshop import workshop

    now = timezone.now()
    name = f"pegwood-{now.astimezone(workshop().zone):%Y%m%d-%H%M%S}.zip"
    target = archive or Path(name)
    if target.is_dir():
        target = target / name
    with progress("backing up") as told:
        made = back_up(target, at=now, told=told)
    if as_json:
        say({"archive": str(made.path), "files": made.files, "size": made.size, "damaged": made.damaged})
    else:
        click.echo(f"{made.path}: the book and {made.files} files, {made.size / 1e6:.1f} MB")
    if made.damaged:
        raise OneLine(
            f"{len(made.damaged)} files are damaged and are not in the backup. `pegwood check` names them."
        )


@click.command(epilog="Example: pegwood restore workshop.zip ~/workshop-of-may")
@click.argument("archive", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("folder", required=False, type=click.Path(path_type=Path))
def restore(archive: Path, folder: Path | None) -> None:
    """
    Make a workshop out of a backup.

    The archive is looked through first; FOLDER must be new or empty. Without FOLDER it becomes the usual
    workshop, if there is none yet.
    """
    import tempfile

    from pegwood.frame.workshop import current

    target = (folder or current().root).absolute()
    with tempfile.TemporaryDirectory() as scratch:
        # Django wants a workshop of its own to start in; it must not be made where the backup is to go.
        import os

        os.environ["PEGWOOD_WORKSHOP"] = scratch
        start()
        from pegwood.book.keeping import restore as restoring

        with one_line(), progress("restoring") as told:
            manifest = restoring.restore(archive, target, told=told)
    made = datetime.fromisoformat(manifest.made_at).astimezone(_zone_of(target))
    click.echo(f"{target}: the workshop as it was on {made:%Y-%m-%d at %H:%M}")
    click.echo(f"Open it with: pegwood --workshop {target} serve")


def _zone_of(folder: Path) -> ZoneInfo:
    """The restored workshop's own time; UTC where its book names none."""
    import json
    import sqlite3
    from contextlib import closing

    # Read past Django, which runs in the scratch workshop and keeps that one's book.
    address = f"{(folder / 'book.sqlite3').as_uri()}?mode=ro"
    try:
        with closing(sqlite3.connect(address, uri=True)) as book:
            row = book.execute("SELECT value FROM book_setting WHERE key = 'time_zone'").fetchone()
        return ZoneInfo(json.loads(row[0]) if row else "UTC")
    except (sqlite3.Error, ValueError, TypeError, KeyError):  # it is restored all the same
        return ZoneInfo("UTC")


@click.command(epilog="Example: pegwood check --tidy")
@click.option("--tidy", is_flag=True, help="Throw away strays that a power cut left behind.")
@json_option
def check(tidy: bool, as_json: bool) -> None:
    """
    See whether everything is still as it was written.

    Looks at the hash of every file, the database's own integrity, the guards of diary and shelf, strays, and
    whether this program fits the book. Ends with 1 if anything is damaged.
    """
    need_a_book()
    start()
    from django.db import DatabaseError

    from pegwood.book.keeping.check import examine

    try:
        with one_line(), progress("checking") as told:
            report = examine(told=told, tidy=tidy)
    except DatabaseError as error:
        raise OneLine(f"The book is damaged beyond checking: {error}. Restore a backup.") from None
    if as_json:
        say(
            {
                "sound": report.is_sound,
                "files": report.files,
                "version": report.version,
                "remarks": [{"damage": remark.damage, "text": remark.text} for remark in report.remarks],
            }
        )
    else:
        for remark in report.remarks:
            click.echo(f"{'damaged' if remark.damage else 'note'}: {remark.text}")
        if report.is_sound:
            click.echo(f"All is sound: {report.files} files, book {report.version}.")
    if not report.is_sound:
        raise OneLine(
            "The workshop is damaged; what is named above must be mended or restored from a backup."
        )
