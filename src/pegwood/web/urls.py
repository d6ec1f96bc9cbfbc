"""The addresses of the bench."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
