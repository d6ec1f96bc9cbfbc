"""What is known of an owner, as it is corrected."""

from __future__ import annotations

from django import forms

from pegwood.book.arriving import OwnerDetails
from pegwood.web.forms.fields import PlainForm


class OwnerForm(PlainForm):
    """Name, ways to reach, and a note."""

    name = forms.CharField(
        max_length=120, label="Name", error_messages={"required": "The owner needs a name."}
    )
    phone = forms.CharField(
        max_length=60, required=False, label="Telephone", widget=forms.TextInput(attrs={"type": "tel"})
    )
    email = forms.EmailField(required=False, label="E-mail")
    address = forms.CharField(
        max_length=1000, required=False, label="Address", widget=forms.Textarea(attrs={"rows": 3})
    )
    note = forms.CharField(
        max_length=4000, required=False, label="A note for yourself", widget=forms.Textarea(attrs={"rows": 3})
    )

    def details(self) -> OwnerDetails:
        """What was typed; only after `is_valid`."""
        return OwnerDetails(**self.cleaned_data)
