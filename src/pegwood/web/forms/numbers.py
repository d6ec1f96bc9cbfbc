"""Several figures in one line."""

from __future__ import annotations

import math
import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from pegwood.web.forms.fields import line

MOST = 50


class NumbersField(forms.CharField):
    """Plain numbers one after another, with spaces or semicolons between; empty is an empty list."""

    def __init__(self, *, such_as: str = "4 5 4,5", **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("max_length", 500)
        kwargs.setdefault("widget", line(**{"class": "figure"}))
        self.such_as = such_as
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        """Figures as they were kept, as they are typed."""
        return " ".join(f"{one:.10g}" for one in value) if isinstance(value, (list, tuple)) else value

    def clean(self, value: Any) -> list[float]:
        text = str(super().clean(value) or "")
        words = re.split(r"[;\s]+", text.strip()) if text.strip() else []
        try:
            figures = [float(word.replace(",", ".").replace("\u2212", "-")) for word in words]
        except ValueError:
            figures = [math.nan]
        if not all(map(math.isfinite, figures)) or len(figures) > MOST:
            raise ValidationError(f"Write plain numbers with spaces between, such as {self.such_as}.")
        return figures
