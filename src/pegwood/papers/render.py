"""From content and pictures to a PDF, the same bytes on every machine with the same Typst wheel."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import tempfile
from collections.abc import Mapping
from importlib.resources import files as package_files
from pathlib import Path
from typing import Literal

import typst
from PIL import Image

from pegwood.papers._typed import BadContent, canonical
from pegwood.papers.content import PaperContent, photos_of
from pegwood.papers.view import view

TEMPLATES = ("sheet.typ", "money.typ")  # what every paper may draw on; its own comes with it
LARGEST_PICTURE = 30 * 1024**2
LARGEST_PIXELS = 60_000_000
ARCHIVAL: Literal["a-2a"] = (
    "a-2a"  # ISO 19005-2, with tags for a screen reader: readable when this program is gone
)

__all__ = ["render", "render_pages"]


def render(content: PaperContent, files: Mapping[str, bytes] | None = None) -> bytes:
    """
    The paper as a PDF.

    Parameters
    ----------
    content : Receipt, Condition, Certificate, Price, Bill, Care, Trays or Record
    files : mapping of str to bytes, optional
        The pictures the content names, each under its SHA-256: JPEG or PNG, grey or RGB, without EXIF.

    Returns
    -------
    pdf : bytes
        PDF/A-2a. It depends on the content, the pictures, the templates and the Typst wheel, and on nothing
        else: no clock, no font of the machine.

    Raises
    ------
    BadContent
        When a picture is missing, is not what its name says, or is of a kind that must not leave the house.

    Notes
    -----
    Text of people is handed over as JSON data and shown as text: Typst never reads it as markup.
    """
    (pdf,) = _compile(content, files or {}, "pdf", ppi=None)
    return pdf


def render_pages(
    content: PaperContent, files: Mapping[str, bytes] | None = None, *, ppi: float = 110
) -> list[bytes]:
    """
    The paper's pages as pictures.

    Parameters
    ----------
    content, files
        As for `render`.
    ppi : float
        Pixels per inch.

    Returns
    -------
    pages : list of bytes
        One PNG for each page.

    Raises
    ------
    BadContent
        As `render`.
    """
    return _compile(content, files or {}, "png", ppi=ppi)


def _compile(
    content: PaperContent, files: Mapping[str, bytes], form: Literal["pdf", "png"], ppi: float | None
) -> list[bytes]:
    pictures = {name: _checked_picture(name, files) for name in photos_of(content)}
    with tempfile.TemporaryDirectory(prefix="pegwood-paper-") as folder:
        root = Path(folder)
        _lay_out(root, content, pictures)
        compiler = typst.Compiler(
            root / f"{content.kind}.typ",
            root=root,
            ignore_system_fonts=True,
            # Nothing is ever fetched: packages are looked for in this folder alone, and there are none.
            package_path=root,
            package_cache_path=root,
        )
        made = _typeset(compiler, form, ppi, dt.datetime.fromisoformat(content.head.made_at))
    if made is None:
        raise RuntimeError("Typst wrote to a file where it was asked for bytes")
    return made if isinstance(made, list) else [made]


def _typeset(
    compiler: typst.Compiler, form: Literal["pdf", "png"], ppi: float | None, made_at: dt.datetime
) -> bytes | list[bytes] | None:
    if form == "png":
        return compiler.compile(format="png", ppi=ppi)
    try:
        return compiler.compile(format="pdf", timestamp=made_at, pdf_standards=ARCHIVAL)
    except typst.TypstError as error:
        if "could not be displayed" not in error.message:
            raise
        # A rare mark over a letter that no built-in font joins: a plain PDF rather than no paper.
        return compiler.compile(format="pdf", timestamp=made_at)


def _lay_out(root: Path, content: PaperContent, pictures: Mapping[str, bytes]) -> None:
    templates = package_files("pegwood.papers") / "templates"
    for name in (*TEMPLATES, f"{content.kind}.typ"):
        (root / name).write_bytes((templates / name).read_bytes())
    (root / "paper.json").write_text(canonical(view(content)), encoding="utf-8")
    for name, picture in pictures.items():
        (root / name).write_bytes(picture)


def _checked_picture(name: str, files: Mapping[str, bytes]) -> bytes:
    picture = files.get(name)
    if picture is None:
        raise BadContent(f"Picture {name[:12]} is missing. Expected its bytes beside the content.")
    if hashlib.sha256(picture).hexdigest() != name:
        raise BadContent(f"Picture {name[:12]} is not what its name says. Restore it from a backup.")
    if len(picture) > LARGEST_PICTURE:
        raise BadContent(f"Picture {name[:12]} has {len(picture)} bytes. Expected at most {LARGEST_PICTURE}.")
    try:
        with Image.open(io.BytesIO(picture), formats=["JPEG", "PNG"]) as image:
            mode, pixels, exif = image.mode, image.width * image.height, dict(image.getexif())
            told = {"exif", "xmp", "XML:com.adobe.xmp", "Raw profile type exif"} & set(image.info)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise BadContent(f"Picture {name[:12]} cannot be read. Expected a JPEG or PNG.") from error
    if pixels > LARGEST_PIXELS:
        raise BadContent(f"Picture {name[:12]} has {pixels} pixels. Expected at most {LARGEST_PIXELS}.")
    if mode not in {"L", "LA", "P", "RGB", "RGBA", "1"}:
        raise BadContent(f"Picture {name[:12]} is in {mode}. Expected grey or RGB.")
    if exif or told:
        raise BadContent(
            f"Picture {name[:12]} still tells where and with what it was taken. Expected no EXIF."
        )
    return picture
