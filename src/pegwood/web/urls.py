"""The addresses of the bench: each page's own, one after the other."""

from django.urls import URLPattern

from pegwood.web.pages import (
    amend,
    bill,
    chart_library,
    find,
    findings,
    front,
    hand_back,
    job,
    owners,
    papers,
    payment,
    photos,
    price,
    readings,
    shutter,
    signing,
    striking,
    take_in,
    work,
    workshop,
)

urlpatterns: list[URLPattern] = [
    *front.urlpatterns,
    *take_in.urlpatterns,
    *job.urlpatterns,
    *findings.urlpatterns,
    *photos.urlpatterns,
    *work.urlpatterns,
    *price.urlpatterns,
    *bill.urlpatterns,
    *hand_back.urlpatterns,
    *payment.urlpatterns,
    *striking.urlpatterns,
    *amend.urlpatterns,
    *shutter.urlpatterns,
    *readings.urlpatterns,
    *papers.urlpatterns,
    *find.urlpatterns,
    *owners.urlpatterns,
    *workshop.urlpatterns,
    *signing.urlpatterns,
    *chart_library.urlpatterns,
]
