"""Small things that the views of several papers share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.pieces import Camera, Caution, Owner, Photo

Words = Mapping[str, str]


def photos(given: tuple[Photo, ...]) -> list[dict[str, str]]:
    """Each with the name of its file and its caption."""
    return [{"file": photo.file, "caption": photo.caption} for photo in given]


def cautions(given: tuple[Caution, ...]) -> list[dict[str, str]]:
    """Each with its subject and its text."""
    return [{"subject": caution.subject, "text": caution.text} for caution in given]


def filled(texts: tuple[str, ...]) -> list[str]:
    """The texts that say something."""
    return [text for text in texts if text.strip()]


def one_line(text: str) -> str:
    """A text without its line breaks."""
    return " ".join(text.split())


def clipped(text: str, longest: int) -> str:
    """One line for a running head, where the whole stands elsewhere on the paper."""
    line = one_line(text)
    return line if len(line) <= longest else line[: longest - 1] + "…"


def or_usual(texts: tuple[str, ...], said: Words, name: str) -> list[str]:
    """The workshop's own lines, or the usual ones `name.1`, `name.2` and so on."""
    usual = [said[key] for key in (f"{name}.{number}" for number in range(1, 10)) if key in said]
    return filled(texts) or usual


def owner_block(owner: Owner) -> dict[str, Any]:
    """Name and lines to set one under the other, and name and address in one line."""
    return {
        "name": owner.name,
        "lines": filled((*owner.address, *owner.contact)),
        "at_home": ", ".join(filled((owner.name, *owner.address))),
    }


def camera_facts(camera: Camera, said: Words) -> list[dict[str, str]]:
    """What is known of the camera, each with its label."""
    named = ("family", "maker", "model", "serial", "lens", "shutter")
    facts = [{"label": said[f"camera.{name}"], "text": getattr(camera, name)} for name in named]
    return [fact for fact in facts if fact["text"].strip()]
