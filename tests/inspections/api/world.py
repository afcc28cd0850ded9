"""A site with something in every list of the API, and one of every kind of person who might ask."""

from dataclasses import dataclass
from typing import Any

from inspections.models import Alert, CheckIn, CheckInPhoto, Hold, KeptAside, Progress, StageStanding, ToleranceProfile
from openings.models import Building, Floor, Opening, Site
from sitetrack.access.models import Device, Person
from sitetrack.reports.models import Forecast, WeeklyStatus
from tests import builders as b


@dataclass(frozen=True)
class World:
    """Who may ask, and the key of the one row (or several) that each list has."""

    site: Site
    opening: Opening
    people: dict[str, Person | None]
    keys: dict[str, set[str]]
    phone: Device


def make_world() -> World:
    """One frame crew reported everything here; another company's crew is on the same site, a stranger on another."""
    site = b.site()
    opening = b.opening(site, "A-101")
    hand = b.crew(site)
    inspector = b.inspector(site)
    phone, _ = b.device(site, hand)
    reading = b.frame_check(hand, opening, photos=("ab" * 32,))
    signature = b.sign_off(inspector, reading)
    hold = b.check_in(hand, opening, "set", "hold", note="wall line in doubt")
    strange = b.report(opening, "polish")
    b.record(hand, strange, of=site)
    alert = b.alert(opening)
    chief = b.supervisor(site)
    mute = b.muted(opening)
    hook, message = b.webhook(site)
    elsewhere = b.opening(b.site())
    b.alert(elsewhere)
    b.muted(elsewhere)
    b.webhook(elsewhere.site)
    people = {
        "supervisor": chief,
        "inspector": inspector,
        "viewer": b.viewer(site),
        "own crew": hand,
        "other crew": b.crew(site, "drywall"),
        "stranger": b.supervisor(elsewhere.site),
        "anonymous": None,
    }
    keys: dict[str, Any] = {
        "sites": [site],
        "buildings": Building.objects.filter(site=site),
        "floors": Floor.objects.filter(site=site),
        "openings": [opening],
        "stages": StageStanding.objects.filter(site=site),
        "check-ins": CheckIn.objects.filter(company__memberships__person=hand),
        "frame-checks": [reading],
        "profiles": ToleranceProfile.objects.filter(site=site),
        "sign-offs": [signature],
        "holds": Hold.objects.filter(pk=hold.pk),
        "alerts": Alert.objects.filter(site=site),
        "kept-aside": KeptAside.objects.filter(site=site),
        "photos": CheckInPhoto.objects.filter(site=site),
        "reports": [
            WeeklyStatus.objects.create(
                site=site, iso_week="2026-W09", cut_off=b.MONDAY, made_at=b.MONDAY, digest="ab" * 32, files={}
            )
        ],
        "forecasts": [
            Forecast.objects.create(site=site, as_of=b.MONDAY.date(), made_at=b.MONDAY, digest="ab" * 32, told={})
        ],
        "devices": [phone],
        "mutes": [mute],
        "webhooks": [hook],
        "webhook-messages": [message],
    }
    assert Progress.objects.filter(opening=opening).exists()
    assert alert.site == site
    return World(site, opening, people, {name: {str(row.pk) for row in rows} for name, rows in keys.items()}, phone)
