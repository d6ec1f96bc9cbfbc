"""Who may sign in."""

from __future__ import annotations

import click

from pegwood.cli._open import OneLine, with_book


@click.group(epilog="Example: pegwood user add ilse")
def user() -> None:
    """Who may sign in, when the bench is reached from outside."""


@user.command("add", epilog="Example: pegwood user add ilse")
@click.argument("name")
@click.password_option(help="Asked for if not given; at least 12 characters.")
@with_book
def add(name: str, password: str) -> None:
    """Let somebody sign in."""
    from django.contrib.auth.models import User
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    if User.objects.filter(username=name).exists():
        raise OneLine(f"There is a user {name} already. `pegwood user password {name}` changes the password.")
    try:
        validate_password(password)
    except ValidationError as error:
        raise OneLine(" ".join(error.messages)) from None
    User.objects.create_user(name, password=password)
    click.echo(f"{name} may sign in.")


@user.command("password", epilog="Example: pegwood user password ilse")
@click.argument("name")
@click.password_option(help="Asked for if not given; at least 12 characters.")
@with_book
def password(name: str, password: str) -> None:
    """Give somebody a new password."""
    from django.contrib.auth.models import User
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    person = User.objects.filter(username=name).first()
    if person is None:
        raise OneLine(f"There is no user {name}. `pegwood user add {name}` makes one.")
    try:
        validate_password(password)
    except ValidationError as error:
        raise OneLine(" ".join(error.messages)) from None
    person.set_password(password)
    person.save()
    click.echo(f"{name} has a new password.")


@user.command("list", epilog="Example: pegwood user list")
@with_book
def list_() -> None:
    """Show who may sign in."""
    from django.contrib.auth.models import User

    for name in User.objects.order_by("username").values_list("username", flat=True):
        click.echo(name)
