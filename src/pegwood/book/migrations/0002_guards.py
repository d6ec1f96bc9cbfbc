"""
What the database itself must see to: a diary that nobody can rewrite, and an index of every word.

Both are written for the engine at hand, since neither is the same on SQLite and on PostgreSQL. The full-text
index is SQLite's; elsewhere `pegwood.book.search` looks words up as they stand.
"""

from django.db import migrations

SQLITE = [
    # REPLACE deletes the old row without asking the trigger below, unless the connection chose otherwise.
    """
    CREATE TRIGGER diary_is_never_replaced BEFORE INSERT ON book_diaryentry
    WHEN EXISTS (SELECT 1 FROM book_diaryentry WHERE id = new.id)
    BEGIN SELECT RAISE(ABORT, 'the diary is append-only'); END
    """,
    """
    CREATE TRIGGER diary_is_never_changed BEFORE UPDATE ON book_diaryentry
    BEGIN SELECT RAISE(ABORT, 'the diary is append-only'); END
    """,
    """
    CREATE TRIGGER diary_is_never_deleted BEFORE DELETE ON book_diaryentry
    BEGIN SELECT RAISE(ABORT, 'the diary is append-only'); END
    """,
    """
    CREATE VIRTUAL TABLE book_search_fts USING fts5(
        title, body, content='book_searchentry', content_rowid='id',
        tokenize='unicode61 remove_diacritics 2', prefix='2 3'
    )
    """,
    """
    CREATE TRIGGER search_follows_insert AFTER INSERT ON book_searchentry BEGIN
        INSERT INTO book_search_fts (rowid, title, body) VALUES (new.id, new.title, new.body);
    END
    """,
    """
    CREATE TRIGGER search_follows_delete AFTER DELETE ON book_searchentry BEGIN
        INSERT INTO book_search_fts (book_search_fts, rowid, title, body)
        VALUES ('delete', old.id, old.title, old.body);
    END
    """,
    """
    CREATE TRIGGER search_follows_update AFTER UPDATE ON book_searchentry BEGIN
        INSERT INTO book_search_fts (book_search_fts, rowid, title, body)
        VALUES ('delete', old.id, old.title, old.body);
        INSERT INTO book_search_fts (rowid, title, body) VALUES (new.id, new.title, new.body);
    END
    """,
]

SQLITE_BACK = [
    "DROP TRIGGER search_follows_update",
    "DROP TRIGGER search_follows_delete",
    "DROP TRIGGER search_follows_insert",
    "DROP TABLE book_search_fts",
    "DROP TRIGGER diary_is_never_deleted",
    "DROP TRIGGER diary_is_never_changed",
    "DROP TRIGGER diary_is_never_replaced",
]

POSTGRESQL = [
    """
    CREATE FUNCTION diary_refuses() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION 'the diary is append-only'; END $$
    """,
    """
    CREATE TRIGGER diary_is_never_changed BEFORE UPDATE OR DELETE ON book_diaryentry
    FOR EACH ROW EXECUTE FUNCTION diary_refuses()
    """,
    """
    CREATE TRIGGER diary_is_never_emptied BEFORE TRUNCATE ON book_diaryentry
    FOR EACH STATEMENT EXECUTE FUNCTION diary_refuses()
    """,
]

POSTGRESQL_BACK = [
    "DROP TRIGGER diary_is_never_emptied ON book_diaryentry",
    "DROP TRIGGER diary_is_never_changed ON book_diaryentry",
    "DROP FUNCTION diary_refuses()",
]


def _run(on_sqlite, on_postgresql):
    def run(apps, schema_editor):
        statements = {"sqlite": on_sqlite, "postgresql": on_postgresql}[schema_editor.connection.vendor]
        for statement in statements:
            schema_editor.execute(statement)

    return run


class Migration(migrations.Migration):
    dependencies = [("book", "0001_the_book")]

    operations = [
        migrations.RunPython(_run(SQLITE, POSTGRESQL), _run(SQLITE_BACK, POSTGRESQL_BACK)),
    ]
