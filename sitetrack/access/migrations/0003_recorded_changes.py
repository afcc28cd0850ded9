import django.db.models.deletion
import sitetrack.kit.ids
from django.conf import settings
from django.db import migrations, models

TABLE = 'access_recordedchange'
WORDS = 'recorded changes are kept as they are'
SQLITE_UPDATE = f"""
CREATE TRIGGER {TABLE}_no_update BEFORE UPDATE ON {TABLE}
BEGIN SELECT RAISE(ABORT, '{WORDS}'); END
"""
SQLITE_DELETE = f"""
CREATE TRIGGER {TABLE}_no_delete BEFORE DELETE ON {TABLE}
BEGIN SELECT RAISE(ABORT, '{WORDS}'); END
"""
POSTGRES_FUNCTION = f"""
CREATE FUNCTION {TABLE}_kept() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '{WORDS}' USING ERRCODE = 'integrity_constraint_violation'; END $$
"""
POSTGRES_TRIGGER = f"""
CREATE TRIGGER {TABLE}_kept BEFORE UPDATE OR DELETE ON {TABLE}
FOR EACH ROW EXECUTE FUNCTION {TABLE}_kept()
"""


def make_triggers(apps, schema_editor):
    """The data base itself refuses to alter or remove, for whoever comes past the model."""
    if schema_editor.connection.vendor == 'postgresql':
        schema_editor.execute(POSTGRES_FUNCTION)
        schema_editor.execute(POSTGRES_TRIGGER)
    elif schema_editor.connection.vendor == 'sqlite':
        schema_editor.execute(SQLITE_UPDATE)
        schema_editor.execute(SQLITE_DELETE)


def drop_triggers(apps, schema_editor):
    if schema_editor.connection.vendor == 'postgresql':
        schema_editor.execute(f'DROP TRIGGER {TABLE}_kept ON {TABLE}')
        schema_editor.execute(f'DROP FUNCTION {TABLE}_kept()')
    elif schema_editor.connection.vendor == 'sqlite':
        schema_editor.execute(f'DROP TRIGGER {TABLE}_no_update')
        schema_editor.execute(f'DROP TRIGGER {TABLE}_no_delete')


class Migration(migrations.Migration):

    dependencies = [
        ('access', '0002_initial'),
        ('openings', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='RecordedChange',
            fields=[
                ('id', models.UUIDField(default=sitetrack.kit.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('at', models.DateTimeField()),
                ('kind', models.CharField(max_length=20)),
                ('act', models.CharField(max_length=20)),
                ('about_id', models.CharField(blank=True, max_length=40)),
                ('named', models.CharField(help_text='What it was called then.', max_length=200)),
                ('differences', models.JSONField(default=list, help_text='Each a list of field, value before, value after; as text.')),
                ('site', models.ForeignKey(help_text='None: of an account only.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='openings.site')),
                ('who', models.ForeignKey(help_text='None: the server itself.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-at', '-id'],
                'indexes': [models.Index(fields=['site', '-at', '-id'], name='change_of_site'), models.Index(fields=['who', '-at'], name='change_by_person')],
            },
        ),
        migrations.RunPython(make_triggers, drop_triggers),
    ]
