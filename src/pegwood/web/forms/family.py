"""A family of the workshop's own, as it is changed on its pages."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from django import forms
from django.core.exceptions import ValidationError
from django.utils.html import format_html

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.learning.edited import PartEdit, WayEdit
from pegwood.anatomy.learning.naming import fresh_id, part_called
from pegwood.anatomy.parts import Minutes, Part, Scarce, Side, Tool
from pegwood.book.models import Job
from pegwood.book.refusal import Refused
from pegwood.book.trade_tables import materials_named, tables
from pegwood.trade.materials import MATERIALS
from pegwood.trade.names import nearest
from pegwood.web.forms.fields import NumberField, PlainForm, line
from pegwood.web.forms.widgets import ManyTaps, Taps

LONGEST_NAME = 80


def _choices(kind: Any) -> list[tuple[str, str]]:
    return [(one, one) for one in get_args(kind)]


class FamilyNameForm(PlainForm):
    """What a family is called."""

    name = forms.CharField(label="Name", max_length=LONGEST_NAME, widget=line())


class PartForm(PlainForm):
    """
    A part of a family.

    Parameters
    ----------
    family : Construction
    part : Part, optional
        None for a new one.
    evidence : mapping of (first, then) to str
        Why one part comes off before another, as far as jobs show it.
    """

    name = forms.CharField(label="Name", max_length=120, widget=line())
    also = forms.CharField(
        label="Other names", required=False, max_length=400, widget=line(placeholder="bezel, front ring")
    )
    materials = forms.CharField(
        label="Materials",
        required=False,
        max_length=400,
        help_text="With commas between them; empty while nobody has looked.",
        widget=line(list="materials", placeholder="brass, nickel plate"),
    )
    scarce = forms.ChoiceField(label="A spare is", choices=_choices(Scarce), widget=Taps)
    not_in_all = forms.BooleanField(label="Some variants never had it", required=False)
    side = forms.ChoiceField(label="From the", choices=_choices(Side), widget=Taps)
    tool = forms.ChoiceField(label="With", choices=_choices(Tool))
    low = NumberField(label="Least, min", such_as="2")
    likely = NumberField(label="Usual, min", such_as="5")
    high = NumberField(label="Most, min", such_as="15")
    after = forms.MultipleChoiceField(label="Off before it", required=False, widget=ManyTaps)
    after_seen = forms.MultipleChoiceField(
        label="Seen or told off before it too; this follows from the rest", required=False, widget=ManyTaps
    )
    after_more = forms.CharField(
        label="Also off before it",
        required=False,
        max_length=400,
        help_text="Names of parts, with commas between them.",
        widget=line(list="part-names"),
    )

    def __init__(
        self,
        *args: Any,
        family: Construction,
        part: Part | None,
        evidence: Mapping[tuple[str, str], str],
        **kwargs: Any,
    ) -> None:
        self.family, self.part = family, part
        super().__init__(*args, initial=_initial(part), **kwargs)
        if self.several:
            for name in ("side", "tool", "low", "likely", "high", "after", "after_seen", "after_more"):
                del self.fields[name]
            return
        now = part.ways[0].after if part and part.ways else ()
        typed = self.data.getlist("after") if hasattr(self.data, "getlist") else []
        here = part.id if part else ""
        before = tuple(dict.fromkeys((*now, *typed)))
        others = [first for first, then in evidence if then == here and first not in before]
        others.sort(key=lambda one: not evidence[one, here].startswith("told"))
        for name, those in (("after", before), ("after_seen", others)):
            chips = self.fields[name]
            assert isinstance(chips, forms.MultipleChoiceField)
            chips.choices = [
                (one, format_html("{} <small>{}</small>", family.parts[one].name, _why(evidence, one, here)))
                for one in those
                if one in family.parts
            ]

    @property
    def several(self) -> bool:
        """Whether its ways are changed in the file only: it has several, or never comes off."""
        return self.part is not None and len(self.part.ways) != 1

    def clean_materials(self) -> tuple[str, ...]:
        """By their keys; a name that no table has is answered with the nearest."""
        try:
            return tuple(dict.fromkeys(one.key for one in materials_named(self.cleaned_data["materials"])))
        except Refused as reason:
            raise ValidationError(str(reason)) from None

    def clean_after_more(self) -> tuple[str, ...]:
        """By their ids; a name that the family has not is answered with the nearest."""
        found = []
        for said in _words(self.cleaned_data["after_more"]):
            part = part_called(self.family, said)
            if part is None:
                names = {one.name: one for one in self.family.parts.values()}
                near = ", ".join(nearest(said, names)) or "none"
                raise ValidationError(f"{said!r} is no part of this family. Nearest: {near}.")
            if self.part and part.id == self.part.id:
                raise ValidationError(f"{said!r} cannot be off before itself.")
            found.append(part.id)
        return tuple(found)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        if self.several or self.errors.keys() & {"low", "likely", "high"}:
            return given
        low, likely, high = (given.get(name) for name in ("low", "likely", "high"))
        if low is None or likely is None or high is None:
            self.add_error("likely", "All three minutes are needed: the least, the usual, the most.")
            return given
        try:
            given["minutes"] = Minutes(low=low, likely=likely, high=high)
        except ValueError as reason:
            self.add_error("likely", str(reason)[:1].upper() + str(reason)[1:])
        return given

    @property
    def edit(self) -> PartEdit:
        """The part as it is to be, of a form that is valid."""
        given = self.cleaned_data
        way = None
        if not self.several:
            way = WayEdit(
                side=given["side"],
                tool=given["tool"],
                minutes=given["minutes"],
                after=tuple(dict.fromkeys((*given["after"], *given["after_seen"], *given["after_more"]))),
            )
        return PartEdit(
            id=self.part.id if self.part else fresh_id(given["name"], self.family.parts),
            name=given["name"],
            also=tuple(dict.fromkeys(_words(given["also"]))),
            materials=given["materials"],
            scarce=given["scarce"],
            not_in_all=given["not_in_all"],
            way=way,
        )


def _initial(part: Part | None) -> dict[str, Any]:
    if part is None:
        return {"scarce": "scarce", "side": "front", "tool": "screwdriver"}
    rows = tables()[0].rows(MATERIALS)
    told = {
        "name": part.name,
        "also": ", ".join(part.also),
        "materials": ", ".join(rows[one].name if one in rows else one for one in part.materials),
        "scarce": part.scarce,
        "not_in_all": part.not_in_all,
    }
    if len(part.ways) == 1:
        way = part.ways[0]
        told |= {"side": way.side, "tool": way.tool, "after": list(way.after)}
        told |= {name: f"{getattr(way.minutes, name):g}" for name in ("low", "likely", "high")}
    return told


def _why(evidence: Mapping[tuple[str, str], str], first: str, then: str) -> str:
    return evidence.get((first, then), "written by hand")


def _words(text: str) -> list[str]:
    return [one.strip() for one in text.split(",") if one.strip()]


class FromJobForm(PlainForm):
    """What is to become of a job's strip-down: a new family, or more learned into one."""

    into = forms.ChoiceField(label="Into", widget=Taps)
    name = forms.CharField(
        label="Name of the new family",
        required=False,
        max_length=LONGEST_NAME,
        help_text="The kind of construction, not one maker's model: “Half-frame 35 with leaf shutter”.",
        widget=line(),
    )
    jobs = forms.MultipleChoiceField(label="Learn from these jobs too", required=False, widget=ManyTaps)

    def __init__(
        self,
        *args: Any,
        families: list[tuple[str, str]],
        others: list[tuple[Job, str]],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        into, jobs = self.fields["into"], self.fields["jobs"]
        assert isinstance(into, forms.ChoiceField)
        assert isinstance(jobs, forms.MultipleChoiceField)
        into.choices = [("", "A new family"), *families]
        into.required = False
        jobs.choices = [
            (str(job.number), format_html("{} <small>{}</small>", job.number, told)) for job, told in others
        ]
        if not others:
            del self.fields["jobs"]
        if not families:
            into.widget = forms.HiddenInput()

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        if not given.get("into") and not given.get("name"):
            self.add_error("name", "Give the new family a name, or choose the one to learn into.")
        return given
