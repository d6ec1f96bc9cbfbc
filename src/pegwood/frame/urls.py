"""Every address of the site."""

from django.urls import include, path

urlpatterns = [path("", include("pegwood.web.urls"))]

handler400 = "pegwood.web.pages.errors.bad_request"
handler403 = "pegwood.web.pages.errors.forbidden"
handler404 = "pegwood.web.pages.errors.not_found"
handler500 = "pegwood.web.pages.errors.broken"
