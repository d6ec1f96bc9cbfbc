"""What is to be fired while the page listens, and what it listens with."""

from __future__ import annotations

from typing import Any

from django import forms

from pegwood.book.listening import FIRINGS, Plan
from pegwood.book.models import Gear, Measurement
from pegwood.web.forms.fields import PlainForm

ORDERS = (("slowest", "slowest first"), ("fastest", "fastest first"))
PHASES = (
    ("", "not said yet"),
    (Measurement.Phase.FOUND.value, Measurement.Phase.FOUND.value),
    (Measurement.Phase.LEFT.value, Measurement.Phase.LEFT.value),
)


class ListeningForm(PlainForm):
    """The plan of a session; rate, channels and ticket come from the page's script."""

    speeds = forms.MultipleChoiceField(
        label="Speeds to fire",
        error_messages={
            "required": "Tap the speeds that are to be fired.",
            "invalid_choice": "No such speed.",
        },
    )
    order = forms.ChoiceField(
        label="In which order", choices=ORDERS, initial="slowest", widget=forms.RadioSelect, required=False
    )
    firings = forms.TypedChoiceField(
        label="Firings that belong together",
        choices=[(n, str(n)) for n in range(FIRINGS[0], FIRINGS[1] + 1)],
        coerce=int,
        initial=FIRINGS[1],
        widget=forms.RadioSelect,
    )
    moves_on = forms.BooleanField(label="Go to the next speed by itself", required=False)
    phase = forms.ChoiceField(
        label="The camera is measured", choices=PHASES, required=False, widget=forms.RadioSelect
    )
    gear = forms.ModelChoiceField(
        label="Measured with",
        queryset=Gear.objects.all(),
        required=False,
        empty_label="not said",
        error_messages={"invalid_choice": "That piece of gear is not in the workshop's list."},
    )
    ticket = forms.UUIDField(
        required=True, error_messages={"required": "Listen with the button of the page."}
    )
    rate = forms.IntegerField(error_messages={"required": "No sound input was opened."})
    channels = forms.IntegerField(error_messages={"required": "No sound input was opened."})

    def __init__(self, speeds: list[str], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._speeds = speeds
        self.fields["speeds"].choices = [(one, one) for one in speeds]  # type: ignore[attr-defined]

    def plan(self) -> Plan:
        """
        The plan as chosen.

        Raises
        ------
        Refused
            If it cannot be walked.
        """
        chosen = self.cleaned_data
        timed = [one for one in self._speeds if one in chosen["speeds"]]
        if chosen["order"] == "fastest":
            timed.reverse()
        return Plan(
            speeds=tuple(timed),
            firings=chosen["firings"],
            moves_on=chosen["moves_on"],
            phase=chosen["phase"],
        )
