"""What the book stores. Faces read these and write only through the use cases beside this folder."""

from pegwood.book.models.bench import Calibration, Finding, Gear, Measurement, MeasurementFile, Work
from pegwood.book.models.billing import (
    BenchClock,
    Bill,
    BillLine,
    ClockEntry,
    NumberSeries,
    Offer,
    Payment,
)
from pegwood.book.models.causes import FaultRuling, LessonLeftOut, MendDone, SignAnswer, Story
from pegwood.book.models.desk import Draft, SearchEntry, Setting
from pegwood.book.models.hearing import Narration, SaidProposal, TaughtWord
from pegwood.book.models.jobs import DiaryEntry, Job
from pegwood.book.models.papers import Paper, PriceLine
from pegwood.book.models.people import Camera, Owner
from pegwood.book.models.quoting import CameraWorth, PartCost
from pegwood.book.models.spares import (
    Donor,
    DonorPart,
    FitsAlso,
    PartWorth,
    Spare,
    SpareMeasure,
    SpareMove,
)
from pegwood.book.models.stored import Photo, StoredFile
from pegwood.book.models.stripping import Kept, StripDown, TakenOff

__all__ = [
    "BenchClock",
    "Bill",
    "BillLine",
    "Calibration",
    "Camera",
    "CameraWorth",
    "ClockEntry",
    "DiaryEntry",
    "Donor",
    "DonorPart",
    "Draft",
    "FaultRuling",
    "Finding",
    "FitsAlso",
    "Gear",
    "Job",
    "Kept",
    "LessonLeftOut",
    "Measurement",
    "MeasurementFile",
    "MendDone",
    "Narration",
    "NumberSeries",
    "Offer",
    "Owner",
    "Paper",
    "PartCost",
    "PartWorth",
    "Payment",
    "Photo",
    "PriceLine",
    "SaidProposal",
    "SearchEntry",
    "Setting",
    "SignAnswer",
    "Spare",
    "SpareMeasure",
    "SpareMove",
    "StoredFile",
    "Story",
    "StripDown",
    "TakenOff",
    "TaughtWord",
    "Work",
]
