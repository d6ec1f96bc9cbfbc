"""A bench that does deeds at random, and writes into a log what it begins and what is done."""

from __future__ import annotations

import json
import os
import random
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path

from keeping.account import Deed
from pegwood.book import agreeing, arriving, leaving, looking, moving
from pegwood.book.agreeing import Line
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.billing import payments
from pegwood.book.billing.issuing import credit, issue_bill
from pegwood.book.billing.owing import live_bill, taken_back
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Donor, Job, Spare, SpareMove
from pegwood.book.refusal import Refused
from pegwood.book.spares import taking
from pegwood.book.spares.donors import donor_from, still_in, take_out
from pegwood.book.spares.putting import SpareDetails, put_more, put_on_shelf
from pegwood.book.states import OVER
from pegwood.pricing.money import Money

BY = "bench"
MOST_OPEN = 4
#: What is done next to a job, by where it stands; what stands there twice is done twice as often.
NEXT = {
    "arrived": ("find", "look over"),
    "looked over": ("tell price", "tell price", "tell price", "keep"),
    "priced": ("agree", "agree", "agree", "tell price", "send back"),
    "agreed": ("put on bench", "deposit"),
    "on the bench": ("prove", "write bill", "deposit"),
    "proving": ("call ready", "write bill"),
    "ready": ("write bill", "issue", "issue", "issue", "pay", "credit", "hand back", "hand back"),
    "gone home": ("pay", "credit", "credit", "pay back"),
    "kept for parts": ("become donor", "take out"),
}
AT_THE_SHELF = (
    *("buy", "put more", "reserve", "reserve", "use", "use", "use", "let go", "give back", "write off"),
    "undo use",
)


def euros(minor: int) -> Money:
    return Money(minor, "EUR")


def do(deed: Deed) -> None:
    """Have it done by the book."""
    job = Job.objects.filter(number=deed.job).first()
    spare = Spare.objects.filter(pk=deed.spare).first()
    sum_, count = euros(deed.minor), deed.count
    lines = [
        Line(what="work", amount=euros(deed.minor - deed.minor // 3)),
        Line(what="part", kind="part", amount=euros(deed.minor // 3)),
    ]
    deeds: dict[str, Callable[[], object]] = {
        "take in": lambda: arriving.take_in(
            OwnerDetails(name="Benno Tjaard"), CameraDetails(family="box"), by=BY
        ),
        "find": lambda: looking.note_finding(job, FindingDetails(part="shutter", condition="slow"), by=BY),
        "look over": lambda: moving.look_over(job, by=BY),
        "tell price": lambda: agreeing.tell_price(job, lines, by=BY),
        "agree": lambda: agreeing.record_yes(job, how="by telephone", up_to=sum_, by=BY),
        "put on bench": lambda: moving.put_on_bench(job, by=BY),
        "prove": lambda: moving.prove(job, by=BY),
        "call ready": lambda: moving.call_ready(job, by=BY),
        "write bill": lambda: agreeing.write_bill(job, lines, by=BY),
        "issue": lambda: issue_bill(job, by=BY),
        "credit": lambda: credit(live_bill(job), "wrong", by=BY),
        "deposit": lambda: payments.take_deposit(job, sum_, "cash", by=BY),
        "pay": lambda: payments.record_payment(job, sum_, "cash", by=BY),
        "pay back": lambda: payments.pay_back(job, sum_, "cash", "too much", by=BY),
        "hand back": lambda: leaving.hand_back(job, paid=sum_, paid_how="cash", by=BY),
        "send back": lambda: leaving.send_back_unmended(job, "too far gone", by=BY),
        "keep": lambda: leaving.keep_for_parts(job, "by letter", by=BY),
        "become donor": lambda: donor_from(job, by=BY),
        "take out": lambda: take_out(job.donor, SpareDetails(name=still_in(job.donor)[0].name), by=BY),
        "buy": lambda: put_on_shelf(SpareDetails(name="spring", cost=sum_), count, by=BY),
        "put more": lambda: put_more(spare, count, by=BY),
        "reserve": lambda: taking.reserve(spare, job, count, by=BY),
        "let go": lambda: taking.let_go(spare, job, by=BY),
        "use": lambda: taking.use(spare, job, count, by=BY),
        "give back": lambda: taking.give_back(spare, job, count, by=BY),
        "write off": lambda: taking.write_off(spare, count, "broke", by=BY),
        "undo use": lambda: taking.undo(_latest_use(deed.spare, deed.job), by=BY),
    }
    deeds[deed.what]()


def chosen(chance: random.Random) -> Deed | None:
    """A deed that makes sense where the book stands, or nearly: it may be refused. None if there is none."""
    jobs = list(Job.objects.order_by("-number")[: 3 * MOST_OPEN])
    standing = [job for job in jobs if job.stands not in OVER]
    if len(standing) < MOST_OPEN:
        return Deed("take in")
    if chance.random() < 0.5:
        job = chance.choice(standing if chance.random() < 0.7 else jobs)
        return _of_a_job(job, chance.choice(NEXT.get(job.standing, ("find",))), chance)
    what, count = chance.choice(AT_THE_SHELF), chance.choice([1, 1, 1, 2, 3])
    spares = list(Spare.objects.order_by("-pk")[:6])
    if what == "buy" or not spares:
        return Deed("buy", count=count + 2, minor=chance.randrange(1, 4000))
    spare, job = chance.choice(spares), chance.choice(standing)
    if what in {"put more", "write off"}:
        return Deed(what, spare=spare.pk, count=count)
    if what == "undo use":
        used = _latest_use(spare.pk, job.number)
        if used is None:
            return None
        return Deed(what, job=job.number, spare=spare.pk, count=-used.lies, held=-used.held)
    return Deed(what, job=job.number, spare=spare.pk, count=count)


def _of_a_job(job: Job, what: str, chance: random.Random) -> Deed | None:
    minor = chance.randrange(3, 20_000)
    if what == "agree" and job.price_minor is not None:
        minor += job.price_minor
    bill = live_bill(job)
    if what == "credit" and (bill is None or taken_back(bill)):
        return None
    donor = Donor.objects.filter(job=job).first()
    if (what == "take out" and donor is None) or (what == "become donor" and donor is not None):
        return None
    return Deed(what, job=job.number, minor=minor, count=int(what == "take out"))


def _latest_use(spare: int, job: int) -> SpareMove | None:
    used = SpareMove.objects.filter(spare=spare, job__number=job, kind="used", undone_by=None)
    return used.order_by("-pk").first()


def work(log: Path, seed: int, done: Callable[[], None]) -> None:
    """One deed after the other, for ever."""
    chance = random.Random(seed)
    book = os.open(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT)

    def write(*words: object) -> None:
        os.write(book, (json.dumps(words) + "\n").encode())

    while True:
        deed = chosen(chance)
        if deed is None:
            continue
        write("begun", asdict(deed))
        try:
            do(deed)
        except Refused:
            write("refused")
        except BaseException as error:
            write("broke", repr(error))
            raise
        else:
            write("done")
        done()


def read(log: Path, offset: int) -> tuple[int, Iterator[tuple[str, Deed]]]:
    """
    What a log tells from there on, and where it ends: each deed with "done", "refused", "broke: why" or, for
    one that the kill cut short, "begun". A line that was cut short was not written.
    """
    content = log.read_bytes()[offset:] if log.exists() else b""
    whole = content[: content.rfind(b"\n") + 1]
    return offset + len(content), _told([json.loads(line) for line in whole.splitlines()])


def _told(lines: list[list[object]]) -> Iterator[tuple[str, Deed]]:
    for n, (word, *told) in enumerate(lines):
        if word == "begun":
            came_to = lines[n + 1] if n + 1 < len(lines) else ["begun"]
            yield ": ".join(map(str, came_to)), Deed(**told[0])
