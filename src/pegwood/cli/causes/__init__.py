"""What is wrong: what may be, after all that was told and seen, and what to look at next."""

from __future__ import annotations

import click

from pegwood.cli.lazy import LazyGroup

QUESTIONS = {
    "likely": ("pegwood.cli.causes.weighing:likely", "Weigh what is wrong, after a story and some signs."),
    "why": ("pegwood.cli.causes.weighing:why", "Say why a fault is as likely as it is."),
    "signs": ("pegwood.cli.causes.listing:signs", "List what can be looked at on such a camera."),
    "faults": ("pegwood.cli.causes.listing:faults", "List what such a camera may have, and its mends."),
}


@click.group(
    cls=LazyGroup,
    lazy=QUESTIONS,
    epilog="Example: pegwood causes likely box --story stored-damp --sign shutter.sector-sticks=yes",
)
def causes() -> None:
    """Weigh what is wrong with a camera, and find what is worth looking at next."""
