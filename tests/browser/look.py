"""What can be told of a page by looking at it: reach, size, contrast, breadth, as a browser lays it out."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import axe_playwright_python
from playwright.sync_api import Page

SMALLEST_TARGET = 44  # CSS pixels, the house's own measure; WCAG 2.2 asks 24 (2.5.8) and, at AAA, 44 (2.5.5)
SMALLEST_TEXT = 13

#: The axe engine's own script; asked over the debugging line, which the content policy does not bind.
AXE = Path(axe_playwright_python.__file__).with_name("axe.min.js")


#: What may come out otherwise by night: the rest of a page is the same.
COLOUR_RULES = ["color-contrast", "link-in-text-block"]


@cache
def _axe() -> str:
    return AXE.read_text(encoding="utf-8")


def violations(page: Page, *, only_colours: bool = False) -> list[str]:
    """What the engine finds against a page, however grave, each with the first places it saw it at."""
    if not page.evaluate("Boolean(window.axe)"):
        page.evaluate(_axe())
    rules = {"runOnly": {"type": "rule", "values": COLOUR_RULES}} if only_colours else {}
    asked = {"resultTypes": ["violations"], **rules}
    found: dict[str, Any] = page.evaluate("asked => axe.run(document, asked)", asked)
    return [
        f"{one['id']} ({one['impact']}): {[node['target'] for node in one['nodes']][:4]}"
        for one in found["violations"]
    ]


_SCRIPT = Path(__file__).with_name("look.js")


def _told(page: Page, what: str, *more: object) -> Any:
    """What one of the functions in ``look.js`` says of a page."""
    script = _SCRIPT.read_text(encoding="utf-8")
    return page.evaluate(f"(more) => {{ {script}\nreturn {what}(...more) }}", list(more))


def unfold(page: Page) -> None:
    """What is folded away is looked at as well."""
    page.evaluate("for (const one of document.querySelectorAll('details:not([name])')) one.open = true")


def small_targets(page: Page) -> list[str]:
    found: list[str] = _told(page, "smallTargets", SMALLEST_TARGET)
    return found


def fine_print(page: Page) -> list[str]:
    found: list[str] = _told(page, "finePrint", SMALLEST_TEXT)
    return found


def too_wide(page: Page) -> list[str]:
    found: list[str] = _told(page, "tooWide")
    return found


def focus(page: Page) -> dict[str, Any] | None:
    found: dict[str, Any] | None = _told(page, "focus")
    return found


def is_at(page: Page, wanted: str, tag: str) -> bool:
    """Whether the keyboard is at what bears that id, name or text."""
    return bool(_told(page, "isAt", wanted, tag))
