"""What is dictated: the narration itself, and one thing heard in it as a person puts it right."""

from __future__ import annotations

from typing import Any

from django import forms

from pegwood.book.hearing import LARGEST_FILE, Mended
from pegwood.book.looking import LONGEST
from pegwood.book.models import SaidProposal
from pegwood.book.models.bench import GRADES
from pegwood.book.told import WORKS, Told
from pegwood.web.forms.fields import PlainForm, area, line
from pegwood.web.forms.widgets import ManyTaps, Taps

LONGEST_TYPED = 300_000
"""Characters: five hours of talk; more comes as a file."""
_GRADES = [("", "no grade"), *((str(grade), f"{grade} {word}") for grade, word in GRADES.items())]
_KINDS = (
    ("finding", "something seen"),
    ("done", "work done"),
    ("to do", "work to do"),
    ("remark", "a remark"),
)
_SURE = (("plain", "as seen"), ("probable", "probably"), ("possible", "possibly"))


class NarrationForm(PlainForm):
    """What was said: typed, pasted, or a file of it."""

    text = forms.CharField(
        label="What was said",
        required=False,
        max_length=LONGEST_TYPED,
        widget=area(8, autocapitalize="sentences", enterkeyhint="enter"),
        help_text="As you talk at the bench: no need for full sentences. A line may begin with a time.",
    )
    file = forms.FileField(
        label="Or a file of it",
        required=False,
        max_length=200,
        help_text="Text, SRT or WebVTT, from any recogniser.",
        widget=forms.FileInput(
            attrs={
                "accept": ".txt,.srt,.vtt,text/plain,text/vtt,application/x-subrip",
                "data-most": LARGEST_FILE,
            }
        ),
        error_messages={
            "empty": "The file is empty. Choose another.",
            "max_length": "The file's name is longer than 200 characters. Give it a shorter one.",
        },
    )

    def clean(self) -> dict[str, Any]:
        """One of both: a text with a file beside it would leave open which was meant."""
        given = super().clean() or {}
        if not self.errors and bool((given.get("text") or "").strip()) == bool(given.get("file")):
            both = bool(given.get("file"))
            why = "Write it here or send a file: one of both." if both else "Write it here, or send a file."
            self.add_error("text", why)
        return given


class MendForm(PlainForm):
    """One thing heard, put right."""

    kind = forms.ChoiceField(
        label="It is",
        choices=_KINDS,
        widget=Taps,
        error_messages={"required": "Tap what it is.", "invalid_choice": "Tap one of the four."},
    )
    part = forms.CharField(
        label="Part",
        required=False,
        max_length=LONGEST["part"],
        widget=line(list="parts-of-it", autocapitalize="none"),
    )
    called = forms.CharField(
        label="Which words meant the part",
        required=False,
        max_length=120,
        help_text="If another part was heard, or none: they are taught, and known the next time.",
        widget=line(autocapitalize="none"),
    )
    condition = forms.CharField(
        label="Condition",
        required=False,
        max_length=120,
        widget=line(list="conditions-known", autocapitalize="none"),
    )
    condition_called = forms.CharField(
        label="Which words meant the condition",
        required=False,
        max_length=120,
        help_text="Only if they are to be known the next time.",
        widget=line(autocapitalize="none"),
    )
    certainty = forms.ChoiceField(label="How sure", required=False, choices=_SURE, widget=Taps)
    denied = forms.BooleanField(label="It is not there: “no fungus”", required=False)
    grade = forms.ChoiceField(label="How bad", required=False, choices=_GRADES, widget=Taps)
    place = forms.CharField(label="Where on it", required=False, max_length=LONGEST["place"], widget=line())
    work = forms.MultipleChoiceField(
        label="Work", required=False, choices=[(key, key) for key in WORKS], widget=ManyTaps
    )
    words = forms.CharField(label="The remark", required=False, max_length=LONGEST["note"], widget=area(2))

    @classmethod
    def of(cls, told: Told, called: str, auto_id: str) -> MendForm:
        """As it was heard; `called` is what the part was most likely called."""
        kind = "remark" if told.kind == SaidProposal.Kind.REMARK else "finding"
        if told.kind == SaidProposal.Kind.WORK:
            kind = "done" if told.done else "to do"
        return cls(
            auto_id=auto_id,
            initial={
                "kind": kind,
                "part": told.part,
                "called": called,
                "condition": told.condition,
                "certainty": told.certainty,
                "denied": told.denied,
                "grade": "" if told.grade is None else str(told.grade),
                "place": told.place,
                "work": [one for one in told.work if one in WORKS],
                "words": told.words if kind == "remark" else "",
            },
        )

    @property
    def mended(self) -> Mended:
        """What the person made of it."""
        given = self.cleaned_data
        kind = given["kind"]
        return Mended(
            kind="work" if kind in ("done", "to do") else kind,
            part=given["part"],
            condition=given["condition"],
            grade=int(given["grade"]) if given["grade"] else None,
            place=given["place"],
            certainty=given["certainty"] or "plain",
            denied=given["denied"],
            work=tuple(given["work"]),
            done=kind == "done",
            words=given["words"] if kind == "remark" else "",
            called=given["called"],
            condition_called=given["condition_called"],
        )


class MissedForm(MendForm):
    """Something that was said and not heard."""

    missed = forms.CharField(
        label="The words, as they stand above",
        max_length=400,
        help_text="Mark them above before you open this, and they stand here.",
        widget=line(autocapitalize="none"),
        error_messages={"required": "Write the words that were missed."},
    )


class DropForm(PlainForm):
    """Why something heard is dropped, and what was misheard."""

    reason = forms.CharField(label="Why, if you like", required=False, max_length=240, widget=line())
    heard = forms.CharField(
        label="The word that was misheard",
        required=False,
        max_length=120,
        help_text="With what was really said: it is taught, and known the next time.",
        widget=line(autocapitalize="none"),
    )
    meant = forms.CharField(
        label="What was really said", required=False, max_length=120, widget=line(autocapitalize="none")
    )
