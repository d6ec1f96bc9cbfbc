"""The job book as Django knows it."""

from django.apps import AppConfig


class BookConfig(AppConfig):
    name = "pegwood.book"
    label = "book"
    verbose_name = "the job book"
