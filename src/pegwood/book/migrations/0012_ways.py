"""Each way of gauging is accepted by itself: a meter's cells do not take the place of its readings."""

from django.db import migrations, models


def _from_settings(apps, _schema):
    measurements = apps.get_model("book", "Measurement").objects
    for one in measurements.filter(settings__has_key="way").only("pk", "settings").iterator():
        measurements.filter(pk=one.pk).update(way=str(one.settings["way"])[:40])


class Migration(migrations.Migration):

    dependencies = [
        ('book', '0011_gauging'),
    ]

    operations = [
        migrations.AddField(
            model_name='measurement',
            name='way',
            field=models.CharField(blank=True, default='', max_length=40),
        ),
        migrations.RemoveConstraint(
            model_name='measurement',
            name='one_accepted_reading_for_each_speed_found_and_left',
        ),
        migrations.AddConstraint(
            model_name='measurement',
            constraint=models.UniqueConstraint(
                condition=models.Q(models.Q(('phase', ''), _negated=True), ('set_aside', False)),
                fields=('job', 'instrument', 'way', 'marked', 'phase'),
                name='one_accepted_reading_for_each_speed_found_and_left',
            ),
        ),
        # last: on PostgreSQL no index can be made in the same transaction as rows are changed
        migrations.RunPython(_from_settings, migrations.RunPython.noop),
    ]
