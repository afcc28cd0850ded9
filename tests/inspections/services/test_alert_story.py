"""From check-in to alert and back: what went wrong is said at once, and closed only by evidence or a named person."""

from dataclasses import replace
from datetime import timedelta

import pytest

from inspections.models import Alert, Hold, Progress, StageStanding
from inspections.services import work_out
from inspections.services.alerts import acknowledge, close
from inspections.services.site_alerts import raise_site_alerts
from openings.models import DirtyOpening, ScheduleChange, SequencePlan
from sitetrack.access.models import Person
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


def test_what_every_crew_can_read_of_an_alert_names_the_company_and_no_person():
    site = b.site()
    opening = b.opening(site)
    boarders = b.crew(site, Trade.DRYWALL)
    at = b.work_up_to(opening, "anchor")
    b.check_in(boarders, opening, "board", "start", at=at + HOUR)
    b.check_in(
        boarders, opening, "recheck", "finish", at=at + 2 * HOUR,
        readings=b.TRUE_READINGS, answers={"spreaders_in": False},
    )  # fmt: skip
    assert {"boarded-before-checked", "spreaders-out-before-recheck"} <= open_rules(opening)
    company = str(boarders.memberships.get().company_id)
    read_by = b.client(b.crew(site, Trade.ELECTRICIAN))
    for alert in read_by.get("/api/v1/alerts").json()["results"]:
        told = str(alert["evidence"])
        assert company in told, alert["rule"]
        assert not any(str(who.pk) in told for who in Person.objects.all()), alert["rule"]


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
        plan.code: [s["code"] for s in plan.stages if "closes_wall" in s.get("marks", ())]
        for plan in SequencePlan.objects.filter(site=site)
    }
    assert closing["steel_stud"] == ["board"]


def test_a_failed_check_opens_a_hold_that_says_what_is_out_until_it_is_read_again(studded):
    opening, at = studded
    hands = b.crew(opening.site)
    failed = b.frame_check(hands, opening, readings=b.TWISTED_READINGS, at=at + HOUR)
    hold = Hold.objects.get(opening=opening)
    assert (hold.pk, hold.from_check, hold.released_at) == (failed.pk, True, None)
    assert hold.reason.startswith("twist: ✗")
    assert "Measure again" in hold.reason  # the plumb readings say there is no twist
    assert "3/16" not in hold.reason  # holds are seen by every crew, readings by their own company
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


def test_what_was_put_right_afterwards_still_went_wrong(studded):
    """Boarded over an outdated check: reading again later doesn't show that the order was right."""
    opening, at = studded
    site = opening.site
    at = b.work_up_to(opening, "trueness", at=at + HOUR)
    b.check_in(b.crew(site), opening, "anchor", "finish", at=at + HOUR)
    b.check_in(b.crew(site, Trade.DRYWALL), opening, "board", "start", at=at + 2 * HOUR)
    assert "check-outdated-wall-closed" in open_rules(opening)
    b.sign_off(b.inspector(site), b.frame_check(b.crew(site), opening, at=at + 3 * HOUR), at=at + 4 * HOUR)
    assert "check-outdated-wall-closed" in open_rules(opening)


def test_setting_the_frame_again_does_not_unsay_the_change_of_schedule(studded):
    opening, at = studded
    ScheduleChange.objects.create(
        site=opening.site, opening=opening, at=at + HOUR, by=b.supervisor(opening.site), kind="changed",
        field="hand", before="RH", after="LH",
    )  # fmt: skip
    b.check_in(b.crew(opening.site), opening, "set", "finish", at=at + 2 * HOUR)
    assert "schedule-changed-after-set" in open_rules(opening)


def test_going_on_past_an_outdated_recheck_is_critical():
    site = b.site()
    opening = b.opening(site)
    at = b.work_up_to(opening, "recheck")
    boarders = b.crew(site, Trade.DRYWALL)
    b.check_in(boarders, opening, "board", "finish", at=at + HOUR)
    b.check_in(boarders, opening, "fix", "finish", at=at + 2 * HOUR)
    assert "past-hold-point" in open_rules(opening)


def test_rough_in_finished_again_after_the_board_is_no_boarding_without_it():
    site = b.site()
    opening = b.opening(site, electrified=True)
    at = b.work_up_to(opening, "board")
    b.check_in(b.crew(site, Trade.ELECTRICIAN), opening, "roughin", "finish", at=at + HOUR)
    assert "boarded-without-rough-in" not in open_rules(opening)


def test_an_alert_opened_again_is_news_again(studded):
    opening, at = studded
    frame_crew, who = b.crew(opening.site), b.supervisor(opening.site)
    b.check_in(b.crew(opening.site, Trade.DRYWALL), opening, "board", "start", at=at + 2 * HOUR)
    alert = Alert.objects.get(opening=opening, rule="boarded-before-checked")
    acknowledge(alert=alert, who=who, now=at + 2 * HOUR)
    Alert.objects.update(sent_at=at + 2 * HOUR)
    reading = b.frame_check(frame_crew, opening, at=at + HOUR, now=at + 3 * HOUR)
    b.check_in(frame_crew, opening, "trueness", "void", about=reading.pk, at=at + 4 * HOUR)
    alert.refresh_from_db()
    assert (alert.closed_at, alert.sent_at, alert.acknowledged_by) == (None, None, None)


def test_evidence_does_not_overwrite_a_person_who_closed_it_a_moment_before(studded):
    opening, at = studded
    b.check_in(b.crew(opening.site, Trade.DRYWALL), opening, "board", "start", at=at + HOUR)
    stale = Alert.objects.get(opening=opening, rule="boarded-before-checked")
    who = b.supervisor(opening.site)
    close(alert=stale, who=who, why="Board off.", now=at + 2 * HOUR)
    close(alert=stale, who=b.inspector(opening.site), why="Mine.", now=at + 3 * HOUR)
    stale.refresh_from_db()
    assert (stale.closed_by, stale.closed_why) == (who, "Board off.")


def test_holds_are_the_same_whatever_order_the_readings_arrived_in(studded):
    opening, at = studded
    hands = b.crew(opening.site)
    b.frame_check(hands, opening, readings=b.TWISTED_READINGS, at=at + HOUR)
    b.frame_check(hands, opening, at=at + 3 * HOUR)
    b.frame_check(hands, opening, readings=b.TWISTED_READINGS, at=at + 2 * HOUR, now=at + 4 * HOUR)
    assert [h.released_at for h in Hold.objects.all()] == [at + 2 * HOUR, at + 3 * HOUR]


def test_later_items_kept_aside_are_news_even_if_the_first_alert_was_closed():
    site = b.site()
    hands = b.crew(site)
    opening = b.opening(site)
    for number, hours in (("NOWHERE", 0), ("NOWHERE2", 1)):
        lost = b.report(opening, at=b.MONDAY + hours * HOUR)
        b.record(hands, replace(lost, opening=number), of=site)
        raise_site_alerts(site=site, now=b.MONDAY + hours * HOUR)
        (alert,) = Alert.objects.filter(rule="kept-aside-waiting", closed_at=None)
        close(alert=alert, who=b.supervisor(site), why="I know.", now=b.MONDAY + hours * HOUR)
    assert Alert.objects.filter(rule="kept-aside-waiting").count() == 2


def test_one_opening_that_cannot_be_worked_out_keeps_no_other_from_it(monkeypatch):
    site = b.site()
    bad, good = b.openings(site, 2)
    real = work_out.work_out_cases

    def breaks(ids):
        if bad.pk in ids:
            raise RuntimeError("a fault of ours")
        return real(ids)

    monkeypatch.setattr(work_out, "work_out_cases", breaks)
    for opening in (bad, good):
        b.record(b.crew(site), b.report(opening), of=site)
    work_out.sweep(now=b.MONDAY)
    assert list(DirtyOpening.objects.values_list("opening", flat=True).distinct()) == [bad.pk]
    assert Progress.objects.get(opening=good).state["stages"]["receive"]["state"] == "done"
