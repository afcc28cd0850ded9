"""Alerts about breaches and spreaders carried the id of who went ahead, where every crew of the site can read it."""

from django.db import migrations


def name_nobody(apps, schema_editor):
    """As inspections.rules now tells it: the company, no person."""
    Alert = apps.get_model('inspections', 'Alert')
    for alert in Alert.objects.iterator():
        inner = alert.evidence.get('evidence')
        within = [part for part in (alert.evidence, inner) if isinstance(part, dict) and 'person' in part]
        for part in within:
            del part['person']
        if within:
            alert.save(update_fields=['evidence'])


class Migration(migrations.Migration):

    dependencies = [('inspections', '0009_whose_report_a_done_stage_rests_on')]

    operations = [migrations.RunPython(name_nobody, migrations.RunPython.noop)]
