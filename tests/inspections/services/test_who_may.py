"""Who may say and unsay what, whatever arrives first."""

from datetime import timedelta

import pytest

from inspections.models import CheckIn, KeptAside, Progress
from inspections.sync.push import Push, push
from sitetrack.access.models import Membership
from sitetrack.access.roles import Role, Trade
from tests import builders as b

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def trueness(opening):
    return Progress.objects.get(opening=opening).state["stages"]["trueness"]


def test_a_signature_that_arrives_before_its_own_signers_reading_counts_for_nothing():
    site = b.site()
    opening = b.opening(site)
    at = b.work_up_to(opening, "anchor")
    who = b.supervisor(site)
    reading = b.report(opening, "trueness", at=at, readings=b.TRUE_READINGS, answers=b.TRUENESS_ANSWERS)
    b.record(who, b.report(opening, "trueness", "sign", at=at + b.MINUTE, about=reading.id), of=site)
    b.record(who, reading, of=site)
    assert trueness(opening)["awaits_signature"] is True
    b.sign_off(b.inspector(site), CheckIn.objects.get(pk=reading.id), at=at + 2 * b.MINUTE)
    assert trueness(opening)["state"] == "done"


def test_a_colleague_of_the_signer_cannot_take_the_signature_back():
    site = b.site()
    opening = b.opening(site)
    b.work_up_to(opening, "trueness")
    signature = CheckIn.objects.get(action="sign")
    colleague = b.crew(site, company_=signature.company)
    result = b.record(colleague, b.report(opening, "trueness", "void", about=signature.pk), of=site)[0]
    assert (result.outcome, result.problem["status"]) == ("refused", 403)
    assert trueness(opening)["state"] == "done"


def test_a_viewer_stores_nothing_not_even_aside():
    site = b.site()
    viewer = b.viewer(site)
    item = b.push_item(b.opening(site)) | {"opening": "NOWHERE"}
    pushed = push(batch=Push(viewer, None, b.MONDAY, [item]), now=b.MONDAY)
    assert pushed.results[0].outcome == "refused"
    assert not KeptAside.objects.exists()


def test_work_seen_offline_counts_for_the_company_and_trade_of_that_day():
    """A hand works Monday for the frame crew, moves to the painter on Tuesday and has signal on Wednesday."""
    site = b.site()
    opening = b.opening(site)
    hand = b.crew(site, Trade.FRAME_CREW)
    before = Membership.objects.get(person=hand)
    Membership.objects.filter(pk=before.pk).update(began_at=b.MONDAY - DAY, ended_at=b.MONDAY + DAY)
    after = Membership.objects.create(
        site=site, person=hand, company=b.company(), role=Role.CREW, trades=[Trade.PAINTER], began_at=b.MONDAY + DAY
    )
    monday = b.push_item(opening, "receive")
    wednesday = b.push_item(opening, "receive", "note", happened_at=b.rfc3339(b.MONDAY + 2 * DAY))
    late = b.MONDAY + 2 * DAY
    pushed = push(batch=Push(hand, None, late, [monday, wednesday]), now=late)
    assert [r.outcome for r in pushed.results] == ["stored", "stored"]
    assert CheckIn.objects.get(action="finish").company_id == before.company_id
    assert CheckIn.objects.get(action="note").company_id == after.company_id


def test_after_the_last_day_on_a_site_only_what_was_seen_before_it_is_taken():
    site = b.site()
    opening = b.opening(site)
    hand = b.crew(site)
    Membership.objects.filter(person=hand).update(began_at=b.MONDAY - DAY, ended_at=b.MONDAY + DAY)
    late = b.MONDAY + 2 * DAY
    items = [b.push_item(opening), b.push_item(opening, happened_at=b.rfc3339(late))]
    pushed = push(batch=Push(hand, None, late, items), now=late)
    assert [r.outcome for r in pushed.results] == ["stored", "refused"]


def test_the_same_batch_again_says_nothing_of_the_phones_clock():
    site = b.site()
    opening = b.opening(site)
    hand = b.crew(site)
    phone, _ = b.device(site, hand)
    first = Push(hand, phone, b.MONDAY, [b.push_item(opening, counter=1)])
    for minutes in (0, 10):
        push(batch=first, now=b.MONDAY + timedelta(minutes=minutes))
    later = b.MONDAY + timedelta(minutes=20)
    push(batch=Push(hand, phone, later, [b.push_item(opening, counter=2)]), now=later)
    assert set(CheckIn.objects.values_list("clock_flag", flat=True)) == {""}
