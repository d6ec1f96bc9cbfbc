"""The shelf at the command line: what lies where, what is taken, what to look for."""

from __future__ import annotations

import click

from pegwood.cli.lazy import LazyGroup

QUESTIONS = {
    "find": ("pegwood.cli.spares.shelf:find", "Look a spare up: where it lies, how many there are."),
    "take": ("pegwood.cli.spares.shelf:take", "Take a spare for a job: use it, or keep it for the job."),
    "put": ("pegwood.cli.spares.putting:put", "Put a spare on the shelf, or more of one."),
    "short": ("pegwood.cli.spares.looking_for:short", "Tell which parts to look for, and what to pay."),
}


@click.group(cls=LazyGroup, lazy=QUESTIONS, epilog="Example: pegwood spares find selenium cell")
def spares() -> None:
    """Find, take and put spares, and see what is short."""
