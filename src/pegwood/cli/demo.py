"""The bench with an invented workshop in it."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import click

from pegwood.cli._open import OneLine, one_line, open_book
from pegwood.cli._progress import progress
from pegwood.frame.server import Address
from pegwood.frame.workshop import FOLDER_VARIABLE, demo_workshop, real_workshop

#: Lies in every folder the demo made, and in no other: only these are ever thrown away.
MARK = "this-is-a-demo"
READY = "demo-is-ready"


@click.command(epilog="Example: pegwood demo")
@click.option(
    "--port", default=8418, show_default=True, type=click.IntRange(0, 65535), help="0 takes a free one."
)
@click.option("--fresh", is_flag=True, help="Throw the old demo away and make it anew.")
@click.option("--folder", type=click.Path(file_okay=False, path_type=Path), help="Where to make it.")
@click.option("--browser/--no-browser", default=True, help="Open the browser, or only print the address.")
@click.option("--serve/--no-serve", default=True, help="Serve it, or only make it.")
def demo(port: int, fresh: bool, folder: Path | None, browser: bool, serve: bool) -> None:
    """
    Show the bench with an invented workshop in it.

    Everybody and everything in it is invented. It has a folder of its own and never touches your workshop.
    """
    root = (folder or demo_workshop()).expanduser().absolute()
    if os.environ.get("PEGWOOD_DATABASE_URL"):
        raise OneLine("The demo has a book of its own. Unset PEGWOOD_DATABASE_URL first.")
    prepare(root, fresh=fresh)
    os.environ[FOLDER_VARIABLE] = str(root)
    os.environ["PEGWOOD_DEMO"] = "1"
    open_book()
    if not (root / READY).exists():
        _build(root)
    if serve:
        from pegwood.cli.serve import run

        run(Address(port=port), browser=browser)
    else:
        click.echo(f"The demo workshop is in {root}")


def prepare(root: Path, *, fresh: bool) -> None:
    """
    Make the demo's folder, or empty one that a demo left unfinished or that is asked for afresh.

    Raises
    ------
    OneLine
        If the folder is somebody's own: it has something in it and no demo made it.
    """
    if root == real_workshop().absolute():
        raise OneLine(
            "That is your own workshop's folder. The demo never touches it; name another with --folder."
        )
    if root.exists() and any(root.iterdir()):
        if not (root / MARK).exists():
            raise OneLine(
                f"{root} holds something that is not the demo's. Name another folder with --folder."
            )
        if fresh or not (root / READY).exists():
            shutil.rmtree(root)
    root.mkdir(parents=True, exist_ok=True)
    (root / MARK).touch()


def _build(root: Path) -> None:
    from pegwood.demo.build import build

    click.echo("Making the demo workshop; it takes about a minute, once.", err=True)
    with progress("making the demo workshop") as told, one_line():
        build(progress=lambda share: told(share, 1.0))
    (root / READY).touch()
