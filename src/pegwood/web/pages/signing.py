"""Signing in and out, where the bench is reached from outside this machine."""

from __future__ import annotations

import math
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpResponse
from django.urls import path, reverse_lazy

from pegwood.web.bench_request import CANNOT
from pegwood.web.patience import patience


class SignInForm(AuthenticationForm):
    """Name and password."""

    error_messages = {
        "invalid_login": "Name and password do not go together. Mind capital letters.",
        "inactive": "That name may not sign in any more.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        for name, label in {"username": "Name", "password": "Password"}.items():
            self.fields[name].label = label
            self.fields[name].error_messages["required"] = f"{label} is missing."
        self.use_required_attribute = False

    def clean(self) -> dict[str, Any]:
        """Check name and password, unless that name has guessed wrong too often to be tried now."""
        name = str(self.cleaned_data.get("username") or "")
        if wait := math.ceil(patience.wait_s(name)):
            raise forms.ValidationError(f"Too many wrong passwords. Wait {wait} seconds, then try again.")
        try:
            cleaned: dict[str, Any] = super().clean()
        except forms.ValidationError:
            patience.wrong(name)
            raise
        patience.right(name)
        return cleaned


class SignIn(LoginView):
    """The one page that a stranger sees."""

    template_name = "bench/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_invalid(self, form: forms.BaseForm) -> HttpResponse:
        """Say why not; the name stays typed."""
        return self.render_to_response(self.get_context_data(form=form), status=CANNOT)


urlpatterns = [
    path("sign-in/", SignIn.as_view(), name="sign_in"),
    path("sign-out/", LogoutView.as_view(next_page=reverse_lazy("sign_in")), name="sign_out"),
]
