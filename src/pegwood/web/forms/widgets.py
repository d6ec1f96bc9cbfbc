"""Widgets of the bench."""

from __future__ import annotations

from django import forms


class Taps(forms.RadioSelect):
    """One of few, each a tile to tap: for a thumb, not for a mouse."""

    template_name = "bench/widgets/taps.html"


class ManyTaps(forms.CheckboxSelectMultiple):
    """Some of few, each a tile to tap."""

    template_name = "bench/widgets/taps.html"
