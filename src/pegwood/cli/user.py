"""Who may sign in."""

from __future__ import annotations

import click

from pegwood.cli._open import who, with_book, with_book_or_new


@click.group(epilog="Example: pegwood user add ilse")
def user() -> None:
    """Who may sign in, when the bench is reached from outside."""


@user.command("add", epilog="Example: pegwood user add ilse")
@click.argument("name")
@click.password_option(help="Asked for if not given; at least 12 characters.")
@with_book_or_new
def add(name: str, password: str) -> None:
    """Let somebody sign in."""
    from pegwood.book.signing_in import let_sign_in

    click.echo(f"{let_sign_in(name, password, by=who()).username} may sign in.")


@user.command("password", epilog="Example: pegwood user password ilse")
@click.argument("name")
@click.password_option(help="Asked for if not given; at least 12 characters.")
@with_book
def password(name: str, password: str) -> None:
    """Give somebody a new password."""
    from pegwood.book.signing_in import change_password

    click.echo(f"{change_password(name, password, by=who()).username} has a new password.")


@user.command("remove", epilog="Example: pegwood user remove ilse")
@click.argument("name")
@with_book
def remove(name: str) -> None:
    """Let somebody sign in no more."""
    from pegwood.book.signing_in import shut_out

    click.echo(f"{shut_out(name, by=who()).username} may sign in no more.")


@user.command("list", epilog="Example: pegwood user list")
@with_book
def list_() -> None:
    """Show who may sign in."""
    from django.contrib.auth.models import User

    for name in User.objects.filter(is_active=True).order_by("username").values_list("username", flat=True):
        click.echo(name)
