"""What is dictated at the bench: narrations, what was heard in them, words that the bench taught."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('book', '0012_ways'),
    ]

    operations = [
        migrations.CreateModel(
            name='Narration',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('struck_out', models.BooleanField(default=False)),
                ('name', models.CharField(blank=True, max_length=200)),
                ('language', models.CharField(default='en', max_length=12)),
                ('how', models.CharField(choices=[('typed', 'typed'), ('file', 'from a file'), ('spoken', 'spoken at the bench')], default='typed', max_length=10)),
                ('text', models.TextField()),
                ('times', models.JSONField(default=list)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('file', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='narrations', to='book.storedfile')),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='narrations', to='book.job')),
            ],
            options={
                'ordering': ['at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='SaidProposal',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('order', models.PositiveIntegerField()),
                ('kind', models.CharField(choices=[('finding', 'finding'), ('work', 'work'), ('remark', 'remark'), ('unplaced', 'not placed')], max_length=10)),
                ('data', models.JSONField()),
                ('begins', models.PositiveIntegerField()),
                ('ends', models.PositiveIntegerField()),
                ('at_s', models.FloatField(blank=True, null=True)),
                ('state', models.CharField(choices=[('open', 'open'), ('kept', 'kept'), ('mended', 'mended'), ('dropped', 'dropped')], default='open', max_length=8)),
                ('mended', models.JSONField(blank=True, null=True)),
                ('reason', models.CharField(blank=True, max_length=240)),
                ('act', models.PositiveIntegerField(blank=True, null=True)),
                ('decided_at', models.DateTimeField(blank=True, null=True)),
                ('decided_by', models.CharField(blank=True, max_length=80)),
                ('finding', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='said_in', to='book.finding')),
                ('narration', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='proposals', to='book.narration')),
                ('remark', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='said_in', to='book.diaryentry')),
                ('sign_answers', models.ManyToManyField(blank=True, related_name='said_in', to='book.signanswer')),
                ('work', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='said_in', to='book.work')),
            ],
            options={
                'ordering': ['narration', 'order'],
            },
        ),
        migrations.CreateModel(
            name='TaughtWord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('struck_out', models.BooleanField(default=False)),
                ('kind', models.CharField(choices=[('part', 'name of a part'), ('condition', 'word for a condition'), ('misheard', 'misheard')], max_length=10)),
                ('said', models.CharField(max_length=120)),
                ('meant', models.CharField(max_length=120)),
                ('family', models.SlugField(blank=True, max_length=60)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('proposal', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='taught', to='book.saidproposal')),
            ],
            options={
                'ordering': ['kind', 'family', 'said'],
            },
        ),
        migrations.AddConstraint(
            model_name='saidproposal',
            constraint=models.UniqueConstraint(fields=('narration', 'order'), name='each_proposal_of_a_narration_has_its_place'),
        ),
        migrations.AddConstraint(
            model_name='saidproposal',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('act__isnull', True), ('decided_at__isnull', True), ('state', 'open')), models.Q(models.Q(('state', 'open'), _negated=True), ('act__isnull', False), ('decided_at__isnull', False)), _connector='OR'), name='a_settled_proposal_says_when_and_an_open_one_does_not'),
        ),
        migrations.AddConstraint(
            model_name='saidproposal',
            constraint=models.CheckConstraint(condition=models.Q(('ends__gte', models.F('begins'))), name='the_words_of_a_proposal_have_a_place'),
        ),
        migrations.AddConstraint(
            model_name='taughtword',
            constraint=models.UniqueConstraint(condition=models.Q(('struck_out', False)), fields=('kind', 'family', 'said'), name='a_word_means_one_thing_at_a_bench'),
        ),
    ]
