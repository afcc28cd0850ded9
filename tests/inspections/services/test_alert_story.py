"""From check-in to alert and back: what went wrong is said at once, and closed only by evidence or a named person."""

from datetime import timedelta

import pytest

from inspections.models import Alert, Hold, Progress, StageStanding
from inspections.services.alerts import acknowledge, close
from inspections.services.site_alerts import raise_site_alerts
from openings.models import DirtyOpening, ScheduleChange, SequencePlan
from sitetrack.access.roles import Trade
from sitetrack.kit.problems import BadInput, Forbidden
from tests import builders as b

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def studded():
    """An opening anchored and waiting for its check, with who works there."""
    site = b.site()
    opening = b.opening(site)
    at = b.work_up_to(opening, "anchor")
    return opening, at


def standing(opening, stage):
    return StageStanding.objects.get(opening=opening, stage=stage)


def open_rules(opening):
    return set(Alert.objects.filter(opening=opening, closed_at=None).values_list("rule", flat=True))


def test_boarding_an_unchecked_frame_raises_one_critical_alert(studded):
    opening, at = studded
    boarders = b.crew(opening.site, Trade.DRYWALL)
    b.check_in(boarders, opening, "board", "start", at=at + HOUR)
    b.check_in(boarders, opening, "board", "finish", at=at + 2 * HOUR)
    (alert,) = Alert.objects.filter(opening=opening, rule="boarded-before-checked")
    assert alert.severity == "critical"
    assert alert.happened_at == at + HOUR


def test_a_late_phone_that_explains_the_order_closes_the_alert_by_evidence(studded):
    opening, at = studded
    frame_crew, inspector = b.crew(opening.site), b.inspector(opening.site)
    phone, _ = b.device(opening.site, frame_crew)
    b.check_in(b.crew(opening.site, Trade.DRYWALL), opening, "board", "start", at=at + 2 * HOUR)
    assert "boarded-before-checked" in open_rules(opening)

    late = at + 26 * HOUR
    reading = b.report(
        opening, "trueness", at=at + HOUR, counter=7, readings=b.TRUE_READINGS, answers=b.TRUENESS_ANSWERS
    )
    b.record(frame_crew, reading, of=opening.site, now=late, phone=phone)
    assert open_rules(opening) == {"went-on-before-signed"}

    signature = b.report(opening, "trueness", "sign", at=at + HOUR + b.MINUTE, about=reading.id)
    b.record(inspector, signature, of=opening.site, now=late)
    assert open_rules(opening) == set()
    closed = Alert.objects.get(opening=opening, rule="boarded-before-checked")
    assert closed.closed_how == "evidence"
    assert "order was right" in closed.closed_why


def test_evidence_taken_back_opens_the_alert_again(studded):
    opening, at = studded
    frame_crew = b.crew(opening.site)
    reading = b.frame_check(frame_crew, opening, at=at + HOUR, now=at + 3 * HOUR)
    b.check_in(b.crew(opening.site, Trade.DRYWALL), opening, "board", "start", at=at + 2 * HOUR)
    assert "boarded-before-checked" not in open_rules(opening)
    b.check_in(frame_crew, opening, "trueness", "void", about=reading.pk, at=at + 4 * HOUR)
    assert "boarded-before-checked" in open_rules(opening)
    b.frame_check(frame_crew, opening, at=at + HOUR, now=at + 5 * HOUR)
    assert "boarded-before-checked" not in open_rules(opening)
    assert Alert.objects.filter(opening=opening, rule="boarded-before-checked").count() == 1


def test_what_a_person_closed_stays_closed_and_needs_a_reason(studded):
    opening, at = studded
    b.check_in(b.crew(opening.site, Trade.DRYWALL), opening, "board", "start", at=at + HOUR)
    alert = Alert.objects.get(opening=opening, rule="boarded-before-checked")
    who = b.supervisor(opening.site)
    with pytest.raises(BadInput, match="reason"):
        close(alert=alert, who=who, why="  ", now=at + 2 * HOUR)
    with pytest.raises(Forbidden):
        close(alert=alert, who=b.crew(opening.site), why="because", now=at + 2 * HOUR)
    acknowledge(alert=alert, who=who, now=at + 2 * HOUR)
    close(alert=alert, who=who, why="Board off one side, frame read and true.", now=at + 3 * HOUR)
    b.check_in(who, opening, "receive", "note", note="again", at=at + 4 * HOUR)
    alert.refresh_from_db()
    assert (alert.closed_how, alert.closed_by, alert.acknowledged_by) == ("person", who, who)


def test_boarding_over_an_unwired_electrified_frame_is_critical():
    site = b.site()
    opening = b.opening(site, electrified=True)
    at = b.work_up_to(opening, "set")
    b.check_in(b.crew(site, Trade.DRYWALL), opening, "board", "start", at=at + HOUR)
    assert "boarded-without-rough-in" in open_rules(opening)


def test_a_revision_that_changes_a_set_frame_raises_its_alert(studded):
    opening, at = studded
    ScheduleChange.objects.create(
        site=opening.site, opening=opening, at=at + HOUR, by=b.supervisor(opening.site), kind="changed",
        field="hand", before="RH", after="LH",
    )  # fmt: skip
    b.check_in(b.supervisor(opening.site), opening, "receive", "note", note="new issue", at=at + HOUR)
    (alert,) = Alert.objects.filter(opening=opening, rule="schedule-changed-after-set")
    assert alert.evidence["before"] == "RH"
    assert alert.evidence["after"] == "LH"


def test_spreaders_out_before_the_recheck_is_said(studded):
    opening, at = studded
    at = b.work_up_to(opening, "board", at=at + HOUR)
    b.check_in(
        b.crew(opening.site, Trade.DRYWALL), opening, "recheck", "finish", at=at + HOUR,
        readings=b.TRUE_READINGS, answers={"spreaders_in": False},
    )  # fmt: skip
    assert "spreaders-out-before-recheck" in open_rules(opening)


def test_a_set_frame_whose_finished_floor_nobody_confirmed_is_said():
    opening = b.opening(b.site())
    b.check_in(b.crew(opening.site), opening, "set", "start")
    assert "floor-unknown-at-set" in open_rules(opening)


def test_an_old_hold_is_said_once_and_closed_when_released():
    site = b.site(hold_limit_days=2)
    opening = b.opening(site)
    hands = b.crew(site)
    hold = b.check_in(hands, opening, "set", "hold", note="Stud layout clashes with duct")
    assert Progress.objects.get(opening=opening).held
    raise_site_alerts(site=site, now=b.MONDAY + timedelta(days=1))
    assert open_rules(opening) == set()
    for _ in range(2):
        raise_site_alerts(site=site, now=b.MONDAY + timedelta(days=3))
    assert Alert.objects.filter(rule="hold-too-old").count() == 1
    b.check_in(hands, opening, "set", "release", about=hold.pk, at=b.MONDAY + timedelta(days=3))
    raise_site_alerts(site=site, now=b.MONDAY + timedelta(days=4))
    assert open_rules(opening) == set()
    assert Hold.objects.get().released_by == hands


def test_work_done_twice_leaves_nothing_owed_and_the_same_rows(studded):
    opening, _ = studded
    rows = list(StageStanding.objects.filter(opening=opening).values())
    assert not DirtyOpening.objects.exists()
    b.work_out(opening_ids=[opening.pk], now=b.MONDAY + timedelta(days=9))
    assert list(StageStanding.objects.filter(opening=opening).values()) == rows


def test_ready_for_a_trade_on_a_floor_is_one_indexed_question(studded):
    opening, _ = studded
    ready = StageStanding.objects.filter(site=opening.site, trade=Trade.FRAME_CREW, actionable=True)
    assert [(s.opening_id, s.stage) for s in ready] == [(opening.pk, "trueness")]


def test_every_stage_that_hides_work_is_marked_in_the_shipped_plans():
    site = b.site()
    closing = {
        plan.code: [s["code"] for s in plan.stages if s.get("closes_wall")]
        for plan in SequencePlan.objects.filter(site=site)
    }
    assert closing["steel_stud"] == ["board"]


def test_a_failed_check_opens_a_hold_that_says_what_is_out_until_it_is_read_again(studded):
    opening, at = studded
    hands = b.crew(opening.site)
    failed = b.frame_check(hands, opening, readings=b.TWISTED_READINGS, at=at + HOUR)
    hold = Hold.objects.get(opening=opening)
    assert (hold.pk, hold.from_check, hold.released_at) == (failed.pk, True, None)
    assert 'twist: 3/16" (1/16")' in hold.reason
    assert standing(opening, "trueness").state == "failed"
    assert standing(opening, "trueness").actionable
    b.frame_check(hands, opening, at=at + 2 * HOUR)
    hold.refresh_from_db()
    assert hold.released_at == at + 2 * HOUR
    b.check_in(hands, opening, "trueness", "void", about=failed.pk, at=at + 3 * HOUR)
    assert not Hold.objects.exists()


def test_a_wall_closed_without_a_reported_start_is_closed_all_the_same():
    site = b.site()
    opening = b.opening(site, electrified=True)
    at = b.work_up_to(opening, "set")
    b.check_in(b.crew(site, Trade.DRYWALL), opening, "board", "finish", at=at + HOUR)
    assert "boarded-without-rough-in" in open_rules(opening)


def test_a_frame_set_again_behind_closed_board_outdates_its_check_and_is_said():
    site = b.site()
    opening = b.opening(site)
    at = b.work_up_to(opening, "board")
    b.check_in(b.crew(site), opening, "anchor", "finish", at=at + HOUR)
    assert "check-outdated-wall-closed" in open_rules(opening)
