"""Muting an alert rule in one area until a date, and lifting a mute."""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from inspections.models import Mute
from inspections.models.mutes import CRITICAL_AT_MOST
from inspections.rules.table import MAY_BE_CRITICAL, TITLES
from openings.models import Floor, Opening, Site, WallType
from openings.services.changes import next_numbers
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, Conflict, FieldError
from sitetrack.kit.undoing import must_be_ones_own_and_recent

LONGEST_REASON = 300
# Nothing is silenced for ever: what is still true after a quarter is looked at again. Chosen here.
AT_MOST = timedelta(days=92)
Area = Floor | WallType | Opening


@transaction.atomic
def mute(*, site: Site, rule: str, area: Area, until: datetime, reason: str, who: Person, now: datetime) -> Mute:
    """Silence a rule in an area; raises `BadInput` naming the field. A rule that may be critical for a week at most."""
    must(who, site.pk, Right.ANSWER_ALERTS)
    reason = " ".join(reason.split())
    errors = [*_wrong_time(rule, until, now), *_wrong_words(rule, reason)]
    if area.site_id != site.pk:
        errors.append(FieldError("area", _("This is no part of the site.")))
    if errors:
        raise BadInput(errors[0].detail, errors=errors)
    next_numbers(site.pk, 1)  # pages that follow the site's changes see that something changed
    made = Mute.objects.create(
        site=site,
        rule=rule,
        floor=area if isinstance(area, Floor) else None,
        wall=area if isinstance(area, WallType) else None,
        opening=area if isinstance(area, Opening) else None,
        until=until,
        reason=reason,
        muted_at=now,
        muted_by=who,
    )
    _record(made, who, now, Act.MUTED, until=str(until.astimezone(site.zone).date()), reason=reason)
    return made


@transaction.atomic
def lift_mute(*, mute: Mute, who: Person, now: datetime) -> Mute:
    """End a mute before its time; one that ended already stays as it ended."""
    must(who, mute.site_id, Right.ANSWER_ALERTS)
    next_numbers(mute.site_id, 1)
    mute = _locked(mute)
    if mute.lifted_at is None and mute.until > now:
        mute.lifted_at, mute.lifted_by = now, who
        mute.save(update_fields=["lifted_at", "lifted_by"])
        _record(mute, who, now, Act.UNMUTED)
    return mute


@transaction.atomic
def put_mute_back(*, mute: Mute, who: Person, now: datetime) -> Mute:
    """Undo the lifting of a mute, by who lifted it, soon after; it ends when it was to end."""
    must(who, mute.site_id, Right.ANSWER_ALERTS)
    next_numbers(mute.site_id, 1)
    mute = _locked(mute)
    must_be_ones_own_and_recent(done_by=mute.lifted_by, done_at=mute.lifted_at, who=who, now=now)
    if mute.until <= now:
        raise Conflict(_("Its time is over meanwhile."))
    mute.lifted_at = mute.lifted_by = None
    mute.save(update_fields=["lifted_at", "lifted_by"])
    _record(mute, who, now, Act.RESTORED)
    return mute


def longest_mute(rule: str) -> timedelta:
    """For how long a rule may be muted at once."""
    return CRITICAL_AT_MOST if rule in MAY_BE_CRITICAL else AT_MOST


def _wrong_time(rule: str, until: datetime, now: datetime) -> list[FieldError]:
    if until <= now:
        return [FieldError("until", _("A mute ends on a day to come."))]
    if until > now + longest_mute(rule):
        days = longest_mute(rule).days
        if rule in MAY_BE_CRITICAL:
            said = _("What may be critical is muted for %(days)d days at most.") % {"days": days}
        else:
            said = _("A mute lasts %(days)d days at most.") % {"days": days}
        return [FieldError("until", said)]
    return []


def _wrong_words(rule: str, reason: str) -> list[FieldError]:
    wrong = []
    if rule not in TITLES:
        wrong.append(FieldError("rule", _("There is no such rule."), read=rule[:40]))
    if not reason:
        wrong.append(FieldError("reason", _("Say why, so that whoever misses the alert understands.")))
    elif len(reason) > LONGEST_REASON:
        wrong.append(FieldError("reason", _("At most %(most)d characters.") % {"most": LONGEST_REASON}))
    return wrong


def _locked(mute: Mute) -> Mute:
    """The mute as it stands now; the site's lock was taken before."""
    found: Mute = Mute.objects.select_related("site", "floor", "wall", "opening", "lifted_by").get(pk=mute.pk)
    return found


def _record(made: Mute, who: Person, now: datetime, act: Act, **said: str) -> None:
    differences = {"rule": ("", made.rule), "area": ("", str(made.area))}
    differences |= {name: ("", text) for name, text in said.items()}
    record_change(site=made.site, who=who, now=now, kind=Kind.ALERT, act=act, about=made.rule, differences=differences)
