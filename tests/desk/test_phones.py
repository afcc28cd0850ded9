"""Set-up: phones let in and stopped, items placed and discarded, one's own signing code."""

import re
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections.models import CheckIn, KeptAside, Progress
from inspections.sync.push import Push, push
from openings.models import Opening, Site
from sitetrack.access.models import Device, EnrolmentCode, Person
from sitetrack.access.roles import Role
from sitetrack.access.services.enrolment import digest, enrol_device
from sitetrack.access.services.signing_code import signing_code_fits
from sitetrack.kit.clock import now
from tests import builders as b
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db

PASSWORD = "a quiet lock on the gate"


def page(desk: Client, job: Site, what: str) -> Any:
    return desk.get(f"/s/{job.code}/{what}")


def kept(job: Site, hand: Person, **members: Any) -> KeptAside:
    item = b.push_item(b.opening(job), **{"opening": "9999", **members})
    push(batch=Push(hand, None, b.MONDAY, [item]), now=b.MONDAY)
    return KeptAside.objects.get(pk=item["id"])


def test_each_phone_is_shown_with_its_owner_when_it_was_heard_of_and_its_clock(job: Site, desk: Client) -> None:
    phone, _ = b.device(job, b.crew(job))
    Device.objects.filter(pk=phone.pk).update(
        last_seen_at=now(), clock_offset_ms=-5 * 60_000, clock_jumped_at=now() - timedelta(days=2)
    )
    text = words(page(desk, job, "phones"))
    for part in (phone.name, phone.person.name, "5 min ahead", "jumped"):
        assert part in text


@pytest.mark.parametrize(
    ("offset", "says"),
    [
        (0, "shows the right time"),
        (1400, "shows the right time"),
        (60_000, "60 s behind"),
        (-61_000, "61 s ahead"),
        (3_600_000, "60 min behind"),
        (-365 * 86_400_000, "365 days ahead"),
        (7_200_000, "2 h behind"),
    ],
)
def test_drift_is_told_in_words(job: Site, desk: Client, offset: int, says: str) -> None:
    phone, _ = b.device(job, b.crew(job))
    Device.objects.filter(pk=phone.pk).update(clock_offset_ms=offset)
    assert f" {says} " in words(page(desk, job, "phones"))


def test_a_phone_set_to_last_year_is_shown_as_behind(job: Site, desk: Client) -> None:
    hand = b.crew(job)
    phone, _ = b.device(job, hand)
    last_year = b.MONDAY - timedelta(days=365)
    push(batch=Push(hand, phone, last_year, [b.push_item(b.opening(job))]), now=b.MONDAY)
    assert "365 days behind" in words(page(desk, job, "phones"))


def test_a_code_is_shown_once_and_lets_that_persons_phone_in(job: Site, desk: Client, settings: Any) -> None:
    settings.PUBLIC_URL = "https://site.example"
    hand = b.crew(job)
    answer = desk.post(f"/s/{job.code}/phones/code", {"person": str(hand.pk)})
    assert answer.status_code == 200
    assert answer["Cache-Control"] == "no-store"
    link = unescape(re.search(r'class="address" href="([^"]+)"', answer.content.decode())[1])  # type: ignore[index]
    assert link.startswith("https://site.example/field/#code=")
    code = link.rpartition("=")[2]
    assert EnrolmentCode.objects.get().code_digest == digest(code)
    device, _ = enrol_device(code=code, name="blue phone", now=now())
    assert (device.person, device.site) == (hand, job)
    assert code not in page(desk, job, "phones").content.decode()


def test_the_code_to_scan_is_drawn_in_the_page_without_styles_of_its_own(job: Site, desk: Client) -> None:
    answer = desk.post(f"/s/{job.code}/phones/code", {"person": str(b.crew(job).pk)}).content.decode()
    svg = answer[answer.index("<svg") : answer.index("</svg>")]
    assert "<path" in svg
    assert "style" not in svg
    assert "<title>Code to scan with the phone</title>" in svg


@pytest.mark.parametrize("person", ["", "x", "stranger"])
def test_a_code_is_for_someone_of_the_site(job: Site, desk: Client, person: str) -> None:
    given = str(b.person().pk) if person == "stranger" else person
    answer = desk.post(f"/s/{job.code}/phones/code", {"person": given})
    assert answer.status_code == 422
    assert not EnrolmentCode.objects.exists()


def test_a_stopped_phone_is_listed_as_stopped(job: Site, desk: Client) -> None:
    phone, _ = b.device(job, b.crew(job))
    answer = desk.post(f"/s/{job.code}/phones/{phone.pk}/stop", follow=True)
    assert f"{phone.name} is stopped." in words(answer)
    phone.refresh_from_db()
    assert phone.revoked_at is not None
    assert "Stopped 1" in words(page(desk, job, "phones"))


def test_another_sites_phone_is_not_stopped_from_here(job: Site, desk: Client) -> None:
    other = b.site()
    phone, _ = b.device(other, b.crew(other))
    assert desk.post(f"/s/{job.code}/phones/{phone.pk}/stop").status_code == 404
    phone.refresh_from_db()
    assert phone.revoked_at is None


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.CREW, Role.VIEWER])
def test_set_up_is_the_supervisors(job: Site, role: str) -> None:
    hand = b.crew(job)
    phone, _ = b.device(job, hand)
    item = kept(job, hand)
    who = signed_in(b.member(job, role))
    assert page(who, job, "kept-aside").status_code == 404
    for what, body in (
        ("phones/code", {"person": str(hand.pk)}),
        (f"phones/{phone.pk}/stop", {}),
        (f"kept-aside/{item.pk}/place", {"opening": b.opening(job).number, "stage": "receive"}),
        (f"kept-aside/{item.pk}/discard", {"why": "mine"}),
    ):
        assert who.post(f"/s/{job.code}/{what}", body).status_code in {403, 404}, what
    phone.refresh_from_db()
    item.refresh_from_db()
    assert (phone.revoked_at, item.settled, EnrolmentCode.objects.count()) == (None, "", 0)


def test_a_hand_sees_their_own_phone_and_can_stop_none(job: Site) -> None:
    hand = b.crew(job)
    own, _ = b.device(job, hand)
    other, _ = b.device(job, b.crew(job))
    client = signed_in(hand)
    text = words(page(client, job, "phones"))
    assert own.name in text
    assert other.name not in text
    assert "Let a phone in" not in text
    assert client.post(f"/s/{job.code}/phones/{own.pk}/stop").status_code == 403
    own.refresh_from_db()
    assert own.revoked_at is None


def test_set_up_costs_the_same_for_3_phones_and_items_and_for_30(job: Site, desk: Client) -> None:
    hand, costs = b.crew(job), []
    for more in (3, 27):
        for _ in range(more):
            b.device(job, b.crew(job))
            kept(job, hand)
        cost = []
        for what in ("phones", "kept-aside"):
            page(desk, job, what)
            with CaptureQueriesContext(connection) as queries:
                page(desk, job, what)
            cost.append(len(queries))
        costs.append(cost)
    assert costs[0] == costs[1]
    assert max(costs[0]) <= 10


def test_an_item_kept_aside_is_shown_as_it_was_sent(job: Site, desk: Client) -> None:
    kept(job, b.crew(job), stage="trueness", note="<b>north</b> stack", readings={"width_head": "36 1/16"})
    answer = page(desk, job, "kept-aside")
    assert "&lt;b&gt;north&lt;/b&gt; stack" in answer.content.decode()
    for part in ("9999", "36 1/16", "no opening of that number"):
        assert part in words(answer)


def test_a_supervisor_places_an_item_and_it_is_worked_out(job: Site, desk: Client) -> None:
    item, right = kept(job, b.crew(job)), b.opening(job, "2014")
    answer = desk.post(
        f"/s/{job.code}/kept-aside/{item.pk}/place", {"opening": " 2014 ", "stage": "receive"}, follow=True
    )
    assert "Placed at 2014" in words(answer)
    assert CheckIn.objects.get(pk=item.pk).opening == right
    assert Progress.objects.get(opening=right).state["stages"]["receive"]["state"] == "done"
    assert "placed: 2014, receive" in words(page(desk, job, "kept-aside"))


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"opening": "404", "stage": "receive"}, "no opening 404"),
        ({"opening": "2014", "stage": "polish"}, "stage"),
        ({"opening": "2014", "stage": "board"}, "trade"),
    ],
)
def test_a_place_that_can_t_be_is_told_beside_the_item_and_kept(
    job: Site, desk: Client, given: dict[str, str], says: str
) -> None:
    item = kept(job, b.crew(job))
    b.opening(job, "2014")
    answer = desk.post(f"/s/{job.code}/kept-aside/{item.pk}/place", given)
    assert answer.status_code in {403, 422}
    refusal = re.search(r'class="refusal" role="alert">(.*?)</div>', answer.content.decode(), re.DOTALL)
    assert refusal
    assert says in refusal[1]
    assert f'value="{given["opening"]}"' in answer.content.decode()
    assert not CheckIn.objects.exists()


def test_a_supervisor_discards_an_item_with_a_reason(job: Site, desk: Client) -> None:
    item = kept(job, b.crew(job))
    assert desk.post(f"/s/{job.code}/kept-aside/{item.pk}/discard", {"why": " "}).status_code == 422
    desk.post(f"/s/{job.code}/kept-aside/{item.pk}/discard", {"why": "A number of the other job."})
    text = words(page(desk, job, "kept-aside"))
    assert "discarded: A number of the other job." in text
    assert "Nothing waits" in text


def test_another_sites_item_is_not_placed_from_here(job: Site, desk: Client) -> None:
    other = b.site()
    item = kept(other, b.crew(other))
    body = {"opening": b.opening(job).number, "stage": "receive"}
    assert desk.post(f"/s/{job.code}/kept-aside/{item.pk}/place", body).status_code == 404
    assert Opening.objects.filter(site=job).count() == 1


def test_a_person_sets_their_own_signing_code(job: Site) -> None:
    someone = b.person(password=PASSWORD)
    client = signed_in(someone)
    assert "You have no code yet" in words(client.get("/signing-code"))
    body = {"code": "806417", "again": "806417", "password": PASSWORD}
    answer = client.post("/signing-code", body, follow=True)
    assert "Your signing code is set" in words(answer)
    someone.refresh_from_db()
    assert signing_code_fits(someone, "806417")
    assert "806417" not in answer.content.decode()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"password": "guess"}, "not your password"),
        ({"again": "806418"}, "not the same"),
        ({"code": "111111", "again": "111111"}, "repeat or count"),
        ({"code": "80", "again": "80"}, "6 to 12 digits"),
    ],
)
def test_a_signing_code_is_not_set_by_mistake_or_by_another(wrong: dict[str, str], says: str) -> None:
    someone = b.person(password=PASSWORD)
    body = {"code": "806417", "again": "806417", "password": PASSWORD} | wrong
    answer = signed_in(someone).post("/signing-code", body)
    assert answer.status_code == 422
    assert says in words(answer)
    someone.refresh_from_db()
    assert someone.signing_code == ""


def test_whoever_is_not_signed_in_is_asked_to() -> None:
    for address in ("/signing-code", "/s/clinic/phones", "/s/clinic/kept-aside"):
        assert Client().get(address).status_code == 302


def test_today_leads_the_supervisor_to_what_was_kept_aside(job: Site, desk: Client) -> None:
    address = f'href="/s/{job.code}/kept-aside"'
    hand = b.crew(job)
    assert address not in page(desk, job, "today").content.decode()
    kept(job, hand)
    assert address in page(desk, job, "today").content.decode()
    assert address not in page(signed_in(hand), job, "today").content.decode()
