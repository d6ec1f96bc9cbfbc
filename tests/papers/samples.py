"""Papers of an invented workshop in Maarhaven: rich ones, bare ones, and some full of hostile text."""

from __future__ import annotations

import hashlib
import io
import math
from dataclasses import replace

from PIL import Image, ImageDraw

from pegwood.papers.content import (
    KINDS,
    Agreed,
    Bill,
    Camera,
    Care,
    Caution,
    Certificate,
    Condition,
    Finding,
    Gear,
    Head,
    Held,
    Limit,
    Line,
    Owner,
    PaperContent,
    Photo,
    Price,
    Reading,
    Receipt,
    Refusal,
    Share,
    Speed,
    Tag,
    Tax,
    Trays,
    Workshop,
)
from pegwood.papers.record import Noted, Record, Telling
from pegwood.papers.tray_sheet import Lying, Pocket, Tray
from pegwood.pricing.money import Money

FILES: dict[str, bytes] = {}

HOSTILE = [
    '#import "sheet.typ": *',
    '#read("paper.json")',
    "*bold* _it_ $x^2$ \\ `code` <label> @ref // no /* no */",
    "] #panic() [",
    "${7*7} {{7*7}} {0} {sum} %s",
    "= heading\n- item\n+ item",
    "-- --- ... 'quoted' \"quoted\" ~ \\u{41}",
    "<script>alert(1)</script> &amp; \\n",
]


def euro(minor: int) -> Money:
    """So many cents."""
    return Money(minor, "EUR")


def picture(seed: int, width: int = 640, height: int = 480) -> Photo:
    """A photograph of nothing in particular: a dark box with a ring on a bench, filed under its hash."""
    image = Image.new("RGB", (width, height), (214 - seed * 7 % 40, 203, 184))
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, height * 0.72, width, height), fill=(150, 128, 98))
    draw.rounded_rectangle(
        (width * 0.14, height * 0.28, width * 0.86, height * 0.8),
        26,
        fill=(46, 44, 46),
        outline=(20, 20, 22),
        width=4,
    )
    for ring in range(6):
        radius = height * (0.22 - ring * 0.03)
        tone = 70 + ring * 22 + seed * 5 % 30
        centre = (width * (0.42 + 0.03 * (seed % 5)), height * 0.54)
        box = (centre[0] - radius, centre[1] - radius, centre[0] + radius, centre[1] + radius)
        draw.ellipse(box, fill=(tone, tone, tone + 6))
    draw.rectangle((width * 0.2, height * 0.2, width * 0.34, height * 0.28), fill=(168, 168, 172))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=80)
    return filed(out.getvalue(), f"view {seed}")


def filed(content: bytes, caption: str = "") -> Photo:
    """Any bytes as a picture under their hash."""
    name = hashlib.sha256(content).hexdigest()
    FILES[name] = content
    return Photo(file=name, caption=caption)


def mark() -> str:
    """The workshop's mark: a harbour light."""
    image = Image.new("RGB", (400, 360), "white")
    draw = ImageDraw.Draw(image)
    draw.polygon([(150, 340), (250, 340), (225, 120), (175, 120)], fill=(32, 37, 42))
    draw.rectangle((165, 80, 235, 120), fill=(121, 82, 15))
    draw.polygon([(155, 80), (245, 80), (200, 40)], fill=(32, 37, 42))
    for angle in (-24, 0, 24):
        for side in (-1, 1):
            end = (
                200 + side * 170 * math.cos(math.radians(angle)),
                100 - 170 * math.sin(math.radians(angle)),
            )
            draw.line([(200 + side * 55, 100), end], fill=(121, 82, 15), width=7)
    out = io.BytesIO()
    image.save(out, "PNG")
    return filed(out.getvalue()).file


SHOP = Workshop(
    name="Werfkade Camera Workshop",
    address=("Werfkade 11", "4417 Maarhaven"),
    contact=("+00 555 0417", "bench@werfkade.example"),
    registration=("Register of trades Maarhaven 88-417", "Tax no. MH 0417 1108 B01"),
    pay_to=("Maarhaven Savings Bank", "account MH00 0417 0417 04, in the name of Werfkade Camera Workshop"),
    mark=mark(),
)
HEAD = Head(
    workshop=SHOP,
    tag=Tag(number="417", what="Tessaly Pilot II", who="for Ilse Marrick"),
    made_at="2026-03-04T14:05:00+01:00",
    zone="Europe/Amsterdam",
    made_by="Joos Verwey",
    number="417-1",
)
LATER = replace(HEAD, made_at="2026-04-02T10:30:00+02:00")
ILSE = Owner(
    name="Ilse Marrick",
    address=("Touwbaan 3", "4417 Maarhaven"),
    contact=("+00 555 0188", "ilse@marrick.example"),
)
PILOT = Camera(
    family="Folding roll-film camera, front-cell focus",
    maker="Tessaly",
    model="Pilot II",
    serial="T 204 417",
    lens="Kestrane 105 mm 1:4.5, no. 88120",
    shutter="Vorrin 0, 1 s to 1/250, B, T",
)
STORY = (
    "It was my grandfather's. It lay in a cellar since I was small and the shutter sticks on the slow "
    "speeds, sometimes it does not open at all. It smells of oil.\n"
    "I would like to take it to the islands in May. The leather on the back is coming off at one corner, "
    "but that need not be new."
)
NAPHTHA = Caution(
    subject="Naphtha",
    text="flash point below 0 °C. No flame, no ultrasonic bath, window open. Your local rules come first.",
)
WORKSHOP_LIMIT = Limit(
    low_ev=-1 / 3,
    high_ev=1 / 3,
    whose="the workshop's own limit for between-lens shutters made before 1960",
    source="usual at the bench",
    mark="practice",
)
FAST_LIMIT = replace(WORKSHOP_LIMIT, low_ev=-0.5, high_ev=0.5)


def reading(
    error_ev: float,
    u_ev: float,
    target_s: float,
    limit: Limit | None,
    *,
    n: int = 5,
    spread: float = 0.06,
    measured_on: str = "2026-03-31",
) -> Reading:
    """A reading with the verdict that follows from its figures."""
    k = 2.13
    low, high = error_ev - k * u_ev, error_ev + k * u_ev
    if limit is None:
        verdict = "no limit given"
    elif limit.low_ev <= low and high <= limit.high_ev:
        verdict = "within"
    elif high < limit.low_ev or low > limit.high_ev:
        verdict = "outside"
    else:
        verdict = "too close to call"
    effective = target_s * 2**error_ev
    u_s = effective * math.log(2) * u_ev
    return Reading(
        effective_s=effective,
        effective_u_s=u_s,
        error_ev=error_ev,
        error_u_ev=u_ev,
        coverage_factor=k,
        verdict=verdict,  # type: ignore[arg-type]
        n=n,
        spread_ev=spread,
        efficiency=0.97 - 0.05 * abs(math.log2(target_s)) / 2,
        measured_on=measured_on,
        limit=limit,
        budget=(
            Share(name="repeatability", u_s=0.9 * u_s, how="scatter of the firings"),
            Share(name="edge", u_s=0.3 * u_s, how="where the light curve begins and ends"),
            Share(name="noise", u_s=0.2 * u_s, how="of sensor and converter"),
            Share(name="light ripple", u_s=0.15 * u_s, how="mains lamp behind a diffuser"),
            Share(name="clock", u_s=2e-5 * effective, how="sampling clock against a time signal"),
        ),
    )


def _speed(
    marked: str,
    power: int,
    found: tuple[float, float] | None,
    left: tuple[float, float] | None,
    limit: Limit | None,
) -> Speed:
    target = 2.0**-power
    return Speed(
        marked=marked,
        target_s=target,
        found=reading(*found, target, limit, spread=0.21, measured_on="2026-03-05") if found else None,
        left=reading(*left, target, limit) if left else None,
    )


CERTIFICATE = Certificate(
    head=replace(LATER, number="417-certificate-1"),
    owner=ILSE,
    camera=PILOT,
    target="exact",
    speeds=(
        _speed("1", 0, (1.84, 0.05), (0.09, 0.021), WORKSHOP_LIMIT),
        _speed("1/2", 1, (1.31, 0.04), (0.04, 0.018), WORKSHOP_LIMIT),
        _speed("1/5", 2, None, (-0.11, 0.02), WORKSHOP_LIMIT),
        _speed("1/10", 3, (0.83, 0.031), (-0.04, 0.012), WORKSHOP_LIMIT),
        _speed("1/25", 5, (0.55, 0.022), (0.02, 0.014), WORKSHOP_LIMIT),
        _speed("1/50", 6, (0.47, 0.02), (0.05, 0.016), WORKSHOP_LIMIT),
        _speed("1/100", 7, (0.30, 0.028), (0.07, 0.012), WORKSHOP_LIMIT),
        _speed("1/250", 8, (0.52, 0.06), (0.30, 0.035), FAST_LIMIT),
    ),
    held=(Held(marked="B", found="stays open", left="opens and closes with the finger"),),
    refused=(
        Refusal(
            marked="1/5",
            when="as found",
            reason="the shutter did not open in three of five firings, and two are no group",
            remedy="Warm it to 20 °C or work on it first; then fire again.",
        ),
    ),
    gear=(
        Gear(
            what="Light gate, silicon diode, DC coupled",
            serial="LG-02",
            checked_on="2026-01-12",
            due_on="2027-01-12",
        ),
        Gear(what="Recorder, 96 kHz, 24 bit", serial="R 1177", checked_on="2025-01-20", due_on="2026-01-20"),
        Gear(what="Lamp with diffuser", note="direct current"),
    ),
    method="Light gate",
    coupling="DC",
    sensor=("Sensor flat to 100 kHz; dark level taken before each firing.", "Clock 4 ppm slow, corrected."),
    temperature_c=20.5,
    remarks=("Four good firings of five at 1/10 as found; the fifth stuck and was left out.",),
    signed_by="Joos Verwey",
)

LINES = (
    Line(kind="labour", what="Shutter: strip, clean, oil the slow train, time", quantity="1.75", unit="h",
         each=euro(6000), amount=euro(10500)),
    Line(kind="labour", what="Bellows: close two pinholes in the lower fold", quantity="0.5", unit="h",
         each=euro(6000), amount=euro(3000)),
    Line(kind="part", what="Light seal, back", quantity="1", unit="pc", each=euro(450), amount=euro(450)),
    Line(kind="other", what="Parcel home, insured", amount=euro(550)),
)  # fmt: skip
VAT = Tax(name="VAT", rate_percent="21", base=euro(11983), amount=euro(2517), included=True)

RECEIPT = Receipt(
    head=replace(HEAD, number="417-receipt-1"),
    owner=ILSE,
    camera=PILOT,
    accessories=("leather case, strap torn", "lens cap", "yellow filter, 32 mm, in a tin"),
    story=STORY,
    photos=tuple(picture(n) for n in range(5)),
    promised_on="2026-04-03",
    terms=("A camera not fetched within a year of our letter may be kept for its parts.",),
)
CONDITION = Condition(
    head=replace(HEAD, number="417-condition-1"),
    owner=ILSE,
    camera=PILOT,
    story=STORY,
    summary="A sound camera that has been oiled by somebody with good will. Worth mending.",
    findings=(
        Finding(part="Shutter blades", condition="oil film, blades hang together", grade=3,
                place="all five, rear side",
                note="Oil has crept from the slow train. The blades themselves are straight.", outlook="mend",
                photos=(picture(5), picture(6))),
        Finding(part="Slow train", condition="gummed", grade=4, outlook="mend"),
        Finding(part="Bellows", condition="two pinholes", grade=3, place="lower fold, right",
                note="Seen against a lamp in the dark.", outlook="mend", photos=(picture(7),)),
        Finding(part="Front element", condition="light haze", grade=1, place="rim", outlook="can stay"),
        Finding(part="Leather, back", condition="lifts at one corner", grade=2, place="lower left",
                note="The owner does not want it new.", outlook="can stay"),
        Finding(part="Struts", condition="true, no play"),
    ),
    photos=(picture(8), picture(9)),
    looked_over_by="Joos Verwey",
    looked_over_on="2026-03-03",
    cautions=(NAPHTHA,),
)  # fmt: skip
PRICE = Price(
    head=replace(HEAD, number="417-price-1"),
    owner=ILSE,
    camera=PILOT,
    lines=LINES,
    taxes=(VAT,),
    total=euro(14500),
    up_to=euro(18000),
    valid_until="2026-04-03",
    may_change=(
        "If the main spring is tired too, it must be replaced: about half an hour more, and a spring.",
    ),
    terms=("Paid when fetched.",),
)
BILL = Bill(
    head=replace(LATER, number="417-bill-1"),
    owner=ILSE,
    camera=PILOT,
    lines=LINES,
    taxes=(VAT,),
    total=euro(14500),
    agreed=Agreed(up_to=euro(18000), on="2026-03-06", how="by telephone"),
    paid=euro(5000),
    paid_how="in cash",
    paid_on="2026-03-06",
    due_on="2026-04-16",
    terms=("The camera stays the workshop's pledge until it is paid.",),
)
CARE = Care(
    head=replace(LATER, number="417-care-1"),
    owner=ILSE,
    camera=PILOT,
    done=(
        "Shutter stripped, cleaned and timed; slow train oiled; measured as found and as left, "
        "see the certificate.",
        "Two pinholes in the bellows closed.",
        "New light seal in the back.",
    ),
    left_alone=("Light haze at the rim of the front element; it does not show in pictures.",),
    guarantee_until="2026-10-02",
    guarantee_on=("the shutter and its timing", "the closed pinholes"),
    guarantee_not=("damp, sand, a fall, or a screwdriver in other hands", "parts that were not worked on"),
    cautions=(
        Caution(
            subject="Bellows",
            text="open and close it slowly: fast pulling sucks in dust and tears old folds.",
        ),
    ),
)
TRAYS = Trays(
    head=replace(HEAD, tag=Tag(number="417", what="Tessaly Pilot II", who=""), number="417-trays-1"),
    camera=PILOT,
    columns=4,
    rows=3,
    trays=(
        Tray(
            number=1,
            pockets=(
                Pocket(number=1, lying=(
                    Lying(step=1, role="part", text="Front cell", waits="being cleaned"),
                    Lying(step=1, role="note", text="count turns: 1 3/4 to the stop"),
                    Lying(step=1, role="kept", text="3 screws M1.4x0.3, 2.2 mm; rim"),
                )),
                Pocket(number=2, lying=(
                    Lying(step=2, role="part", text="Cocking ring", out=False),
                    Lying(step=2, role="kept", text="spring; under the ring", out=False),
                )),
                Pocket(number=3, lying=(
                    Lying(step=3, role="of", text="Shutter"),
                    Lying(step=3, role="kept", text="shim, 0.200 mm ± 0.010 mm (k = 2); left strut"),
                    Lying(step=3, role="kept", text="4 screws M1.7x0.35, 3.5 mm; rear", back=1),
                )),
                Pocket(number=4, lying=(
                    Lying(step=4, role="of", text="Click stop", out=False),
                    Lying(step=4, role="kept", text="ball", out=False, explained="lost, a new one goes in"),
                )),
            ),
        ),
        Tray(number=2),
    ),
    beside=(Lying(step=5, role="part", text="Top cover"),),
)  # fmt: skip
RECORD = Record(
    head=replace(HEAD, number="417-record-1"),
    owner=ILSE,
    camera=PILOT,
    tellings=(
        Telling(on="2026-03-04", by="Tove Halm", noted=(
            Noted(kind="seen", part="top cover", says="bent", at="0:02:20", grade=1, place="at the lug"),
            Noted(kind="seen", part="shutter blades", says="oily", at="0:04:15", grade=4, outlook="mend",
                  cause="from the helicoid's grease running"),
            Noted(kind="seen", part="slow train", says="possibly gummed", at="0:05:31", surmise=True),
            Noted(kind="seen", part="covering", says="non-original glue", at="0:09:00", earlier=True,
                  outlook="can stay"),
            Noted(kind="done", part="shutter blades", says="Degreased the shutter blades", at="0:31:02"),
            Noted(kind="to do", part="bellows", says="Patch the bellows", at="1:02:20"),
        )),
        Telling(on="2026-03-05", by="Tove Halm", noted=(
            Noted(kind="seen", part="rear element", says="no fungus"),
        )),
    ),
)  # fmt: skip
RICH: dict[str, PaperContent] = {
    paper.kind: paper for paper in (RECEIPT, CONDITION, CERTIFICATE, PRICE, BILL, CARE, TRAYS, RECORD)
}

NOBODY = Head(
    workshop=Workshop(name="W"), tag=Tag(number="1", what="", who=""), made_at="2026-01-02T00:00:00+00:00"
)
_BARE = {"head": NOBODY, "owner": Owner(name=""), "camera": Camera()}
BARE: dict[str, PaperContent] = {
    "receipt": Receipt(**_BARE),
    "condition": Condition(**_BARE),
    "certificate": Certificate(
        **_BARE,
        target="as marked",
        speeds=(Speed(marked="1/60", target_s=1 / 60, left=reading(0.1, 0.02, 1 / 60, None)),),
    ),
    "price": Price(**_BARE, lines=(Line(kind="other", what="x", amount=euro(0)),), total=euro(0)),
    "bill": Bill(
        **{**_BARE, "head": replace(NOBODY, number="1")},
        lines=(Line(kind="other", what="x", amount=euro(0)),),
        total=euro(0),
    ),
    "care": Care(**_BARE),
    "trays": Trays(head=NOBODY, camera=Camera(), columns=4, rows=3, trays=(Tray(number=1),)),
    "record": Record(
        **_BARE,
        tellings=(Telling(on="2026-01-02", by="", noted=(Noted(kind="done", part="", says="x"),)),),
    ),
}

LONG_WORD = "Zeitlupenhemmwerksankerradachse" * 8
LETTERS = "Łódź Ærø ŝ Ωμέγα Жёлтый עברית عربي 山田 👍🏽 n\u0303 \u202eabc"


def hostile(text: str) -> dict[str, PaperContent]:
    """Every kind of paper with one text wherever a person could have typed it."""
    short = text[:20]
    shop = Workshop(
        name=text[:120],
        address=(text,),
        contact=(text,),
        registration=(text,),
        pay_to=(text,),
        mark=SHOP.mark,
    )
    head = Head(
        workshop=shop,
        tag=Tag(number="417", what=text[:200], who=text[:200]),
        made_at=HEAD.made_at,
        made_by=text,
        number="417-1",
    )
    owner = Owner(name=text, address=(text,), contact=(text,))
    camera = Camera(family=text, maker=text, model=text, serial=text, lens=text, shutter=text)
    common = {"head": head, "owner": owner, "camera": camera}
    limit = replace(WORKSHOP_LIMIT, whose=text, source=text)
    shot = replace(picture(1), caption=text)
    line = Line(kind="labour", what=text, quantity="1.5", unit=text[:12], each=euro(100), amount=euro(150))
    tax = Tax(name=text, rate_percent="21", base=euro(150), amount=euro(32), included=False)
    caution = Caution(subject=text, text=text)
    papers = (
        Receipt(**common, accessories=(text,), story=text, photos=(shot,), next_steps=(text,), terms=(text,)),
        Condition(
            **common,
            story=text,
            findings=(
                Finding(
                    part=text, condition=text, grade=5, place=text, note=text, outlook="mend", photos=(shot,)
                ),
            ),
            photos=(shot,),
            looked_over_by=text,
            summary=text,
            cautions=(caution,),
        ),
        Certificate(
            **common,
            target="exact",
            speeds=(
                Speed(marked=short, target_s=0.5, where=short, left=reading(0.1, 0.02, 0.5, limit)),
            ),
            held=(Held(marked=short, found=text, left=text),),
            refused=(Refusal(marked=short, when="as found", reason=text, remedy=text),),
            gear=(Gear(what=text, serial=text, note=text),),
            method=text,
            coupling=text,
            sensor=(text,),
            remarks=(text,),
            signed_by=text,
        ),
        Price(
            **common, lines=(line,), taxes=(tax,), total=euro(182), yes_by=(text,), may_change=(text,),
            cautions=(caution,), terms=(text,),
        ),
        Bill(
            **common, lines=(line,), taxes=(tax,), total=euro(182), agreed=Agreed(up_to=euro(200), how=text),
            paid=euro(100), paid_how=text, terms=(text,),
        ),
        Care(
            **common, done=(text,), left_alone=(text,), guarantee_until="2026-10-02", guarantee_on=(text,),
            guarantee_not=(text,), keep=(text,), cautions=(caution,),
        ),
    )  # fmt: skip
    lying = Lying(step=1, role="part", text=text, waits=text, explained=text)
    trays = Trays(
        head=head,
        camera=camera,
        columns=1,
        rows=1,
        trays=(Tray(number=1, pockets=(Pocket(number=1, lying=(lying,)),)),),
        beside=(lying,),
    )
    seen = Noted(kind="seen", part=text, says=text, place=text, cause=text, earlier=True, surmise=True)
    record = Record(**common, tellings=(Telling(on="2026-03-04", by=text, noted=(seen, seen)),))
    papers = (*papers, trays, record)
    assert [paper.kind for paper in papers] == list(KINDS)
    return {paper.kind: paper for paper in papers}
