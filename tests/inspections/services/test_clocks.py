"""A phone's clock is corrected once, at first receipt, and doubted in words."""

from datetime import timedelta

import pytest

from inspections.models import CheckIn
from inspections.services.clocks import read_clock
from sitetrack.access.models import Device
from tests import builders as b

HOUR = timedelta(hours=1)
YEAR = timedelta(days=365)


def test_offset_corrects_and_nothing_happens_after_receipt():
    clock = read_clock(None, b.MONDAY - HOUR, b.MONDAY)
    assert clock.corrected(b.MONDAY - 3 * HOUR) == b.MONDAY - 2 * HOUR
    assert clock.corrected(b.MONDAY + 5 * HOUR) == b.MONDAY


def test_uncertainty_is_two_seconds_and_a_ten_thousandth_of_the_age():
    clock = read_clock(None, b.MONDAY, b.MONDAY)
    assert clock.uncertainty_ms(b.MONDAY) == 2000
    assert clock.uncertainty_ms(b.MONDAY - timedelta(seconds=10_000)) == 3000


@pytest.mark.django_db
@pytest.mark.parametrize("wrong_by", [-YEAR, YEAR])
def test_a_phone_set_to_another_year_still_reports_when_it_happened(wrong_by):
    opening = b.opening(b.site())
    hand = b.crew(opening.site)
    phone, _ = b.device(opening.site, hand)
    report = b.report(opening, at=b.MONDAY - HOUR + wrong_by, counter=1)
    b.record_check_ins(
        site=opening.site, sender=b.Sender(hand, b.membership_of(hand, opening.site.pk), phone), reports=[report],
        device_time=b.MONDAY + wrong_by, now=b.MONDAY,
    )  # fmt: skip
    stored = CheckIn.objects.get()
    assert stored.corrected_at == b.MONDAY - HOUR
    assert stored.happened_at == b.MONDAY - HOUR + wrong_by


@pytest.mark.django_db
def test_a_clock_changed_midway_is_flagged_on_the_check_in_and_the_phone():
    opening = b.opening(b.site())
    hand = b.crew(opening.site)
    phone, _ = b.device(opening.site, hand)
    sender = b.Sender(hand, b.membership_of(hand, opening.site.pk), phone)
    send = {"site": opening.site, "sender": sender}
    b.record_check_ins(**send, reports=[b.report(opening, counter=1)], device_time=b.MONDAY, now=b.MONDAY)
    later = b.MONDAY + 2 * HOUR
    b.record_check_ins(**send, reports=[b.report(opening, counter=2, at=later)], device_time=later + HOUR, now=later)
    assert CheckIn.objects.get(counter=2).clock_flag == "clock jumped"
    assert CheckIn.objects.get(counter=1).clock_flag == ""
    assert Device.objects.get(pk=phone.pk).clock_jumped_at == later


@pytest.mark.django_db
def test_the_same_counter_from_a_copied_phone_is_flagged_not_lost():
    opening = b.opening(b.site())
    hand = b.crew(opening.site)
    phone, _ = b.device(opening.site, hand)
    first = b.report(opening, counter=5)
    second = b.report(opening, "match", "note", counter=5, note="from the copy")
    b.record(hand, first, of=opening.site, phone=phone)
    b.record(hand, second, of=opening.site, phone=phone)
    assert CheckIn.objects.get(pk=second.id).clock_flag == "counter used twice"
    assert CheckIn.objects.count() == 2
