"""
The demo's world: an invented workshop in the invented harbour town of Maarhaven, read from ``world.toml``.

Every day in it is counted backwards from the day the demo is built, so that the demo is always fresh.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, fields
from functools import cache
from importlib.resources import files
from itertools import pairwise
from typing import Literal

from pegwood.trade.typed_toml import Source, built

__all__ = ["World", "read_world", "world"]

Standing = Literal[
    "arrived",
    "looked over",
    "priced",
    "agreed",
    "on the bench",
    "waiting",
    "proving",
    "ready",
    "gone home",
    "sent back unmended",
    "kept for parts",
]


@dataclass(frozen=True, kw_only=True)
class WorkshopEntry:
    """The workshop's settings; `hourly_rate` in minor units of `currency` (ISO 4217)."""

    name: str
    repairer: str
    address: str
    phone: str
    email: str
    registration: str
    pay_to: str
    currency: str
    hourly_rate: int
    locale: str
    time_zone: str
    guarantee_months: int
    price_valid_days: int
    reading: Literal["exact", "as marked"]
    terms: str


@dataclass(frozen=True, kw_only=True)
class GearEntry:
    """Something the workshop measures with, last checked `checked` days ago."""

    key: str
    name: str
    serial: str
    checked: int
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class OwnerEntry:
    """Somebody who brings cameras."""

    key: str
    name: str
    phone: str = ""
    email: str = ""
    address: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class MechanismEntry:
    """
    A shutter as its maker built it, for the simulator.

    Leaf: blades, clear and stop radius [mm], strokes [ms]. Focal-plane: curtain speed at the gate's start
    [m/s], what is added within the gate [m/s2], length of the diode [mm], curtain to film [mm], f-number of
    the light.
    """

    key: str
    kind: Literal["leaf", "focal-plane"]
    blades: int = 5
    clear_radius_mm: float = 8.0
    stop_radius_mm: float = 8.0
    opening_stroke_ms: float = 2.5
    closing_stroke_ms: float = 2.5
    drag: float = 0.0
    curtain_speed_m_s: float = 2.4
    curtain_acceleration_m_s2: float = 20.0
    sensor_mm: float = 0.4
    gap_mm: float = 1.5
    f_number: float = 16.0
    gate_mm: float = 36.0


@dataclass(frozen=True, kw_only=True)
class CameraEntry:
    """A camera; `picture` is the kind it is drawn as."""

    key: str
    owner: str
    family: str
    picture: str
    maker: str
    model: str
    serial: str
    year_made: int | None = None
    lens: str = ""
    lens_serial: str = ""
    shutter: str = ""
    mechanism: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Days:
    """
    When a job came to each standing, in days ago; the later, the smaller. `promised` may be negative: to
    come.
    """

    arrived: int
    looked_over: int | None = None
    priced: int | None = None
    agreed: int | None = None
    on_the_bench: int | None = None
    waiting: int | None = None
    went_on: int | None = None
    proving: int | None = None
    ready: int | None = None
    gone_home: int | None = None
    given_up: int | None = None
    promised: int | None = None

    def __post_init__(self) -> None:
        order = [f.name for f in fields(self) if f.name != "promised"]
        known = [(name, day) for name in order if (day := getattr(self, name)) is not None]
        for (before, earlier), (after, later) in pairwise(known):
            if later > earlier:
                raise ValueError(
                    f"'{after}' was {later} days ago, before '{before}', {earlier} days ago. "
                    "Days count backwards: the later, the smaller."
                )
        if known[-1][1] < 1:
            raise ValueError(
                f"'{known[-1][0]}' is {known[-1][1]} days ago. Expected 1 or more: today is the visitor's."
            )
        if self.promised is not None and self.promised > self.arrived:
            raise ValueError("it was promised for a day before it arrived.")

    def over(self, name: str) -> bool:
        """Whether that was reached."""
        return getattr(self, name) is not None


@dataclass(frozen=True, kw_only=True)
class FindingEntry:
    """What was seen, and perhaps a close-up of it."""

    part: str
    condition: str
    grade: int | None = None
    place: str = ""
    note: str = ""
    outlook: Literal["", "mend", "can stay"] = ""
    picture: str = ""
    day: int | None = None

    def __post_init__(self) -> None:
        if self.grade is not None and self.grade not in range(6):
            raise ValueError(f"grade is {self.grade}. Expected 0 (as new) to 5 (past use).")


@dataclass(frozen=True, kw_only=True)
class LineEntry:
    """A line of the price: minutes at the workshop's rate, or an amount in minor units."""

    what: str
    kind: Literal["labour", "part", "other"] = "labour"
    minutes: int | None = None
    amount: int | None = None

    def __post_init__(self) -> None:
        if (self.minutes is None) == (self.amount is None):
            raise ValueError(f"'{self.what}' needs either minutes or an amount, not both.")


@dataclass(frozen=True, kw_only=True)
class WorkEntry:
    """A piece of work, done so many days ago."""

    day: int
    done: str
    part: str = ""
    minutes: int | None = None


@dataclass(frozen=True, kw_only=True)
class StripEntry:
    """
    A strip-down, begun so many days ago: what it is to reach, by any names.

    `steps` of it are done, all where it is 0; of these the last `back` are in again, or all. `pace` is the
    bench's, of the family's minutes.
    """

    day: int
    reach: tuple[str, ...]
    steps: int = 0
    back: int = 0
    all_back: bool = False
    pace: float = 0.8


@dataclass(frozen=True, kw_only=True)
class NarrationEntry:
    """What was told at the bench so many days ago; what `keep` names, as lists name it, is kept."""

    day: int
    text: str
    keep: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class LookEntry:
    """A look at the camera, by its sign in the family, and its answer."""

    sign: str
    answer: str


@dataclass(frozen=True, kw_only=True)
class MendEntry:
    """A mend of a fault that was found: the fault in the family, and the mend by its name."""

    fault: str
    mend: str
    minutes: int
    worked: bool = True


@dataclass(frozen=True, kw_only=True)
class WeighingEntry:
    """
    What was weighed: of the story what is so and what is not, and the looks, so many days ago.

    `found` and `ruled_out` are faults in the family, decided on the day `decided`; `mends` are of that day.
    """

    day: int
    told: tuple[str, ...] = ()
    denied: tuple[str, ...] = ()
    looks: tuple[LookEntry, ...] = ()
    decided: int | None = None
    found: tuple[str, ...] = ()
    ruled_out: tuple[str, ...] = ()
    mends: tuple[MendEntry, ...] = ()

    def __post_init__(self) -> None:
        if bool(self.found or self.ruled_out or self.mends) != (self.decided is not None):
            raise ValueError("a day 'decided' and what was found, ruled out or mended go together.")


@dataclass(frozen=True, kw_only=True)
class RemarkEntry:
    """A line for the diary, so many days ago."""

    day: int
    text: str


@dataclass(frozen=True, kw_only=True)
class FaultsEntry:
    """The state of the shutter when it was recorded; see `pegwood.demo.simulator.Faults`."""

    gum: float = 0.0
    first_drag: float = 0.0
    tired_spring: float = 0.0
    scatter: float = 0.004
    oil: float = 0.0
    rebound: float = 0.2
    second_curtain: float = 1.0


@dataclass(frozen=True, kw_only=True)
class RecordingsEntry:
    """The speeds recorded on one day, each fired `firings` times, in the state `faults` describes."""

    phase: Literal["as found", "as left"]
    day: int
    speeds: tuple[str, ...]
    gear: str
    firings: int = 3
    container: Literal["flac", "wav", "csv"] = "flac"
    faults: FaultsEntry = field(default_factory=FaultsEntry)


@dataclass(frozen=True, kw_only=True)
class GaugingEntry:
    """
    What another instrument than the shutter's read on one day.

    `figures` is the table as it was typed (CSV), `told` what was said beside it (JSON).
    """

    phase: Literal["as found", "as left"]
    day: int
    way: str
    figures: str
    told: str = "{}"


@dataclass(frozen=True, kw_only=True)
class JobEntry:
    """
    One camera's visit.

    `gave_up` says why it went back unmended, or how the owner left it for parts; `told` goes with the price;
    `bill` is the price again unless it says otherwise; `agreed_up_to` and amounts are in minor units.
    """

    key: str
    camera: str
    stands: Standing
    days: Days
    story: str
    accessories: str = ""
    comeback_of: str = ""
    photos: tuple[Literal["front", "top"], ...] = ("front",)
    findings: tuple[FindingEntry, ...] = ()
    price: tuple[LineEntry, ...] = ()
    told: str = ""
    agreed_up_to: int | None = None
    agreed_how: str = ""
    work: tuple[WorkEntry, ...] = ()
    strip: StripEntry | None = None
    narration: NarrationEntry | None = None
    weighing: WeighingEntry | None = None
    waiting_for: Literal["", "owner", "part", "drying", "curing"] = ""
    waiting_note: str = ""
    recordings: tuple[RecordingsEntry, ...] = ()
    gaugings: tuple[GaugingEntry, ...] = ()
    remarks: tuple[RemarkEntry, ...] = ()
    bill: tuple[LineEntry, ...] = ()
    paid_how: str = ""
    gave_up: str = ""

    def __post_init__(self) -> None:
        reached = _LAST[self.stands]
        known = [name for name in _ORDER if self.days.over(name)]
        if known[-1] != reached:
            raise ValueError(
                f"it stands at '{self.stands}', yet its last day is '{known[-1]}', not '{reached}'."
            )
        if bool(self.waiting_for) != self.days.over("waiting"):
            raise ValueError("a day 'waiting' and 'waiting_for' go together.")
        needs = {"looked_over": self.findings, "priced": self.price, "agreed": self.agreed_how}
        needs |= {"gone_home": self.paid_how, "given_up": self.gave_up}
        for name, what in needs.items():
            if self.days.over(name) and not what:
                raise ValueError(f"it came to '{name}' without what that needs; see JobEntry.")


_ORDER = [f.name for f in fields(Days) if f.name != "promised"]
_LAST: dict[str, str] = {
    "arrived": "arrived",
    "looked over": "looked_over",
    "priced": "priced",
    "agreed": "agreed",
    "on the bench": "on_the_bench",
    "waiting": "waiting",
    "proving": "proving",
    "ready": "ready",
    "gone home": "gone_home",
    "sent back unmended": "given_up",
    "kept for parts": "given_up",
}


@dataclass(frozen=True, kw_only=True)
class ReadingEntry:
    """What was measured of a spare so many days ago, with its standard uncertainty."""

    what: str
    value: float
    u: float
    unit: str
    day: int
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class SpareEntry:
    """A spare, put in so many days ago; `cost` and `worth` in minor units, `kept_for` a job's key."""

    name: str
    day: int
    family: str = ""
    maker: str = ""
    model: str = ""
    grade: int | None = None
    place: str = ""
    note: str = ""
    count: int = 1
    cost: int | None = None
    worth: int | None = None
    good_from: float | None = None
    kept_for: str = ""
    readings: tuple[ReadingEntry, ...] = ()


@dataclass(frozen=True, kw_only=True)
class DonorEntry:
    """A camera that was kept for its parts: what came out of it, and what is no use."""

    job: str
    day: int
    place: str = ""
    out: tuple[str, ...] = ()
    parts_in: str = ""
    grade: int | None = None
    spoiled: tuple[str, ...] = ()
    spoiled_by: str = ""


@dataclass(frozen=True, kw_only=True)
class World:
    """All of it."""

    workshop: WorkshopEntry
    gear: tuple[GearEntry, ...]
    owners: tuple[OwnerEntry, ...]
    mechanisms: tuple[MechanismEntry, ...]
    cameras: tuple[CameraEntry, ...]
    jobs: tuple[JobEntry, ...]
    spares: tuple[SpareEntry, ...] = ()
    donors: tuple[DonorEntry, ...] = ()


def read_world(text: str, name: str = "world.toml") -> World:
    """
    A world from the text of its file.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        What to call the file in an error.

    Raises
    ------
    TableError
        If it is not TOML, a field is missing, unknown or impossible, or something points nowhere; the message
        names file, line and place.
    """
    source = Source(text, name)
    found = built(World, source.table(), source)
    _check_references(found, source)
    return found


@cache
def world() -> World:
    """The world that comes with Pegwood."""
    return read_world(files("pegwood.demo").joinpath("world.toml").read_text(encoding="utf-8"))


def _check_references(w: World, source: Source) -> None:
    """Every key stands once, and whatever is pointed at is there."""
    keys: dict[str, set[str]] = {}
    for group in ("gear", "owners", "mechanisms", "cameras", "jobs"):
        seen: set[str] = set()
        for i, one in enumerate(getattr(w, group)):
            if one.key in seen:
                raise source.error((group, i, "key"), f"{one.key!r} stands there twice.")
            seen.add(one.key)
        keys[group] = seen

    def known(key: str, among: Iterable[str], place: tuple[str | int, ...]) -> None:
        if key not in among:
            raise source.error(place, f"{key!r} is nowhere. There are: {', '.join(sorted(among))}.")

    for i, camera in enumerate(w.cameras):
        known(camera.owner, keys["owners"], ("cameras", i, "owner"))
        if camera.mechanism:
            known(camera.mechanism, keys["mechanisms"], ("cameras", i, "mechanism"))
    for i, spare in enumerate(w.spares):
        if spare.kept_for:
            known(spare.kept_for, keys["jobs"], ("spares", i, "kept_for"))
    for i, donor in enumerate(w.donors):
        known(donor.job, keys["jobs"], ("donors", i, "job"))
    with_shutter = {camera.key for camera in w.cameras if camera.mechanism}
    for i, job in enumerate(w.jobs):
        known(job.camera, keys["cameras"], ("jobs", i, "camera"))
        if job.comeback_of:
            known(job.comeback_of, keys["jobs"], ("jobs", i, "comeback_of"))
        for j, recordings in enumerate(job.recordings):
            known(recordings.gear, keys["gear"], ("jobs", i, "recordings", j, "gear"))
            if job.camera not in with_shutter:
                raise source.error(("jobs", i, "recordings", j), f"camera {job.camera!r} names no mechanism.")
