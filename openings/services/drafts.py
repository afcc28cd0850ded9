"""Files held between upload and taking in."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.files.base import File
from django.db import transaction

from openings.models import IntakeDraft, Site
from openings.services.take_in import check_may_change_schedule
from sitetrack.access.models import Person

# A person settles one file at a time; older ones left lying would only fill the disk.
MOST_HELD = 5


@transaction.atomic
def hold_file(*, site: Site, upload: File, name: str, who: Person, now: datetime) -> IntakeDraft:
    """Hold a file for its person; of more than a few, the oldest goes. Raises Forbidden."""
    check_may_change_schedule(site, who)
    draft = IntakeDraft(site=site, person=who, made_at=now, file_name=name[:200])
    draft.file.save("schedule", upload, save=False)
    draft.save()
    for old in IntakeDraft.objects.filter(site=site, person=who).order_by("-made_at", "-pk")[MOST_HELD:]:
        drop_file(draft=old)
    return draft


@transaction.atomic
def settle_file(*, draft: IntakeDraft, settled: Mapping[str, Any]) -> None:
    """Keep what was settled so far."""
    draft.settled = dict(settled)
    draft.save(update_fields=["settled"])


@transaction.atomic
def drop_file(*, draft: IntakeDraft) -> None:
    """Let a held file go; the file itself only once that is certain."""
    storage, name = draft.file.storage, str(draft.file.name)
    draft.delete()
    transaction.on_commit(lambda: storage.delete(name))
