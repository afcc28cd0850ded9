from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("inspections", "0010_breaches_that_name_nobody")]

    operations = [
        migrations.AddField(
            model_name="webhook",
            name="not_before",
            field=models.DateTimeField(blank=True, help_text="Until when it asked to be left alone.", null=True),
        ),
    ]
