"""
Where a job stands, and how it may move.

Three rules:

1. A job stands at exactly one `Standing`; only a `Move` listed in `MOVES` takes it on.
2. A job that waits remembers where it was, and goes back there and nowhere else.
3. A job that is over stays over; only a slip of the thumb is taken back, to where the job was before it.

Pure: no Django, no clock. The buttons on the pages and the refusals of the use cases both come from this
table.
"""

from __future__ import annotations

from enum import StrEnum


class Standing(StrEnum):
    """Where a job stands, in the words shown to people."""

    ARRIVED = "arrived"
    LOOKED_OVER = "looked over"
    PRICED = "priced"
    AGREED = "agreed"
    ON_THE_BENCH = "on the bench"
    WAITING = "waiting"
    PROVING = "proving"
    READY = "ready"
    GONE_HOME = "gone home"
    SENT_BACK = "sent back unmended"
    KEPT = "kept for parts"


class WaitingFor(StrEnum):
    """What a waiting job waits for."""

    OWNER = "owner"
    PART = "part"
    DRYING = "drying"
    CURING = "curing"


class Move(StrEnum):
    """What the repairer does to a job, as it stands on a button."""

    LOOK_OVER = "look over"
    TELL_PRICE = "tell the price"
    AGREE = "record the yes"
    TAKE_ON = "put on the bench"
    WAIT = "let it wait"
    GO_ON = "go on"
    PROVE = "prove it"
    BACK_TO_BENCH = "back to the bench"
    PASS = "call it ready"
    HAND_BACK = "hand it back"
    SEND_BACK = "send back unmended"
    KEEP = "keep for parts"
    TAKE_BACK = "take a slip back"


class NotNow(ValueError):
    """A move that makes no sense where the job stands."""


_S, _M = Standing, Move

MOVES: dict[Standing, dict[Move, Standing]] = {
    _S.ARRIVED: {_M.LOOK_OVER: _S.LOOKED_OVER, _M.SEND_BACK: _S.SENT_BACK, _M.KEEP: _S.KEPT},
    _S.LOOKED_OVER: {_M.TELL_PRICE: _S.PRICED, _M.SEND_BACK: _S.SENT_BACK, _M.KEEP: _S.KEPT},
    _S.PRICED: {
        _M.AGREE: _S.AGREED,
        _M.TELL_PRICE: _S.PRICED,
        _M.SEND_BACK: _S.SENT_BACK,
        _M.KEEP: _S.KEPT,
    },
    _S.AGREED: {
        _M.TAKE_ON: _S.ON_THE_BENCH,
        _M.TELL_PRICE: _S.PRICED,
        _M.WAIT: _S.WAITING,
        _M.SEND_BACK: _S.SENT_BACK,
        _M.KEEP: _S.KEPT,
    },
    _S.ON_THE_BENCH: {
        _M.PROVE: _S.PROVING,
        _M.WAIT: _S.WAITING,
        # More turned up than was agreed to: ask again.
        _M.TELL_PRICE: _S.PRICED,
        _M.SEND_BACK: _S.SENT_BACK,
        _M.KEEP: _S.KEPT,
    },
    # GO_ON leads to where the job was when it began to wait; `destination` looks that up.
    _S.WAITING: {
        _M.GO_ON: _S.ON_THE_BENCH,
        _M.TELL_PRICE: _S.PRICED,
        _M.SEND_BACK: _S.SENT_BACK,
        _M.KEEP: _S.KEPT,
    },
    _S.PROVING: {
        _M.PASS: _S.READY,
        _M.BACK_TO_BENCH: _S.ON_THE_BENCH,
        _M.WAIT: _S.WAITING,
    },
    _S.READY: {_M.HAND_BACK: _S.GONE_HOME, _M.BACK_TO_BENCH: _S.ON_THE_BENCH},
    # TAKE_BACK, too, leads to where the job was before.
    _S.GONE_HOME: {_M.TAKE_BACK: _S.READY},
    _S.SENT_BACK: {_M.TAKE_BACK: _S.LOOKED_OVER},
    _S.KEPT: {_M.TAKE_BACK: _S.LOOKED_OVER},
}

#: The way of a job that goes as hoped: what the gauge on its page shows, left to right.
GAUGE: tuple[Standing, ...] = (
    _S.ARRIVED,
    _S.LOOKED_OVER,
    _S.PRICED,
    _S.AGREED,
    _S.ON_THE_BENCH,
    _S.PROVING,
    _S.READY,
    _S.GONE_HOME,
)

#: Standings at which nothing more will be done.
OVER = frozenset({_S.GONE_HOME, _S.SENT_BACK, _S.KEPT})

_WHY_NOT: dict[Move, str] = {
    _M.LOOK_OVER: "only a camera that has just arrived is looked over",
    _M.TELL_PRICE: "a price is told once the camera has been looked over and before it is being proved",
    _M.AGREE: "there is no told price that the owner could say yes to",
    _M.TAKE_ON: "the owner has not said yes yet",
    _M.WAIT: "only a job that is agreed, on the bench or proving can wait",
    _M.GO_ON: "the job is not waiting for anything",
    _M.PROVE: "only a job on the bench can be proved",
    _M.BACK_TO_BENCH: "only a job that is being proved or is ready goes back to the bench",
    _M.PASS: "only a job that is being proved can be called ready",
    _M.HAND_BACK: "only a job that is ready can be handed back",
    _M.SEND_BACK: "it is past being sent back unmended",
    _M.KEEP: "it is past being kept for parts",
    _M.TAKE_BACK: "only the end of a job is taken back when it was a slip",
}


def destination(standing: Standing, move: Move, came_from: Standing | None = None) -> Standing:
    """
    Where `move` takes a job that stands at `standing`.

    Parameters
    ----------
    standing : Standing
        Where the job stands.
    move : Move
        What is to be done.
    came_from : Standing, optional
        Where a job was before it began to wait, or before it was over.

    Raises
    ------
    NotNow
        If the move makes no sense there; the message says why.
    """
    if standing in OVER and move is not Move.TAKE_BACK:
        raise NotNow(
            f"Cannot {move}: the job is over, it stands at '{standing}'. Open a new job for the camera."
        )
    if move not in MOVES[standing]:
        raise NotNow(f"Cannot {move}: the job stands at '{standing}', and {_WHY_NOT[move]}.")
    if move in {Move.GO_ON, Move.TAKE_BACK} and came_from is not None:
        return came_from
    return MOVES[standing][move]


def open_moves(standing: Standing) -> tuple[Move, ...]:
    """The moves that make sense now, in the table's order: the likeliest first."""
    return tuple(MOVES[standing])
