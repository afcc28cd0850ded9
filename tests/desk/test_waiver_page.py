"""A supervisor lets a failed check stand on the opening's sheet; the reason shows there for ever."""

import pytest
from django.test import Client

from tests import builders as b

pytestmark = pytest.mark.django_db
REASON = "Glazier trims the stop"


def signed_in(who) -> Client:
    client = Client()
    client.force_login(who)
    return client


def test_a_failed_check_is_let_stand_with_a_reason_and_by_a_supervisor_only():
    site = b.site()
    opening = b.opening(site)
    at = b.work_up_to(opening, "anchor")
    reading = b.frame_check(b.crew(site), opening, readings=b.TWISTED_READINGS, at=at)
    address = f"/s/{site.code}/openings/{opening.number}"
    asked = f"do=sign&amp;stage=trueness&amp;about={reading.pk}&amp;waive=1"
    desk = signed_in(b.supervisor(site))
    assert asked in desk.get(address).content.decode()
    assert asked not in signed_in(b.inspector(site)).get(address).content.decode()

    form = {"stage": "trueness", "action": "sign", "about": str(reading.pk), "waive": "1"}
    assert desk.post(address, form).status_code == 422
    assert desk.post(address, form | {"note": REASON}).status_code == 302
    page = desk.get(address).content.decode()
    assert f"Failed and let stand: {REASON}" in page


def test_a_plain_signature_asks_for_no_reason_and_waives_nothing():
    site = b.site()
    opening = b.opening(site)
    at = b.work_up_to(opening, "anchor")
    reading = b.frame_check(b.crew(site), opening, at=at)
    desk = signed_in(b.supervisor(site))
    form = {"stage": "trueness", "action": "sign", "about": str(reading.pk)}
    assert desk.post(f"/s/{site.code}/openings/{opening.number}", form).status_code == 302
    assert "let stand" not in desk.get(f"/s/{site.code}/openings/{opening.number}").content.decode()
