"""Who may sign in, where the bench is reached from outside its own machine."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.refusal import Refused

#: Whoever signs in stands in the diary by this name, and its column takes no more.
LONGEST_NAME = 80


@transaction.atomic
def let_sign_in(name: str, password: str, *, by: str, at: datetime | None = None) -> User:
    """
    Let somebody sign in under a name and a password.

    Raises
    ------
    Refused
        If the name is empty or taken, or the password is too easily guessed.
    """
    user = User(username=name.strip())
    try:
        user.clean_fields(exclude=["password"])
    except ValidationError as error:
        raise Refused(f"The name {name!r} cannot be: {' '.join(error.messages)}") from None
    if len(user.username) > LONGEST_NAME:
        raise Refused(f"The name has {len(user.username)} letters. Give one of at most {LONGEST_NAME}.")
    if User.objects.filter(username=user.username).exists():
        raise Refused(
            f"There is a user {user.username} already. Give a new password, or choose another name."
        )
    _set_password(user, password)
    diary.write(None, by=by, at=at or timezone.now(), what="let somebody sign in", text=user.username)
    return user


@transaction.atomic
def change_password(name: str, password: str, *, by: str, at: datetime | None = None) -> User:
    """
    Give somebody a new password; where they are signed in, they must sign in again.

    Raises
    ------
    Refused
        If there is no such user, or the password is too easily guessed.
    """
    user = _known(name)
    user.is_active = True
    _set_password(user, password)
    diary.write(None, by=by, at=at or timezone.now(), what="changed a password", text=user.username)
    return user


@transaction.atomic
def shut_out(name: str, *, by: str, at: datetime | None = None) -> User:
    """
    Let somebody sign in no more, from the next page they ask for. A new password lets them in again.

    Raises
    ------
    Refused
        If there is no such user.
    """
    user = _known(name)
    user.is_active = False
    user.set_unusable_password()  # a session lasts as long as the password it was begun with
    user.save()
    diary.write(None, by=by, at=at or timezone.now(), what="shut somebody out", text=user.username)
    return user


def _known(name: str) -> User:
    user = User.objects.filter(username=name.strip()).first()
    if user is None:
        raise Refused(f"There is no user {name!r}. `pegwood user list` shows them.")
    return user


def _set_password(user: User, password: str) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise Refused(" ".join(error.messages)) from None
    user.set_password(password)
    user.save()
