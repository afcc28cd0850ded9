"""Alerts and their answers; the languages and units of a job."""

import pytest
from django.test import Client

from inspections.models import Alert
from openings.models import Site
from sitetrack.access.roles import Trade
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def test_an_alert_is_acknowledged_and_closed_with_a_reason(job: Site, desk: Client) -> None:
    alert = make.alert(make.opening(job))
    desk.post(f"/s/{job.code}/alerts/{alert.pk}/acknowledge")
    assert desk.post(f"/s/{job.code}/alerts/{alert.pk}/close", {"why": "  "}).status_code == 422
    assert desk.post(f"/s/{job.code}/alerts/{alert.pk}/close", {"why": "board off, read again"}).status_code == 302
    alert = Alert.objects.get()
    assert (alert.acknowledged_by, alert.closed_by, alert.closed_why) == (
        make.supervisor(job), make.supervisor(job), "board off, read again",
    )  # fmt: skip
    assert "board off, read again" in words(desk.get(f"/s/{job.code}/alerts?show=closed"))


def test_a_crew_may_not_answer_alerts(job: Site) -> None:
    alert = make.alert(make.opening(job))
    answer = signed_in(make.crew(job)).post(f"/s/{job.code}/alerts/{alert.pk}/close", {"why": "fine by us"})
    assert answer.status_code == 403
    assert Alert.objects.get().closed_at is None


def test_boarded_before_checked_says_who_and_when(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "anchor")
    drywall = make.crew(job, Trade.DRYWALL, company_=make.company("Larch Drywall"))
    make.check_in(drywall, opening, "board", "start", at=make.MONDAY + make.DAY)
    said = words(desk.get(f"/s/{job.code}/alerts"))
    assert "“Board hung on both sides” by Larch Drywall on 3 Mar 08:00; before it, no passing reading" in said


def test_the_pages_speak_spanish(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "receive")
    today = desk.get(f"/s/{job.code}/today?lang=es")
    assert '<html lang="es">' in today.content.decode()
    assert "Listo para empezar" in words(today)
    assert "Cotejar el marco con el vano y la lista" in words(today)
    remembered = desk.get(f"/s/{job.code}/openings/{opening.number}")
    assert "se desconoce" in words(remembered)


def test_whoever_reads_spanish_is_spoken_to_in_spanish_after_signing_in(job: Site) -> None:
    hand = make.crew(job)
    hand.language = "es"
    hand.set_password("plumb and square")
    hand.save()
    browser = Client()
    said = {"username": hand.email, "password": "plumb and square"}
    today = browser.post("/sign-in", said, follow=True)
    assert '<html lang="es">' in today.content.decode()


def test_a_language_chosen_before_signing_in_stays(job: Site) -> None:
    hand = make.crew(job)
    hand.language = "es"
    hand.set_password("plumb and square")
    hand.save()
    browser = Client()
    browser.get("/sign-in?lang=en")
    said = {"username": hand.email, "password": "plumb and square"}
    assert '<html lang="en">' in browser.post("/sign-in", said, follow=True).content.decode()


def test_a_metric_job_reads_millimetres(desk: Client) -> None:
    job = make.site("mill", units=Site.Units.METRIC)
    opening = make.opening(job)
    sheet = words(signed_in(make.supervisor(job)).get(f"/s/{job.code}/openings/{opening.number}"))
    assert "Width 914.4 mm" in sheet  # 36 in at 25.4 mm exactly, NIST SP 811
