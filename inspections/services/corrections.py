"""Check-ins said anew or taken back from the desk. Nothing stored changes: what was said stays, told apart."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from inspections.models import CheckIn
from inspections.models.checkins import Action
from inspections.services.check_ins import desk_report, record_desk_reports
from inspections.services.reports import ItemResult
from openings.models import Opening, Site
from openings.services.changes import lock_site
from sitetrack.access.models import Person
from sitetrack.kit.problems import BadInput, Conflict, FieldError, NotFound
from sitetrack.kit.undoing import must_be_ones_own_and_recent

SAID_ANEW = {Action.START, Action.FINISH, Action.FAIL, Action.NOTE}


@transaction.atomic
def correct_check_in(
    *, site: Site, corrected: UUID, said: Mapping[str, Any], why: str, who: Person, now: datetime
) -> ItemResult:
    """Take a check-in back and say it anew, both or neither; `said` has note, readings and answers as they should be.

    What happened happened when it did, so the new one stands at the moment of the old; that it was received only now,
    by whom and why is on the record, and a signature on the old reading does not sign the new one. Raises `NotFound`,
    `BadInput` without a reason, `Conflict` where it was taken back already, and whatever a push would have answered.
    """
    lock_site(site.pk)
    old = _standing(site, corrected, who)
    if old.action not in SAID_ANEW:
        raise BadInput(_("This is not corrected but taken back, and given anew."))
    if not why.strip():
        error = FieldError("why", "empty", expected="what was wrong", example="Misread the tape at the head.")
        raise BadInput(_("A correction says what was wrong; the reason stays in the record."), errors=[error])
    at: dict[str, Any] = {"opening": old.opening, "stage": old.stage}
    void = desk_report(**at, action=Action.VOID, happened_at=now, about=old.pk, note=why)
    anew = desk_report(**at, action=old.action, happened_at=old.corrected_at, **said)
    return record_desk_reports(site=site, reports=[void, anew], who=who, now=now)[1]


@transaction.atomic
def undo_check_in(*, site: Site, check_in: UUID, who: Person, now: datetime) -> Opening:
    """Take back what one has just reported from the desk; gives its opening.

    Raises `NotFound`, and `Conflict` where it was another's, too long ago, or taken back already.
    """
    lock_site(site.pk)
    found = _visible(site, check_in, who)
    received_at = None if _is_taken_back(found) else found.received_at
    must_be_ones_own_and_recent(done_by=found.person, done_at=received_at, who=who, now=now)
    note = _("Undone right after it was reported.")
    void = desk_report(
        opening=found.opening, stage=found.stage, action=Action.VOID, happened_at=now, about=found.pk, note=note
    )
    record_desk_reports(site=site, reports=[void], who=who, now=now)
    opening: Opening = found.opening
    return opening


def _standing(site: Site, key: UUID, who: Person) -> CheckIn:
    found = _visible(site, key, who)
    if _is_taken_back(found):
        raise Conflict(_("It was taken back meanwhile. Look at the record, and report anew what still needs it."))
    return found


def _visible(site: Site, key: UUID, who: Person) -> CheckIn:
    visible = CheckIn.objects.visible_to(who).filter(site=site, pk=key).select_related("opening", "person")
    found: CheckIn | None = visible.first()
    if found is None:
        raise NotFound(_("There is no such check-in on this site that you may see."))
    return found


def _is_taken_back(found: CheckIn) -> bool:
    return CheckIn.objects.filter(opening=found.opening_id, action=Action.VOID, about=found.pk).exists()
