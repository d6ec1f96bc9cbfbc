"""
What comes next in a job: one sentence and one thing to press. And where the job stands on its gauge.

Pure. The table is read from the top; the first row whose standing and condition fit is the next thing. What a
press does is a move of ``pegwood.book.states`` or a page to go to, never both.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from pegwood.book.states import GAUGE, Move, Standing, WaitingFor


@dataclass(frozen=True)
class Wait:
    """How long a job waits, where that was told: until when, in words, and whether that is past."""

    until: str
    over: bool


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What is known of a job when the next thing is looked for."""

    standing: Standing
    waiting_for: WaitingFor | None = None
    wait: Wait | None = None
    has_findings: bool = False
    has_work: bool = False
    has_bill: bool = False
    #: Readings that were read and that nobody has accepted or set aside.
    has_open_readings: bool = False
    has_found: bool = False
    has_left: bool = False
    #: Whether a speed was measured as found and not yet as left.
    left_missing: bool = False
    #: Whether a reading accepted as left is outside its limit; whether one is too close to it to be called.
    left_outside: bool = False
    left_close: bool = False
    #: Whether parts are out of the camera that belong into it.
    is_open: bool = False
    price_expired: bool = False
    #: Whether the owner said no to the price, and the camera has not gone back yet.
    said_no: bool = False
    #: Whether something of the bill of a camera that has gone home is still to be paid.
    unpaid: bool = False
    guarantee_given: bool = False
    under_guarantee: bool = False


@dataclass(frozen=True)
class Act:
    """Something to press: a move, or a page of the job (``#part`` is a place on the card)."""

    label: str
    move: Move | None = None
    page: str = ""


@dataclass(frozen=True)
class Step:
    """
    The next thing.

    Attributes
    ----------
    sentence, why : str
        What to do, and a word on why or how.
    do : Act
        The one filled button.
    others : tuple of Act
        Quiet ones beside it.
    yours : bool
        Whether the repairer has to act; if not, somebody or something else is waited for.
    """

    sentence: str
    why: str
    do: Act
    others: tuple[Act, ...] = ()
    yours: bool = True


_S, _M, _W = Standing, Move, WaitingFor
_Fits = Callable[[Facts], bool]


def _always(_facts: Facts) -> bool:
    return True


_ACCEPT = Step(
    "say what the reading is",
    "A recording was read: accept it as found or as left, or set it aside.",
    Act("See the reading", page="shutter"),
)
_MEASURE_FOUND = Act("Measure as found", page="shutter")
_MEASURE_LEFT = Act("Measure as left", page="shutter")
_WEIGH = Act("Weigh what is wrong", page="causes")

STEPS: tuple[tuple[Standing, _Fits, Step], ...] = (
    (
        _S.ARRIVED,
        lambda f: not f.has_findings,
        Step(
            "look it over",
            "Write down what you see, part by part, even if it is that all is well.",
            Act("Note a finding", page="#findings"),
            (_WEIGH, _MEASURE_FOUND),
        ),
    ),
    (_S.ARRIVED, lambda f: f.has_open_readings, _ACCEPT),
    (
        _S.ARRIVED,
        _always,
        Step(
            "say that it is looked over",
            "If all that can be seen is noted. What the work brings to light can still be added.",
            Act("It is looked over", move=_M.LOOK_OVER),
            (Act("Note another", page="#findings"), _WEIGH, _MEASURE_FOUND),
        ),
    ),
    (_S.LOOKED_OVER, lambda f: f.has_open_readings, _ACCEPT),
    (
        _S.LOOKED_OVER,
        lambda f: not f.has_found,
        Step(
            "measure the shutter as found",
            "Before anything is touched: afterwards nobody can. If it does not fire, price it.",
            _MEASURE_FOUND,
            (_WEIGH, Act("Price it", page="price")),
        ),
    ),
    (
        _S.LOOKED_OVER,
        _always,
        Step(
            "price it",
            "The owner is told the price, and the sum beyond which you ask again.",
            Act("Write the price", page="price"),
            (_WEIGH,),
        ),
    ),
    (
        _S.PRICED,
        lambda f: f.said_no and f.is_open,
        Step(
            "put it together again",
            "The owner said no. It was agreed that it goes back put together.",
            Act("The way back", page="way_back"),
            (Act("Tell another price", page="price"),),
        ),
    ),
    (
        _S.PRICED,
        lambda f: f.said_no,
        Step(
            "send it back unmended",
            "The owner said no, and it is together again.",
            Act("It goes back unmended", move=_M.SEND_BACK),
            (Act("Tell another price", page="price"),),
        ),
    ),
    (
        _S.PRICED,
        lambda f: f.price_expired,
        Step(
            "ask the owner again",
            "The price was told so long ago that it no longer stands.",
            Act("Record the answer", page="price#yes"),
            (Act("Tell another price", page="price"),),
        ),
    ),
    (
        _S.PRICED,
        _always,
        Step(
            "wait for the owner's yes",
            "Nothing is taken apart before it.",
            Act("Record the yes", page="price#yes"),
            (Act("Tell another price", page="price"),),
            yours=False,
        ),
    ),
    (
        _S.AGREED,
        _always,
        Step("put it on the bench", "The owner has said yes.", Act("Put it on the bench", move=_M.TAKE_ON)),
    ),
    (
        _S.ON_THE_BENCH,
        lambda f: f.is_open,
        Step(
            "go on with the strip-down",
            "Parts of it are off. Each is logged as it comes off, and as it goes in again.",
            Act("Go on taking apart", page="strip"),
            (Act("The way back", page="way_back"), Act("Prove it", move=_M.PROVE)),
        ),
    ),
    (
        _S.ON_THE_BENCH,
        lambda f: not f.has_work,
        Step(
            "do the work, and write it down",
            "Each piece as it is done: it stands on the bill and helps whoever opens it next.",
            Act("Write down work", page="#work"),
            (Act("Take it apart", page="strip"), Act("Prove it", move=_M.PROVE)),
        ),
    ),
    (
        _S.ON_THE_BENCH,
        _always,
        Step(
            "go on, or prove it",
            "When it is together again, prove it by measuring.",
            Act("Prove it", move=_M.PROVE),
            (Act("Take it apart", page="strip"), Act("Write down work", page="#work")),
        ),
    ),
    (
        _S.WAITING,
        lambda f: f.waiting_for is _W.OWNER,
        Step(
            "wait for the owner",
            "Write down what the owner says, then go on.",
            Act("The owner has answered", move=_M.GO_ON),
            (Act("Tell another price", page="price"),),
            yours=False,
        ),
    ),
    (
        _S.WAITING,
        lambda f: f.waiting_for is _W.PART,
        Step("wait for the part", "", Act("The part is here", move=_M.GO_ON), yours=False),
    ),
    (
        _S.WAITING,
        lambda f: f.waiting_for is _W.DRYING,
        Step("let it dry", "", Act("It is dry", move=_M.GO_ON), yours=False),
    ),
    (
        _S.WAITING,
        lambda f: f.waiting_for is _W.CURING,
        Step(
            "let it cure",
            "As long as the maker of the glue or paint says.",
            Act("It has cured", move=_M.GO_ON),
            yours=False,
        ),
    ),
    (_S.PROVING, lambda f: f.has_open_readings, _ACCEPT),
    (
        _S.PROVING,
        lambda f: not f.has_left,
        Step(
            "measure the shutter as left",
            "What goes home with a figure comes back with fewer questions.",
            _MEASURE_LEFT,
            (Act("Call it ready", move=_M.PASS),),
        ),
    ),
    (
        _S.PROVING,
        lambda f: f.left_outside,
        Step(
            "decide: a speed is outside its limit",
            "Back to the bench, measure again, or call it ready and say so on the certificate.",
            Act("See the speeds", page="shutter"),
            (Act("Call it ready", move=_M.PASS),),
        ),
    ),
    (
        _S.PROVING,
        lambda f: f.left_missing,
        Step(
            "measure the other speeds as left",
            "Not all that was measured as found is measured as left.",
            _MEASURE_LEFT,
            (Act("Call it ready", move=_M.PASS),),
        ),
    ),
    (
        _S.PROVING,
        lambda f: f.left_close,
        Step(
            "decide: a speed is too close to its limit to be called",
            "More firings narrow it. Or call it ready, and the certificate says so.",
            Act("See the speeds", page="shutter"),
            (Act("Call it ready", move=_M.PASS),),
        ),
    ),
    (
        _S.PROVING,
        _always,
        Step(
            "call it ready",
            "It is measured as left.",
            Act("Call it ready", move=_M.PASS),
            (Act("Measure more", page="shutter"),),
        ),
    ),
    (
        _S.READY,
        lambda f: not f.has_bill,
        Step(
            "write the bill",
            "It may not go beyond what was agreed.",
            Act("Write the bill", page="bill"),
        ),
    ),
    (
        _S.READY,
        _always,
        Step(
            "hand it back",
            "The guarantee begins on that day.",
            Act("Hand it back", page="hand_back"),
            (Act("See the bill", page="bill"),),
            yours=False,
        ),
    ),
    (
        _S.GONE_HOME,
        lambda f: f.unpaid,
        Step(
            "wait for the money",
            "It is home, and its bill is not paid in full.",
            Act("It is paid", page="payment"),
            (Act("It came back", page="comeback"),),
            yours=False,
        ),
    ),
    (
        _S.GONE_HOME,
        lambda f: f.under_guarantee,
        Step(
            "nothing. It is home, under guarantee",
            "If it comes back, a new job points at this one.",
            Act("It came back", page="comeback"),
            yours=False,
        ),
    ),
    (
        _S.GONE_HOME,
        lambda f: not f.guarantee_given,
        Step(
            "nothing. It is home, without a guarantee",
            "If it comes again, a new job points at this one.",
            Act("It came again", page="comeback"),
            yours=False,
        ),
    ),
    (
        _S.GONE_HOME,
        _always,
        Step(
            "nothing. It is home, and its guarantee is over",
            "If it comes again, a new job points at this one.",
            Act("It came again", page="comeback"),
            yours=False,
        ),
    ),
    (
        _S.SENT_BACK,
        _always,
        Step("nothing. It went back unmended", "", Act("To the bench", page="front"), yours=False),
    ),
    (
        _S.KEPT,
        _always,
        Step("nothing. It is kept for its parts", "", Act("To the bench", page="front"), yours=False),
    ),
)


def next_step(facts: Facts) -> Step:
    """The first step of the table that fits; of a wait whose end was told, with that."""
    step = next(step for standing, fits, step in STEPS if standing is facts.standing and fits(facts))
    if facts.wait is None:
        return step
    if not facts.wait.over:
        return replace(step, why=f"Until {facts.wait.until}. {step.why}".rstrip())
    why = f"Its time was over at {facts.wait.until}. Look at it before you go on."
    return replace(step, sentence=f"see whether {_lowered(step.do.label)}", why=why, yours=True)


def _lowered(label: str) -> str:
    return label[:1].lower() + label[1:]


@dataclass(frozen=True)
class Mark:
    """A graduation of the gauge: its word, whether it is done, now or ahead, and a note to it."""

    word: str
    state: str
    note: str = ""


def gauge(
    standing: Standing, came_from: Standing | None = None, waiting_for: WaitingFor | None = None
) -> tuple[Mark, ...]:
    """
    Where a job stands, left to right.

    Parameters
    ----------
    standing : Standing
        Where it stands.
    came_from : Standing, optional
        Of a waiting job, and of one that left the usual way: where it was before. None where nobody knows.
    waiting_for : WaitingFor, optional
        What a waiting job waits for.
    """
    if standing in GAUGE:
        return _marks(standing, "now")
    if standing is Standing.WAITING:
        return _marks(came_from or Standing.AGREED, "now", _waits(waiting_for))
    left_at = came_from or Standing.ARRIVED
    return (*_marks(left_at, "done")[: GAUGE.index(left_at) + 1], Mark(standing, "now"))


def _waits(waiting_for: WaitingFor | None) -> str:
    if waiting_for is None:
        return "waiting"
    what = {WaitingFor.OWNER: "for the owner", WaitingFor.PART: "for a part"}.get(waiting_for)
    return f"waiting {what}" if what else str(waiting_for)


def _marks(at: Standing, state: str, note: str = "") -> tuple[Mark, ...]:
    here = GAUGE.index(at)
    states = ["done"] * here + [state] + ["ahead"] * (len(GAUGE) - here - 1)
    return tuple(
        Mark(word, state, note if place == here else "")
        for place, (word, state) in enumerate(zip(GAUGE, states, strict=True))
    )
