import django.db.models.deletion
import sitetrack.kit.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('openings', '0004_supervisors_need_codes'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='sequenceplan',
            name='basis',
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name='sequenceplan',
            name='made_at',
            field=models.DateTimeField(help_text='Empty for versions from before this was noted.', null=True),
        ),
        migrations.AddField(
            model_name='sequenceplan',
            name='made_by',
            field=models.ForeignKey(help_text='Empty: shipped with the release.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='sequenceplan',
            name='why',
            field=models.CharField(blank=True, help_text="What the version changes, in its maker's words.", max_length=300),
        ),
        migrations.CreateModel(
            name='PlanDraft',
            fields=[
                ('id', models.UUIDField(default=sitetrack.kit.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('code', models.CharField(max_length=40)),
                ('document', models.JSONField(help_text='As `openings.sequence.plan_document` reads it; readable, not yet sound.')),
                ('previous', models.JSONField(null=True)),
                ('version', models.PositiveIntegerField(default=1)),
                ('changed_at', models.DateTimeField()),
                ('dropped_at', models.DateTimeField(null=True)),
                ('base', models.ForeignKey(help_text='Drawn from this.', on_delete=django.db.models.deletion.PROTECT, related_name='+', to='openings.sequenceplan')),
                ('changed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='plan_drafts', to='openings.site')),
            ],
            options={
                'ordering': ['code'],
                'constraints': [models.UniqueConstraint(fields=('site', 'code'), name='one_draft_per_plan')],
            },
        ),
    ]
