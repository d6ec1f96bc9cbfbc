"""What the page of one way of gauging is made of."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from pegwood.book.gauging import Way
from pegwood.book.gauging.limits import limits_of
from pegwood.web.charts import Item, Scheme
from pegwood.web.forms.fields import PlainForm

Result = Mapping[str, Any]


class SaidForm(PlainForm):
    """
    What has to be told beside the readings; kept with them as plain data.

    Attributes
    ----------
    each_time : tuple of str
        Fields that are readings themselves: what was told in them the last time is not offered again.
    one_each : tuple of str
        Fields in which one figure is told for each photograph of a series, in their order.
    """

    each_time: ClassVar[tuple[str, ...]] = ()
    one_each: ClassVar[tuple[str, ...]] = ()

    def __init__(self, *args: Any, initial: Mapping[str, Any] | None = None, **kwargs: Any) -> None:
        kept = {name: told for name, told in (initial or {}).items() if name not in self.each_time}
        super().__init__(*args, initial=kept, **kwargs)

    def hold_against(self, photographs: int) -> None:
        """Mark the fields in which there are not as many figures as photographs. Once it is validated."""
        for name in self.one_each:
            told = len(self.cleaned_data.get(name) or ())
            if name not in self.errors and told != photographs:
                self.add_error(name, f"{photographs} photographs and {told} figures. Write one for each.")

    def said(self) -> dict[str, Any]:
        """What was told, under the names the way's reader takes; what was left open is left out."""
        return {name: value for name, value in self.cleaned_data.items() if value not in (None, "", [])}


@dataclass(frozen=True)
class Column:
    """
    One figure of a reading, as it is typed.

    Attributes
    ----------
    name : str
        As in the way's columns.
    label : str
        With its unit, short.
    choices : tuple of (str, str)
        What may be chosen; typed where there are none.
    keys : "decimal" or "text"
        What a phone's keyboard offers: the decimal one has no stroke and no letters.
    """

    name: str
    label: str
    choices: tuple[tuple[str, str], ...] = ()
    keys: str = "decimal"


@dataclass(frozen=True)
class Chart:
    """One picture of an answer: its name in addresses, what it shows, how it is drawn, its height [pixel]."""

    name: str
    caption: str
    draw: Callable[[Result, Scheme], Item]
    height: int = 320


@dataclass(frozen=True, kw_only=True)
class Face:
    """
    A way of gauging as a page shows it.

    Attributes
    ----------
    way : Way
    title : str
    lead : str
        How the reading is taken, in a sentence.
    steps : tuple of str
        The same at length, for whoever does it seldom.
    cautions : tuple of (str, str)
        What can hurt, each with its heading.
    form : type of SaidForm
    columns : tuple of Column
        Of typed readings; none for photographs.
    marks : tuple of str
        The marks of a way that has marks, where they are chosen and not typed.
    pictures : tuple of str
        Labels of the photographs a way takes one by one; a series has one label.
    charts : callable
        Which charts an answer has; given the answer.
    is_judged : bool
        Whether its figures are held against limits of the instrument, where there are any.
    kept_as : callable
        Under which names columns are kept, by their own, where what was told says in which unit they are.
    """

    way: Way
    title: str
    lead: str
    steps: tuple[str, ...]
    form: type[SaidForm]
    cautions: tuple[tuple[str, str], ...] = ()
    columns: tuple[Column, ...] = ()
    marks: tuple[str, ...] = ()
    pictures: tuple[str, ...] = ()
    charts: Callable[[Result], tuple[Chart, ...]] = lambda _result: ()
    is_judged: bool = True
    kept_as: Callable[[Mapping[str, Any]], Mapping[str, str]] = lambda _told: {}

    @property
    def has_limits(self) -> bool:
        """Whether the workshop may set what its figures are held against."""
        return self.is_judged and bool(limits_of(self.way.instrument))

    @property
    def is_series(self) -> bool:
        """Whether several photographs are sent at once."""
        return self.way.takes == "photographs" and self.way.most > len(self.pictures)
