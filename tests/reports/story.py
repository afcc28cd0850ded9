"""A small job over two weeks, for the tests of the weekly status."""

from datetime import date, timedelta
from types import SimpleNamespace

from sitetrack.access.models import Company
from sitetrack.reports.week import Week
from tests import builders as make

WEEK = Week(2026, 10)
CUT_OFF = make.MONDAY.replace(hour=10) + timedelta(days=7)  # Monday 05:00 in Chicago, by then daylight time
BEFORE = make.MONDAY - timedelta(days=5)
AFTER = CUT_OFF + timedelta(hours=1)

HOSTILE = '=HYPERLINK("http://x.example","pay")'


def inches(readings):
    """The readings with their unit, so that a metric site reads them alike."""
    return {name: f'{text}"' for name, text in readings.items()}


def job(**settled):
    """Two floors, four openings: one finished early, one read this week, one on hold, one untouched."""
    site = make.site(settled.pop("code", "clinic"), now=BEFORE, **settled)
    low, high = make.floor(site, "L1", due_on=date(2026, 4, 1)), make.floor(site, "L2", level=2)
    arabic = Company.objects.get_or_create(name="شركة الأبواب")[0]
    crew = make.crew(site, company_=arabic)
    story = SimpleNamespace(site=site, low=low, high=high, crew=crew, inspector=make.inspector(site))
    story.done = make.opening(site, "101", on=low, hardware_set=HOSTILE)
    story.read = make.opening(site, "102", on=low, mark="@F1")
    story.held = make.opening(site, "201", on=high, room_to="Sala de máquinas")
    story.untouched = make.opening(site, "202", on=high)
    make.work_up_to(story.done, "anchor", at=BEFORE)
    make.work_up_to(story.read, "anchor", at=make.MONDAY)
    at = make.MONDAY + timedelta(hours=8)
    story.failed = make.frame_check(crew, story.read, at=at, readings=inches(make.TWISTED_READINGS))
    story.passed = make.frame_check(crew, story.read, at=at + timedelta(hours=1), readings=inches(make.TRUE_READINGS))
    make.sign_off(story.inspector, story.passed, at=at + timedelta(hours=2))
    make.check_in(crew, story.held, "receive", "finish", at=BEFORE, now=at, note="late 🚚 Íñiguez")
    story.hold = make.check_in(crew, story.held, "receive", "hold", at=at, note="-2+3 wrong hand")
    return story
