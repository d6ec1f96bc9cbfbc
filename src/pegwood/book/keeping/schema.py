"""Which shape the book has, and bringing it to the one this program writes."""

from __future__ import annotations

from django.core.management import call_command
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from pegwood.book.refusal import Refused


def pending() -> list[str]:
    """Migrations that the book still lacks, in order, such as ``book.0002_guards``."""
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return [f"{migration.app_label}.{migration.name}" for migration, _ in plan]


def unknown() -> list[str]:
    """Migrations the book has had that this program does not know: a newer program wrote it."""
    executor = MigrationExecutor(connection)
    ours = {app for app, _ in executor.loader.graph.nodes}
    had = MigrationRecorder(connection).applied_migrations()
    known = set(executor.loader.graph.nodes) | set(executor.loader.replacements)
    return [f"{app}.{name}" for app, name in had if app in ours and (app, name) not in known]


def version() -> str:
    """The newest of the book's own migrations that it has had."""
    had = MigrationRecorder(connection).applied_migrations()
    return max((name for app, name in had if app == "book"), default="none")


def bring_up_to_date() -> list[str]:
    """
    Apply what is pending; return it. On SQLite all of it or, after a power cut, none.

    Raises
    ------
    Refused
        If a newer program wrote the book.
    """
    if newer := unknown():
        raise Refused(f"A newer Pegwood wrote this book (it knows {newer[0]}). Use that one.")
    todo = pending()
    if not todo:
        return []
    if connection.vendor != "sqlite":
        call_command("migrate", verbosity=0, interactive=False)
        return todo
    # Django applies each migration in a transaction of its own; around them all stands one more, so that no
    # power cut leaves the book between two shapes. SQLite lets foreign keys be switched off only outside it.
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_keys=OFF")
    try:
        with transaction.atomic():
            call_command("migrate", verbosity=0, interactive=False)
            connection.check_constraints()
    finally:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA foreign_keys=ON")
    return todo
