"""Django's settings. What a workshop chooses for itself is not here: see ``pegwood.book.workshop``."""

from __future__ import annotations

import os
from importlib.util import find_spec
from pathlib import Path

from pegwood.frame import database, workshop

WORKSHOP = workshop.current()
SECRET_KEY = WORKSHOP.secret_key()

DEBUG = False
ALLOWED_HOSTS = os.environ.get("PEGWOOD_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
# Set by `pegwood serve` when the bench is reached from outside this machine: then everybody signs in.
SIGN_IN_REQUIRED = os.environ.get("PEGWOOD_SIGN_IN") == "1"
# Set when the connection is encrypted: by the server's own certificate or by the proxy in front of it.
ENCRYPTED = os.environ.get("PEGWOOD_ENCRYPTED") == "1"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "pegwood.book",
    "pegwood.web",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "pegwood.web.middleware.SafeHeaders",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "pegwood.web.middleware.AtTheBench",
]
ROOT_URLCONF = "pegwood.frame.urls"
WSGI_APPLICATION = "pegwood.frame.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "pegwood.web.context.bench",
            ],
        },
    }
]

_address = os.environ.get("PEGWOOD_DATABASE_URL")
DATABASES = {"default": database.from_address(_address) if _address else database.sqlite(WORKSHOP.database)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

USE_TZ = True
TIME_ZONE = "UTC"  # shown in the workshop's own zone, which the middleware sets
USE_I18N = False
LANGUAGE_CODE = "en-gb"

STATIC_URL = "/static/"
WHITENOISE_USE_FINDERS = True
_bokeh = find_spec("bokeh")
assert _bokeh is not None
assert _bokeh.origin is not None
# The chart library's JavaScript, straight from its wheel.
BOKEH_SCRIPTS = Path(_bokeh.origin).parent / "server" / "static" / "js"

# A recording may be an hour long; it goes to a temporary file on its way, never into memory.
FILE_UPLOAD_HANDLERS = ["pegwood.web.uploads.OnDisk"]
FILE_UPLOAD_PERMISSIONS = 0o600
DATA_UPLOAD_MAX_MEMORY_SIZE = 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 400
DATA_UPLOAD_MAX_NUMBER_FILES = 40

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "front"

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
# Read by the pages' own script: after signing in anew, an open page goes on with the new one.
CSRF_COOKIE_HTTPONLY = False
CSRF_FAILURE_VIEW = "pegwood.web.pages.errors.wrong_token"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = ENCRYPTED
SECURE_SSL_REDIRECT = ENCRYPTED
SECURE_HSTS_SECONDS = 31_536_000 if ENCRYPTED else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = ENCRYPTED
SECURE_HSTS_PRELOAD = ENCRYPTED
SECURE_PROXY_SSL_HEADER = (
    ("HTTP_X_FORWARDED_PROTO", "https") if os.environ.get("PEGWOOD_PROXY") == "1" else None
)
CSRF_TRUSTED_ORIGINS = [o for o in os.environ.get("PEGWOOD_ORIGINS", "").split(",") if o]
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
}
