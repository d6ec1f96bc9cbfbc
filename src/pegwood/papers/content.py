"""
All that stands on each paper, as plain data.

A paper is made from its content and from the pictures the content names, and from nothing else: no clock, no
setting, no database. Kept as JSON beside the PDF, the content makes the same sheet again.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, ClassVar, Literal

from pegwood.papers import _typed
from pegwood.papers._typed import BadContent, Piece, check_date, check_filled, check_positive
from pegwood.papers.measured import (
    Beside,
    BesideRow,
    Calibrated,
    Gauged,
    Gear,
    Held,
    Limit,
    Reading,
    Refusal,
    Share,
    Speed,
)
from pegwood.papers.money_content import Bill, Price
from pegwood.papers.pieces import (
    Agreed,
    Camera,
    Caution,
    Head,
    Line,
    Owner,
    Photo,
    Tag,
    Tax,
    Workshop,
)
from pegwood.papers.record import Record
from pegwood.papers.tray_sheet import Trays

FORMAT = 1  # of the JSON; a later one will know how to read this

__all__ = [
    "KINDS",
    "Agreed",
    "BadContent",
    "Beside",
    "BesideRow",
    "Bill",
    "Calibrated",
    "Camera",
    "Care",
    "Caution",
    "Certificate",
    "Condition",
    "Finding",
    "Gauged",
    "Gear",
    "Head",
    "Held",
    "Limit",
    "Line",
    "Owner",
    "PaperContent",
    "Photo",
    "Price",
    "Reading",
    "Receipt",
    "Record",
    "Refusal",
    "Share",
    "Speed",
    "Tag",
    "Tax",
    "Trays",
    "Workshop",
    "from_json",
    "photos_of",
    "to_json",
]


@dataclass(frozen=True, kw_only=True)
class Receipt(Piece):
    """
    Handed to the owner when the camera stays here.

    Parameters
    ----------
    head : Head
    owner : Owner
    camera : Camera
    accessories : tuple of str
        Handed in with the camera.
    story : str
        What the owner tells, in the owner's own words.
    photos : tuple of Photo
        The camera as it came.
    next_steps : tuple of str
        What happens next; empty for the usual words.
    promised_on : str or None
        ISO date.
    terms : tuple of str
        The workshop's own conditions.
    comeback_of : str
        Number of the job whose guarantee it comes back under.
    """

    kind: ClassVar[str] = "receipt"
    head: Head
    owner: Owner
    camera: Camera
    accessories: tuple[str, ...] = ()
    story: str = ""
    photos: tuple[Photo, ...] = ()
    next_steps: tuple[str, ...] = ()
    promised_on: str | None = None
    terms: tuple[str, ...] = ()
    comeback_of: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_date("Receipt.promised_on", self.promised_on)


@dataclass(frozen=True, kw_only=True)
class Finding(Piece):
    """
    What was seen on one part.

    Parameters
    ----------
    part, condition : str
    grade : int or None
        0 (as new) to 5 (past use).
    place : str
        Where on the part.
    note : str
    outlook : {'mend', 'can stay', ''}
    photos : tuple of Photo
    """

    part: str
    condition: str
    grade: int | None = None
    place: str = ""
    note: str = ""
    outlook: Literal["mend", "can stay", ""] = ""
    photos: tuple[Photo, ...] = ()

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Finding", part=self.part)
        if self.grade is not None and self.grade not in range(6):
            raise BadContent(f"Finding.grade: {self.grade}. Expected 0 (as new) to 5 (past use), or none.")


@dataclass(frozen=True, kw_only=True)
class Condition(Piece):
    """
    The report on the state a camera is in.

    Parameters
    ----------
    head : Head
    owner : Owner
    camera : Camera
    story : str
        What the owner tells, in the owner's own words.
    findings : tuple of Finding
    photos : tuple of Photo
        Of the whole camera.
    looked_over_by, looked_over_on : str
        Who looked it over; ISO date or None.
    summary : str
        What it comes to, in a sentence or two.
    cautions : tuple of Caution
    """

    kind: ClassVar[str] = "condition"
    head: Head
    owner: Owner
    camera: Camera
    story: str = ""
    findings: tuple[Finding, ...] = ()
    photos: tuple[Photo, ...] = ()
    looked_over_by: str = ""
    looked_over_on: str | None = None
    summary: str = ""
    cautions: tuple[Caution, ...] = ()

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_date("Condition.looked_over_on", self.looked_over_on)


@dataclass(frozen=True, kw_only=True)
class Certificate(Piece):
    """
    The shutter as found and as left, and what other instruments read.

    Parameters
    ----------
    head : Head
    owner : Owner
    camera : Camera
    target : {'exact', 'as marked'}
        Whether the target times are the exact powers of two or the marks taken at their word.
    speeds : tuple of Speed
        In the order of the dial. At least one with a reading, or a refusal, or something gauged.
    held : tuple of Held
        B and T.
    beside : tuple of Beside
        Smaller stops, flash contacts and curtains, speed by speed.
    gauged : tuple of Gauged
        What other instruments read: meter, diaphragm, focus and so on.
    refused : tuple of Refusal
    gear : tuple of Gear
    clock_allowed : str
        Readings without a calibrated clock, and how far theirs may be off.
    method, coupling : str
        The instrument's own names, such as `light gate` and `DC`.
    sensor : tuple of str
        Remarks on the sensor and the clock.
    temperature_c : float or None
        At the bench, [degC].
    remarks : tuple of str
        Warnings of the instrument and remarks of the repairer.
    signed_by : str
    """

    kind: ClassVar[str] = "certificate"
    head: Head
    owner: Owner
    camera: Camera
    target: Literal["exact", "as marked"]
    speeds: tuple[Speed, ...]
    held: tuple[Held, ...] = ()
    beside: tuple[Beside, ...] = ()
    gauged: tuple[Gauged, ...] = ()
    refused: tuple[Refusal, ...] = ()
    gear: tuple[Gear, ...] = ()
    clock_allowed: str = ""
    method: str = ""
    coupling: str = ""
    sensor: tuple[str, ...] = ()
    temperature_c: float | None = None
    remarks: tuple[str, ...] = ()
    signed_by: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        if not self.refused and not self.gauged and not self.has_shutter:
            raise BadContent(
                "Certificate.speeds: no reading at all. Expected at least one, as found or as left."
            )
        places = [(speed.marked, speed.where) for speed in self.speeds]
        if twice := next((place for place in places if places.count(place) > 1), None):
            raise BadContent(
                f"Certificate.speeds: {twice[0]!r} stands there twice. Expected each speed once."
            )

    @property
    def has_shutter(self) -> bool:
        """Whether any reading of the shutter stands on it."""
        return any(speed.found or speed.left for speed in self.speeds)


@dataclass(frozen=True, kw_only=True)
class Care(Piece):
    """
    Handed over with the mended camera.

    Parameters
    ----------
    head : Head
    owner : Owner
    camera : Camera
    done : tuple of str
        What was done.
    left_alone : tuple of str
        What was found and left as it is.
    guarantee_until : str or None
        ISO date; None when it is not known yet or there is no guarantee.
    guarantee_months : int or None
        Months from the day the camera is fetched, while that day is not known.
    guarantee_on, guarantee_not : tuple of str
        What it is given on, and what it does not cover.
    keep : tuple of str
        How to use and keep the camera after this repair.
    cautions : tuple of Caution
    """

    kind: ClassVar[str] = "care"
    head: Head
    owner: Owner
    camera: Camera
    done: tuple[str, ...] = ()
    left_alone: tuple[str, ...] = ()
    guarantee_until: str | None = None
    guarantee_months: int | None = None
    guarantee_on: tuple[str, ...] = ()
    guarantee_not: tuple[str, ...] = ()
    keep: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_date("Care.guarantee_until", self.guarantee_until)
        check_positive("Care", guarantee_months=self.guarantee_months)


#: What papers of an earlier version do not hold, and what it was then.
_CAME_LATER: dict[str, dict[str, Any]] = {
    # before curtains and contacts were kept, and before clocks were told apart
    # and before other instruments than the shutter's
    Certificate.kind: {"beside": [], "clock_allowed": "", "gauged": []},
    # before deposits, and before what a no comes to was agreed
    Price.kind: {"deposit": None, "if_no": "", "no_costs": None},
    # before bills were issued
    Bill.kind: {"draft": False, "corrects": "", "reason": "", "credited": None, "done": [], "no_tax": ""},
}

PaperContent = Receipt | Condition | Certificate | Price | Bill | Care | Trays | Record

KINDS: dict[str, type[PaperContent]] = {
    piece.kind: piece for piece in (Receipt, Condition, Certificate, Price, Bill, Care, Trays, Record)
}


def to_json(content: PaperContent) -> str:
    """
    The content as one JSON text; equal contents give equal texts.

    Parameters
    ----------
    content : Receipt, Condition, Certificate, Price, Bill, Care, Trays or Record

    Returns
    -------
    text : str
    """
    return _typed.canonical({"format": FORMAT, "kind": content.kind, "content": _typed.dump(content)})


def from_json(text: str) -> PaperContent:
    """
    The content back from its JSON.

    Parameters
    ----------
    text : str
        As `to_json` gave it, or the same JSON laid out in another way; a `made_with` beside it is left aside.

    Returns
    -------
    content : Receipt, Condition, Certificate, Price, Bill, Care, Trays or Record

    Raises
    ------
    BadContent
        When it is no JSON, of a later format, of an unknown kind, or does not hold what a paper must.
    """
    try:
        data = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        raise BadContent(f"The content is no JSON: {error}.") from error
    if not isinstance(data, dict) or set(data) - {"made_with"} != {"format", "kind", "content"}:
        raise BadContent("The content is no paper's. Expected format, kind and content.")
    if data["format"] != FORMAT:
        raise BadContent(
            f"The content is of format {data['format']!r}. Expected {FORMAT}; a newer Pegwood made it."
        )
    if not isinstance(data["kind"], str) or data["kind"] not in KINDS:
        raise BadContent(f"Unknown kind of paper: {data['kind']!r}. Expected one of {', '.join(KINDS)}.")
    content = data["content"]
    if isinstance(content, dict):
        content = {**_CAME_LATER.get(data["kind"], {}), **content}
    return _typed.load(KINDS[data["kind"]], content)


def photos_of(content: PaperContent) -> tuple[str, ...]:
    """
    The pictures a paper needs, each once.

    Parameters
    ----------
    content : Receipt, Condition, Certificate, Price, Bill, Care, Trays or Record

    Returns
    -------
    files : tuple of str
        SHA-256 of each, the workshop's mark among them.
    """
    mark = content.head.workshop.mark
    files = [mark] if mark else []
    if isinstance(content, Receipt | Condition):
        files += [photo.file for photo in content.photos]
    if isinstance(content, Condition):
        files += [photo.file for finding in content.findings for photo in finding.photos]
    return tuple(dict.fromkeys(files))
