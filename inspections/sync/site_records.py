"""What a phone is told of the site as a whole: few records, sent again when any of them changed.

They have no numbers of their own. A cursor carries a digest of them all instead, so that nothing need remember to
number a floor that was renamed or a person who may sign now.
"""

from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef, Q

from inspections.models import ToleranceProfile as StoredProfile
from inspections.services.profiles import prepared_profile
from inspections.standards.clearances import GAP_RULES
from inspections.standards.limits import Limit
from inspections.sync.cursor import short_digest
from inspections.trueness.profile import ToleranceProfile
from openings.models import Floor, Opening, SequencePlan, Site
from sitetrack.access.models import Membership
from sitetrack.access.models.changes import Act, Kind, RecordedChange
from sitetrack.access.roles import Role

MOST_SIGNERS = 200
MOST_REMOVED = 200
SIGNING_ROLES = [Role.SUPERVISOR, Role.INSPECTOR]
NAMED_LIMITS = ("squareness", "alignment", "twist", "plumb", "width_over", "width_under", "disagreement", "clear_width")

Change = dict[str, Any]


@dataclass(frozen=True, slots=True)
class SiteRecords:
    """The site's own records as changes, plans by their key only until they are sent, and the digest of them all."""

    records: list[Change]
    digest: str

    def part(self, start: int, most: int) -> list[Change]:
        """Records from `start` on, at most so many, with the plans among them in full."""
        part = self.records[start : start + most]
        wanted = [change["id"] for change in part if change["type"] == "plan" and change["data"] is not None]
        plans = SequencePlan.objects.filter(pk__in=wanted) if wanted else ()
        data = {str(plan.pk): _plan_data(plan) for plan in plans}
        return [change | {"data": data.get(change["id"], change["data"])} for change in part]


def site_records(standing: Membership) -> SiteRecords:
    """The records of the standing's site for this person; five queries, however much has happened there."""
    site = standing.site
    records = [
        _change("site", site.pk, _site_data(standing)),
        *_plans(site.pk),
        *_profile(site),
        *_floors(site.pk),
        *_removed_floors(site.pk),
    ]
    return SiteRecords(records, short_digest(records))


def limits_for_phone(profile: ToleranceProfile) -> dict[str, Any]:
    """The limits that readings are judged by, in whole nanometres, each with its source; what a reading must have."""
    rule = GAP_RULES[profile.gap_rule]
    limits: dict[str, Limit | None] = {name: getattr(profile, name) for name in NAMED_LIMITS}
    limits |= {
        "gap_least": rule.least,
        "gap_most": rule.most,
        "gap_meeting_most": rule.meeting_most,
        "gap_bottom_most": rule.bottom_most,
    }
    return {
        "limits": {
            name: {"limit_nm": limit.length.nm, "source": limit.cited()} for name, limit in limits.items() if limit
        },
        "required": list(profile.required),
        "units": profile.units,
    }


def _change(kind: str, key: Any, data: dict[str, Any] | None) -> Change:
    return {"type": kind, "id": str(key), "data": data}


def _site_data(standing: Membership) -> dict[str, Any]:
    site, company = standing.site, standing.company
    return {
        "code": site.code,
        "name": site.name,
        "units": site.units,
        "language": site.language,
        "time_zone": site.time_zone,
        "role": standing.role,
        "trades": list(standing.trades),
        "person": {"id": str(standing.person_id), "name": standing.person.name},
        "company": {"id": str(company.pk), "name": company.name},
        "two_persons": site.signer_differs_from_reader,
        "signers": _signers(site.pk),
    }


def _signers(site_id: Any) -> list[dict[str, str]]:
    """Those who can sign on another's phone: of a role that signs anything, with a code of their own."""
    standings = Membership.objects.filter(
        site=site_id, role__in=SIGNING_ROLES, ended_at=None, person__is_active=True
    ).exclude(person__signing_code="")
    rows = standings.order_by("person__name", "person").values_list("person", "person__name", "role")
    return [{"id": str(key), "name": name, "role": role} for key, name, role in rows[:MOST_SIGNERS]]


def _plans(site_id: Any) -> list[Change]:
    """Plans in use, without their stages, which never change; what no opening follows any more is gone."""
    used = Exists(Opening.objects.filter(plan=OuterRef("pk")))
    plans = SequencePlan.objects.filter(site=site_id).annotate(used=Q(current=True) | Q(used)).order_by("pk")
    return [_change("plan", key, {} if used else None) for key, used in plans.values_list("pk", "used")]


def _plan_data(plan: SequencePlan) -> dict[str, Any]:
    return {"code": plan.code, "name": plan.name, "stages": plan.stages}


def _profile(site: Site) -> list[Change]:
    # Under the site's own key, so that a new version takes the place of the old one on the phone.
    latest = StoredProfile.objects.filter(site=site).order_by("-version").values_list("pk", flat=True).first()
    units = site.unit_system
    profile = prepared_profile(latest) if latest else ToleranceProfile(units=units)
    return [_change("profile", site.pk, limits_for_phone(profile))]


def _floors(site_id: Any) -> list[Change]:
    floors = Floor.objects.filter(site=site_id).select_related("building").order_by("building__code", "level", "code")
    return [
        _change("floor", floor.pk, {
            "code": floor.code, "name": floor.name, "level": floor.level, "building": floor.building.code,
        })
        for floor in floors
    ]  # fmt: skip


def _removed_floors(site_id: Any) -> list[Change]:
    """Floors that phones may still hold, by the record of their removal; a building's key harms none."""
    removed = RecordedChange.objects.filter(site=site_id, kind=Kind.PLACE, act=Act.REMOVED).order_by("-at", "-id")
    return [_change("floor", key, None) for key in removed.values_list("about_id", flat=True)[:MOST_REMOVED]]
