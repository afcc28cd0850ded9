"""People of a site: another role, company or trade, and leaving."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from sitetrack.access.models import Device, EnrolmentCode, Membership, Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import GIVES, Right, must
from sitetrack.access.roles import Role
from sitetrack.access.services.enrolment import stop_devices
from sitetrack.access.services.invitations import Standing, hold_people, settle_standing
from sitetrack.access.services.sessions import end_sessions
from sitetrack.access.services.trail import differing, record_change
from sitetrack.kit.problems import Conflict, Forbidden


@transaction.atomic
def change_standing(*, membership: Membership, to: Standing, who: Person, now: datetime) -> Membership:
    """Give a person another role, company or trades; the same again changes nothing.

    The old standing is ended and a new one begun, so that what was reported stays reported in the role and for the
    company of then. Raises `Forbidden`, `BadInput` naming the field, `Conflict` for one ended meanwhile and where the
    site would be left without a supervisor.
    """
    giver = must(who, membership.site_id, Right.MANAGE_PEOPLE)
    row = _locked(membership, giver)
    company, trades = settle_standing(to, giver, now)
    before = {"role": row.role, "company": row.company, "trades": sorted(row.trades)}
    differences = differing(before, {"role": to.role, "company": company, "trades": trades})
    if not differences:
        return row
    if to.role != Role.SUPERVISOR:
        _must_leave_a_supervisor(row)
    row.ended_at = now
    row.save(update_fields=["ended_at"])
    fresh = Membership.objects.create(
        site_id=row.site_id, person=row.person, company=company, role=to.role, trades=trades, began_at=now
    )
    record_change(
        site=row.site_id, who=who, now=now, kind=Kind.PERSON, act=Act.CHANGED, about=row.person, differences=differences
    )
    return fresh


@transaction.atomic
def end_standing(*, membership: Membership, who: Person, now: datetime) -> None:
    """Remove a person from a site: their phones there are stopped, their codes are good no more, their sessions end.

    What they reported stays. Raises `Forbidden`, and `Conflict` for the last supervisor and for one ended meanwhile.
    """
    giver = must(who, membership.site_id, Right.MANAGE_PEOPLE)
    row = _locked(membership, giver)
    _must_leave_a_supervisor(row)
    row.ended_at = now
    row.save(update_fields=["ended_at"])
    phones = Device.objects.filter(site=row.site_id, person=row.person, revoked_at=None).select_related("person")
    stop_devices(devices=list(phones), who=who, now=now)
    EnrolmentCode.objects.filter(site=row.site_id, person=row.person, device=None, expires_at__gt=now).update(
        expires_at=now
    )
    end_sessions(person=row.person)
    record_change(
        site=row.site_id, who=who, now=now, kind=Kind.PERSON, act=Act.REMOVED, about=row.person,
        differences={"role": (row.role, ""), "company": (row.company, ""), "trades": (row.trades, "")},
    )  # fmt: skip


def _locked(membership: Membership, giver: Membership) -> Membership:
    """The standing under lock, with every supervisor's of the site: of two who remove each other one comes first."""
    hold_people(membership.site_id)
    row = (
        Membership.objects.select_for_update(of=("self",))
        .select_related("person", "company")
        .filter(pk=membership.pk, ended_at=None)
        .first()
    )
    if row is None:
        raise Conflict(_("This was changed meanwhile. Look at the list again."))
    if row.role not in GIVES[Role(giver.role)]:
        raise Forbidden(_("This role is not yours to take."))
    return row


def _must_leave_a_supervisor(row: Membership) -> None:
    others = Membership.objects.filter(
        site=row.site_id, role=Role.SUPERVISOR, ended_at=None, person__is_active=True
    ).exclude(pk=row.pk)
    if row.role == Role.SUPERVISOR and not others.exists():
        raise Conflict(_("A site keeps at least one supervisor. Give the role to someone else first."))
