"""A piece of gear: what is known of it, its calibrations in use and those before them."""

from __future__ import annotations

import json
from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pegwood.book.calibrating import calibrate_gear, in_use, state_of, strike_out_calibration, told
from pegwood.book.models import Calibration, Gear
from pegwood.book.refusal import Refused
from pegwood.web.bench_request import CANNOT, content_of, go_to, refused_json, sent_on, wants_json, who
from pegwood.web.forms.findings import StrikeOutForm
from pegwood.web.forms.gear import CalibrationForm
from pegwood.web.stored import as_it_came

MOST_LISTED = 60


@dataclass(frozen=True, kw_only=True)
class Line:
    """A calibration in words."""

    calibration: Calibration
    says: str
    state: str
    strike_form: StrikeOutForm


@dataclass(frozen=True, kw_only=True)
class GearPage:
    """A piece of gear."""

    gear: Gear
    used: tuple[Line, ...]
    earlier: tuple[Line, ...]
    struck_out: tuple[Line, ...]
    readings: int
    form: CalibrationForm

    @property
    def next(self) -> str:
        """One sentence: what to do on this page now."""
        overdue = [line.calibration.kind for line in self.used if line.state == "overdue"]
        if overdue:
            return (
                f"calibrate the {' and the '.join(dict.fromkeys(overdue))} anew: it is overdue and not used"
            )
        soon = [line.calibration.kind for line in self.used if line.state == "due soon"]
        if soon:
            return f"calibrate the {' and the '.join(dict.fromkeys(soon))} before it is due again"
        if not self.used:
            return "calibrate its clock or its input, or measure without"
        return "nothing: readings with this gear use what stands here by themselves"


@require_http_methods(["GET", "HEAD", "POST"])
def gear(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a piece of gear, or calibrate it."""
    known = get_object_or_404(Gear, pk=pk)
    if request.method != "POST":
        return _show(request, known, CalibrationForm())
    form = CalibrationForm(request.POST, request.FILES)
    if form.is_valid():
        sent = form.cleaned_data
        try:
            entered = calibrate_gear(
                known,
                content_of(sent["file"]),
                sent["file"].name,
                sent["source"],
                by=who(request),
                made_on=sent["made_on"],
                due_on=sent["due_on"],
            )
        except Refused as refusal:
            form.add_error("file", str(refusal))
        else:
            messages.success(request, f"Kept: {told(entered)}.")
            return sent_on(request, reverse("gear", args=[pk]))
    if wants_json(request):
        return refused_json(form)
    return _show(request, known, form, status=CANNOT)


@require_POST
def strike_calibration(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a calibration out of use, with the reason."""
    wrong = get_object_or_404(Calibration.everything.select_related("gear"), pk=pk)
    form = StrikeOutForm(request.POST, auto_id=f"id_%s_{pk}")
    if not form.is_valid():
        return _show(request, wrong.gear, CalibrationForm(), form, status=CANNOT)
    strike_out_calibration(wrong, form.cleaned_data["reason"], by=who(request))
    messages.info(request, f"Struck out: {told(wrong)}. Readings that it went into keep it.")
    return go_to(request, reverse("gear", args=[wrong.gear_id]))


@require_safe
def calibration_json(_request: HttpRequest, pk: int) -> HttpResponse:
    """A calibration as the command saves it, to be used with `--clock` or `--input`."""
    found = get_object_or_404(Calibration.everything, pk=pk)
    text = json.dumps(found.data, ensure_ascii=False, indent=1)
    answer = HttpResponse(text, content_type="application/json")
    answer["Content-Disposition"] = content_disposition_header(True, f"{found.kind}-{pk}.json") or ""
    return answer


@require_safe
def calibration_file(_request: HttpRequest, pk: int) -> HttpResponseBase:
    """What a calibration was made from, checked against its hash."""
    file = get_object_or_404(Calibration.everything.select_related("file"), pk=pk).file
    if file is None:
        raise Http404("entered without a file")
    return as_it_came(file, "calibration")


def _show(
    request: HttpRequest,
    known: Gear,
    form: CalibrationForm,
    striking: StrikeOutForm | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    used = in_use(known)
    every = Calibration.everything.filter(gear=known).select_related("file")[:MOST_LISTED]
    rest = [one for one in every if one not in used]
    page = GearPage(
        gear=known,
        used=tuple(_line(one, striking) for one in used),
        earlier=tuple(_line(one, striking) for one in rest if not one.struck_out),
        struck_out=tuple(_line(one, striking) for one in rest if one.struck_out),
        readings=known.measurement_set.count(),
        form=form,
    )
    return render(request, "bench/gear.html", {"page": page}, status=status)


def _line(one: Calibration, striking: StrikeOutForm | None) -> Line:
    """`striking` is a form that was refused: it stands at its calibration."""
    named = f"id_%s_{one.pk}"
    return Line(
        calibration=one,
        says=told(one),
        state=state_of(one, timezone.localdate()),
        strike_form=striking if striking and striking.auto_id == named else StrikeOutForm(auto_id=named),
    )


urlpatterns = [
    path("workshop/gear/<int:pk>/", gear, name="gear"),
    path("workshop/calibration/<int:pk>/strike/", strike_calibration, name="calibration_strike"),
    path("workshop/calibration/<int:pk>/saved.json", calibration_json, name="calibration_json"),
    path("workshop/calibration/<int:pk>/file", calibration_file, name="calibration_file"),
]
