"""One opening's sheet: what it tells and what is reported from it."""

import re
from datetime import UTC, datetime

import pytest
from django.test import Client

from inspections.models import CheckIn
from openings.models import Site
from sitetrack.access.roles import Trade
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def test_what_the_schedule_does_not_tell_is_shown_as_unknown(job: Site, desk: Client) -> None:
    opening = make.opening(job, hand="", rating_minutes=None, electrified=None, width=None)
    sheet = words(desk.get(f"/s/{job.code}/openings/{opening.number}"))
    for fact in ("Hand", "Fire rating", "Electrified", "Width"):
        assert f"{fact} unknown" in sheet
    assert "Not to scale" in sheet


def test_unrated_is_not_unknown(job: Site, desk: Client) -> None:
    opening = make.opening(job, rating_minutes=0)
    assert "Fire rating not rated" in words(desk.get(f"/s/{job.code}/openings/{opening.number}"))


def test_a_hold_stops_the_opening_and_its_release_starts_it(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "receive")
    page = f"/s/{job.code}/openings/{opening.number}"
    desk.post(page, {"stage": "match", "action": "hold", "note": "wrong hand delivered"})
    sheet = desk.get(page)
    assert "wrong hand delivered" in words(sheet)
    assert "Nothing starts here" in words(sheet)
    (about,) = re.findall(r"do=release&amp;stage=match&amp;about=([0-9a-f-]+)", sheet.content.decode())
    assert (
        desk.post(page, {"stage": "match", "action": "release", "about": about, "note": "swapped"}).status_code == 302
    )
    assert "Nothing starts here" not in words(desk.get(page))


def test_a_reading_is_judged_and_then_signed(job: Site) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "anchor")
    page = f"/s/{job.code}/openings/{opening.number}"
    typed = {f"reading_{name}": text for name, text in make.TRUE_READINGS.items()}
    typed |= {f"answer_{code}": "yes" for code in make.TRUENESS_ANSWERS}
    crew = signed_in(make.crew(job))
    crew.post(page, {"stage": "trueness", "action": "finish", **typed})
    inspector = signed_in(make.inspector(job))
    sheet = inspector.get(page)
    assert "awaits signature" in words(sheet)
    (about,) = re.findall(r"do=sign&amp;stage=trueness&amp;about=([0-9a-f-]+)", sheet.content.decode())
    assert inspector.post(page, {"stage": "trueness", "action": "sign", "about": about}).status_code == 302
    assert re.search(r"Next: Board hung on both sides", words(inspector.get(page)).replace(" :", ":"))


def test_the_reader_is_not_offered_to_sign_the_reading(job: Site) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "anchor")
    page = f"/s/{job.code}/openings/{opening.number}"
    typed = {f"reading_{name}": text for name, text in make.TRUE_READINGS.items()}
    typed |= {f"answer_{code}": "yes" for code in make.TRUENESS_ANSWERS}
    inspector = signed_in(make.inspector(job))
    inspector.post(page, {"stage": "trueness", "action": "finish", **typed})
    sheet = inspector.get(page)
    assert "You read it, so another person signs." in words(sheet)
    assert "do=sign" not in sheet.content.decode()
    assert "do=sign" in signed_in(make.supervisor(job)).get(page).content.decode()


def test_a_report_out_of_turn_is_warned_of_before_it_is_made(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "receive")
    page = f"/s/{job.code}/openings/{opening.number}"
    assert "This stage still waits for" in words(desk.get(f"{page}?do=start&stage=board"))
    assert "This stage still waits for" not in words(desk.get(f"{page}?do=finish&stage=match"))
    assert "This stage still waits for" not in words(desk.get(f"{page}?do=hold&stage=board"))


def test_an_empty_check_is_told_to_prove_nothing(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "anchor")
    page = f"/s/{job.code}/openings/{opening.number}"
    told = desk.post(page, {"stage": "trueness", "action": "finish"}, follow=True)
    assert "Recorded, but incomplete" in words(told)


def test_a_reading_that_cannot_be_read_is_refused_and_nothing_typed_is_lost(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "anchor")
    page = f"/s/{job.code}/openings/{opening.number}"
    answer = desk.post(
        page,
        {
            "stage": "trueness",
            "action": "finish",
            "reading_twist": "a bit",
            "reading_width_head": "36 1/16",
            "note": "x y",
        },
    )
    assert answer.status_code == 422
    kept = answer.content.decode()
    assert 'value="a bit"' in kept
    assert 'value="36 1/16"' in kept
    assert "x y" in kept
    assert "“a bit” can't be read as a length" in words(answer).replace("&#x27;", "'")
    assert not CheckIn.objects.filter(stage="trueness").exists()


def test_a_crew_of_another_trade_is_told_why_not(job: Site) -> None:
    opening = make.opening(job)
    client = signed_in(make.crew(job, Trade.PAINTER))
    answer = client.post(
        f"/s/{job.code}/openings/{opening.number}", {"stage": "receive", "action": "finish", "note": "kept"}
    )
    assert answer.status_code == 422
    assert "which" in words(answer)
    assert "kept" in answer.content.decode()


def test_a_taken_back_check_in_stays_on_record_told_apart(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    check_in = make.check_in(make.crew(job), opening, note="wrong door")
    page = f"/s/{job.code}/openings/{opening.number}"
    desk.post(page, {"stage": "receive", "action": "void", "about": str(check_in.pk), "note": "it was 102"})
    sheet = desk.get(page)
    assert "wrong door" in words(sheet)
    assert 'class="taken-back' in sheet.content.decode()


def test_a_late_check_in_says_when_it_reached_us(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    make.check_in(make.crew(job), opening, at=make.MONDAY, now=make.MONDAY + make.DAY)
    assert "late: reached us 3 Mar 08:00" in words(desk.get(f"/s/{job.code}/openings/{opening.number}"))


def test_times_are_the_sites_own(job: Site, desk: Client) -> None:
    """14:00 UTC is 8:00 in Chicago in winter (IANA time zone data base)."""
    opening = make.opening(job)
    make.check_in(make.crew(job), opening, at=make.MONDAY)
    assert "2 Mar 2026 08:00" in words(desk.get(f"/s/{job.code}/openings/{opening.number}"))


def test_a_slip_of_friday_typed_on_monday_counts_on_friday(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    page = f"/s/{job.code}/openings/{opening.number}"
    asked = desk.get(f"{page}?do=finish&stage=receive").content.decode()
    assert 'type="datetime-local" name="happened_at"' in asked
    slip = {"stage": "receive", "action": "finish", "happened_at": "2026-02-27T15:30"}
    assert desk.post(page, slip).status_code == 302
    stored = CheckIn.objects.get(opening=opening)
    # 15:30 in Chicago in winter is 21:30 UTC (IANA time zone data base).
    assert stored.corrected_at == stored.happened_at == datetime(2026, 2, 27, 21, 30, tzinfo=UTC)
    assert stored.received_at > stored.corrected_at, "and the record says when it came"


def test_what_is_still_to_come_is_not_reported(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    later = {"stage": "receive", "action": "finish", "happened_at": "2199-02-27T15:30", "note": "kept as typed"}
    answer = desk.post(f"/s/{job.code}/openings/{opening.number}", later)
    assert answer.status_code == 422
    assert "still to come" in words(answer)
    assert "kept as typed" in answer.content.decode()
    assert not CheckIn.objects.filter(opening=opening).exists()


def test_a_signature_is_given_now(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    reading = make.frame_check(make.crew(job), opening, readings=make.TRUE_READINGS, answers=make.TRUENESS_ANSWERS)
    form = desk.get(f"/s/{job.code}/openings/{opening.number}?do=sign&stage=trueness&about={reading.pk}")
    assert 'name="happened_at"' not in form.content.decode()
