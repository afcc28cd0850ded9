from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("inspections", "0012_closed_by_a_changed_plan")]

    operations = [
        migrations.AddIndex(
            model_name="stagestanding",
            index=models.Index(
                condition=models.Q(("actionable", True)),
                fields=["site", "trade", "floor", "stage", "place", "opening"],
                name="standing_to_act_on",
            ),
        ),
        migrations.AddIndex(
            model_name="stagestanding",
            index=models.Index(
                condition=models.Q(("awaits_signature", True)),
                fields=["site", "floor", "stage"],
                name="standing_to_be_signed",
            ),
        ),
    ]
