"""What the demo says once it is loaded: where it is, who signs in, and three things worth trying."""

import json
import shlex
from datetime import datetime, timedelta

from django.db.models import Count, Q

from inspections.models import Alert, FrameCheck, StageStanding
from inspections.models.alerts import ClosedHow
from inspections.models.checkins import Outcome
from openings.models import Site
from sitetrack.access.models import Device, Person
from sitetrack.access.services.enrolment import issue_token, stop_devices
from sitetrack.demo.names import BY_KEY, DEMO_PASSWORD, OFFICE, PEOPLE
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.ids import new_id

PROGRAM = "Demo program"
BOARDED_EARLY = "boarded-before-checked"


def tour(*, site: Site, address: str, now: datetime) -> str:
    """The words printed after loading; issues the program's token anew, since a token is shown only once."""
    return "\n".join(
        [
            "",
            f"{site.name}: {site.openings.filter(in_schedule=True).count()} openings on three floors. {address}/",
            "",
            f"Sign in with the password {DEMO_PASSWORD} as",
            *(f"  {person.email:<28} {person.shown}" for person in PEOPLE if person.shown),
            "",
            "Three things worth trying",
            *_boarded(site, address),
            *_knocked(site, address),
            *_program(site, address, now),
            "",
        ]
    )


def _boarded(site: Site, address: str) -> list[str]:
    early = Alert.objects.filter(site=site, rule=BOARDED_EARLY).order_by("opened_at")
    lines = []
    for number in early.filter(closed_at=None).values_list("opening__number", flat=True)[:1]:
        lines += _see(f"1. Opening {number} was boarded before it was checked", site, address, number)
    for number in early.filter(closed_how=ClosedHow.EVIDENCE).values_list("opening__number", flat=True)[:1]:
        text = f"   Opening {number} seemed to be, until a phone that had been silent for days came back"
        lines += _see(text, site, address, number)
    return lines


def _knocked(site: Site, address: str) -> list[str]:
    """The gang whose frames fail most often when they are read again after boarding."""
    read = FrameCheck.objects.filter(site=site, stage="recheck")
    fails = Count("pk", filter=Q(verdict=Outcome.FAIL))
    gangs = read.values("check_in__person").annotate(read=Count("pk"), failed=fails).order_by("-failed")
    names = dict(Person.objects.filter(pk__in=[gang["check_in__person"] for gang in gangs]).values_list("pk", "name"))
    if not gangs:
        return []
    told = ", ".join(f"{names[g['check_in__person']]} {g['failed']} of {g['read']}" for g in gangs)
    worst = read.filter(check_in__person=gangs[0]["check_in__person"], verdict=Outcome.FAIL)
    number = worst.order_by("-read_at").values_list("opening__number", flat=True).first()
    lines = [f"2. One board crew knocks frames out. Rechecks that failed: {told}."]
    return lines + (_see("   Compare its two readings", site, address, number) if number else [])


def _program(site: Site, address: str, now: datetime) -> list[str]:
    unchecked = StageStanding.objects.filter(site=site, stage="trueness", state__in=["ready", "waiting"])
    alerted = Alert.objects.filter(site=site, closed_at=None, opening__isnull=False).values("opening")
    number = (
        unchecked.exclude(opening__in=alerted)
        .order_by("-actionable", "opening__number")
        .values_list("opening__number", flat=True)
        .first()
    )
    if number is None:
        return []
    item = {
        "id": str(new_id()),
        "site": str(site.pk),
        "opening": number,
        "stage": "board",
        "action": "start",
        "happened_at": rfc3339(now - timedelta(seconds=now.microsecond / 1e6)),
    }
    body = json.dumps({"device_time": item["happened_at"], "check_ins": [item]})
    lines = [
        f"3. A subcontractor's program reports that it boards opening {number}, whose check is still to be made:",
        f"   curl {address}/api/v1/sync/push -H 'Content-Type: application/json' \\",
        f"     -H 'Authorization: Bearer {_token(site, now)}' \\",
        f"     -d {shlex.quote(body)}",
    ]
    return lines + _see("   Then see what the server makes of it", site, address, number)


def _token(site: Site, now: datetime) -> str:
    office = Person.objects.get(email=BY_KEY[OFFICE].email)
    earlier = Device.objects.filter(site=site, person=office, name=PROGRAM, revoked_at=None)
    stop_devices(devices=list(earlier), who=None, now=now)
    return issue_token(site_id=site.pk, person=office, name=PROGRAM, kind=Device.Kind.PROGRAM, now=now)[1]


def _see(text: str, site: Site, address: str, number: str) -> list[str]:
    return [f"{text}:", f"   {address}/s/{site.code}/openings/{number}"]
