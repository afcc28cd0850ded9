"""Every address of a site with what fills it, and bodies with which its forms change something."""

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from inspections.models import CheckIn, Mail, Mute, Webhook, WebhookMessage
from openings.models import OpeningList
from sitetrack.access.models import Device, Invitation, Membership
from sitetrack.reports.models import Reader
from tests.desk.every_page import ELSEWHERE, Job

# What a request leaves behind of itself: where one is signed in, what one has looked at, made figures kept.
PASSING = {"session", "signedin", "look", "accesslog", "accessattempt", "failedtry", "forecast"}


def site_routes() -> dict[str, list[str]]:
    """The routes below a site by name, with the names of their parts."""
    return {name: parts for name, parts in _routes(get_resolver().url_patterns) if "code" in parts}


def pages_behind_a_number() -> set[str]:
    """The words that stand behind an opening's number in the addresses of its pages."""
    behind = {str(each.pattern).partition("<path:number>")[2] for each in _every_pattern(get_resolver().url_patterns)}
    return {text.strip("/$") for text in behind} - {""}


def _every_pattern(patterns: Any) -> Iterator[URLPattern]:
    for each in patterns:
        if isinstance(each, URLResolver):
            yield from _every_pattern(each.url_patterns)
        else:
            yield each


def _routes(patterns: Any, space: str = "") -> Iterator[tuple[str, list[str]]]:
    for each in patterns:
        if isinstance(each, URLResolver) and each.namespace not in ELSEWHERE:
            yield from _routes(each.url_patterns, f"{each.namespace}:" if each.namespace else space)
        elif isinstance(each, URLPattern):
            yield f"{space}{each.name}", list(each.pattern.converters)


def parts_of(job: Job) -> dict[str, Any]:
    """What the parts of addresses are, of this job; where a name means two things, by the route as well."""
    site = job.site
    return {
        "code": site.code, "number": job.opening.number, "floor_id": job.opening.floor_id, "draft_id": job.draft.pk,
        "n": job.revision.n, "list_id": OpeningList.objects.get(site=site).pk, "digest": "ab" * 32,
        "check_in_id": CheckIn.objects.filter(site=site)[0].pk, "alert_id": job.alert.pk,
        "mute_id": Mute.objects.filter(site=site, lifted_at=None)[0].pk, "week": "2026-W10",
        "mail_id": Mail.objects.filter(site=site, state="failed")[0].pk,
        "webhook_id": Webhook.objects.filter(site=site, stopped_at=None)[0].pk,
        "message_id": WebhookMessage.objects.filter(site=site, state="failed")[0].pk,
        "device_id": Device.objects.filter(site=site)[0].pk, "item_id": job.stray.pk, "kind": "floor",
        "building_id": job.opening.floor.building_id, "plan_code": job.opening.plan.code, "form": "pdf",
        "standing_id": job.standing.pk, "company_id": job.standing.company_id,
        "reader_id": Reader.objects.get(site=site).pk,
        "setup:place-remove": {"row_id": job.opening.floor_id},
        "setup:invitation-again": {"row_id": Invitation.objects.get(site=site).pk},
        "setup:invitation-withdraw": {"row_id": Invitation.objects.get(site=site).pk},
    }  # fmt: skip


def address(name: str, parts: dict[str, Any]) -> str:
    """The address of a route, filled with these parts."""
    own = parts | parts.get(name, {})
    return reverse(name, kwargs={part: own[part] for part in site_routes()[name]})


def bodies(job: Job) -> dict[str, dict[str, Any]]:
    """By route, a form with which a supervisor (or whoever the table names) changes something."""
    floor, here = job.opening.floor, job.opening
    hand = Membership.objects.get(pk=job.standing.pk)
    place = {"code": "X9", "name": "Nine", "level": 9}
    return {
        "desk:acknowledge": {}, "desk:close": {"why": "Seen."}, "desk:mute-lift": {}, "desk:mail-again": {},
        "desk:acknowledge-chosen": {"alert": [str(job.alert.pk)]},
        "desk:mute": {"area": "floor", "days": "3", "reason": "Asked.", "until": "2099-01-01"},
        "desk:alert-mail": {"wish": "never"},
        "desk:floor-pick": {"opening": [str(here.pk)]},
        "desk:opening": {"stage": "set", "action": "note", "note": "Seen."},
        "setup:webhook-secret": {}, "setup:webhook-stop": {},
        "setup:webhooks": {"url": "https://new.example/", "event": ["alert.raised"]},
        "setup:person": {"role": "viewer", "company": "Other Ltd"}, "setup:person-remove": {},
        "setup:person-invite": {"email": "x@example.com", "role": "viewer", "company": "Other Ltd", "language": "en"},
        "setup:invitation-again": {}, "setup:invitation-withdraw": {},
        "setup:phone-code": {"person": str(hand.person_id)}, "setup:phone-stop": {},
        "setup:kept-aside-discard": {"why": "Sent by mistake."},
        "setup:kept-aside-place": {"opening": here.number, "stage": "trueness", "number": here.number},
        "setup:building-new": {f"building-new-{n}": v for n, v in place.items()} | place,
        "setup:floor-new": {f"floor-{floor.building_id}-{n}": v for n, v in place.items()} | place,
        "reports:calendar-key": {},
        "setup:mailing": {"email": "office@example.com", "status": "on", "gets_status": "on", "what": "status"},
        "setup:mailing-remove": {},
    }  # fmt: skip


def rows() -> dict[str, frozenset[Any]]:
    """Every row of every table but what a request leaves of itself, to be compared with those after it."""
    found = {}
    for model in apps.get_models():
        if model._meta.model_name not in PASSING:
            names = [field.attname for field in model._meta.concrete_fields if field.attname != "last_login"]
            found[model._meta.label] = frozenset(map(repr, model._base_manager.values_list(*names)))
    return found
