"""The papers of a job: receipt, reports, certificate, price, bill, care slip, record; and the tray sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pegwood.papers.content import KINDS

if TYPE_CHECKING:
    from pegwood.papers.make import RefusedPaper, make_paper, remake

__all__ = ["KINDS", "RefusedPaper", "make_paper", "remake"]

_MAKING = {"RefusedPaper", "make_paper", "remake"}


def __getattr__(name: str) -> Any:
    # Typesetter and job book come along only when a paper is made: a page that lists papers needs neither.
    if name in _MAKING:
        from pegwood.papers import make

        return getattr(make, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
