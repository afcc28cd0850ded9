"""People of a site on pages: asked, taken up, changed, removed; a forgotten password by mail."""

import re
from typing import Any

import pytest
from django.core import mail
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from openings.models import Site
from sitetrack.access.models import Device, FailedTry, Invitation, Membership, Person
from sitetrack.access.roles import Role
from sitetrack.access.services import codes
from sitetrack.desk import account_mails
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db
PASSWORD = "seven crooked jambs"
HAND = {
    "email": "hand@example.com", "name": "New Hand", "language": "es", "role": "crew", "company": "Walls Ltd",
    "trade": ["drywall"],
}  # fmt: skip


@pytest.fixture
def mail_server(settings: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Mails are taken into a list; what is sent aside is sent before the answer, so that tests can look."""
    settings.EMAIL_HOST = "mail.example"
    monkeypatch.setattr("sitetrack.desk.invited_pages.send_aside", account_mails.send_now)


def link_in(text: str) -> str:
    found = re.search(r"http://127\.0\.0\.1:8000(/\S+)", text)
    assert found, text
    return found[1]


def standing(of: Person) -> Membership:
    return Membership.objects.get(person=of, ended_at=None)


def test_the_list_says_who_is_there_what_they_do_and_when_they_were_last_heard_of(desk: Client, job: Site) -> None:
    hand = make.crew(job)
    make.device(job, hand)
    Device.objects.update(last_seen_at=make.MONDAY)
    text = words(desk.get(f"/s/{job.code}/people"))
    for word in (hand.name, hand.email, standing(hand).company.name, "Frame crew", "2 Mar 2026"):
        assert str(word) in text


def test_only_a_supervisor_opens_the_people(job: Site) -> None:
    row = standing(make.crew(job))
    for who in (make.crew(job), make.inspector(job), make.viewer(job)):
        client = signed_in(who)
        for address in ("people", f"people/{row.pk}", f"people/{row.pk}/remove"):
            answer = client.get(f"/s/{job.code}/{address}")
            assert answer.status_code == 403
            assert row.person.email not in words(answer)
        assert client.post(f"/s/{job.code}/people/invite", HAND).status_code == 403
        assert client.post(f"/s/{job.code}/people/{row.pk}/remove").status_code == 403
    assert standing(row.person)
    assert not Invitation.objects.exists()


def test_people_and_invitations_of_another_site_are_not_reached(desk: Client, job: Site) -> None:
    there = make.site("depot")
    hand = make.crew(there)
    signed_in(make.supervisor(there)).post("/s/depot/people/invite", HAND)
    asked = Invitation.objects.get()
    for address in (f"people/{standing(hand).pk}", f"people/{standing(hand).pk}/remove"):
        assert desk.get(f"/s/{job.code}/{address}").status_code == 404
        assert desk.post(f"/s/{job.code}/{address}").status_code == 404
    for act in ("again", "withdraw"):
        assert desk.post(f"/s/{job.code}/invitations/{asked.pk}/{act}").status_code == 404
    assert standing(hand)


@pytest.mark.usefixtures("mail_server")
def test_an_invitation_is_mailed_in_its_language_and_makes_an_account(desk: Client, job: Site) -> None:
    answer = desk.post(f"/s/{job.code}/people/invite", HAND, follow=True)
    (sent,) = mail.outbox
    assert sent.to == ["hand@example.com"]
    assert link_in(sent.body) not in answer.content.decode(), "who is mailed a link is the only one to have it"
    assert "Invitación" in sent.subject
    assert "hand@example.com" in words(desk.get(f"/s/{job.code}/people"))
    new = Client()
    assert "Walls Ltd" in words(new.get(link_in(sent.body)))
    form = {"name": "New Hand", "password": PASSWORD, "again": PASSWORD}
    answer = new.post(link_in(sent.body), form)
    assert answer["Location"] == f"/s/{job.code}/today"
    assert new.get(answer["Location"]).status_code == 200
    assert new.get(link_in(sent.body)).status_code == 404, "good once"
    assert "Asked, not come yet" not in words(desk.get(f"/s/{job.code}/people"))


def test_without_a_mail_server_the_link_is_shown_once(desk: Client, job: Site) -> None:
    answer = desk.post(f"/s/{job.code}/people/invite", HAND)
    link = link_in(words(answer))
    assert "no-store" in answer["Cache-Control"]
    assert link not in desk.get(f"/s/{job.code}/people").content.decode()
    assert Client().get(link).status_code == 200
    row = Invitation.objects.get()
    again = link_in(words(desk.post(f"/s/{job.code}/invitations/{row.pk}/again")))
    assert Client().get(link).status_code == 404
    assert Client().get(again).status_code == 200
    desk.post(f"/s/{job.code}/invitations/{row.pk}/withdraw")
    assert Client().get(again).status_code == 404


def test_what_was_typed_stays_and_the_field_is_named(desk: Client, job: Site) -> None:
    answer = desk.post(f"/s/{job.code}/people/invite", HAND | {"email": "nobody", "trade": []})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert 'value="nobody"' in page
    assert 'aria-describedby="email-wrong"' in page
    answer = desk.post(f"/s/{job.code}/people/invite", HAND | {"trade": []})
    assert 'id="trades-wrong"' in answer.content.decode()
    assert 'value="Walls Ltd"' in answer.content.decode()


@pytest.mark.parametrize(
    ("given", "said"),
    [({"password": PASSWORD, "again": "another one here"}, "not the same"),
     ({"password": "short", "again": "short"}, "12"),
     ({"name": " ", "password": PASSWORD, "again": PASSWORD}, "name is missing")],
)  # fmt: skip
def test_an_account_is_not_made_of_what_does_not_fit(desk: Client, job: Site, given: dict[str, str], said: str) -> None:
    link = link_in(words(desk.post(f"/s/{job.code}/people/invite", HAND)))
    answer = Client().post(link, {"name": "New Hand"} | given)
    assert answer.status_code == 422
    assert said in words(answer)
    assert not Person.objects.filter(email="hand@example.com").exists()
    assert Client().get(link).status_code == 200, "nothing is lost: the link is still good"


def test_whoever_got_an_account_meanwhile_only_takes_the_role_and_is_not_let_in_by_the_link(
    desk: Client, job: Site
) -> None:
    link = link_in(words(desk.post(f"/s/{job.code}/people/invite", HAND)))
    make.site("depot")
    known = Person.objects.create_user("hand@example.com", PASSWORD, name="Their Own Name")
    browser = Client()
    assert 'name="password"' not in browser.get(link).content.decode()
    answer = browser.post(link, {"name": "Another", "password": "another password", "again": "another password"})
    assert answer.status_code == 302
    assert "_auth_user_id" not in browser.session
    known.refresh_from_db()
    assert (known.name, known.check_password(PASSWORD)) == ("Their Own Name", True)
    assert standing(known).role == Role.CREW


def test_an_invitation_by_someone_removed_since_is_not_good_until_another_sends_it(desk: Client, job: Site) -> None:
    second = make.member(job, Role.SUPERVISOR)
    link = link_in(words(signed_in(second).post(f"/s/{job.code}/people/invite", HAND)))
    desk.post(f"/s/{job.code}/people/{standing(second).pk}/remove")
    assert Client().get(link).status_code == 404
    row = Invitation.objects.get()
    again = link_in(words(desk.post(f"/s/{job.code}/invitations/{row.pk}/again")))
    assert Client().get(again).status_code == 200


def test_a_person_is_changed_and_removed_after_a_question(desk: Client, job: Site) -> None:
    hand = make.crew(job)
    browser = signed_in(hand)
    first = standing(hand)
    given = {"role": "inspector", "company": "Other Ltd"}
    assert desk.post(f"/s/{job.code}/people/{first.pk}", given).status_code == 302
    now_is = standing(hand)
    assert (now_is.role, now_is.company.name) == ("inspector", "Other Ltd")
    assert desk.post(f"/s/{job.code}/people/{first.pk}", given).status_code == 404, "ended meanwhile"
    assert browser.get(f"/s/{job.code}/today").status_code == 200
    asked = desk.get(f"/s/{job.code}/people/{now_is.pk}/remove")
    assert standing(hand), "a question changes nothing"
    assert hand.name in words(asked)
    desk.post(f"/s/{job.code}/people/{now_is.pk}/remove")
    assert browser.get(f"/s/{job.code}/today").status_code == 302
    assert hand.email not in words(desk.get(f"/s/{job.code}/people"))


def test_the_last_supervisor_is_told_why_they_stay(desk: Client, job: Site) -> None:
    answer = desk.post(f"/s/{job.code}/people/{standing(make.supervisor(job)).pk}/remove")
    assert answer.status_code == 409
    assert "at least one supervisor" in words(answer)


def test_the_list_asks_as_much_for_many_people_as_for_few(desk: Client, job: Site) -> None:
    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as told:
            assert desk.get(f"/s/{job.code}/people").status_code == 200
        return len(told)

    def more(count: int) -> None:
        for n in range(count):
            make.device(job, make.crew(job))
            desk.post(f"/s/{job.code}/people/invite", HAND | {"email": f"{count}-{n}@example.com"})

    more(3)
    asked()
    few = asked()
    more(20)
    assert asked() == few


@pytest.mark.usefixtures("mail_server")
def test_a_forgotten_password_is_set_by_a_link_once_and_one_time_codes_stay_on() -> None:
    who = make.person(password="something forgotten")
    key = codes.begin_codes(person=who, now=make.MONDAY)
    key.confirmed_at = make.MONDAY
    key.save()
    elsewhere = signed_in(who)
    Client().post("/sign-in/forgotten", {"email": who.email.upper()})
    (sent,) = mail.outbox
    browser = Client()
    link = link_in(sent.body)
    assert browser.get(link).status_code == 200
    assert browser.post(link, {"password": PASSWORD, "again": "other"}).status_code == 422
    assert browser.post(link, {"password": "tiny", "again": "tiny"}).status_code == 422
    assert browser.post(link, {"password": PASSWORD, "again": PASSWORD})["Location"] == "/sign-in"
    who.refresh_from_db()
    assert who.check_password(PASSWORD)
    assert Client().get(link).status_code == 404, "good once"
    assert elsewhere.get("/account").status_code == 302, "every session ends"
    asked = browser.post("/sign-in", {"username": who.email, "password": PASSWORD})
    assert asked["Location"].startswith("/sign-in/code")


@pytest.mark.usefixtures("mail_server")
def test_nobody_learns_whether_an_address_is_known() -> None:
    who, closed = make.person(), make.person(is_active=False)
    answers = {
        re.sub(r'value="[^"]*"', "", Client().post("/sign-in/forgotten", {"email": email}).content.decode())
        for email in (who.email, closed.email, "nobody@example.com", "not an address", "")
    }
    assert len(answers) == 1
    assert [sent.to for sent in mail.outbox] == [[who.email]]


@pytest.mark.usefixtures("mail_server")
def test_one_person_is_mailed_three_times_an_hour_and_one_address_asks_twenty_times() -> None:
    who = make.person()
    statuses = [Client().post("/sign-in/forgotten", {"email": who.email}).status_code for _ in range(21)]
    assert len(mail.outbox) == 3
    assert statuses == [200] * 20 + [429]
    assert FailedTry.objects.exists()


def test_links_that_were_made_up_are_not_tried_without_end() -> None:
    browser = Client()
    assert {browser.get(f"/invited/{n}").status_code for n in range(30)} == {404}
    assert browser.get("/invited/once-more").status_code == 429


def test_without_a_mail_server_the_page_says_whom_to_ask() -> None:
    who = make.person()
    answer = Client().post("/sign-in/forgotten", {"email": who.email})
    assert "sends no mail" in words(answer)
    assert not mail.outbox


@pytest.mark.usefixtures("mail_server")
def test_a_link_for_another_person_or_after_an_hour_is_not_good(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    who, other = make.person(), make.person()
    Client().post("/sign-in/forgotten", {"email": who.email})
    link = link_in(mail.outbox[0].body)
    assert Client().get(link.replace(str(who.pk), str(other.pk))).status_code == 404
    settings.PASSWORD_RESET_TIMEOUT = -1
    assert Client().get(link).status_code == 404
