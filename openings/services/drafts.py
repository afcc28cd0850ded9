"""Files held between upload and taking in."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.files.base import File
from django.db import transaction

from openings.models import IntakeDraft, Site
from openings.services.take_in import check_may_change_schedule
from sitetrack.access.models import Person
from sitetrack.kit.undoing import UNDO_WITHIN, must_be_ones_own_and_recent

# A person settles one file at a time; older ones left lying would only fill the disk.
MOST_HELD = 5


@transaction.atomic
def hold_file(*, site: Site, upload: File, name: str, who: Person, now: datetime) -> IntakeDraft:
    """Hold a file for its person; of more than a few, the oldest goes. Raises Forbidden."""
    check_may_change_schedule(site, who)
    draft = IntakeDraft(site=site, person=who, made_at=now, file_name=name[:200])
    draft.file.save("schedule", upload, save=False)
    draft.save()
    theirs = IntakeDraft.objects.filter(site=site, person=who).order_by("-made_at", "-pk")
    for gone in theirs.filter(let_go_at__lt=now - UNDO_WITHIN):
        drop_file(draft=gone)
    for old in theirs[MOST_HELD:]:
        drop_file(draft=old)
    return draft


@transaction.atomic
def settle_file(*, draft: IntakeDraft, settled: Mapping[str, Any]) -> None:
    """Keep what was settled so far."""
    draft.settled = dict(settled)
    draft.save(update_fields=["settled"])


@transaction.atomic
def let_file_go(*, draft: IntakeDraft, who: Person, now: datetime) -> None:
    """Show a held file no more; it is kept for as long as its person may take that back. Again changes nothing.

    What is left lying goes when the person holds the next file, or with the files held too long.
    """
    check_may_change_schedule(draft.site, who)
    IntakeDraft.objects.filter(pk=draft.pk, person=who, let_go_at=None).update(let_go_at=now)


@transaction.atomic
def take_back_letting_go(*, draft: IntakeDraft, who: Person, now: datetime) -> None:
    """Hold a file again that was let go a moment ago. Raises `Forbidden`, or `Conflict` where it is too late."""
    check_may_change_schedule(draft.site, who)
    must_be_ones_own_and_recent(done_by=draft.person, done_at=draft.let_go_at, who=who, now=now)
    IntakeDraft.objects.filter(pk=draft.pk).update(let_go_at=None)


@transaction.atomic
def drop_file(*, draft: IntakeDraft) -> None:
    """Let a held file go; the file itself only once that is certain."""
    storage, name = draft.file.storage, str(draft.file.name)
    draft.delete()
    transaction.on_commit(lambda: storage.delete(name))
