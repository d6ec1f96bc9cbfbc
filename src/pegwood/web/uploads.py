"""How files come in: straight to the disk, whatever they are called."""

from __future__ import annotations

from pathlib import PurePosixPath
from typing import Any

from django.core.files.uploadhandler import TemporaryFileUploadHandler

#: Longer than any real one, short enough for any disk.
LONGEST_ENDING = 20


class OnDisk(TemporaryFileUploadHandler):
    """
    Every file goes to a temporary one, never into memory: a recording may be an hour long.

    The framework gives that temporary file the ending that was sent; one longer than a disk allows would
    break the request.
    """

    def new_file(self, field_name: str, file_name: str, *args: Any, **kwargs: Any) -> None:
        ending = PurePosixPath(file_name).suffix
        if len(ending) > LONGEST_ENDING:
            file_name = file_name[: -len(ending)] + ending[:LONGEST_ENDING]
        super().new_file(field_name, file_name, *args, **kwargs)
