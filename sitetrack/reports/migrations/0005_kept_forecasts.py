"""Forecasts are kept."""

import django.db.models.deletion
import sitetrack.kit.ids
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('openings', '0001_initial'),
        ('reports', '0004_calendar_keys'),
    ]

    operations = [
        migrations.CreateModel(
            name='Forecast',
            fields=[
                ('id', models.UUIDField(default=sitetrack.kit.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('as_of', models.DateField(help_text="The site's day, on whose morning it stands.")),
                ('made_at', models.DateTimeField()),
                ('digest', models.CharField(help_text='SHA-256 of all that went in; its seed comes from it.', max_length=64)),
                ('told', models.JSONField(help_text='See sitetrack.reports.forecast_told.')),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='forecasts', to='openings.site')),
            ],
            options={
                'ordering': ['site', '-as_of', '-made_at'],
                'indexes': [models.Index(fields=['site', '-as_of', '-made_at'], name='reports_for_site_id_d54015_idx')],
                'constraints': [models.UniqueConstraint(fields=('site', 'digest'), name='one_forecast_per_site_and_input'), models.CheckConstraint(condition=models.Q(('digest', ''), _negated=True), name='forecast_has_digest')],
            },
        ),
    ]
