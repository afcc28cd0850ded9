"""Accounts: one-time codes, passwords, sessions, invitations, and people of a site."""

from binascii import hexlify
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django_otp.oath import TOTP

from openings.models import Site
from sitetrack.access.models import CodeKey, Device, Invitation, Membership, Person, RecordedChange
from sitetrack.access.services.codes import Proof, begin_codes, confirm_codes, prove_code
from sitetrack.access.services.invitations import Asked, Standing, invite, invite_again, take_invitation
from sitetrack.access.services.passwords import check_password_rules
from sitetrack.access.services.people import change_standing, end_standing
from sitetrack.kit.clock import now
from sitetrack.kit.problems import BadInput, Conflict, Forbidden, NotFound
from tests import builders as b

pytestmark = pytest.mark.django_db
PASSWORD = "correct frame staple"
# RFC 6238, appendix B, SHA-1, by their last six of eight digits (a shorter code is the same number modulo 10^6, RFC
# 4226, 5.3); from memory.
VECTORS = [(59, "287082"), (1111111109, "081804"), (1111111111, "050471"), (1234567890, "005924"),
           (2000000000, "279037")]  # fmt: skip


def shown(who: Person, at: datetime) -> str:
    clock = TOTP(bytes.fromhex(CodeKey.objects.get(person=who).secret))
    clock.time = at.timestamp()
    return f"{clock.token():06}"


def with_codes(who: Person, at: datetime = b.MONDAY) -> list[str]:
    begin_codes(person=who, now=at)
    return confirm_codes(person=who, code=shown(who, at), now=at)


@pytest.mark.parametrize(("seconds", "code"), VECTORS)
def test_codes_are_those_of_the_rfc(seconds: int, code: str) -> None:
    who, at = b.person(), datetime.fromtimestamp(seconds, UTC)
    CodeKey.objects.create(person=who, secret=hexlify(b"12345678901234567890").decode(), made_at=at, confirmed_at=at)
    assert prove_code(person=who, code=code, now=at + timedelta(minutes=2)) is Proof.WRONG
    assert prove_code(person=who, code=code, now=at) is Proof.RIGHT
    assert prove_code(person=who, code=code, now=at) is Proof.WRONG, "no code is taken twice"


def test_a_recovery_code_is_good_once() -> None:
    who = b.person()
    recovery = with_codes(who)
    assert len(set(recovery)) == 10
    assert prove_code(person=who, code=recovery[3].lower(), now=b.MONDAY) is Proof.RIGHT
    assert prove_code(person=who, code=recovery[3], now=b.MONDAY) is Proof.WRONG


def test_five_wrong_codes_wait_a_quarter_of_an_hour_even_with_the_right_one() -> None:
    who = b.person()
    with_codes(who)
    for _ in range(5):
        assert prove_code(person=who, code="no code", now=b.MONDAY) is Proof.WRONG
    soon, later = b.MONDAY + 10 * b.MINUTE, b.MONDAY + 15 * b.MINUTE
    assert prove_code(person=who, code=shown(who, soon), now=soon) is Proof.WAIT
    assert prove_code(person=who, code=shown(who, later), now=later) is Proof.RIGHT


def test_signing_in_asks_for_the_code_and_nothing_opens_before() -> None:
    who = b.supervisor(b.site("clinic"))
    who.set_password(PASSWORD)
    who.save()
    with_codes(who)
    client = Client()
    answer = client.post("/sign-in?next=/s/clinic/alerts", {"username": who.email, "password": PASSWORD})
    assert answer["Location"].startswith("/sign-in/code")
    assert client.get("/s/clinic/today").status_code == 302
    assert client.get("/api/v1/me").status_code in {401, 403}
    away = client.post("/sign-in/code", {"code": shown(who, now()), "next": "https://elsewhere.example/"})
    assert away["Location"] == "/", "no way to another server"
    assert client.get("/s/clinic/today").status_code == 200


def test_a_site_that_asks_for_codes_opens_to_no_supervisor_without(client: Client) -> None:
    site = b.site("clinic", supervisors_need_codes=True)
    boss = b.supervisor(site)
    boss.is_staff = boss.is_superuser = True
    boss.save()
    client.force_login(boss)
    assert client.get("/s/clinic/today")["Location"].startswith("/account/codes")
    assert client.get("/admin/")["Location"].startswith("/account/codes")
    refused = client.get("/api/v1/sites")
    assert (refused.status_code, refused["Content-Type"]) == (403, "application/problem+json")
    page = client.get("/account/codes")
    assert b"<svg" in page.content
    told = client.post("/account/codes", {"code": shown(boss, now())})
    assert len(told.context["recovery"]) == 10
    assert client.get("/s/clinic/today").status_code == 200
    client.force_login(b.crew(site))
    assert client.get("/s/clinic/today").status_code == 200


def test_codes_are_turned_off_and_recovery_codes_renewed_by_password_and_code_only() -> None:
    who = b.person(password=PASSWORD)
    old = with_codes(who)
    client = Client()
    client.force_login(who)
    for address in ("/account/codes/off", "/account/codes/recovery"):
        for given in ({"password": PASSWORD}, {"password": PASSWORD, "code": "123"}, {"password": "x", "code": old[0]}):
            assert client.post(address, given).status_code == 422
    assert CodeKey.objects.filter(person=who).exists()
    assert prove_code(person=who, code=old[0], now=b.MONDAY) is Proof.RIGHT, "a wrong password uses no code up"
    fresh = client.post("/account/codes/recovery", {"password": PASSWORD, "code": old[1]}).context["recovery"]
    assert prove_code(person=who, code=old[2], now=b.MONDAY) is Proof.WRONG, "the old are good no more"
    client.post("/account/codes/off", {"password": PASSWORD, "code": fresh[0]})
    assert not CodeKey.objects.filter(person=who).exists()


def test_a_lost_authenticator_is_reset_by_whoever_keeps_the_server() -> None:
    who = b.person(password=PASSWORD)
    with_codes(who)
    client = Client()
    client.force_login(who)
    call_command("reset_codes", who.email.upper(), stdout=StringIO())
    assert client.get("/account").status_code == 302
    assert Client().post("/sign-in", {"username": who.email, "password": PASSWORD})["Location"] == "/"
    row = RecordedChange.objects.filter(kind="account", act="removed").get()
    assert (row.who, row.about_id) == (None, str(who.pk))
    for email in (who.email, "nobody@example.com"):
        with pytest.raises(CommandError):
            call_command("reset_codes", email, stdout=StringIO())


def test_the_admin_has_no_door_of_its_own(client: Client) -> None:
    assert client.post("/admin/login/", {"username": "x", "password": "y"})["Location"].startswith("/sign-in")


def test_changing_the_password_signs_other_browsers_out() -> None:
    who = b.person(password=PASSWORD)
    here, there = Client(), Client()
    for each in (here, there):
        each.post("/sign-in", {"username": who.email, "password": PASSWORD})
        assert each.get("/account").status_code == 200
    new = "seven crooked jambs"
    wrong = here.post("/account/password", {"password": "wrong", "new": new, "again": new})
    assert wrong.status_code == 422
    here.post("/account/password", {"password": PASSWORD, "new": new, "again": new})
    assert here.get("/account").status_code == 200
    assert there.get("/account").status_code == 302


def test_one_browser_is_signed_out_from_another_and_only_ones_own() -> None:
    who = b.person(password=PASSWORD)
    here, there, stranger = Client(), Client(), Client()
    for each in (here, there):
        each.post("/sign-in", {"username": who.email, "password": PASSWORD})
    row = who.signed_in.exclude(session_key=here.session.session_key).get()
    stranger.force_login(b.person())
    assert stranger.post(f"/account/sessions/{row.pk}/end").status_code == 404
    here.post(f"/account/sessions/{row.pk}/end")
    assert there.get("/account").status_code == 302
    assert here.get("/account").status_code == 200


@pytest.mark.parametrize("password", ["tiny", "startfinding", "riverside-clinic1", "x" * 257, "Sitetrack2026"])
def test_passwords_by_the_rules(password: str) -> None:
    boss = b.supervisor(b.site("riverside-clinic"))
    with pytest.raises(BadInput) as refused:
        check_password_rules(password, boss)
    assert password not in refused.value.detail


@pytest.mark.parametrize("password", ["correct frame staple", "ñandúes miran puertas", "a b c d e f g h " * 4])
def test_long_passwords_of_any_letters_are_taken(password: str) -> None:
    check_password_rules(password, b.person())


def asked(site: Site, email: str = "new@example.com", role: str = "crew") -> Invitation:
    made = invite(
        site_id=site.pk, asked=Asked(email, "New Hand"), standing=Standing(role, "Walls Ltd", ("drywall",)),
        who=b.supervisor(site), now=b.MONDAY,
    )  # fmt: skip
    assert made.invitation
    made.invitation.token = made.token  # type: ignore[attr-defined]
    return made.invitation


def take(token: str, at: datetime = b.MONDAY) -> Person:
    return take_invitation(token=token, name="New Hand", password=PASSWORD, language="es", now=at)


def test_an_invitation_makes_an_account_once() -> None:
    site = b.site()
    row = asked(site)
    assert row.token not in row.token_digest  # type: ignore[attr-defined]
    who = take(row.token)  # type: ignore[attr-defined]
    standing = Membership.objects.get(person=who)
    assert (standing.site, standing.role, standing.trades, standing.company.name) == (
        site, "crew", ["drywall"], "Walls Ltd",
    )  # fmt: skip
    assert who.check_password(PASSWORD)
    with pytest.raises(NotFound):
        take(row.token)  # type: ignore[attr-defined]


def test_an_invitation_too_old_or_sent_again_is_not_good() -> None:
    row = asked(b.site())
    with pytest.raises(NotFound):
        take(row.token, b.MONDAY + 7 * b.DAY)  # type: ignore[attr-defined]
    fresh = invite_again(invitation=row, who=row.made_by, now=b.MONDAY + 8 * b.DAY)
    with pytest.raises(NotFound):
        take(row.token)  # type: ignore[attr-defined]
    assert take(fresh, b.MONDAY + 9 * b.DAY).email == "new@example.com"


def test_whoever_has_an_account_gets_the_role_at_once_and_only_from_a_supervisor() -> None:
    site, someone = b.site(), b.person()
    given = Standing("viewer", "Office")
    for who in (b.crew(site), b.inspector(site), b.viewer(site), b.supervisor(b.site())):
        with pytest.raises(Forbidden):
            invite(site_id=site.pk, asked=Asked(someone.email), standing=given, who=who, now=b.MONDAY)
    boss = b.supervisor(site)
    made = invite(site_id=site.pk, asked=Asked(someone.email.upper()), standing=given, who=boss, now=b.MONDAY)
    assert made.membership
    assert made.membership.person == someone
    with pytest.raises(Conflict):
        invite(site_id=site.pk, asked=Asked(someone.email), standing=given, who=boss, now=b.MONDAY)


def test_the_last_supervisor_stays() -> None:
    site = b.site()
    only = Membership.objects.get(site=site)
    with pytest.raises(Conflict):
        end_standing(membership=only, who=only.person, now=b.MONDAY)
    with pytest.raises(Conflict):
        change_standing(membership=only, to=Standing("viewer", "Office"), who=only.person, now=b.MONDAY)


def test_whoever_is_removed_loses_phones_and_sessions() -> None:
    site = b.site("clinic")
    hand = b.crew(site)
    _, token = b.device(site, hand)
    browser = Client()
    browser.force_login(hand)
    assert browser.get("/s/clinic/today").status_code == 200
    end_standing(membership=Membership.objects.get(person=hand), who=b.supervisor(site), now=b.MONDAY)
    assert Device.objects.get(person=hand).revoked_at == b.MONDAY
    assert b.client(token=token).get("/api/v1/me").status_code == 401
    assert browser.get("/s/clinic/today").status_code == 302
    acts = RecordedChange.objects.filter(site=site, at=b.MONDAY).values_list("kind", "act")
    assert {("person", "removed"), ("phone", "stopped")} <= set(acts)


def test_another_company_begins_a_new_standing_and_keeps_the_old() -> None:
    site = b.site()
    hand = b.crew(site)
    old = Membership.objects.get(person=hand)
    to = Standing("crew", "Other Walls", ("drywall",))
    fresh = change_standing(membership=old, to=to, who=b.supervisor(site), now=b.MONDAY)
    old.refresh_from_db()
    assert (old.ended_at, fresh.company.name, fresh.person) == (b.MONDAY, "Other Walls", hand)
    assert change_standing(membership=fresh, to=to, who=b.supervisor(site), now=b.MONDAY) == fresh


@pytest.mark.parametrize(("address", "status"), [("/api/nothing", 404), ("/nothing", 404)])
def test_faults_under_the_api_are_problem_details(client: Client, address: str, status: int) -> None:
    answer = client.get(address)
    assert answer.status_code == status
    assert (answer["Content-Type"] == "application/problem+json") is address.startswith("/api/")
