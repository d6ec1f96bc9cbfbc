"""The command's own front door."""

from __future__ import annotations

import os
from pathlib import Path

import click

import pegwood
from pegwood.cli.lazy import LazyGroup

COMMANDS = {
    "demo": ("pegwood.cli.demo:demo", "Show the bench with an invented workshop in it."),
    "serve": ("pegwood.cli.serve:serve", "Open your own bench in the browser."),
    "job": ("pegwood.cli.job:job", "Take cameras in, look jobs up, note what you see and do."),
    "owner": ("pegwood.cli.owner:owner", "The people who bring cameras."),
    "measure": (
        "pegwood.cli.measure:measure",
        "Measure: shutter, meter, diaphragm, focus, transport and more.",
    ),
    "trade": ("pegwood.cli.trade:trade", "Ask what the trade knows: metals, agents, threads, oils."),
    "strip": ("pegwood.cli.strip:strip", "Ask how a kind of camera comes apart: its parts, and the way in."),
    "causes": (
        "pegwood.cli.causes:causes",
        "Weigh what is wrong, and what to look at next.",
    ),
    "hear": ("pegwood.cli.hear:hear", "Hear what a narration says of a camera, to be confirmed."),
    "heard": ("pegwood.cli.hear:heard", "List what was heard on a job, and keep or drop it."),
    "spares": ("pegwood.cli.spares:spares", "Find, take and put spares, and see what is short."),
    "price": ("pegwood.cli.price:price", "Reckon what a job may cost: usual, not more than, worst."),
    "paper": ("pegwood.cli.paper:paper", "Make receipts, reports, certificates and bills."),
    "bill": ("pegwood.cli.bill:bill", "What is billed, paid and open; the bookkeeper's table."),
    "find": ("pegwood.cli.find:find", "Look something up in everything written down."),
    "backup": ("pegwood.cli.keeping:backup", "Put the whole workshop into one archive."),
    "restore": ("pegwood.cli.keeping:restore", "Make a workshop out of a backup."),
    "check": ("pegwood.cli.keeping:check", "See whether everything is still as it was written."),
    "schema": ("pegwood.cli.schema:schema", "Print what an answer of --json holds, as JSON Schema."),
    "settings": ("pegwood.cli.settings:settings", "The workshop's name, money, limits and the rest."),
    "user": ("pegwood.cli.user:user", "Who may sign in, when the bench is reached from outside."),
    "completion": ("pegwood.cli.completion:completion", "Let your shell complete the commands."),
}


@click.group(
    cls=LazyGroup,
    lazy=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Example: pegwood demo",
)
@click.option(
    "--workshop",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    envvar="PEGWOOD_WORKSHOP",
    show_envvar=True,
    help="The workshop's folder, if it is not the usual one.",
)
@click.version_option(pegwood.__version__, prog_name="pegwood")
def main(folder: Path | None) -> None:
    """The workshop tool of somebody who repairs mechanical film cameras."""
    if folder is not None:
        os.environ["PEGWOOD_WORKSHOP"] = str(folder.expanduser().absolute())
