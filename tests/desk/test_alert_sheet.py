"""The Alerts sheet: many acknowledged at once, rules muted where they are known, and what is sent outside."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections.models import Alert, Mail, Mute, Webhook
from inspections.models.mutes import CRITICAL_AT_MOST, muted_at
from inspections.services.mutes import lift_mute, mute
from inspections.services.webhooks import owe_test
from openings.models import Site
from sitetrack.access.models import RecordedChange
from sitetrack.kit.problems import BadInput, Forbidden
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db
DAY = make.DAY


def test_many_are_acknowledged_at_once_and_that_is_undone(job: Site, desk: Client) -> None:
    alerts = [make.alert(opening) for opening in make.openings(job, 3)]
    elsewhere = make.alert(make.opening(make.site()))
    chosen = [str(each.pk) for each in [*alerts[:2], elsewhere]]
    answer = desk.post(f"/s/{job.code}/alerts/acknowledge", {"alert": chosen}, follow=True)
    assert "2 alerts acknowledged." in words(answer)
    assert Alert.objects.exclude(acknowledged_at=None).count() == 2
    undo = {"alerts": ",".join(chosen[:2])}
    desk.post(f"/s/{job.code}/alerts/unacknowledge", undo)
    assert not Alert.objects.exclude(acknowledged_at=None).exists()
    assert RecordedChange.objects.filter(act="acknowledged").count() == 1


def test_none_chosen_is_said(job: Site, desk: Client) -> None:
    assert "Choose from 1 to" in words(desk.post(f"/s/{job.code}/alerts/acknowledge", {"alert": ["x"]}, follow=True))


@pytest.mark.parametrize("by", ["rule", "weight", "floor"])
def test_alerts_are_grouped_and_narrowed_by_the_address(job: Site, desk: Client, by: str) -> None:
    low, high = make.floor(job), make.floor(job, "L2", level=2)
    make.alert(make.opening(job, "A-1", on=low))
    make.alert(make.opening(job, "B-1", on=high), "order-uncertain", severity="notice")
    page = words(desk.get(f"/s/{job.code}/alerts?by={by}"))
    assert "A-1" in page
    assert "B-1" in page
    narrowed = words(desk.get(f"/s/{job.code}/alerts?by={by}&floor={high.pk}&weight=notice"))
    assert "A-1" not in narrowed
    assert "B-1" in narrowed


def test_a_muted_alert_is_counted_says_who_muted_it_and_comes_back(job: Site, desk: Client) -> None:
    opening = make.opening(job, "A-1")
    make.alert(opening, "order-uncertain", severity="notice")
    alert = Alert.objects.get()
    today = desk.get(f"/s/{job.code}/alerts/{alert.pk}/mute").context["desk"].today
    form = {"area": "floor", "until": str(today + 3 * DAY), "reason": "Two crews asked, waiting for an answer."}
    listed = words(desk.post(f"/s/{job.code}/alerts/{alert.pk}/mute", form, follow=True))
    assert "Two crews asked" in listed
    assert "A-1" not in words(desk.get(f"/s/{job.code}/alerts"))
    muted = words(desk.get(f"/s/{job.code}/alerts?show=muted"))
    assert f"Muted by {make.supervisor(job)}" in muted
    made = Mute.objects.get()
    assert not Alert.objects.filter(muted_at(made.until)).exists()
    desk.post(f"/s/{job.code}/alerts/mutes/{made.pk}/lift")
    assert "A-1" in words(desk.get(f"/s/{job.code}/alerts"))
    desk.post(f"/s/{job.code}/alerts/mutes/{made.pk}/back")
    assert "A-1" not in words(desk.get(f"/s/{job.code}/alerts"))


def test_today_counts_what_is_muted_and_does_not_list_it(job: Site, desk: Client) -> None:
    for number in ("A-1", "A-2"):
        make.alert(make.opening(job, number), "order-uncertain", severity="notice")
    before = desk.get(f"/s/{job.code}/today")
    assert (before.context["alerts_in_all"], before.context["muted"]) == (2, 0)
    now = before.context["desk"].now
    opening = Alert.objects.get(opening__number="A-1").opening
    who = make.supervisor(job)
    mute(site=job, rule="order-uncertain", area=opening, until=now + DAY, reason="known", who=who, now=now - DAY)
    after = desk.get(f"/s/{job.code}/today")
    assert [line.number for line, _title, _advice in after.context["alerts"]] == ["A-2"]
    assert after.context["alerts_in_all"] == 1
    assert "1 muted alert" in words(after)


def test_what_may_be_critical_is_silent_for_a_week_at_most(job: Site) -> None:
    opening, who = make.opening(job), make.supervisor(job)
    given = {"site": job, "rule": "boarded-before-checked", "area": opening, "reason": "known", "who": who}
    with pytest.raises(BadInput, match="7 days"):
        mute(**given, until=make.MONDAY + 8 * DAY, now=make.MONDAY)
    made = mute(**given, until=make.MONDAY + 7 * DAY, now=make.MONDAY)
    make.alert(opening)
    Mute.objects.filter(pk=made.pk).update(until=make.MONDAY + 30 * DAY)  # as if the rule had become critical since
    muted = [Alert.objects.filter(muted_at(make.MONDAY + days * DAY)).exists() for days in (1, 6, 8)]
    assert muted == [True, True, False]
    assert timedelta(days=7) == CRITICAL_AT_MOST


def test_a_mute_needs_a_reason_one_area_and_someone_who_answers_alerts(job: Site) -> None:
    opening, who = make.opening(job), make.supervisor(job)
    given = {"site": job, "rule": "order-uncertain", "area": opening, "until": make.MONDAY + DAY, "now": make.MONDAY}
    with pytest.raises(BadInput, match="Say why"):
        mute(**given, reason="  ", who=who)
    with pytest.raises(BadInput):
        mute(**{**given, "area": make.opening(make.site())}, reason="known", who=who)
    with pytest.raises(Forbidden):
        mute(**given, reason="known", who=make.crew(job))
    made = mute(**given, reason="known", who=who)
    with pytest.raises(Forbidden):
        lift_mute(mute=made, who=make.viewer(job), now=make.MONDAY)
    with pytest.raises(IntegrityError):
        Mute.objects.filter(pk=made.pk).update(floor=opening.floor)


def test_a_failed_reading_taken_back_by_its_crew_is_said_until_one_passes(job: Site) -> None:
    opening, hand = make.opening(job), make.crew(job)
    at = make.work_up_to(opening, "anchor")
    failed = make.frame_check(hand, opening, readings=make.TWISTED_READINGS, at=at + DAY)
    make.check_in(hand, opening, "trueness", "void", about=failed.pk, at=at + DAY * 2)
    alert = Alert.objects.get(rule="failed-reading-taken-back")
    assert (alert.severity, alert.closed_at) == ("notice", None)
    make.frame_check(hand, opening, at=at + DAY * 3)
    alert.refresh_from_db()
    assert alert.closed_how == "evidence"


def test_a_supervisor_who_takes_a_failed_reading_back_is_told_nothing(job: Site) -> None:
    opening = make.opening(job)
    at = make.work_up_to(opening, "anchor")
    failed = make.frame_check(make.crew(job), opening, readings=make.TWISTED_READINGS, at=at + DAY)
    make.check_in(make.supervisor(job), opening, "trueness", "void", about=failed.pk, at=at + DAY * 2)
    assert not Alert.objects.filter(rule="failed-reading-taken-back").exists()


def test_a_webhooks_secret_is_shown_once_and_strangers_find_nothing(job: Site, desk: Client) -> None:
    form = {"url": "https://hooks.example/frames", "event": ["alert.raised"]}
    shown = desk.post(f"/s/{job.code}/webhooks", form)
    secret = shown.context["secret"]
    assert shown["Cache-Control"] == "no-store"
    page = desk.get(f"/s/{job.code}/webhooks").content.decode()
    assert secret not in page
    assert "hooks.example" in page
    assert desk.post(f"/s/{job.code}/webhooks", {"url": "https://127.0.0.1/", "event": []}).status_code == 422
    for someone in (make.inspector(job), make.crew(job), make.viewer(job), make.supervisor(make.site())):
        assert signed_in(someone).get(f"/s/{job.code}/webhooks").status_code == 404


def test_a_webhook_that_asked_for_time_says_until_when(job: Site, desk: Client) -> None:
    hook, _message = make.webhook(job)
    page = f"/s/{job.code}/webhooks"
    assert "left alone" not in words(desk.get(page))
    Webhook.objects.filter(pk=hook.pk).update(not_before=make.read_clock() + DAY)
    assert "asked to be left alone until" in words(desk.get(page))
    Webhook.objects.filter(pk=hook.pk).update(not_before=make.read_clock() - DAY)
    assert "left alone" not in words(desk.get(page))


@pytest.mark.parametrize("page", ["alerts?show=muted", "alerts/mutes", "alerts/mail", "webhooks"])
def test_what_is_muted_and_sent_outside_costs_the_same_for_thirty_as_for_three(
    job: Site, desk: Client, page: str
) -> None:
    who, hook = make.supervisor(job), make.webhook(job)[0]
    costs = []
    for count in (3, 27):
        for opening in make.openings(job, count):
            make.alert(opening, "order-uncertain", severity="notice")
            make.muted(opening)
            owe_test(webhook=hook, who=who, now=make.MONDAY)
            Mail.objects.create(
                site=job, kind="alert", key=str(opening.pk), address=who.email, person=who, owed_at=make.MONDAY,
                next_try_at=make.MONDAY, tries=1, error="451 try later",
            )  # fmt: skip
        desk.get(f"/s/{job.code}/{page}")
        with CaptureQueriesContext(connection) as asked:
            assert desk.get(f"/s/{job.code}/{page}").status_code == 200
        costs.append(len(asked))
    assert costs[0] == costs[1]


def test_each_person_chooses_how_they_are_told(job: Site, desk: Client) -> None:
    address = f"/s/{job.code}/alerts/mail"
    assert desk.get(address).context["wish"] == "at once"
    desk.post(address, {"wish": "daily"})
    assert desk.get(address).context["wish"] == "daily"
    assert desk.post(address, {"wish": "loudly"}).status_code == 422
    assert signed_in(make.crew(job)).get(address).context["wish"] == "never"
