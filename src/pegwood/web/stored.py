"""A stored file as it came, to be saved by whoever asks."""

from __future__ import annotations

from django.http import FileResponse, HttpResponse
from django.http.response import HttpResponseBase

from pegwood.book.files.store import verified_path
from pegwood.book.models import StoredFile
from pegwood.book.refusal import Refused
from pegwood.web.bench_request import CANNOT


def as_it_came(file: StoredFile, otherwise: str) -> HttpResponseBase:
    """The file, checked against its hash, under the name it came with; `otherwise` where it had none."""
    try:
        place = verified_path(file)
    except Refused as refusal:
        return HttpResponse(str(refusal), status=CANNOT, content_type="text/plain; charset=utf-8")
    return FileResponse(
        place.open("rb"), as_attachment=True, filename=file.name or otherwise, content_type=file.media_type
    )
