"""A supervisor may let a failed check stand, for a reason that shows for ever."""

from datetime import timedelta

import pytest

from inspections.models import Hold, Progress, SignOff
from tests import builders as b

pytestmark = pytest.mark.django_db
REASON = "Glazier trims the stop; agreed with the inspector."


@pytest.fixture
def failed():
    opening = b.opening(b.site())
    at = b.work_up_to(opening, "anchor")
    hands = b.crew(opening.site)
    return b.frame_check(hands, opening, readings=b.TWISTED_READINGS, at=at), at + timedelta(minutes=10)


def waiver(reading, who, at, note=REASON):
    report = b.report(reading.opening, "trueness", "sign", about=reading.pk, at=at, note=note, answers={"waive": True})
    return b.record(who, report, of=reading.opening.site)[0]


def trueness(opening):
    return Progress.objects.get(opening=opening).state["stages"]["trueness"]


def test_a_waived_check_stands_is_marked_and_its_reason_is_sealed(failed):
    reading, at = failed
    assert waiver(reading, b.supervisor(reading.site), at).outcome == "stored"
    assert trueness(reading.opening)["state"] == "done"
    assert trueness(reading.opening)["waived"] is True
    assert SignOff.objects.get().waiver_reason == REASON
    assert Progress.objects.get(opening=reading.opening).next_stage == "board"
    assert Hold.objects.get().released_at == at


def test_a_plain_signature_lets_no_failed_check_stand_and_does_not_bar_a_later_waiver(failed):
    reading, at = failed
    b.sign_off(b.inspector(reading.site), reading, at=at)
    assert trueness(reading.opening)["state"] == "failed"
    waiver(reading, b.supervisor(reading.site), at + b.MINUTE)
    assert trueness(reading.opening)["waived"] is True


def test_only_a_supervisor_waives_and_only_with_a_reason(failed):
    reading, at = failed
    assert "Only the supervisor" in waiver(reading, b.inspector(reading.site), at).problem["detail"]
    refused = waiver(reading, b.supervisor(reading.site), at, note=" ")
    assert refused.problem["errors"][0]["field"] == "note"


def test_a_waiver_is_outdated_like_any_check_when_what_it_covers_changes(failed):
    reading, at = failed
    waiver(reading, b.supervisor(reading.site), at)
    b.check_in(b.crew(reading.site), reading.opening, "set", "start", at=at + b.MINUTE)
    assert trueness(reading.opening)["state"] == "outdated"
