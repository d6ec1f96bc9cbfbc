"""
The book as plain numbers: what deeds make of them, and what a database in a file holds of them.

The file is read by SQL alone, so that nothing here shares code with what wrote it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

#: By name: "job 3 paid", "spare 2 lies", "bills". What is nothing is left out.
Account = dict[str, int | str]


@dataclass(frozen=True)
class Deed:
    """One deed: of which job and spare, how many, how much in minor units, how many that were reserved."""

    what: str
    job: int = 0
    spare: int = 0
    count: int = 0
    minor: int = 0
    held: int = 0


#: Where a deed leads a job.
STANDS = {
    "look over": "looked over",
    "tell price": "priced",
    "agree": "agreed",
    "put on bench": "on the bench",
    "prove": "proving",
    "call ready": "ready",
    "hand back": "gone home",
    "send back": "sent back unmended",
    "keep": "kept for parts",
}
OVER = ("gone home", "sent back unmended", "kept for parts")
#: By how many more of the count lie on the shelf, and are in the job's camera.
MOVES = {"put more": (1, 0), "write off": (-1, 0), "use": (-1, 1), "give back": (1, -1), "undo use": (1, -1)}


def after(before: Account, deed: Deed) -> Account:
    """What a deed makes of the numbers, once it is done."""
    now = dict(before)
    job, spare = f"job {deed.job}", f"spare {deed.spare}"

    def more(key: str, by: int) -> None:
        now[key] = number(now, key) + by

    match deed.what:
        case "take in":
            more("jobs", 1)
            now[f"job {now['jobs']} stands"] = "arrived"
        case "find":
            more(f"{job} findings", 1)
        case "tell price":
            now[f"{job} price"], now[f"{job} agreed"], now[f"{job} written"] = deed.minor, 0, 0
        case "agree":
            now[f"{job} agreed"] = deed.minor
        case "write bill":
            now[f"{job} written"] = deed.minor
        case "issue":
            more("bills", 1)
            more(f"{job} asked", number(now, f"{job} written"))
        case "credit":
            more("credit notes", 1)
            now[f"{job} asked"], now[f"{job} written"] = 0, 0
        case "deposit" | "pay":
            more(f"{job} paid", deed.minor)
        case "hand back":
            more(f"{job} paid", deed.minor)
            if not number(now, f"{job} asked"):  # what is written and not issued is issued then
                more("bills", 1)
                more(f"{job} asked", number(now, f"{job} written"))
        case "pay back":
            more(f"{job} paid", -deed.minor)
        case "become donor":
            more("donors", 1)
        case "buy" | "take out":
            more("spares", 1)
            more("parts out", deed.what == "take out")
            now[f"spare {now['spares']} lies"] = deed.count
        case "reserve":
            more(f"{spare} held {deed.job}", deed.count)
        case "let go":
            now[f"{spare} held {deed.job}"] = 0
        case "undo use":
            more(f"{spare} held {deed.job}", deed.held)
        case "use":
            own = number(now, f"{spare} held {deed.job}")
            more(f"{spare} held {deed.job}", -min(own, deed.count))
    if deed.what in MOVES:
        lies, used = MOVES[deed.what]
        more(f"{spare} lies", lies * deed.count)
        more(f"{spare} used {deed.job}", used * deed.count)
    if deed.what in STANDS:
        now[f"{job} stands"] = STANDS[deed.what]
        if STANDS[deed.what] in OVER:
            now |= {key: 0 for key in now if key.startswith("spare") and key.endswith(f" held {deed.job}")}
    return {key: value for key, value in now.items() if value}


def number(account: Account, key: str) -> int:
    return int(account.get(key, 0))


COUNTED = {
    "jobs": "SELECT count(*) FROM book_job",
    "bills": "SELECT count(*) FROM book_bill WHERE kind = 'bill'",
    "credit notes": "SELECT count(*) FROM book_bill WHERE kind = 'credit'",
    "donors": "SELECT count(*) FROM book_donor",
    "parts out": "SELECT count(*) FROM book_donorpart",
    "spares": "SELECT count(*) FROM book_spare",
}
OF_JOBS = {
    "stands": "SELECT number, standing FROM book_job",
    "price": "SELECT number, price_minor FROM book_job",
    "agreed": "SELECT number, agreed_up_to_minor FROM book_job",
    "findings": "SELECT j.number, count(*) FROM book_job j JOIN book_finding f ON f.job_id = j.id GROUP BY 1",
    "written": "SELECT j.number, sum(amount_minor) FROM book_job j JOIN book_priceline l ON l.job_id = j.id"
    " WHERE sheet = 'bill' GROUP BY 1",
    "asked": "SELECT j.number, sum(total_minor) FROM book_job j JOIN book_bill b ON b.job_id = j.id"
    " GROUP BY 1",
    "paid": "SELECT j.number, sum(amount_minor) FROM book_job j JOIN book_payment p ON p.job_id = j.id"
    " GROUP BY 1",
}
OF_SPARES = {
    "lies": "SELECT spare_id, '', sum(lies) FROM book_sparemove GROUP BY 1",
    "held ": "SELECT spare_id, number, sum(held) FROM book_sparemove m JOIN book_job j ON j.id = m.job_id"
    " GROUP BY 1, 2",
    "used ": "SELECT spare_id, number, -sum(lies) FROM book_sparemove m JOIN book_job j ON j.id = m.job_id"
    " GROUP BY 1, 2",
}
#: What must come to the same number: rows, and what the diary says of them.
TOLD = {
    "book_job": ("took in",),
    "book_offer": ("told the price",),
    "book_bill": ("issued the bill", "issued a credit note"),
    "book_payment": ("took a deposit", "recorded a payment", "paid money back", "took a payment back"),
    "book_donor": ("put among the donors",),
    "book_sparemove": (
        *("put on the shelf", "reserved a spare", "let go of a spare", "used a spare", "gave a spare back"),
        *("wrote a spare off", "counted a spare", "undid a move of the shelf"),
    ),
}


def account_in(path: Path) -> Account:
    """The numbers that a book in a file holds."""
    with closing(sqlite3.connect(path)) as book:
        found: Account = {key: book.execute(sql).fetchone()[0] for key, sql in COUNTED.items()}
        for what, sql in OF_JOBS.items():
            found |= {f"job {job} {what}": value for job, value in book.execute(sql)}
        for what, sql in OF_SPARES.items():
            found |= {f"spare {spare} {what}{job}": value for spare, job, value in book.execute(sql)}
    return {key: value for key, value in found.items() if value}


def half_done(path: Path) -> list[str]:
    """What was begun in a book and not brought to its end; nothing in a sound one."""
    with closing(sqlite3.connect(path)) as book:
        return [*_not_told(book), *_out_of_count(book), *_not_adding_up(book), *_overdrawn(book)]


def _not_told(book: sqlite3.Connection) -> Iterable[str]:
    for table, words in TOLD.items():
        (rows,) = book.execute(f"SELECT count(*) FROM {table}").fetchone()
        marks = ", ".join("?" * len(words))
        (told,) = book.execute(
            f"SELECT count(*) FROM book_diaryentry WHERE what IN ({marks})",
            words,
        ).fetchone()
        if rows != told:
            yield f"{table} has {rows} rows, the diary tells of {told}"


def _out_of_count(book: sqlite3.Connection) -> Iterable[str]:
    for series, last in book.execute("SELECT key, last FROM book_numberseries").fetchall():
        given = [
            n for (n,) in book.execute("SELECT n FROM book_bill WHERE series_id = ? ORDER BY n", [series])
        ]
        if given != list(range(1, last + 1)):
            yield f"series {series} is at {last} and gave {given}"


def _not_adding_up(book: sqlite3.Connection) -> Iterable[str]:
    bills = book.execute(
        "SELECT number, total_minor, (SELECT sum(amount_minor) FROM book_billline WHERE bill_id = b.id)"
        " FROM book_bill b"
    )
    yield from (f"bill {number}: {total} of {lines}" for number, total, lines in bills if total != lines)


def _overdrawn(book: sqlite3.Connection) -> Iterable[str]:
    sums = book.execute(
        "SELECT spare_id, sum(lies), sum(held),"
        " sum(CASE WHEN job_id IS NULL AND lies > 0 THEN lies ELSE 0 END),"
        " -sum(CASE WHEN job_id IS NOT NULL THEN lies ELSE 0 END) FROM book_sparemove GROUP BY spare_id"
    )
    for spare, lies, held, put_in, used in sums:
        if not (0 <= held <= lies and 0 <= used <= put_in):
            yield f"spare {spare}: {lies} lie there, {held} held, {put_in} put in, {used} used"
