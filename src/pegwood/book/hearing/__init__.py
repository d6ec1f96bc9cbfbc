"""What is dictated at the bench: taken in, heard, and kept, mended or dropped by a person."""

from pegwood.book.hearing.adding import add_missed
from pegwood.book.hearing.offered import OfferedSign, signs_offered
from pegwood.book.hearing.settling import Mended, as_mended, drop, keep, keep_plain, mend, undo
from pegwood.book.hearing.taking import hear_for, lines_from, set_aside, take_narration
from pegwood.book.hearing.teaching import taught_for, teach, unteach
from pegwood.book.hearing.wording import told_of
from pegwood.book.narration_text import LARGEST_FILE
from pegwood.book.told import Told

__all__ = [
    "LARGEST_FILE",
    "Mended",
    "OfferedSign",
    "Told",
    "add_missed",
    "as_mended",
    "drop",
    "hear_for",
    "keep",
    "keep_plain",
    "lines_from",
    "mend",
    "set_aside",
    "signs_offered",
    "take_narration",
    "taught_for",
    "teach",
    "told_of",
    "undo",
    "unteach",
]
