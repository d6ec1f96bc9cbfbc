"""The store of photographs, recordings and papers."""

from pegwood.book.files.pictures import Picture, picture_for_paper, thumbnail
from pegwood.book.files.store import Damaged, FolderStore, keep, read, store, verified_path

__all__ = [
    "Damaged",
    "FolderStore",
    "Picture",
    "keep",
    "picture_for_paper",
    "read",
    "store",
    "thumbnail",
    "verified_path",
]
