"""An alert that a new version of the sequence plan ended says so, and not that evidence did."""

from django.db import migrations, models
from django.db.models import Q

NAME = "alert_closed_by_evidence_or_a_named_person"
OPEN = Q(closed_at=None, closed_how="")
BY_PERSON = Q(closed_at__isnull=False, closed_how="person", closed_by__isnull=False) & ~Q(closed_why="")
CHOICES = [
    ("evidence", "closed by evidence"),
    ("plan", "closed by a change of the sequence plan"),
    ("person", "closed by a person"),
]


def plan_back_to_evidence(apps, schema_editor):
    apps.get_model("inspections", "Alert").objects.filter(closed_how="plan").update(closed_how="evidence")


class Migration(migrations.Migration):
    dependencies = [("inspections", "0011_webhooks_that_ask_for_time")]

    operations = [
        migrations.RemoveConstraint(model_name="alert", name=NAME),
        migrations.AlterField(
            model_name="alert",
            name="closed_how",
            field=models.CharField(blank=True, choices=CHOICES, max_length=8),
        ),
        migrations.RunPython(migrations.RunPython.noop, plan_back_to_evidence),
        migrations.AddConstraint(
            model_name="alert",
            constraint=models.CheckConstraint(
                condition=OPEN | Q(closed_at__isnull=False, closed_how__in=["evidence", "plan"]) | BY_PERSON, name=NAME
            ),
        ),
    ]
