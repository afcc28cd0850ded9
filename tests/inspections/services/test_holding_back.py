"""What the fold can't know: a wrong frame is not boarded over, and what the schedule leaves out is nobody's work."""

from datetime import datetime, timedelta
from importlib import import_module

import pytest
from django.apps import apps

from inspections.models import Alert, Progress, StageStanding
from inspections.services.alerts import close, reopen
from inspections.services.audit import audit_projection
from inspections.services.work_out import sweep
from openings.models import DirtyOpening, Opening, ScheduleChange
from sitetrack.access.roles import Trade
from tests import builders as b
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
RULE = "schedule-changed-after-set"


@pytest.fixture
def proved() -> tuple[Opening, datetime]:
    """A frame checked and signed, so that the board may come."""
    opening = b.opening(b.site())
    at = b.work_up_to(opening, "trueness")
    return opening, at + HOUR


def change(opening: Opening, field: str, before: str, after: str, at: datetime) -> None:
    ScheduleChange.objects.create(
        site=opening.site, opening=opening, at=at, by=b.supervisor(opening.site), kind="changed",
        field=field, before=before, after=after,
    )  # fmt: skip
    b.check_in(b.supervisor(opening.site), opening, "receive", "note", note="new issue", at=at)


def ready_for(opening: Opening, trade: Trade) -> set[str]:
    return set(
        StageStanding.objects.filter(opening=opening, trade=trade, actionable=True).values_list("stage", flat=True)
    )


def test_the_board_is_ready_over_a_frame_that_was_proved(proved: tuple[Opening, datetime]) -> None:
    opening, _ = proved
    assert "board" in ready_for(opening, Trade.DRYWALL)
    assert Progress.objects.get(opening=opening).next_stage == "board"


def test_no_board_over_a_frame_whose_size_changed_until_somebody_says_that_it_stays(
    proved: tuple[Opening, datetime],
) -> None:
    opening, at = proved
    change(opening, "width", "3'-0\"", "3'-6\"", at)
    assert ready_for(opening, Trade.DRYWALL) == set()
    progress = Progress.objects.get(opening=opening)
    assert progress.next_stage != "board"
    assert progress.state["stages"]["board"]["state"] == "held"
    assert progress.state["stages"]["board"]["actionable"] is False
    assert audit_projection().different == ()

    alert = Alert.objects.get(opening=opening, rule=RULE)
    boss = b.supervisor(opening.site)
    closed = close(
        alert=alert, who=boss, why="Architect agrees: the frame stays, the leaf is made to it.", now=at + HOUR
    )
    sweep(now=at + HOUR)
    assert "board" in ready_for(opening, Trade.DRYWALL)
    reopen(alert=closed, who=boss, now=at + HOUR)
    sweep(now=at + HOUR)
    assert ready_for(opening, Trade.DRYWALL) == set()
    assert audit_projection().different == ()


def test_another_hardware_set_stops_nobody(proved: tuple[Opening, datetime]) -> None:
    opening, at = proved
    change(opening, "hardware_set", "04", "05", at)
    assert Alert.objects.filter(opening=opening, rule=RULE, closed_at=None).exists(), "but somebody is to look"
    assert "board" in ready_for(opening, Trade.DRYWALL)


def test_what_the_schedule_leaves_out_is_nobodys_work_and_is_again_when_it_is_back(
    proved: tuple[Opening, datetime],
) -> None:
    opening, at = proved
    for listed in (False, True):
        Opening.objects.filter(pk=opening.pk).update(in_schedule=listed)
        b.check_in(b.supervisor(opening.site), opening, "receive", "note", note="revision", at=at)
        assert ("board" in ready_for(opening, Trade.DRYWALL)) is listed
        assert bool(Progress.objects.get(opening=opening).next_stage) is listed


def test_a_reading_that_waits_for_its_signature_is_no_work_of_its_trade() -> None:
    opening = b.opening(b.site())
    at = b.work_up_to(opening, "anchor")
    b.frame_check(b.crew(opening.site), opening, readings=b.TRUE_READINGS, answers=b.TRUENESS_ANSWERS, at=at + HOUR)
    waiting = StageStanding.objects.get(opening=opening, stage="trueness")
    assert (waiting.awaits_signature, waiting.actionable) == (True, False)


def test_a_reading_of_another_frame_is_not_drawn_and_no_door_is_said_to_fit(proved: tuple[Opening, datetime]) -> None:
    opening, at = proved
    desk = signed_in(b.supervisor(opening.site))
    page = f"/s/{opening.site.code}/openings/{opening.number}"
    assert "would swing free" in words(desk.get(page))
    change(opening, "height", "7'-0\"", "8'-0\"", at)
    told = words(desk.get(page))
    assert "would swing free" not in told
    assert "To put it right" not in told
    assert "The schedule has changed since the reading" in told


def test_an_upgrade_owes_what_stands_otherwise_by_the_new_rules(proved: tuple[Opening, datetime]) -> None:
    left_out, untouched = proved[0], b.opening(proved[0].site)
    Opening.objects.filter(pk=left_out.pk).update(in_schedule=False)
    DirtyOpening.objects.all().delete()
    import_module("inspections.migrations.0017_work_out_what_is_held_back").owe(apps, None)
    owed = set(DirtyOpening.objects.values_list("opening", flat=True))
    assert left_out.pk in owed
    assert untouched.pk not in owed
