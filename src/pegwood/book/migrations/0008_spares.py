"""
The shelf, and what the database itself must see to of it: what moved is never rewritten, and there is never
less than nothing of a spare, nor more reserved than lies there.
"""

import django.db.models.deletion
from django.db import migrations, models

# REPLACE deletes the old row without asking: see 0002.
SQLITE = [
    """
    CREATE TRIGGER spares_are_never_overdrawn BEFORE INSERT ON book_sparemove
    WHEN (SELECT coalesce(sum(lies), 0) + new.lies < 0 OR coalesce(sum(held), 0) + new.held < 0
              OR coalesce(sum(lies - held), 0) + new.lies - new.held < 0
          FROM book_sparemove WHERE spare_id = new.spare_id)
    BEGIN SELECT RAISE(ABORT, 'there are not so many of this spare'); END
    """,
    """
    CREATE TRIGGER spares_moves_are_never_replaced BEFORE INSERT ON book_sparemove
    WHEN EXISTS (SELECT 1 FROM book_sparemove WHERE id = new.id)
    BEGIN SELECT RAISE(ABORT, 'what moved is append-only'); END
    """,
    """
    CREATE TRIGGER spares_moves_are_never_changed BEFORE UPDATE ON book_sparemove
    BEGIN SELECT RAISE(ABORT, 'what moved is append-only'); END
    """,
    """
    CREATE TRIGGER spares_moves_are_never_deleted BEFORE DELETE ON book_sparemove
    BEGIN SELECT RAISE(ABORT, 'what moved is append-only'); END
    """,
]

SQLITE_BACK = [
    "DROP TRIGGER spares_moves_are_never_deleted",
    "DROP TRIGGER spares_moves_are_never_changed",
    "DROP TRIGGER spares_moves_are_never_replaced",
    "DROP TRIGGER spares_are_never_overdrawn",
]

POSTGRESQL = [
    """
    CREATE FUNCTION spares_moves_refuse() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION 'what moved is append-only'; END $$
    """,
    """
    CREATE TRIGGER spares_moves_are_never_changed BEFORE UPDATE OR DELETE ON book_sparemove
    FOR EACH ROW EXECUTE FUNCTION spares_moves_refuse()
    """,
    """
    CREATE TRIGGER spares_moves_are_never_emptied BEFORE TRUNCATE ON book_sparemove
    FOR EACH STATEMENT EXECUTE FUNCTION spares_moves_refuse()
    """,
    # Two at once would each see the sum without the other's row: the spare's own row lets one in at a time.
    """
    CREATE FUNCTION spares_moves_fit() RETURNS trigger LANGUAGE plpgsql AS
    $$
    DECLARE there bigint; kept bigint;
    BEGIN
        PERFORM 1 FROM book_spare WHERE id = NEW.spare_id FOR UPDATE;
        SELECT coalesce(sum(lies), 0) + NEW.lies, coalesce(sum(held), 0) + NEW.held INTO there, kept
            FROM book_sparemove WHERE spare_id = NEW.spare_id;
        IF there < 0 OR kept < 0 OR there < kept THEN
            RAISE EXCEPTION 'there are not so many of this spare';
        END IF;
        RETURN NEW;
    END $$
    """,
    """
    CREATE TRIGGER spares_are_never_overdrawn BEFORE INSERT ON book_sparemove
    FOR EACH ROW EXECUTE FUNCTION spares_moves_fit()
    """,
]

POSTGRESQL_BACK = [
    "DROP TRIGGER spares_are_never_overdrawn ON book_sparemove",
    "DROP FUNCTION spares_moves_fit()",
    "DROP TRIGGER spares_moves_are_never_emptied ON book_sparemove",
    "DROP TRIGGER spares_moves_are_never_changed ON book_sparemove",
    "DROP FUNCTION spares_moves_refuse()",
]


def _run(on_sqlite, on_postgresql):
    def run(apps, schema_editor):
        statements = {"sqlite": on_sqlite, "postgresql": on_postgresql}[schema_editor.connection.vendor]
        for statement in statements:
            schema_editor.execute(statement)

    return run


class Migration(migrations.Migration):

    dependencies = [
        ('book', '0007_causes'),
    ]

    operations = [
        migrations.CreateModel(
            name='Donor',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('struck_out', models.BooleanField(default=False)),
                ('family', models.SlugField(blank=True, max_length=60)),
                ('maker', models.CharField(blank=True, max_length=80)),
                ('model', models.CharField(blank=True, max_length=80)),
                ('serial', models.CharField(blank=True, max_length=60)),
                ('place', models.CharField(blank=True, max_length=120)),
                ('note', models.CharField(blank=True, max_length=500)),
                ('cost_minor', models.BigIntegerField(blank=True, null=True)),
                ('currency', models.CharField(blank=True, max_length=3)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('job', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='donor', to='book.job')),
            ],
            options={
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='FitsAlso',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('struck_out', models.BooleanField(default=False)),
                ('part', models.CharField(max_length=120)),
                ('family', models.SlugField(max_length=60)),
                ('maker', models.CharField(blank=True, max_length=80)),
                ('model', models.CharField(blank=True, max_length=80)),
                ('to_part', models.CharField(max_length=120)),
                ('to_family', models.SlugField(max_length=60)),
                ('to_maker', models.CharField(blank=True, max_length=80)),
                ('to_model', models.CharField(blank=True, max_length=80)),
                ('both_ways', models.BooleanField(default=True)),
                ('note', models.CharField(blank=True, max_length=240)),
                ('source', models.CharField(max_length=240)),
                ('mark', models.CharField(choices=[('seen', 'seen'), ('memory', 'memory'), ('practice', 'practice')], default='practice', max_length=10)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('source', ''), _negated=True), name='who_says_that_it_fits_is_told')],
            },
        ),
        migrations.CreateModel(
            name='PartWorth',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('family', models.SlugField(max_length=60)),
                ('part', models.CharField(max_length=120)),
                ('worth_minor', models.BigIntegerField()),
                ('currency', models.CharField(max_length=3)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('family', 'part'), name='a_part_is_worth_one_sum'), models.CheckConstraint(condition=models.Q(('worth_minor__gt', 0)), name='a_parts_worth_is_above_nothing')],
            },
        ),
        migrations.CreateModel(
            name='Spare',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('part', models.CharField(blank=True, max_length=120)),
                ('name', models.CharField(max_length=120)),
                ('family', models.SlugField(blank=True, max_length=60)),
                ('maker', models.CharField(blank=True, max_length=80)),
                ('model', models.CharField(blank=True, max_length=80)),
                ('grade', models.PositiveSmallIntegerField(blank=True, choices=[(0, 'as new'), (1, 'slight'), (2, 'plain to see'), (3, 'marked'), (4, 'heavy'), (5, 'past use')], null=True)),
                ('place', models.CharField(blank=True, max_length=120)),
                ('note', models.CharField(blank=True, max_length=500)),
                ('cost_minor', models.BigIntegerField(blank=True, null=True)),
                ('currency', models.CharField(blank=True, max_length=3)),
                ('good_from', models.FloatField(blank=True, null=True)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('donor', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='spares', to='book.donor')),
            ],
            options={
                'ordering': ['name', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='DonorPart',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('struck_out', models.BooleanField(default=False)),
                ('part', models.CharField(blank=True, max_length=120)),
                ('name', models.CharField(max_length=120)),
                ('reason', models.CharField(blank=True, max_length=240)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('donor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='parts_gone', to='book.donor')),
                ('spare', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='out_of', to='book.spare')),
            ],
            options={
                'ordering': ['at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='SpareMeasure',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('struck_out', models.BooleanField(default=False)),
                ('what', models.CharField(max_length=60)),
                ('value', models.FloatField()),
                ('u', models.FloatField()),
                ('unit', models.CharField(max_length=20)),
                ('note', models.CharField(blank=True, max_length=240)),
                ('on', models.DateField()),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('spare', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='measures', to='book.spare')),
            ],
            options={
                'ordering': ['on', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='SpareMove',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('put in', 'put in'), ('reserved', 'reserved'), ('let go', 'let go'), ('used', 'used'), ('given back', 'given back'), ('written off', 'written off'), ('counted', 'counted'), ('undone', 'undone')], max_length=12)),
                ('lies', models.SmallIntegerField(default=0)),
                ('held', models.SmallIntegerField(default=0)),
                ('for_part', models.CharField(blank=True, max_length=120)),
                ('reason', models.CharField(blank=True, max_length=240)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('job', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='spare_moves', to='book.job')),
                ('spare', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='moves', to='book.spare')),
                ('undoes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='undone_by', to='book.sparemove')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.AddConstraint(
            model_name='donor',
            constraint=models.CheckConstraint(condition=models.Q(('cost_minor__isnull', True), models.Q(('cost_minor__gte', 0), models.Q(('currency', ''), _negated=True)), _connector='OR'), name='a_donors_cost_is_in_a_currency'),
        ),
        migrations.AddIndex(
            model_name='spare',
            index=models.Index(fields=['family', 'part'], name='book_spare_family_501d67_idx'),
        ),
        migrations.AddConstraint(
            model_name='spare',
            constraint=models.CheckConstraint(condition=models.Q(('grade__isnull', True), ('grade__range', (0, 5)), _connector='OR'), name='a_spares_grade_is_0_to_5'),
        ),
        migrations.AddConstraint(
            model_name='spare',
            constraint=models.CheckConstraint(condition=models.Q(('cost_minor__isnull', True), models.Q(('cost_minor__gte', 0), models.Q(('currency', ''), _negated=True)), _connector='OR'), name='a_spares_cost_is_in_a_currency'),
        ),
        migrations.AddConstraint(
            model_name='donorpart',
            constraint=models.UniqueConstraint(condition=models.Q(('struck_out', False), models.Q(('part', ''), _negated=True)), fields=('donor', 'part'), name='a_part_comes_out_of_a_donor_once'),
        ),
        migrations.AddConstraint(
            model_name='sparemeasure',
            constraint=models.CheckConstraint(condition=models.Q(('u__gt', 0)), name='a_measured_spare_has_its_uncertainty'),
        ),
        migrations.AddConstraint(
            model_name='sparemove',
            constraint=models.CheckConstraint(condition=models.Q(('held', 0), ('job__isnull', False), _connector='OR'), name='what_is_reserved_is_reserved_for_a_job'),
        ),
        migrations.AddConstraint(
            model_name='sparemove',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'undone'), ('undoes__isnull', False)), models.Q(models.Q(('kind', 'undone'), _negated=True), ('undoes', None)), _connector='OR'), name='a_counter_entry_names_what_it_undoes'),
        ),
        migrations.RunPython(_run(SQLITE, POSTGRESQL), _run(SQLITE_BACK, POSTGRESQL_BACK)),
    ]
