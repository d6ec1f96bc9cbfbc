"""What closed jobs teach of faults, signs and mends."""

from pegwood.causes.learning.changes import Change, What
from pegwood.causes.learning.handing_on import written
from pegwood.causes.learning.learn import Learned, learn
from pegwood.causes.learning.lessons import Lesson, MendDone, Moved, lesson
from pegwood.causes.learning.of_use import Weights
from pegwood.causes.learning.shared import Shared, read_shared

__all__ = [
    "Change",
    "Learned",
    "Lesson",
    "MendDone",
    "Moved",
    "Shared",
    "Weights",
    "What",
    "learn",
    "lesson",
    "read_shared",
    "written",
]
