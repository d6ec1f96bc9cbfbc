"""What a hostile browser sends: forms put together byte by byte, and what is said in answer."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

BOUNDARY = "-----------------------------pegwood-hostile"


@dataclass(frozen=True)
class Sent:
    """A file as it is sent. `name` goes into the header as it is, unless `disposition` is given whole."""

    content: bytes
    name: str = "r.jpg"
    media_type: str = "image/jpeg"
    disposition: str = ""


def form(fields: Mapping[str, str], files: Iterable[tuple[str, Sent]]) -> tuple[bytes, str]:
    """Body and content type of a form with files, as RFC 7578 has it, with no help from any library."""
    parts = []
    for field, value in fields.items():
        parts.append(f'Content-Disposition: form-data; name="{field}"\r\n\r\n{value}'.encode())
    for field, file in files:
        named = file.disposition or f'filename="{file.name}"'
        head = f'Content-Disposition: form-data; name="{field}"; {named}\r\n'
        head += f"Content-Type: {file.media_type}\r\n\r\n"
        parts.append(head.encode("utf-8", "surrogateescape") + file.content)
    mark = f"--{BOUNDARY}".encode()
    body = b"".join(mark + b"\r\n" + part + b"\r\n" for part in parts) + mark + b"--\r\n"
    return body, f"multipart/form-data; boundary={BOUNDARY}"


_REFUSALS = re.compile(
    r'<(p|div)\b[^>]*class="(?:refused|amiss)[^"]*"[^>]*>(?P<said>.*?)</\1>', re.DOTALL | re.IGNORECASE
)


def refusals(answer) -> list[str]:
    """The lines in which something was refused, as a person reads them."""
    text = answer.content.decode()
    if not answer["Content-Type"].startswith("text/html"):
        return text.splitlines()
    found = [re.sub(r"<[^>]+>", "", match["said"]) for match in _REFUSALS.finditer(text)]
    return [html.unescape(" ".join(line.split())) for line in found if line.strip()]
