"""Taking a camera in: who, what, its story, what came with it, the promised day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django import forms
from django.http import QueryDict

from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.families import families
from pegwood.book.leaving import months_later
from pegwood.book.models import Camera, Owner
from pegwood.web.bench_request import whole_number
from pegwood.web.forms.fields import DayField, PlainForm, YearField, area, line

#: What is handed in with a camera most often: one tap each.
ACCESSORIES = ("case", "strap", "lens cap", "filter", "hood", "flash", "manual", "film still in it")
NEW = "new"
LARGEST_STORY = 20_000
_SPLIT = "\n"


@dataclass(frozen=True)
class Promise:
    """A day that can be promised with one tap."""

    key: str
    says: str
    day: date | None


def promises(today: date) -> tuple[Promise, ...]:
    """The days offered on `today`: none, in one week, in two, in a month, another."""
    return (
        Promise("", "no day yet", None),
        Promise("1w", "in a week", today + timedelta(weeks=1)),
        Promise("2w", "in two weeks", today + timedelta(weeks=2)),
        Promise("1m", "in a month", months_later(today, 1)),
        Promise("day", "another day", None),
    )


class TakeInForm(PlainForm):
    """Everything that is asked at the counter. Nothing is compulsory but a name and a hint of what it is."""

    family = forms.ChoiceField(label="What kind of camera", required=False, widget=forms.RadioSelect)
    owner = forms.CharField(required=False, max_length=20)
    name = forms.CharField(label="Whose it is", required=False, max_length=120, widget=line())
    phone = forms.CharField(
        label="Telephone", required=False, max_length=60, widget=line(type="tel", inputmode="tel")
    )
    email = forms.EmailField(label="E-mail", required=False, widget=line(type="email", inputmode="email"))
    address = forms.CharField(label="Address", required=False, max_length=1000, widget=area(2))
    camera = forms.CharField(required=False, max_length=20)
    maker = forms.CharField(label="Maker", required=False, max_length=80, widget=line())
    model = forms.CharField(label="Model", required=False, max_length=80, widget=line())
    serial = forms.CharField(label="Serial number", required=False, max_length=60, widget=line())
    lens = forms.CharField(label="Lens", required=False, max_length=120, widget=line())
    lens_serial = forms.CharField(label="Lens number", required=False, max_length=60, widget=line())
    shutter = forms.CharField(label="Shutter", required=False, max_length=120, widget=line())
    year_made = YearField(label="Year made")
    story = forms.CharField(
        label="What the owner tells",
        help_text="In the owner's own words: what it does, since when, what it was last used for.",
        required=False,
        max_length=LARGEST_STORY,
        widget=area(5),
    )
    accessories = forms.MultipleChoiceField(
        label="What came with it", required=False, choices=[(word, word) for word in ACCESSORIES]
    )
    accessories_more = forms.CharField(label="Anything else", required=False, max_length=1800, widget=line())
    promise = forms.ChoiceField(label="Promised for", required=False)
    promised_on = DayField(label="Which day")
    comeback = forms.IntegerField(required=False, min_value=1, max_value=2_000_000_000)

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.promises = promises(today)
        self._choices("family").choices = [("", "not said")] + [(f.slug, f.name) for f in families().values()]
        self._choices("promise").choices = [(offered.key, offered.says) for offered in self.promises]
        self.known_owner: Owner | None = None
        self.known_camera: Camera | None = None

    def _choices(self, name: str) -> forms.ChoiceField:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        return field

    def clean_owner(self) -> str:
        chosen = self.cleaned_data["owner"]
        if chosen and chosen != NEW:
            self.known_owner = Owner.objects.filter(pk=whole_number(chosen) or 0).first()
            if self.known_owner is None:
                raise forms.ValidationError("That owner is not in the book any more. Type the name again.")
        return str(chosen)

    def clean_camera(self) -> str:
        chosen = self.cleaned_data["camera"]
        if chosen and chosen != NEW and self.known_owner is not None:
            self.known_camera = self.known_owner.cameras.filter(pk=whole_number(chosen) or 0).first()
            if self.known_camera is None:
                raise forms.ValidationError("That camera belongs to somebody else. Choose it again.")
        return str(chosen)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if (
            given.get("promise") == "day"
            and not given.get("promised_on")
            and "promised_on" not in self.errors
        ):
            self.add_error("promised_on", "Which day? Choose it, or tap 'no day yet'.")
        returns = bool(given.get("comeback"))
        if not (returns or self.known_owner or given.get("name") or "owner" in self.errors):
            self.add_error("name", "Whose is it? A name is needed, even if it is only half of one.")
        return given

    @property
    def who(self) -> Owner | OwnerDetails:
        """The owner who was chosen, or the new one as typed."""
        if self.known_owner is not None:
            return self.known_owner
        given = self.cleaned_data
        return OwnerDetails(
            name=given["name"], phone=given["phone"], email=given["email"], address=given["address"]
        )

    @property
    def what(self) -> Camera | CameraDetails:
        """The camera that was here before, or the new one as described."""
        return self.known_camera or CameraDetails(**camera_fields(self.cleaned_data))

    @property
    def came_with(self) -> str:
        """Everything that was handed in, as one line."""
        given = self.cleaned_data
        return ", ".join([*given["accessories"], *filter(None, [given["accessories_more"]])])

    @property
    def promised(self) -> date | None:
        """The day that was promised, if any was."""
        chosen = self.cleaned_data["promise"]
        if chosen == "day":
            another: date | None = self.cleaned_data["promised_on"]
            return another
        return next(offered.day for offered in self.promises if offered.key == chosen)


def camera_fields(given: Mapping[str, Any]) -> dict[str, Any]:
    """What a form says of a camera, for `CameraDetails`."""
    names = ("maker", "model", "serial", "lens", "lens_serial", "shutter", "year_made")
    return {"family": given["family"] or "other", **{name: given[name] for name in names}}


def to_keep(typed: QueryDict) -> dict[str, str]:
    """What has been typed so far, for a draft: nothing but this form's own fields, and only what is there."""
    fields = {name: _SPLIT.join(typed.getlist(name)).strip() for name in TakeInForm.base_fields}
    return {name: value for name, value in fields.items() if value}


def from_kept(fields: Mapping[str, str]) -> dict[str, Any]:
    """A draft's fields as a form shows them."""
    shown: dict[str, Any] = dict(fields)
    if "accessories" in shown:
        shown["accessories"] = str(shown["accessories"]).split(_SPLIT)
    return shown
