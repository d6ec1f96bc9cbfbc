"""
Every fixed word that stands on a paper, in one place, so that it may be said in another language.

Words in braces are filled in by `pegwood.papers.view`.
"""

from __future__ import annotations

from collections.abc import Mapping

ENGLISH: Mapping[str, str] = {
    # titles
    "title.receipt": "Receipt",
    "title.condition": "Condition report",
    "title.certificate": "Shutter certificate",
    "title.gauged": "Certificate of measurement",
    "title.price": "The price",
    "title.bill": "Bill",
    "title.credit": "Credit note",
    "title.care": "Care and guarantee",
    "title.trays": "Tray sheet",
    "title.record": "Strip-down record",
    "sub.receipt": "for a camera left with us",
    "sub.condition": "what we saw",
    "sub.certificate": "as found and as left",
    "sub.price": "what it will cost",
    "sub.bill": "for work done",
    "sub.credit": "on bill {number}",
    "sub.draft": "a draft: no bill yet",
    "sub.care": "please keep it with the camera",
    "sub.trays": "what lies in which pocket",
    "sub.record": "what was found, in the order it was found",
    # shared
    "page": "page",
    "of": "of",
    "sheet": "sheet",
    "number": "no.",
    "owner": "Owner",
    "owner.label": "owner",
    "camera": "Camera",
    "camera.family": "kind",
    "camera.maker": "maker",
    "camera.model": "model",
    "camera.serial": "serial no.",
    "camera.lens": "lens",
    "camera.shutter": "shutter",
    "camera.none": "no particulars noted",
    "owner.says": "What the owner tells",
    "photos": "Photographs",
    "photo": "photograph",
    "mark": "the workshop's mark",
    "none": "none",
    "signed.workshop": "for the workshop",
    "signed.owner": "owner",
    "place.date": "place and date",
    "caution": "Caution",
    "missing": "{box} stands for a sign this sheet's letters cannot draw: {codes}. The job book keeps it.",
    # receipt
    "accessories": "Handed in with it",
    "accessories.none": "nothing but the camera",
    "comeback": "It comes back under the guarantee of job no. {number}.",
    "promised": "Promised for",
    "promised.none": "No day is promised yet",
    "next": "What happens next",
    "next.1": "We look the camera over and write down what we see.",
    "next.2": "You are told the price, and the sum beyond which we ask again.",
    "next.3": "Nothing is taken apart beyond looking before you have said yes.",
    "next.4": "You hear from us when it is ready. Please bring this receipt.",
    "terms": "Our terms",
    "receipt.owner.sign": "handed in by",
    "receipt.workshop.sign": "received by",
    # strip-down record
    "record.order": "In the order it was told",
    "record.parts": "Part by part",
    "record.told": "Told at the bench on {date} by {who}",
    "record.kind.seen": "seen",
    "record.kind.done": "done",
    "record.kind.to do": "to be done",
    "record.cause": "as told, {cause}",
    "record.is.earlier": "earlier work",
    "record.note": (
        "Told while the camera was being taken apart, and confirmed by the repairer. Parts that nothing is "
        "said of were not told of; that does not mean that they are as new."
    ),
    "record.surmise": (
        "“Possibly” and “probably” stand before what is surmised and not seen yet: it may turn out otherwise."
    ),
    "record.earlier": (
        "Earlier work is what somebody did on the camera before it came to us, with the means of its day. It "
        "kept the camera going until now."
    ),
    "record.times": "Times count from the beginning of the telling, in hours, minutes and seconds.",
    # condition
    "findings": "What we found",
    "findings.none": "Nothing was found that needs noting.",
    "findings.count.1": "1 finding",
    "findings.count": "{n} findings",
    "findings.mend": "{n} to mend",
    "findings.stay": "{n} can stay",
    "outlook.mend": "mend",
    "outlook.can stay": "can stay",
    "grade": "grade",
    "grade.0": "as new",
    "grade.1": "slight",
    "grade.2": "plain to see",
    "grade.3": "marked",
    "grade.4": "heavy",
    "grade.5": "past use",
    "grades": "The grades",
    "looked.over": "Looked over by {who}, {date}",
    "looked.over.date": "Looked over {date}",
    "looked.over.who": "Looked over by {who}",
    "summary": "In short",
    "condition.note": (
        "This report says what could be seen and felt at the date above. What lies deeper may show itself "
        "only when the camera is opened; you are asked again before anything beyond what was agreed is done."
    ),
    # certificate
    "chart": "Error of each speed",
    "chart.found": "as found",
    "chart.left": "as left",
    "chart.band": "limits",
    "chart.line": "bar: 95 % interval",
    "chart.true": "true",
    "chart.short": "too short, less light",
    "chart.long": "too long, more light",
    "chart.alt": "Chart of the errors in EV by marked speed; the table below holds the same figures.",
    "readings": "The readings",
    "col.marked": "marked, target",
    "col.when": "",
    "col.time": "effective time",
    "col.error": "error, EV",
    "col.verdict": "verdict",
    "col.firings": "firings",
    "col.spread": "spread",
    "col.efficiency": "efficiency",
    "found": "found",
    "left": "left",
    "by.sound": "by sound",
    "by.video": "by video",
    "by.sound.means": (
        "A time by sound runs from the stroke of opening to the stroke of closing, as a microphone heard "
        "them. Nothing of the light was measured; how far strokes and light part is in its uncertainty, from "
        "practice."
    ),
    "by.video.means": (
        "A time by video is made of the light of a phone's frames. What falls between two frames is not "
        "seen; how much that may be is in its uncertainty."
    ),
    "target.exact": "Target times are the exact powers of two that the marks stand for.",
    "target.as marked": "Target times are the marks taken at their word.",
    "verdict.within": "within",
    "verdict.outside": "outside",
    "verdict.too close to call": "too close to call",
    "verdict.no limit given": "no limit given",
    "verdict.within.means": "the whole 95 % interval lies between the limits",
    "verdict.outside.means": "the whole 95 % interval lies beyond a limit",
    "verdict.too close to call.means": "the 95 % interval straddles a limit; the gate cannot tell",
    "verdict.no limit given.means": "nobody has set a limit for this speed",
    "verdicts": "The verdicts",
    "held": "Held by hand",
    "gauged.by": "Measured {on}: {by}.",
    "beside.smaller stops": "{marked}: what to expect at smaller stops",
    "beside.flash contact": "{marked}: flash contact",
    "beside.both curtains": "{marked}: both curtains across the gate",
    "verdict.cannot tell": "cannot tell",
    "limits": "The limits",
    "limits.line": "{range} EV for {speeds}: {whose} ({source}; {mark}). {note}",
    "limits.at.least": "not below {low}",
    "limits.at.most": "not above {high}",
    "limits.whose": "the workshop's own limit",
    "limits.usual": "the limit the workshop uses, as it comes with Pegwood",
    "limits.every": "every speed",
    "limits.none": "No limit is given for {speeds}.",
    "limits.all.none": "No limit is given for any speed; the readings stand without a verdict.",
    "mark.seen": "the source was read",
    "mark.memory": "from memory, the source was not at hand",
    "mark.practice": "common practice, no written source",
    "uncertainty": "The uncertainty",
    "uncertainty.stated": (
        "After ± stands the expanded uncertainty: the standard uncertainty times the coverage factor "
        "k = {k}, so that the interval holds the true value with a confidence of about 95 % (JCGM 100)."
    ),
    "uncertainty.budget": "What it is made of, as standard uncertainty (k = 1) in % of the time",
    "uncertainty.from": "least",
    "uncertainty.to": "most",
    "uncertainty.at": "{share} at {speed}",
    "less.than": "< {figure}",
    "uncertainty.none": "The instrument gave no budget.",
    "gear": "Measured with",
    "gear.none": "no gear is listed",
    "gear.serial": "serial no. {serial}",
    "gear.checked": "checked {date}",
    "gear.unchecked": "no check is on record",
    "gear.calibrated": "{what}: {gear}, calibrated {date}, due again {due}. Used for {readings}.",
    "readings.all": "all readings",
    "readings.of": "{speeds} {when}",
    "clock.allowed": "Clock not calibrated, taken to be within {ppm} ppm: {readings}.",
    "gear.due": "due again {date}",
    "gear.overdue": "the check was due {date}, before this measurement",
    "method": "The method",
    "method.coupled": "The sensor is coupled {coupling}.",
    "method.definition": (
        "The effective exposure time is the exposure divided by the illuminance with the shutter fully "
        "open: the integral of the light curve over its height (ISO 516; from memory, the text was not at "
        "hand). The error is "
        "log2(effective time / target time) in EV; above zero lets in too much light. Spread is the standard "
        "deviation of the firings in EV; efficiency is effective time over total time."
    ),
    # ISO 516:2019 on its tolerances: seen, in the sample text of its scope
    "method.standard": (
        "ISO 516 calls its tolerances target values and no inspection standard. Nothing here is passed or "
        "failed against it: the limits are those named above."
    ),
    "method.temperature": "Temperature at the bench: {degrees} °C.",
    "remarks": "Remarks",
    "refused": "Not measured",
    "refused.line": "{marked}: {reason}.",
    "refused.later": "A later try gave no figure. {reason}",
    "refused.when": "{marked}, {when}",
    "held.open": "open for {time} ± {plus_minus} {unit}, mean of {n}",
    "held.open.1": "open for {time} ± {plus_minus} {unit}",
    "tag.for": "for {name}",
    "remark.at": "{speeds}: {remark}",
    "measured.on": "Measured: {parts}.",
    "measured.found": "as found {date}",
    "measured.left": "as left {date}",
    "certificate.sign": "measured by",
    # money
    "lines": "What it is for",
    "line.labour": "Labour",
    "line.part": "Parts",
    "line.other": "Other",
    "line.what": "what",
    "line.quantity": "quantity",
    "line.each": "each",
    "line.amount": "amount",
    "subtotal": "Sum of the lines",
    "tax.added": "{name} {rate} % on {base}",
    "tax.included": "of which {name} {rate} % on {base}",
    "total.price": "The price",
    "total.bill": "To pay in all",
    "total.credit": "Taken off in all",
    "up.to": "Without asking again we go up to",
    "up.to.note": "If the work would cost more than this, we stop and ask you first.",
    "yes": "How to say yes",
    "yes.1": "Sign the slip below and send or bring it, or tell us so: by word, by telephone or in writing.",
    "yes.2": "If you would rather not, say so too, and fetch your camera.",
    "yes.slip": "Yes, please mend camera no. {number}, up to {sum} without asking again.",
    "yes.sign": "name and signature",
    "yes.date": "date",
    "valid": "This price stands until {date}.",
    "may.change": "What may change it",
    "may.change.1": (
        "What shows itself only when the camera is open, and parts that break although taken off with care."
    ),
    "deposit": "Deposit",
    "deposit.note": "We begin when it is here; it is set off against the bill.",
    "if.no": "If you say no",
    "if.no.together": "The camera is put together again and goes back unmended.",
    "if.no.as it is": "The camera goes back as it lies, taken apart as far as it is.",
    "if.no.costs": "For looking and putting together we then ask {sum}.",
    "bill.date": "Date of the bill",
    "tag.agreed": "agreed up to {sum}",
    "agreed": "Agreed",
    "agreed.line": "up to {sum}",
    "agreed.on": "on {date}",
    "paid": "Paid",
    "paid.line": "{sum} {how}",
    "paid.full": "Paid in full, with thanks",
    "owed": "Still to pay",
    "owed.back": "Paid too much; we owe you",
    "draft.note": "A draft. The bill gets its number when it is issued; do not pay on this sheet.",
    "credited": "Taken off by credit note",
    "credit.reason": "Why",
    "due": "Please pay by {date}",
    "pay.to": "Pay to",
    # care
    "done": "What was done",
    "left.alone": "Found, and left as it is",
    "guarantee": "Guarantee",
    "guarantee.until": "until",
    "guarantee.months": "{n} months from the day the camera is fetched",
    "guarantee.months.1": "1 month from the day the camera is fetched",
    "guarantee.none": "No guarantee is given on this work.",
    "guarantee.on.1": "the work named above and the parts put in",
    "guarantee.not.1": "parts that were not worked on",
    "guarantee.not.2": "damp, sand, falls and force",
    "guarantee.not.3": "work by other hands since then",
    "guarantee.law": "What the law gives you stays yours.",
    "guarantee.on": "It is given on",
    "guarantee.not": "It does not cover",
    "guarantee.how": "If something is not right, stop using the camera and bring or send it with this slip.",
    "keep": "How to use and keep it",
    "keep.1": "Wind and fire it a few times every other month; grease that rests too long stiffens.",
    "keep.2": "Never force a lever or ring. If it will not move, stop and ask us.",
    "keep.3": "Keep it dry, cool and in the light now and then: damp and darkness let fungus grow.",
    "keep.4": "Try it with a roll that does not matter before one that does.",
    # tray sheet
    "trays.tray": "Tray",
    "trays.as.of": "as the log stood {date}, {time}",
    "trays.of": "from {name}",
    "trays.waits": "({where})",
    "trays.back": "({n} back)",
    "trays.explained": "({why})",
    "trays.more.1": "and 1 more (see the log)",
    "trays.more": "and {n} more (see the log)",
    "trays.more.short": "+{n}, see log",
    "trays.cut": "… (see the log)",
    "trays.cut.short": "… see log",
    "trays.beside": "Beside the trays",
    "trays.step": "the step in the log",
    "trays.note": "written down before it moved",
    "trays.struck.like": "struck through",
    "trays.struck": "back in the camera, or explained",
}

LANGUAGES: Mapping[str, Mapping[str, str]] = {"en": ENGLISH}


def words(locale: str) -> Mapping[str, str]:
    """
    The fixed words for a locale; English where its language has none yet.

    Parameters
    ----------
    locale : str
        Such as `en_GB`.

    Returns
    -------
    words : mapping of str to str
    """
    return LANGUAGES.get(locale.replace("-", "_").split("_")[0], ENGLISH)
