"""Companies on a site's list, with the trades they do there."""

import django.db.models.deletion
from django.db import migrations, models

import sitetrack.kit.ids


class Migration(migrations.Migration):
    dependencies = [("access", "0005_looks_at_a_site"), ("openings", "0001_initial")]

    operations = [
        migrations.CreateModel(
            name="SiteCompany",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=sitetrack.kit.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("trades", models.JSONField(default=list)),
                (
                    "company",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="listings", to="access.company"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="openings.site"
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "site companies",
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(fields=("site", "company"), name="company_listed_once_per_site")
                ],
            },
        ),
    ]
