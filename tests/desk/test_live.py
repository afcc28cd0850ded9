"""A page is drawn again only when something changed; whoever asks with nothing new is answered at hardly any cost."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections.models import KeptAside
from inspections.sync.kept_aside import discard_kept_aside, place_kept_aside, take_back_discarding
from inspections.sync.push import Push, push
from openings.models import Site
from sitetrack.access.models import Membership
from sitetrack.access.roles import Role
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db

MOST_QUERIES = 5
LIVE = ("today", "alerts", "weekly")


def asked(client: Client, page: str, validator: str = "") -> Any:
    headers = {"HX-Request": "true"} | ({"If-None-Match": validator} if validator else {})
    return client.get(page, headers=headers)


@pytest.mark.parametrize("name", LIVE)
def test_nothing_new_is_answered_without_drawing(job: Site, desk: Client, name: str) -> None:
    """304, RFC 9110 §15.4.5
    (from memory): no content, and the validator again. Asked are session, person, signing-in, site, standing."""
    page = f"/s/{job.code}/{name}"
    validator = asked(desk, page)["ETag"]
    with CaptureQueriesContext(connection) as queries:
        answer = asked(desk, page, validator)
    assert (answer.status_code, answer.content, answer["ETag"]) == (304, b"", validator)
    assert answer.templates == [], "nothing is drawn"
    assert len(queries) <= MOST_QUERIES


def test_it_costs_the_same_on_a_large_job(job: Site, desk: Client) -> None:
    make.openings(job, 30)
    validator = asked(desk, f"/s/{job.code}/today")["ETag"]
    with CaptureQueriesContext(connection) as queries:
        assert asked(desk, f"/s/{job.code}/today", validator).status_code == 304
    assert len(queries) <= MOST_QUERIES


def test_what_is_reported_draws_the_page_anew(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    validator = asked(desk, f"/s/{job.code}/today")["ETag"]
    make.check_in(make.crew(job), opening, "receive", "hold", note="wrong hand")
    answer = asked(desk, f"/s/{job.code}/today", validator)
    assert answer.status_code == 200
    assert answer["ETag"] != validator
    assert "wrong hand" in words(answer)


def test_another_role_language_address_or_setting_is_another_page(job: Site, desk: Client) -> None:
    page = f"/s/{job.code}/today"
    validator = asked(desk, page)["ETag"]
    assert asked(desk, page + "?x=1", validator).status_code == 200
    assert asked(signed_in(make.viewer(job)), page, validator).status_code == 200
    Site.objects.update(hold_limit_days=9)
    changed = asked(desk, page, validator)
    assert changed.status_code == 200
    Membership.objects.filter(site=job, role=Role.SUPERVISOR).update(role=Role.VIEWER)
    assert asked(desk, page, changed["ETag"]).status_code == 200
    assert asked(desk, page + "?lang=es", changed["ETag"]).status_code == 200


def test_a_person_who_reloads_always_gets_the_page(job: Site, desk: Client) -> None:
    page = f"/s/{job.code}/today"
    validator = asked(desk, page)["ETag"]
    answer = desk.get(page, headers={"If-None-Match": validator})
    assert answer.status_code == 200
    assert answer["Cache-Control"] == "private, no-store"


def test_the_scripts_question_takes_no_message_away(job: Site, desk: Client) -> None:
    alert = make.alert(make.opening(job))
    desk.post(f"/s/{job.code}/alerts/{alert.pk}/acknowledge")
    assert "Undo" not in words(asked(desk, f"/s/{job.code}/today"))
    assert "Undo" in words(desk.get(f"/s/{job.code}/today"))


def test_a_stranger_and_whoever_is_signed_out_get_no_validator(job: Site, desk: Client) -> None:
    page = f"/s/{job.code}/today"
    validator = asked(desk, page)["ETag"]
    stranger = signed_in(make.supervisor(make.site("depot")))
    assert asked(stranger, page, validator).status_code == 404
    signed_out = asked(Client(), page, validator)
    assert signed_out.status_code == 302
    assert "ETag" not in signed_out


def test_the_page_says_when_it_was_drawn_and_offers_to_reload_without_script(job: Site, desk: Client) -> None:
    text = desk.get(f"/s/{job.code}/today").content.decode()
    assert 'id="live-at"' in text
    assert "<noscript><a" in text


def test_bright_light_is_chosen_and_kept(job: Site, desk: Client) -> None:
    page = f"/s/{job.code}/today"
    assert 'class="bright"' not in desk.get(page).content.decode()
    assert 'class="bright"' in desk.get(page + "?light=bright").content.decode()
    assert 'class="bright"' in desk.get(page).content.decode()
    assert 'class="bright"' not in desk.get(page + "?light=usual").content.decode()
    assert 'class="bright"' not in desk.get(page).content.decode()


def test_the_keys_are_listed_on_a_page_of_their_own(client: Client) -> None:
    assert "to the search for an opening" in words(client.get("/keys"))


def test_what_is_kept_aside_and_settled_draws_open_pages_anew(job: Site, desk: Client) -> None:
    chief, opening = make.supervisor(job), make.opening(job)
    sent = make.push_item(opening, opening="B1-2041")
    push(batch=Push(make.crew(job), None, make.MONDAY, [sent]), now=make.MONDAY)
    item = KeptAside.objects.get()
    today = f"/s/{job.code}/today"
    for settle in (
        lambda: discard_kept_aside(item=item, who=chief, why="Sent twice.", now=make.MONDAY),
        lambda: take_back_discarding(item=item, who=chief, now=make.MONDAY),
        lambda: place_kept_aside(item=item, opening=opening, stage="receive", who=chief, now=make.MONDAY),
    ):
        validator = asked(desk, today)["ETag"]
        assert asked(desk, today, validator).status_code == 304
        settle()
        assert asked(desk, today, validator).status_code == 200
