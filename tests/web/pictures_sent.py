"""Photographs as a browser sends them."""

from __future__ import annotations

import io

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image


def photograph(name: str = "front.jpg", grey: int = 90, size: tuple[int, int] = (64, 48), kind: str = "JPEG"):
    """A small grey photograph; another grey is another photograph."""
    out = io.BytesIO()
    Image.new("L", size, grey).save(out, kind)
    return SimpleUploadedFile(name, out.getvalue(), content_type=f"image/{kind.lower()}")


def no_photograph(name: str = "front.jpg"):
    """Something that says it is one."""
    return SimpleUploadedFile(name, b"<svg onload='alert(1)'/>", content_type="image/jpeg")
