import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('book', '0002_guards'),
    ]

    operations = [
        migrations.CreateModel(
            name='Calibration',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('struck_out', models.BooleanField(default=False)),
                ('kind', models.CharField(choices=[('clock', 'clock'), ('input', 'input')], max_length=10)),
                ('data', models.JSONField()),
                ('made_on', models.DateField()),
                ('due_on', models.DateField()),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=80)),
                ('file', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='calibrations', to='book.storedfile')),
                ('gear', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='calibrations', to='book.gear')),
            ],
            options={
                'ordering': ['-made_on', '-pk'],
            },
        ),
    ]
