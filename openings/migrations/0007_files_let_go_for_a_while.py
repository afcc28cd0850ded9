from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("openings", "0006_what_was_before_by_hand")]

    operations = [
        migrations.AddField(
            model_name="intakedraft",
            name="let_go_at",
            field=models.DateTimeField(
                blank=True, editable=False, help_text="Let go then; kept for as long as that can be undone.", null=True
            ),
        ),
    ]
