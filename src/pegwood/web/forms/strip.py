"""A step of a strip-down as it is entered at the bench."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BaseFormSet, formset_factory

from pegwood.anatomy import bench_log
from pegwood.anatomy.bench_log import Written
from pegwood.anatomy.comes_away import EARLIER_HAND, comes_away_with
from pegwood.anatomy.parts import Note, Part, Way
from pegwood.book.models import Kept, StripDown, TakenOff
from pegwood.book.models.bench import GRADES
from pegwood.book.refusal import Refused
from pegwood.book.stripping.kept import MEASURES, KeptDetails
from pegwood.book.stripping.off import OffDetails
from pegwood.book.stripping.pockets import pocket_name, read_pocket
from pegwood.web.forms.fields import NumberField, PlainForm, line
from pegwood.web.forms.widgets import ManyTaps

#: Empty rows for what the family does not know of.
MORE_ROWS = 3
MOST_ROWS = 60
KINDS = [("", "–"), *Kept.Kind.choices]


class KeptForm(PlainForm):
    """Something kept; a row without a kind is none."""

    kind = forms.ChoiceField(label="What", choices=KINDS, required=False)
    what = forms.CharField(label="More", required=False, max_length=120, widget=line())
    count = forms.IntegerField(
        label="How many",
        required=False,
        min_value=0,
        max_value=200,
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), "A whole number, 0 to 200."),
        widget=line(inputmode="numeric", size="4"),
    )
    thread = forms.CharField(label="Thread", required=False, max_length=40, widget=line(size="10"))
    length_mm = NumberField(label="Length, mm", such_as="3.5", widget=line(inputmode="decimal", size="6"))
    head = forms.CharField(label="Head", required=False, max_length=60, widget=line(size="14"))
    thickness_mm = NumberField(
        label="Thickness, mm", such_as="0.2", widget=line(inputmode="decimal", size="7")
    )
    thickness_u_mm = NumberField(
        label="± (one standard uncertainty), mm",
        such_as="0.005",
        widget=line(inputmode="decimal", size="7"),
    )
    place = forms.CharField(label="Belongs where", required=False, max_length=120, widget=line())
    side = forms.CharField(label="On which side", required=False, max_length=120, widget=line())
    # Which of the things that the family knows of; and its key in the book.
    of = forms.IntegerField(required=False, widget=forms.HiddenInput)
    row = forms.IntegerField(required=False, widget=forms.HiddenInput)

    @property
    def is_shim(self) -> bool:
        """Whether its thickness matters."""
        return self["kind"].value() in {Kept.Kind.SHIM, Kept.Kind.WASHER}

    @property
    def is_screw(self) -> bool:
        """Whether it has a thread."""
        return bool(self["kind"].value() == Kept.Kind.SCREW)

    @property
    def is_new(self) -> bool:
        """Whether it is an empty row."""
        return not self["kind"].value()


KeptFormSet = formset_factory(KeptForm, extra=0, max_num=MOST_ROWS, absolute_max=MOST_ROWS)


class OffForm(PlainForm):
    """A step: the part, what is seen, where it is laid."""

    part = forms.CharField(required=False, max_length=120, widget=forms.HiddenInput)
    name = forms.CharField(label="Which part", required=False, max_length=120, widget=line(list="part-names"))
    way = forms.CharField(required=False, max_length=120, widget=forms.HiddenInput)
    pocket = forms.CharField(
        label="Laid into", required=False, max_length=40, widget=line(size="16", enterkeyhint="done")
    )
    condition = forms.CharField(
        label="What you see on it", required=False, max_length=240, widget=line(placeholder="rust, gummed")
    )
    grade = forms.TypedChoiceField(
        label="How bad", required=False, coerce=int, empty_value=None, choices=[("", "–"), *GRADES.items()]
    )
    place = forms.CharField(label="Where on it", required=False, max_length=120, widget=line())
    earlier_hand = forms.MultipleChoiceField(
        label="Somebody was in there before",
        required=False,
        choices=[(one, one) for one in EARLIER_HAND],
        widget=ManyTaps,
    )
    held_to = forms.CharField(
        label="It was held to", required=False, max_length=400, widget=line(placeholder="top cover, frame")
    )
    hidden_under = forms.CharField(
        label="What held it was hidden under",
        required=False,
        max_length=400,
        widget=line(placeholder="covering"),
    )
    minutes = NumberField(label="Minutes, if the clock is wrong", such_as="4 or 2.5")

    def __init__(self, *args: Any, asks: Sequence[Note] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.asks = tuple(asks)
        for n, note in enumerate(self.asks):
            self.fields[f"note_{n}"] = forms.CharField(
                label=f"First: {note.kind}",
                help_text=note.says,
                required=False,
                max_length=240,
                widget=line(),
            )
        for kind in ("count turns", "scribe"):
            self.fields[f"own_{kind.replace(' ', '_')}"] = forms.CharField(
                label=OWN_NOTES[kind], required=False, max_length=240, widget=line()
            )

    @property
    def asked(self) -> list[forms.BoundField]:
        """The notes that the family asks for before the part moves."""
        return [self[f"note_{n}"] for n in range(len(self.asks))]

    @property
    def own_notes(self) -> list[forms.BoundField]:
        """Notes nobody asks for."""
        return [self[f"own_{kind.replace(' ', '_')}"] for kind in OWN_NOTES]

    @property
    def written(self) -> tuple[Written, ...]:
        """The notes that were written down."""
        given = self.cleaned_data
        asked = [Written(kind=note.kind, says=given[f"note_{n}"]) for n, note in enumerate(self.asks)]
        own = [
            Written(kind="count turns", says=given["own_count_turns"]),
            Written(kind="scribe", says=given["own_scribe"]),
        ]
        return tuple(one for one in (*asked, *own) if one.says)


OWN_NOTES = {"count turns": "Turns or start thread", "scribe": "Line scribed, or which way round"}


def kept_forms(
    data: Mapping[str, Any] | None, initial: Sequence[dict[str, Any]] = ()
) -> BaseFormSet[KeptForm]:
    """The rows of what is kept, some of them empty."""
    if data is not None:
        return KeptFormSet(data, prefix="kept")
    return KeptFormSet(initial=[*initial, *({} for _ in range(MORE_ROWS))], prefix="kept")


def of_family(part: Part | None) -> list[dict[str, Any]]:
    """The rows for what comes away with a part, as its family has it."""
    if part is None:
        return []
    return [
        {
            "kind": one.kind,
            "what": one.what,
            "count": one.count,
            "thread": one.thread,
            "head": one.head,
            "length_mm": one.length_mm,
            "place": one.place,
            "side": one.side,
            "of": n,
        }
        for n, one in enumerate(comes_away_with(part))
    ]


def of_step(
    step: TakenOff, part: Part | None, way: Way | None
) -> tuple[tuple[Note, ...], dict[str, Any], list[dict[str, Any]]]:
    """A logged step as it stands in the form again: the notes asked for, its fields, what was kept."""
    asks, fields = list(way.before if way else ()), {}
    for note in step.notes:
        n = next(
            (n for n, one in enumerate(asks) if one.kind == note["kind"] and f"note_{n}" not in fields), None
        )
        own = f"own_{note['kind'].replace(' ', '_')}"
        if n is not None:
            fields[f"note_{n}"] = note["says"]
        elif note["kind"] in OWN_NOTES and own not in fields:
            fields[own] = note["says"]
        else:
            fields[f"note_{len(asks)}"] = note["says"]
            asks.append(Note(kind=note["kind"], says=""))
    fields |= {
        "part": step.part,
        "name": step.name,
        "way": step.way,
        "pocket": pocket_name(step.tray, step.pocket) or "beside",
        "held_to": ", ".join(step.held_to),
        "hidden_under": ", ".join(step.hidden_under),
    }
    names = (*(name for name in MEASURES if name != "as_family"), "thickness_u_mm")
    rows = [{**{name: getattr(one, name) for name in names}, "row": one.pk} for one in step.kept.all()]
    known = comes_away_with(part) if part else ()
    for row, one in zip(rows, step.kept.all(), strict=True):
        if one.as_family:  # it stays the family's word until somebody measures
            row["of"] = next((n for n, other in enumerate(known) if _is_that(one, other)), None)
    return tuple(asks), fields, rows


def _is_that(kept: Kept, known: bench_log.Kept) -> bool:
    names = ("kind", "what", "count", "thread", "length_mm", "place", "side")
    return all(getattr(kept, name) == getattr(known, name) for name in names)


def details_of(
    form: OffForm,
    kept: BaseFormSet[KeptForm],
    *,
    met: str,
    part: Part | None,
    way: Way | None,
    strip_down: StripDown,
) -> OffDetails:
    """
    The step that was entered. Both forms are valid.

    Raises
    ------
    django.core.exceptions.ValidationError
        If the pocket is none.
    """
    given = form.cleaned_data
    try:
        pocket = read_pocket(given["pocket"], strip_down)
    except Refused as reason:
        raise ValidationError({"pocket": str(reason)}) from None
    known = comes_away_with(part) if part else ()
    return OffDetails(
        part=part.id if part else "",
        name=part.name if part else given["name"],
        way=way.name if way else "",
        side=way.side if way else "",
        tool=way.tool if way else "",
        met=met,
        held_to=_listed(given["held_to"]),
        hidden_under=_listed(given["hidden_under"]),
        notes=form.written,
        kept=tuple(one for row in kept.forms if (one := _kept(row.cleaned_data, known))),
        pocket=pocket,
        condition=given["condition"],
        grade=given["grade"],
        place=given["place"],
        earlier_hand=tuple(given["earlier_hand"]),
        minutes=given["minutes"],
    )


def _kept(given: Mapping[str, Any], known: Sequence[bench_log.Kept]) -> KeptDetails | None:
    if not given.get("kind") or given.get("count") == 0:
        return None
    names = ("kind", "what", "thread", "head", "length_mm", "thickness_mm", "thickness_u_mm", "place", "side")
    details = KeptDetails(
        **{name: given[name] for name in names}, count=given["count"] or 1, row=given["row"]
    )
    of = given.get("of")
    if of is None or not 0 <= of < len(known):
        return details
    family = known[of]
    same = all(getattr(family, name) == getattr(details, name) for name in ("count", "thread", "length_mm"))
    return replace(details, as_family=same and details.thickness_mm is None)


def _listed(text: str) -> tuple[str, ...]:
    return tuple(filter(None, (one.strip() for one in text.split(","))))
