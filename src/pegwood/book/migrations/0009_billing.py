"""
Offers, the clock of the bench, bills and payments.

The database itself refuses to change or delete what was issued or booked: it is put right by a counter-entry.
What was paid on a job before there were payments of their own becomes one.
"""

import django.db.models.deletion
import django.db.models.expressions
from django.db import migrations, models

NEVER_CHANGED = ("bill", "billline", "payment", "clockentry")
SAYS = "is never changed; it is put right by a counter-entry"


def _sqlite(table):
    yield f"""
        CREATE TRIGGER {table}_is_never_replaced BEFORE INSERT ON book_{table}
        WHEN EXISTS (SELECT 1 FROM book_{table} WHERE id = new.id)
        BEGIN SELECT RAISE(ABORT, '{table} {SAYS}'); END
        """
    for deed, word in (("UPDATE", "changed"), ("DELETE", "deleted")):
        yield f"""
            CREATE TRIGGER {table}_is_never_{word} BEFORE {deed} ON book_{table}
            BEGIN SELECT RAISE(ABORT, '{table} {SAYS}'); END
            """


def _postgresql(table):
    yield f"""
        CREATE FUNCTION {table}_refuses() RETURNS trigger LANGUAGE plpgsql AS
        $$ BEGIN RAISE EXCEPTION '{table} {SAYS}'; END $$
        """
    yield f"""
        CREATE TRIGGER {table}_is_never_changed BEFORE UPDATE OR DELETE ON book_{table}
        FOR EACH ROW EXECUTE FUNCTION {table}_refuses()
        """
    yield f"""
        CREATE TRIGGER {table}_is_never_emptied BEFORE TRUNCATE ON book_{table}
        FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuses()
        """


def _sqlite_back(table):
    for word in ("replaced", "changed", "deleted"):
        yield f"DROP TRIGGER {table}_is_never_{word}"


def _postgresql_back(table):
    for word in ("changed", "emptied"):
        yield f"DROP TRIGGER {table}_is_never_{word} ON book_{table}"
    yield f"DROP FUNCTION {table}_refuses()"


def _run(on_sqlite, on_postgresql):
    def run(apps, schema_editor):
        statements = {"sqlite": on_sqlite, "postgresql": on_postgresql}[schema_editor.connection.vendor]
        for table in NEVER_CHANGED:
            for statement in statements(table):
                schema_editor.execute(statement)

    return run


def book_what_was_paid(apps, schema_editor):
    job, payment = apps.get_model("book", "Job"), apps.get_model("book", "Payment")
    for one in job.objects.exclude(paid_minor=None).exclude(paid_minor=0).iterator():
        payment.objects.create(
            job=one,
            kind="payment",
            amount_minor=one.paid_minor,
            currency=one.currency,
            how=one.paid_how,
            at=one.paid_at or one.gone_home_at or one.stands_since,
            by="",
            why="from the card, when payments became entries of their own",
        )


class Migration(migrations.Migration):

    dependencies = [
        ('book', '0008_spares'),
    ]

    operations = [
        migrations.CreateModel(
            name='NumberSeries',
            fields=[
                ('key', models.CharField(max_length=20, primary_key=True, serialize=False)),
                ('last', models.PositiveIntegerField()),
                ('first', models.PositiveIntegerField()),
            ],
            options={
                'verbose_name_plural': 'number series',
            },
        ),
        migrations.AddField(
            model_name='priceline',
            name='tax_percent',
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=7, null=True),
        ),
        migrations.CreateModel(
            name='Bill',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('currency', models.CharField(max_length=3)),
                ('prices', models.CharField(choices=[('gross', 'with tax'), ('net', 'without tax')], default='gross', max_length=5)),
                ('rounding', models.CharField(choices=[('bill', 'on the whole'), ('line', 'line by line')], default='bill', max_length=4)),
                ('net_minor', models.BigIntegerField()),
                ('tax_minor', models.BigIntegerField()),
                ('total_minor', models.BigIntegerField()),
                ('taxes', models.JSONField(default=list)),
                ('kind', models.CharField(choices=[('bill', 'bill'), ('credit', 'credit note')], max_length=6)),
                ('n', models.PositiveIntegerField()),
                ('number', models.CharField(max_length=40, unique=True)),
                ('reason', models.CharField(blank=True, max_length=400)),
                ('issued_at', models.DateTimeField()),
                ('issued_on', models.DateField()),
                ('due_on', models.DateField()),
                ('by', models.CharField(max_length=80)),
                ('seller', models.JSONField()),
                ('buyer', models.JSONField()),
                ('tax_name', models.CharField(blank=True, max_length=20)),
                ('no_tax_reason', models.CharField(blank=True, max_length=240)),
                ('agreed_up_to_minor', models.BigIntegerField(blank=True, null=True)),
                ('agreed_on', models.DateField(blank=True, null=True)),
                ('agreed_how', models.CharField(blank=True, max_length=120)),
                ('done', models.JSONField(default=list)),
                ('terms', models.CharField(blank=True, max_length=1000)),
                ('corrects', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='credits', to='book.bill')),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='bills', to='book.job')),
                ('series', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='bills', to='book.numberseries')),
            ],
            options={
                'ordering': ['issued_at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='ClockEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('run', 'the clock ran'), ('told', 'told, as the clock had been forgotten'), ('correction', 'corrected')], max_length=10)),
                ('minutes', models.IntegerField()),
                ('since', models.DateTimeField(blank=True, null=True)),
                ('until', models.DateTimeField(blank=True, null=True)),
                ('why', models.CharField(blank=True, max_length=240)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='clock_entries', to='book.job')),
            ],
            options={
                'ordering': ['at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='Offer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('currency', models.CharField(max_length=3)),
                ('prices', models.CharField(choices=[('gross', 'with tax'), ('net', 'without tax')], default='gross', max_length=5)),
                ('rounding', models.CharField(choices=[('bill', 'on the whole'), ('line', 'line by line')], default='bill', max_length=4)),
                ('net_minor', models.BigIntegerField()),
                ('tax_minor', models.BigIntegerField()),
                ('total_minor', models.BigIntegerField()),
                ('taxes', models.JSONField(default=list)),
                ('place', models.PositiveSmallIntegerField()),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('lines', models.JSONField(default=list)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('valid_until', models.DateField()),
                ('deposit_minor', models.BigIntegerField(default=0)),
                ('if_no', models.CharField(choices=[('together', 'put together again, unmended'), ('as it is', 'handed back as it lies')], default='together', max_length=8)),
                ('no_costs_minor', models.BigIntegerField(default=0)),
                ('answer', models.CharField(blank=True, choices=[('', 'no answer yet'), ('yes', 'yes'), ('no', 'no')], default='', max_length=3)),
                ('answered_at', models.DateTimeField(blank=True, null=True)),
                ('answered_how', models.CharField(blank=True, max_length=400)),
                ('up_to_minor', models.BigIntegerField(blank=True, null=True)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='offers', to='book.job')),
            ],
            options={
                'ordering': ['job', 'place'],
            },
        ),
        migrations.CreateModel(
            name='Payment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('deposit', 'deposit'), ('payment', 'payment'), ('back', 'paid back'), ('undone', 'taken back, it was a slip')], max_length=7)),
                ('amount_minor', models.BigIntegerField()),
                ('currency', models.CharField(max_length=3)),
                ('how', models.CharField(blank=True, max_length=60)),
                ('why', models.CharField(blank=True, max_length=240)),
                ('ticket', models.UUIDField(blank=True, null=True, unique=True)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='book.job')),
                ('undoes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='undone_by', to='book.payment')),
            ],
            options={
                'ordering': ['at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='BenchClock',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('since', models.DateTimeField(blank=True, null=True)),
                ('until', models.DateTimeField(blank=True, null=True)),
                ('by', models.CharField(blank=True, max_length=80)),
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='bench_clock', to='book.job')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('until__isnull', True), models.Q(('since__isnull', False), ('until__gte', models.F('since'))), _connector='OR'), name='a_clock_ends_after_it_began')],
            },
        ),
        migrations.CreateModel(
            name='BillLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('what', models.CharField(max_length=160)),
                ('kind', models.CharField(max_length=6)),
                ('minutes', models.PositiveIntegerField(blank=True, null=True)),
                ('amount_minor', models.BigIntegerField()),
                ('net_minor', models.BigIntegerField()),
                ('tax_percent', models.DecimalField(blank=True, decimal_places=4, max_digits=7, null=True)),
                ('bill', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='book.bill')),
            ],
            options={
                'ordering': ['bill', 'position'],
                'constraints': [models.UniqueConstraint(fields=('bill', 'position'), name='a_bill_line_has_its_own_place')],
            },
        ),
        migrations.AddIndex(
            model_name='bill',
            index=models.Index(fields=['issued_on'], name='book_bill_issued__f30a40_idx'),
        ),
        migrations.AddConstraint(
            model_name='bill',
            constraint=models.UniqueConstraint(fields=('series', 'n'), name='a_number_is_given_once'),
        ),
        migrations.AddConstraint(
            model_name='bill',
            constraint=models.CheckConstraint(condition=models.Q(('total_minor', django.db.models.expressions.CombinedExpression(models.F('net_minor'), '+', models.F('tax_minor')))), name='net_and_tax_are_the_total'),
        ),
        migrations.AddConstraint(
            model_name='bill',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('corrects__isnull', True), ('kind', 'bill'), ('total_minor__gte', 0)), models.Q(('corrects__isnull', False), ('kind', 'credit'), ('total_minor__lte', 0)), _connector='OR'), name='a_credit_note_counts_below_zero'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.UniqueConstraint(fields=('job', 'place'), name='an_offer_has_its_own_place'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.CheckConstraint(condition=models.Q(('deposit_minor__gte', 0), ('no_costs_minor__gte', 0), ('total_minor__gte', 0)), name='an_offer_asks_for_nothing_below_nothing'),
        ),
        migrations.RunPython(_run(_sqlite, _postgresql), _run(_sqlite_back, _postgresql_back)),
        migrations.RunPython(book_what_was_paid, migrations.RunPython.noop),
    ]
