"""Letting phones in and stopping them."""

from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from openings.models import Site
from sitetrack.access.api.devices import EnrolThrottle
from sitetrack.access.models import Device, EnrolmentCode, Person, RecordedChange
from sitetrack.access.models.changes import Kind
from sitetrack.access.services.enrolment import (
    device_of_token,
    digest,
    enrol_device,
    make_enrolment_code,
    revoke_device,
)
from sitetrack.kit.clock import now
from sitetrack.kit.problems import BadInput, Forbidden
from tests import builders as b
from tests.published_shapes import check_problem, unix_ms_of

pytestmark = pytest.mark.django_db
ENROL, CODES = "/api/v1/devices/enrol", "/api/v1/devices/codes"


@pytest.fixture
def clinic() -> Site:
    return b.site()


@pytest.fixture
def hand(clinic: Site) -> Person:
    return b.crew(clinic)


def code_for(clinic: Site, hand: Person) -> str:
    boss = b.client(b.supervisor(clinic))
    answer = boss.post(CODES, {"site": str(clinic.pk), "person": str(hand.pk)})
    assert answer.status_code == 201, answer.content
    assert answer.headers["Cache-Control"] == "no-store"
    code: str = answer.json()["code"]
    return code


def enrol(code: str, name: str = "Blue phone") -> Any:
    return b.client().post(ENROL, {"code": code, "name": name})


def test_a_code_becomes_a_phone_and_a_token_that_opens_the_site(clinic: Site, hand: Person) -> None:
    answer = enrol(code_for(clinic, hand))
    assert answer.status_code == 201
    assert answer.headers["Cache-Control"] == "no-store"
    body = answer.json()
    device = Device.objects.get(pk=body["device"]["id"])
    assert (device.person, device.site, device.name) == (hand, clinic, "Blue phone")
    unix_ms_of(device.pk)
    me = b.client(token=body["token"]).get("/api/v1/me").json()
    assert me["person"]["id"] == str(hand.pk)
    assert [role["site"] for role in me["roles"]] == [str(clinic.pk)]
    assert me["device"]["id"] == str(device.pk)


def test_the_token_is_shown_once_and_kept_as_a_digest(clinic: Site, hand: Person) -> None:
    token = enrol(code_for(clinic, hand)).json()["token"]
    device = Device.objects.get()
    assert device.token_digest == digest(token)
    shown = b.client(b.supervisor(clinic)).get(f"/api/v1/devices/{device.pk}").content.decode()
    assert token not in shown
    assert device.token_digest not in shown


def test_a_code_typed_in_small_letters_with_blanks_is_the_code(clinic: Site, hand: Person) -> None:
    code = code_for(clinic, hand).lower()
    assert enrol(f" {code[:5]} {code[5:]} ").status_code == 201


def test_a_code_is_good_once(clinic: Site, hand: Person) -> None:
    code = code_for(clinic, hand)
    assert enrol(code).status_code == 201
    check_problem(enrol(code), 422, "bad-input")
    assert Device.objects.count() == 1


def test_a_code_is_good_for_a_quarter_of_an_hour(clinic: Site, hand: Person) -> None:
    boss = b.supervisor(clinic)
    early, late = (make_enrolment_code(site_id=clinic.pk, person=hand, who=boss, now=b.MONDAY) for _ in range(2))
    enrol_device(code=early, name="phone", now=b.MONDAY + timedelta(minutes=14, seconds=59))
    with pytest.raises(BadInput):
        enrol_device(code=late, name="phone", now=b.MONDAY + timedelta(minutes=15))


def test_unknown_used_and_old_codes_are_refused_in_the_same_words(clinic: Site, hand: Person) -> None:
    used = code_for(clinic, hand)
    enrol(used)
    old = code_for(clinic, hand)
    EnrolmentCode.objects.filter(device=None).update(expires_at=now() - b.MINUTE)
    details = {check_problem(enrol(code), 422)["detail"] for code in ("AAAAAAAAAA", used, old)}
    assert len(details) == 1


@pytest.mark.parametrize(
    "body",
    [
        {}, {"code": "A"}, {"name": "x"}, {"code": "", "name": ""}, {"code": 5, "name": []}, [], None,
        {"code": "A" * 41, "name": "x"}, {"code": "A", "name": "n" * 81},
        {"code": "A\u0000", "name": "x"},
    ],
)  # fmt: skip
def test_an_enrolment_without_code_or_name_is_refused(body: Any) -> None:
    check_problem(b.client().post(ENROL, body), 422, "bad-input")


def test_guessing_codes_is_slowed_down_and_told_when_to_try_again() -> None:
    tries = int(EnrolThrottle.rate.partition("/")[0])
    for _ in range(tries):
        check_problem(enrol("AAAAAAAAAA"), 422)
    slowed = enrol("AAAAAAAAAA")
    check_problem(slowed, 429, "throttled")
    assert 0 < int(slowed.headers["Retry-After"]) <= 60


def test_a_stale_token_does_not_keep_a_phone_from_enrolling_again(clinic: Site, hand: Person) -> None:
    body = {"code": code_for(clinic, hand), "name": "again"}
    assert b.client(token="st_gone").post(ENROL, body).status_code == 201


def test_codes_are_for_people_of_the_site(clinic: Site) -> None:
    boss = b.client(b.supervisor(clinic))
    outsider = b.person()
    refused = check_problem(boss.post(CODES, {"site": str(clinic.pk), "person": str(outsider.pk)}), 422)
    assert refused["errors"][0]["field"] == "person"


def test_a_supervisors_token_makes_no_codes(clinic: Site, hand: Person) -> None:
    _, token = b.device(clinic, b.supervisor(clinic))
    body = {"site": str(clinic.pk), "person": str(hand.pk)}
    check_problem(b.client(token=token).post(CODES, body), 403)


def test_a_revoked_phone_is_out_at_once_and_stays_on_the_list(clinic: Site, hand: Person) -> None:
    device, token = b.device(clinic, hand)
    phone, boss = b.client(token=token), b.client(b.supervisor(clinic))
    assert phone.get("/api/v1/me").status_code == 200
    first = boss.post(f"/api/v1/devices/{device.pk}/revoke").json()
    assert boss.post(f"/api/v1/devices/{device.pk}/revoke").json() == first
    check_problem(phone.get("/api/v1/me"), 401)
    assert [d["id"] for d in boss.get("/api/v1/devices?revoked=true").json()["results"]] == [str(device.pk)]


def test_a_person_who_may_no_longer_sign_in_has_no_phone_either(clinic: Site, hand: Person) -> None:
    _, token = b.device(clinic, hand)
    Person.objects.filter(pk=hand.pk).update(is_active=False)
    check_problem(b.client(token=token).get("/api/v1/me"), 401)


@pytest.mark.parametrize("header", ["Bearer", "Bearer ", "Bearer a b", "Basic eDp5", "bearer st_\xff"])
def test_a_header_that_is_no_token_opens_nothing(header: str) -> None:
    api = b.client()
    api.credentials(HTTP_AUTHORIZATION=header)
    assert api.get("/api/v1/me").status_code == 401


def test_the_command_prints_a_token_for_a_program(clinic: Site, hand: Person) -> None:
    out = StringIO()
    call_command("issue_token", site=clinic.code, person=hand.email.upper(), name="board crew's own", stdout=out)
    me = b.client(token=out.getvalue().strip()).get("/api/v1/me").json()
    assert (me["person"]["id"], me["device"]["kind"]) == (str(hand.pk), "program")


def test_the_command_says_who_or_which_site_it_does_not_know(clinic: Site, hand: Person) -> None:
    with pytest.raises(CommandError, match="nobody here"):
        call_command("issue_token", site=clinic.code, person="no@example.com", name="x")
    with pytest.raises(CommandError, match="no role"):
        call_command("issue_token", site=b.site().code, person=hand.email, name="x")
    assert not Device.objects.exists()


def test_services_check_the_role_themselves(clinic: Site) -> None:
    device, _ = b.device(clinic, b.crew(clinic))
    for who in (b.crew(clinic), b.inspector(clinic), b.viewer(clinic), b.supervisor(b.site())):
        with pytest.raises(Forbidden):
            make_enrolment_code(site_id=clinic.pk, person=device.person, who=who, now=b.MONDAY)
        with pytest.raises(Forbidden):
            revoke_device(device=device, who=who, now=b.MONDAY)
    assert Device.objects.get(pk=device.pk).revoked_at is None


def test_no_code_for_someone_without_a_role_on_the_site(clinic: Site) -> None:
    with pytest.raises(BadInput):
        make_enrolment_code(site_id=clinic.pk, person=b.person(), who=b.supervisor(clinic), now=b.MONDAY)


def test_any_use_of_a_token_is_seen_but_written_only_now_and_then(clinic: Site) -> None:
    device, token = b.device(clinic, b.crew(clinic), now=b.MONDAY)
    for minutes, seen in ((1, 1), (3, 1), (5, 1), (6, 6), (10, 6), (11, 11)):
        assert device_of_token(token=token, now=b.MONDAY + b.MINUTE * minutes) == device
        assert Device.objects.get(pk=device.pk).last_seen_at == b.MONDAY + b.MINUTE * seen


def test_a_token_unused_for_ninety_days_is_not_good_any_more(clinic: Site) -> None:
    _, token = b.device(clinic, b.crew(clinic), now=b.MONDAY)
    assert device_of_token(token=token, now=b.MONDAY + b.DAY * 90) is not None
    assert device_of_token(token=token, now=b.MONDAY + b.DAY * 180) is not None, "each use begins the days anew"
    assert device_of_token(token=token, now=b.MONDAY + b.DAY * 271) is None


def test_phones_are_in_the_audit_trail(clinic: Site) -> None:
    boss, hand = b.supervisor(clinic), b.crew(clinic)
    code = make_enrolment_code(site_id=clinic.pk, person=hand, who=boss, now=b.MONDAY)
    device, token = enrol_device(code=code, name="Blue phone", now=b.MONDAY)
    revoke_device(device=device, who=boss, now=b.MONDAY)
    told = [(r.who, r.act, r.named) for r in RecordedChange.objects.filter(kind=Kind.PHONE).order_by("id")]
    assert told == [(boss, "added", hand.name), (hand, "added", "Blue phone"), (boss, "stopped", "Blue phone")]
    assert not RecordedChange.objects.filter(differences__icontains=token).exists()
    assert not RecordedChange.objects.filter(differences__icontains=code).exists()
