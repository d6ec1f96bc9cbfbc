"""Readings typed one after another: a table that grows, a row for each reading."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.forms.formsets import BaseFormSet, formset_factory

from pegwood.web.forms.fields import PlainForm, in_plain_words, line
from pegwood.web.gauges.face import Column

MOST_ROWS = 200
ROWS_AT_FIRST = 6
LONGEST_CELL = 40


class RowForm(PlainForm):
    """One reading."""

    def __init__(self, *args: Any, columns: Sequence[Column], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for column in columns:
            self.fields[column.name] = in_plain_words(_field(column))

    def has_changed(self) -> bool:
        """A row on which no figure stands is no reading; what was chosen alone says nothing."""
        typed = (name for name, field in self.fields.items() if not isinstance(field, forms.ChoiceField))
        return any(str(self[name].data or "").strip() for name in typed)

    @property
    def cells(self) -> list[str]:
        """What was typed, column by column; nothing of a row without a figure."""
        if not self.has_changed():
            return [""] * len(self.fields)
        return [str(self.cleaned_data.get(name) or "") for name in self.fields]


def _field(column: Column) -> forms.Field:
    if column.choices:
        return forms.ChoiceField(
            label=column.label,
            required=False,
            choices=column.choices,
            error_messages={"invalid_choice": "Choose one of those there are."},
        )
    return forms.CharField(
        label=column.label,
        required=False,
        max_length=LONGEST_CELL,
        widget=line(inputmode=column.keys, enterkeyhint="next", **{"class": "figure"}),
    )


_Rows = formset_factory(
    RowForm, extra=ROWS_AT_FIRST, max_num=MOST_ROWS, absolute_max=MOST_ROWS, validate_max=True
)


def rows(
    columns: Sequence[Column], typed: Any = None, begun: Sequence[dict[str, str]] = ()
) -> BaseFormSet[RowForm]:
    """Rows as they were typed, or some to begin with and empty ones below."""
    shown = {"columns": columns}
    if typed is not None:
        return _Rows(typed, prefix="line", form_kwargs=shown)
    return _Rows(initial=list(begun), prefix="line", form_kwargs=shown)


def cells(sheet: BaseFormSet[RowForm]) -> list[list[str]]:
    """What was typed, row by row. Only of a sheet that is valid."""
    return [form.cells for form in sheet]


class MarkForm(PlainForm):
    """Which mark the readings are about."""

    marked = forms.CharField(max_length=20, widget=line(inputmode="decimal", **{"class": "figure"}))

    def __init__(self, *args: Any, what: str, marks: Sequence[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if marks:
            self.fields["marked"] = forms.ChoiceField(
                choices=[(one, one) for one in marks],
                error_messages={"invalid_choice": "Choose one of those there are."},
            )
        self.fields["marked"].label = f"The {what}" if marks else f"The {what} it stands at"
        self.fields["marked"].error_messages["required"] = f"Write the {what} as it is engraved."


class SeriesField(forms.FileField):
    """Several files at once."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", _Several(attrs={"accept": "image/*"}))
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> Any:
        given = (data or [None]) if isinstance(data, (list, tuple)) else [data]
        return [super(SeriesField, self).clean(one, initial) for one in given if one or self.required]


class _Several(forms.ClearableFileInput):
    allow_multiple_selected = True


class PicturesForm(PlainForm):
    """The photographs a way takes: one field for each, those beyond the fewest may be left; or a series."""

    def __init__(
        self, *args: Any, labels: Sequence[str], series: bool, fewest: int | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        told = {"required": "Choose the photograph."}
        if series:
            self.fields["pictures"] = SeriesField(label=labels[0], error_messages=told)
            return
        for n, label in enumerate(labels):
            self.fields[f"picture-{n}"] = forms.FileField(
                label=label,
                required=fewest is None or n < fewest,
                widget=forms.ClearableFileInput(attrs={"accept": "image/*"}),
                error_messages=told,
            )

    @property
    def sent(self) -> list[Any]:
        """The files, in the order the way asks for."""
        given = self.cleaned_data
        return (
            list(given["pictures"])
            if "pictures" in given
            else [one for name in self.fields if (one := given[name])]
        )
