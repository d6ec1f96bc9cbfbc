"""Work done, and remarks: a line each."""

from __future__ import annotations

from django import forms

from pegwood.web.forms.fields import MinutesField, PlainForm, area, line


class WorkForm(PlainForm):
    """What was done, to which part, in how many minutes."""

    done = forms.CharField(
        label="What was done",
        required=False,
        max_length=4000,
        widget=line(enterkeyhint="done", placeholder="cleaned the blades, dried them"),
    )
    part = forms.CharField(label="On which part", required=False, max_length=120, widget=line())
    minutes = MinutesField(label="Minutes")


class RemarkForm(PlainForm):
    """Something worth remembering that is neither a finding nor work."""

    text = forms.CharField(
        label="Remark",
        required=False,
        max_length=4000,
        widget=area(2, placeholder="owner rang, is in no hurry"),
    )
