"""What stands otherwise by the rules that came with this version is owed to be worked out again."""

from datetime import UTC, datetime
from typing import Any

from django.db import migrations
from django.db.models import Q

AT_ONCE = 1000


def owe(apps: Any, _schema_editor: Any) -> None:
    opening, dirty = apps.get_model("openings", "Opening"), apps.get_model("openings", "DirtyOpening")
    changed = apps.get_model("inspections", "Alert").objects.filter(rule="schedule-changed-after-set", closed_at=None)
    held = apps.get_model("inspections", "Hold").objects.filter(from_check=True)
    to_be_signed = apps.get_model("inspections", "StageStanding").objects.filter(awaits_signature=True)
    concerned = opening.objects.filter(
        Q(in_schedule=False) | Q(pk__in=changed.order_by().values("opening"))
        | Q(pk__in=held.order_by().values("opening")) | Q(pk__in=to_be_signed.order_by().values("opening"))
    )  # fmt: skip
    now = datetime.now(tz=UTC)
    rows = concerned.order_by("pk").values_list("site", "pk")
    dirty.objects.bulk_create(
        [dirty(site_id=site, opening_id=pk, marked_at=now) for site, pk in rows], batch_size=AT_ONCE
    )


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0016_reasons_by_language"),
        ("openings", "0009_openings_that_fail_wait_longer"),
    ]

    operations = [migrations.RunPython(owe, migrations.RunPython.noop)]
