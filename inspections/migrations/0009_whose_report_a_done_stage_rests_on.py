"""Standings name the company whose report they rest on; those there already are told from the fold's stored answer."""

import django.db.models.deletion
from django.db import migrations, models

CHUNK = 500


def tell_companies(apps, schema_editor):
    progress = apps.get_model("inspections", "Progress")
    standing = apps.get_model("inspections", "StageStanding")
    check_in = apps.get_model("inspections", "CheckIn")
    keys = list(progress.objects.order_by("pk").values_list("pk", flat=True))
    for start in range(0, len(keys), CHUNK):
        facts = {}
        for pk, state in progress.objects.filter(pk__in=keys[start : start + CHUNK]).values_list("pk", "state"):
            for code, stage in (state.get("stages") or {}).items():
                if stage.get("state") == "done" and stage.get("fact"):
                    facts[pk, code] = stage["fact"]
        by_fact = {
            str(pk): company
            for pk, company in check_in.objects.filter(opening__in={pk for pk, _ in facts}).values_list(
                "pk", "company_id"
            )
        }
        told = []
        for row in standing.objects.filter(opening__in={pk for pk, _ in facts}):
            row.company_id = by_fact.get(facts.get((row.opening_id, row.stage)))
            if row.company_id:
                told.append(row)
        standing.objects.bulk_update(told, ["company"], batch_size=200)


class Migration(migrations.Migration):
    dependencies = [
        ("access", "0002_initial"),
        ("inspections", "0008_questions_that_name_nobody"),
    ]

    operations = [
        migrations.AddField(
            model_name="stagestanding",
            name="company",
            field=models.ForeignKey(
                blank=True,
                help_text="Whose report it rests on, once it is done.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="access.company",
            ),
        ),
        migrations.RunPython(tell_companies, migrations.RunPython.noop, elidable=True),
    ]
