"""Run in a workshop of its own by `served.Bench.fill`: a book with some of everything to look at."""

import django

django.setup()

import io  # noqa: E402
import json  # noqa: E402
from datetime import timedelta  # noqa: E402
from uuid import UUID  # noqa: E402

import numpy as np  # noqa: E402
import soundfile  # noqa: E402
from django.conf import settings  # noqa: E402
from django.utils import timezone  # noqa: E402

from browser.things import (  # noqa: E402
    CLEANED,
    GUMMED,
    across_the_gate,
    photograph,
    recorded,
    with_contact,
)
from instruments.five_places import five  # noqa: E402
from instruments.slanted import Blur, Scene  # noqa: E402
from instruments.sounds import Camera  # noqa: E402
from instruments.sounds import session as session_of_sounds  # noqa: E402
from pegwood.book import (  # noqa: E402
    agreeing,
    arriving,
    benchwork,
    calibrating,
    family_files,
    leaving,
    listening,
    looking,
    measuring,
    moving,
)
from pegwood.book.arrangement import Arrangement  # noqa: E402
from pegwood.book.arriving import CameraDetails, OwnerDetails  # noqa: E402
from pegwood.book.billing import clock as bench_clock  # noqa: E402
from pegwood.book.billing.issuing import issue_bill  # noqa: E402
from pegwood.book.family_learning import make_family  # noqa: E402
from pegwood.book.gauging import WAYS, Sent, keep_gauging, typed_figures  # noqa: E402
from pegwood.book.hearing import drop, keep, take_narration  # noqa: E402
from pegwood.book.looking import FindingDetails  # noqa: E402
from pegwood.book.models import Job, Measurement  # noqa: E402
from pegwood.book.spares import taking  # noqa: E402
from pegwood.book.spares.donors import DonorDetails, keep_donor, not_in_it, take_out  # noqa: E402
from pegwood.book.spares.fitting import Fitting, say_fits  # noqa: E402
from pegwood.book.spares.putting import (  # noqa: E402
    SpareDetails,
    measure_spare,
    put_on_shelf,
    say_worth,
)
from pegwood.book.stripping.back import let_part_wait  # noqa: E402
from pegwood.book.stripping.off import OffDetails, log_off  # noqa: E402
from pegwood.book.taken import Taken  # noqa: E402
from pegwood.book.weighing.about import the_causes  # noqa: E402
from pegwood.book.weighing.answering import answer_sign  # noqa: E402
from pegwood.book.weighing.mending import log_mend  # noqa: E402
from pegwood.book.weighing.ruling import rule  # noqa: E402
from pegwood.book.weighing.telling import tell  # noqa: E402
from pegwood.book.workshop import change_settings  # noqa: E402
from pegwood.demo.stripping import strip_down  # noqa: E402
from pegwood.demo.world import StripEntry  # noqa: E402
from pegwood.papers import make_paper  # noqa: E402
from pegwood.pricing.money import Money  # noqa: E402
from pegwood.web.hearing import ears  # noqa: E402

BY = "Tove Halm"
NOW = timezone.now()
DAY = timedelta(days=1)

change_settings(
    {
        "name": "Halm, camera repairs",
        "repairer": BY,
        "hourly_rate": 6000,
        "time_zone": "Europe/Amsterdam",
        "mark": looking.keep_photo(io.BytesIO(photograph(grey=200)), "mark.jpg").sha256,
        "limits": [
            {
                "kind": "leaf",
                "age": "any",
                "slowest_s": 1,
                "fastest_s": 0.002,
                "unit": "ev",
                "low": -0.33,
                "high": 0.33,
                "source": "this workshop",
                "mark": "practice",
            }
        ],
    },
    by=BY,
)
gear = benchwork.list_gear("light gate", serial="LG-2", checked_on=(NOW - 30 * DAY).date(), by=BY)
LINES = [
    agreeing.Line(what="clean the shutter", minutes=45),
    agreeing.Line(what="light seals", kind="part", amount=Money(1250, "EUR")),
]


def camera(maker: str, model: str, family: str = "folding-roll-front-cell", **more) -> CameraDetails:
    return CameraDetails(family=family, maker=maker, model=model, **more)


def read(job, faults, seed: int, phase: str = "", marked: str = "1/50"):
    content = io.BytesIO(recorded(faults, seed=seed, firings=3).wav)
    kept = measuring.keep_recording(job, content, f"gate-{seed}.wav", marked=marked, gear=gear, by=BY)
    got = measuring.read_recording(kept, by=BY)
    return measuring.accept_measurement(got, phase, by=BY) if phase else got


def looked_over(job):
    found = looking.note_finding(
        job,
        FindingDetails(
            part="shutter blades",
            condition="oil film",
            grade=3,
            outlook="mend",
            place="all five",
            note="slow",
        ),
        by=BY,
    )
    looking.note_finding(
        job, FindingDetails(part="bellows", condition="two pinholes", grade=2, outlook="can stay"), by=BY
    )
    looking.add_photo(job, io.BytesIO(photograph()), name="blades.jpg", finding=found, caption="oil", by=BY)
    return moving.look_over(job, by=BY)


def agreed(job):
    job = agreeing.tell_price(looked_over(job), LINES, by=BY)
    return agreeing.record_yes(job, how="by telephone", up_to=Money(8000, "EUR"), by=BY)


ilse = arriving.register_owner(
    OwnerDetails(name="Ilse Marrick", phone="0555-0132", email="ilse@example.org", address="Rope Walk 9"),
    by=BY,
)

# 1: everything on one card, ready to be proved
one = arriving.take_in(
    ilse,
    camera(
        "Vorrin", "Wayfarer", serial="A-20417", lens="Tessaly 75 mm f/3.5", shutter="leaf", year_made=1952
    ),
    by=BY,
    story="Found in a cellar.\nThe shutter sticks when it is cold.",
    accessories="case, strap",
    promised_on=(NOW + 9 * DAY).date(),
    at=NOW - 6 * DAY,
)
looking.add_photo(one, io.BytesIO(photograph(grey=90)), name="front.jpg", caption="as it came", by=BY)
looking.add_photo(one, io.BytesIO(photograph("HEIF", grey=150)), name="back.heic", by=BY)
one = agreed(one)
read(one, GUMMED, 3, "as found")
benchwork.log_work(
    moving.put_on_bench(one, by=BY), "cleaned the blades", part="shutter blades", minutes=30, by=BY
)
one.refresh_from_db()
one = moving.prove(one, by=BY)
read(one, CLEANED, 4, "as left")
read(one, CLEANED, 5, marked="1/25")
refused = measuring.keep_recording(one, io.BytesIO(b"RIFF"), "broken.wav", marked="1/100", by=BY)
measuring.read_recording(refused, by=BY)
measuring.set_aside(read(one, CLEANED, 6, marked="1/100"), "lamp bumped", by=BY)
for kind in ("receipt", "condition", "certificate"):
    make_paper(one, kind, by=BY, at=NOW)
arriving.remark(one, "owner rang, is in no hurry", by=BY)

# a session of listening that nobody kept yet: four firings, one of them slow
session = listening.begin_listening(
    one,
    UUID("1d2c3b4a-5968-4776-8574-a3b2c1d0e9f8"),
    listening.Plan(speeds=("1/25", "1/50", "1/100", "1/200"), firings=4),
    rate=96_000,
    channels=1,
    gear=gear,
    by=BY,
)
listening.note_step(
    session, {"n": 1, "at": 0, "do": "listen", "voice": "one", "device": "line in", "bent": []}
)
session = listening.session_of(one, session.ticket)
listening.note_step(session, {"n": 2, "at": 0, "do": "go", "speed": "1/50"})
session = listening.session_of(one, session.ticket)
heard, rate = soundfile.read(
    io.BytesIO(recorded(GUMMED, seed=12, firings=4).wav), dtype="int32", always_2d=True
)
assert rate == session.spool.rate
for start in range(0, len(heard), 48_000):
    piece = (heard[start : start + 48_000, :1] >> 8).astype("<i4").view("u1").reshape(-1, 4)[:, :3]
    ears.take(session, start, piece.tobytes())
ears.finish(session)

# 2 arrived, late; 3 looked over; 4 priced; 5 agreed; 6 waiting
benno = OwnerDetails(name="Benno Tjaard")
late = (NOW - 2 * DAY).date()
reflex = camera("Aldermoor", "R2", "reflex-35-cloth", serial="20-11873")
arriving.take_in(benno, reflex, by=BY, story="mirror stays up", promised_on=late, at=NOW - 20 * DAY)
looked_over(arriving.take_in(OwnerDetails(name="Maite Orlan"), camera("Vorrin", "Clipper"), by=BY))
three = arriving.take_in(OwnerDetails(name="Pell Adriaansen"), camera("Kestrane", "Box", "box"), by=BY)
agreeing.tell_price(looked_over(three), LINES, by=BY)
agreed(arriving.take_in(OwnerDetails(name="Wim Duyf"), camera("Vorrin", "Coaster"), by=BY))
six = arriving.take_in(OwnerDetails(name="Nele Brandsma"), camera("Vorrin", "Ferry"), by=BY)
moving.let_wait(moving.put_on_bench(agreed(six), by=BY), "part", note="a spring", by=BY)

# 7 ready without a bill; 8 ready with one; 9 gone home; 10 sent back
for then in ("no bill", "bill", "home"):
    job = arriving.take_in(OwnerDetails(name=f"Jorrit {then.title()}"), camera("Tessaly", "Pocket"), by=BY)
    job = moving.call_ready(moving.prove(moving.put_on_bench(agreed(job), by=BY), by=BY), by=BY)
    if then != "no bill":
        total = agreeing.write_bill(job, LINES, by=BY)
    if then == "home":
        bench_clock.start(job, by=BY, at=NOW - DAY)
        bench_clock.stop(job, by=BY, at=NOW - DAY)
        bench_clock.correct(job, 62, "timed by hand", by=BY)
        leaving.hand_back(job, paid=total, paid_how="cash", by=BY)
job = arriving.take_in(OwnerDetails(name="Oda Kroon"), camera("Vorrin", "Lark"), by=BY)
answer_sign(job, "shutter.blades-look", "drops", by=BY)
rule(job, "shutter.oiled-blades", True, by=BY)
leaving.send_back_unmended(looked_over(job), "too far gone", by=BY)  # so it teaches
LESSONS = settings.WORKSHOP.root / "lessons"
LESSONS.mkdir()
(LESSONS / "broken.toml").write_text("use = 3\n", "utf-8")

# 11: a reflex measured across its gate; 12: a leaf shutter with its flash contact and its stops
GATE = Arrangement(places_m=(0.0, 0.018, 0.036), gate_m=0.036, gap_m=0.0015, f_number=8.0)
CONTACT = Arrangement(contact=1, widest=3.5)


def arranged(job, content: bytes, marked: str, phase: str, how: Arrangement):
    kept = measuring.keep_recording(
        job, io.BytesIO(content), "gate.wav", marked=marked, gear=gear, arrangement=how, by=BY
    )
    measuring.accept_measurement(measuring.read_recording(kept, by=BY), phase, by=BY)


job = arriving.take_in(OwnerDetails(name="Rieke Stam"), reflex, by=BY)
arranged(job, across_the_gate(seed=8), "1/500", "as found", GATE)
arranged(job, across_the_gate(seed=9, delay_s=0.0022), "1/500", "as left", GATE)
job = arriving.take_in(OwnerDetails(name="Lodewijk Baan"), camera("Vorrin", "Pilot"), by=BY)
arranged(job, with_contact(seed=10), "1/50", "as found", CONTACT)

# by sound, in 12: one that was told and one that cannot be; and the gear with a clock calibrated, and overdue
camera_heard = Camera.drawn(np.random.default_rng(3), opening_db=-3.0, release_db=None, rattle_db=None)
sounds = session_of_sounds(np.random.default_rng(11), 0.25, 3, camera=camera_heard)
for marked in ("1/4", "1/250"):
    heard_too = io.BytesIO()
    soundfile.write(heard_too, sounds.samples(), sounds.rate, subtype="PCM_16", format="WAV")
    heard_too.seek(0)
    by_sound = Taken(by="sound", mirror="none")
    kept = measuring.keep_recording(
        job, heard_too, "slow.wav", marked=marked, gear=gear, taken=by_sound, by=BY
    )
    got = measuring.read_recording(kept, by=BY)
    if marked == "1/4":
        measuring.accept_measurement(got, "as found", by=BY)
for days, rate_hz in ((30, 48_000), (500, 48_000), (500, 96_000)):
    clock = {
        "calibration": "clock", "stated_rate_hz": rate_hz, "by": "tone", "reference_hz": 1000.0,
        "error": 63e-6, "error_u": 6e-6,
    }  # fmt: skip
    found = calibrating.saved_calibration(json.dumps(clock).encode(), "clock.json")
    calibrating.enter_calibration(gear, found, by=BY, made_on=(NOW - days * DAY).date())

# 13: a reflex half taken apart and partly together again; 14: one that no family describes, nothing off yet
job = arriving.take_in(OwnerDetails(name="Femke Oord"), camera("Tessaly", "Duo", "twin-lens-reflex"), by=BY)
job = moving.put_on_bench(agreed(job), by=BY)
train = StripEntry(day=1, reach=("slow train",), steps=14, back=2)
strip_down(job, train, 5, by=BY, at=NOW - DAY)
let_part_wait(job.taken_off.first(), "cleaning", by=BY, note="in the bath")
log_off(job, OffDetails(name="a plate nobody knows", met="missing"), by=BY)
job = arriving.take_in(OwnerDetails(name="Femke Oord"), camera("Tessaly", "Oddling", "other"), by=BY)
moving.put_on_bench(agreed(job), by=BY)

# 15: another such, and a family made of it; and a file that somebody broke
job = arriving.take_in(OwnerDetails(name="Femke Oord"), camera("Tessaly", "Oddling", "other"), by=BY)
for name in ("front bezel", "lens cell", "shutter plate"):
    log_off(job, OffDetails(name=name, minutes=4), by=BY)
make_family([job], "Oddling with leaf shutter", by=BY)
(family_files.folder() / "broken.toml").write_text('id = "broken"\nname = 3\n', "utf-8")

# what is wrong with 2: told, looked at, decided and mended; what was seen last is explained by nothing
two = Job.objects.get(number=2)
tell(two, ["dropped", "unserved-long"], ["sand"], by=BY)
answer_sign(two, "mirror-box.mirror-return", "stays up", by=BY)
answer_sign(two, "mirror-box.mirror-look", "sort of specks or haze", by=BY)
answer_sign(two, "mirror-box.finder-dirt", "don't know", by=BY)
answer_sign(two, "mirror-box.screen-loose", "yes", by=BY)
for fault in ("mirror-box.screen-seat-wrong", "mirror-box.prism-shifted"):
    rule(two, fault, False, by=BY)
slow = the_causes(two).faults["mirror-box.mirror-slow"]
log_mend(two, slow.id, slow.mends[0].name, minutes=20, worked=False, by=BY)

# the shelf: a cell that fades, one kept for job 2, one of which none is left, a donor half empty
cell = put_on_shelf(
    SpareDetails(
        name="selenium cell", family="twin-lens-reflex", maker="Tessaly", model="Duo", grade=2,
        place="drawer 3", cost=Money(2400, "EUR"), good_from=60.0, note="cut to size once",
    ),
    2,
    by=BY,
)  # fmt: skip
for days, reading in ((500, 92.0), (10, 80.0)):
    measure_spare(cell, "output", reading, 1.5, "µA", on=(NOW - days * DAY).date(), note="1000 lx", by=BY)
damper = put_on_shelf(SpareDetails(name="mirror foam", family="reflex-35-cloth", place="tin 2"), 3, by=BY)
taking.reserve(damper, two, by=BY)
spring = put_on_shelf(SpareDetails(name="a spring nobody knows"), by=BY)
taking.write_off(spring, 1, "flew off", by=BY)
donor = keep_donor(
    DonorDetails(family="box", maker="Kestrane", model="Box", serial="K-118", place="shelf B"), by=BY
)
take_out(donor, SpareDetails(name="drive spring", place="tin 1"), by=BY)
not_in_it(donor, "body.red-window", reason="broken", by=BY)
say_fits(
    Fitting(
        family="reflex-35-cloth", part=damper.part, to_family="reflex-35-metal-vertical", to_part=damper.part,
        source="tried it on job 2", mark="practice",
    ),
    by=BY,
)  # fmt: skip
say_worth("reflex-35-cloth", damper.part, Money(4500, "EUR"), by=BY)

# 16: home, its bill not paid and long due; and a clock that was forgotten at 2, by somebody else
job = arriving.take_in(OwnerDetails(name="Sanne Vos"), camera("Vorrin", "Lugger"), by=BY)
job = moving.call_ready(moving.prove(moving.put_on_bench(agreed(job), by=BY), by=BY), by=BY)
agreeing.write_bill(job, LINES, by=BY)
issue_bill(job, by=BY, at=NOW - 30 * DAY)
leaving.hand_back(job, by=BY)
bench_clock.start(Job.objects.get(number=2), by="Pim, apprentice", at=NOW - 2 * DAY)

# told of 2 at the bench: some kept, one dropped, one mended that taught a word; the rest open
TOLD = """0:00:03 lamp on
0:00:12 the mirror foam is perished, gone to tar, needs replacing
0:00:30 the focusing screen is slightly scratched
0:00:41 no fungus on the pentaprism
0:00:55 second curtain might be torn at the edge
0:01:10 nine of ten of these have a perished mirror foam
0:01:30 cleaned the focusing screen
0:01:44 the top cover is dented, and the lever is stiff"""
told = take_narration(two, text=TOLD, by=BY)
first, second, *rest = told.proposals.exclude(kind="remark")
keep(first, by=BY)
drop(second, by=BY, reason="it was a hair", heard="scratched", meant="patched")
assert len(rest) > 3, "open ones to look at"

# meters, on 1 as found and as left, and on 2 one that waits for a word and one that was refused
METER = WAYS["meter"]
for number, off, phase in ((1, 0.7, "as found"), (1, 0.1, "as left"), (2, -0.4, ""), (2, None, "")):
    levels = [(ev, way) for way in ("up", "down") for ev in (5, 8, 11, 14)]
    rows = [
        (str(ev), "gone" if off is None else f"{ev + off + 0.02 * (ev % 3):.1f}", way) for ev, way in levels
    ]
    table = typed_figures(METER.columns, rows, "meter.csv")
    kept = keep_gauging(Job.objects.get(number=number), METER, [table], said={"cell": "selenium"}, by=BY)
    got = measuring.read_recording(kept, by=BY)
    if phase:
        measuring.accept_measurement(got, phase, by=BY)

# on 3 a register at four points, a tilt from five edges, and focus at two stops
REGISTER = WAYS["focus-flange"]
rows = [
    (f"{43.93 + x * 1e-3 + slip:.3f}", str(x), str(y), "")
    for x, y in ((15, 10), (-15, 10), (-15, -10), (15, -10))
    for slip in (0.004, -0.004)
]
SCREWS = [20.0, 0.0, -10.0, 17.0, -10.0, -17.0]
told = {"nominal_mm": 43.9, "screws_mm": SCREWS}
table = typed_figures(REGISTER.columns, rows, "register.csv")
measuring.read_recording(keep_gauging(Job.objects.get(number=3), REGISTER, [table], said=told, by=BY), by=BY)
AT = (0.06, 0.18, 0.3, 0.42)
draw = np.random.default_rng(8)
tilted = [five(lambda right, _up: 0.24 + 0.04 * right, at, draw, side=150) for at in AT]
edges = [
    Scene(blur=Blur(float(np.hypot(1, 12 * (at - best)))), width=160, height=160).picture(draw).read()
    for best in (0.22, 0.27)
    for at in AT
]
for way, pictures, beside in (
    ("focus-tilt", tilted, {"at_mm": AT, "stop": 2.0, "screws_mm": SCREWS}),
    ("focus-stops", edges, {"at_mm": AT * 2, "stops": [2.0] * 4 + [5.6] * 4}),
):
    sent = [Sent(io.BytesIO(one), f"f{n}.jpg") for n, one in enumerate(pictures)]
    kept = keep_gauging(Job.objects.get(number=3), WAYS[way], sent, said=beside, by=BY)
    measuring.read_recording(kept, by=BY)
GAUGINGS = Measurement.objects.exclude(instrument="shutter")
assert list(GAUGINGS.values_list("pk", flat=True)) == list(range(11, 18)), "the pages are asked for by these"
assert GAUGINGS.filter(progress="refused").count() == 1
