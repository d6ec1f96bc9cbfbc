"""The one way in which the book says no."""

from __future__ import annotations


class Refused(Exception):
    """
    Something that cannot be done, with the reason and the remedy in one line for the person at the bench.

    Nothing has been changed when this is raised: every use case is one transaction.
    """
