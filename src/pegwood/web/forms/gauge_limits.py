"""The workshop's own limits of the other instruments: one figure each, empty where the default holds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.forms import BoundField

from pegwood.book.gauging.limits import LIMITS, GaugeLimit, checked
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings
from pegwood.web.forms.fields import NumberField, PlainForm, in_plain_words

#: What an instrument's limits are called on the page; one that is not here is called by its own name.
TITLES = {
    "meter": "Exposure meter",
    "iris": "Diaphragm",
    "focus": "Focus",
    "rangefinder": "Rangefinder",
    "transport": "Film transport",
    "leaks": "Light leaks",
    "glass": "Glass",
}
#: What must be known of an instrument's limits as a whole.
TOLD = {
    "focus": "The depth of focus to one side is the stop times the circle of confusion, which stands below.",
    "rangefinder": "The limit on the film is the widest stop times the circle of confusion of the format. "
    "The circles hold for focus too.",
}


class GaugeLimitsForm(PlainForm):
    """A field for each limit there is, named by its key; its help says what holds without it, and whose."""

    def __init__(self, *args: Any, own: Mapping[str, float], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for key, limit in LIMITS.items():
            self.fields[key] = in_plain_words(_field(limit))
            if key in own:
                figure = float(f"{own[key] * limit.shown[0]:.6g}")
                self.initial[key] = int(figure) if figure.is_integer() else figure

    def sections(self) -> Iterator[tuple[str, str, list[BoundField]]]:
        """Title, what must be known, and the fields, instrument by instrument."""
        by: dict[str, list[BoundField]] = {}
        for key in self.fields:
            by.setdefault(LIMITS[key].instrument, []).append(self[key])
        for instrument, fields in by.items():
            yield TITLES.get(instrument, instrument.capitalize()), TOLD.get(instrument, ""), fields

    def write(self, by: str) -> bool:
        """Set what was typed; False if the book refuses, with the reason in the form."""
        given = {
            key: value / LIMITS[key].shown[0] for key, value in self.cleaned_data.items() if value is not None
        }
        try:
            change_settings({"gauge_limits": checked(given)}, by=by)
        except Refused as refused:
            self.add_error(None, str(refused))
            return False
        return True


def _field(limit: GaugeLimit) -> NumberField:
    scale, unit = limit.shown
    default = limit.default()
    low, high = (float(f"{end * scale:.3g}") for end in limit.range)
    figure = limit.figure_of(default)
    bounds = f"± {unit}" if limit.side == "either way" else f"{unit}, {limit.side}"
    source = default.source[:1].upper() + default.source[1:]
    return NumberField(
        label=f"{limit.words} ({bounds})",
        help_text=f"Left empty: {limit.in_words(default)}. {source} ({default.mark}).",
        min_value=low,
        max_value=high,
        such_as="0.5" if figure is None else f"{figure * scale:.3g}",
    )
