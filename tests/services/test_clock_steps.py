"""The clock of the phone or of the server is stepped by an hour between two pushes: nothing is lost, order is kept."""

from datetime import timedelta

import pytest

from inspections.models import CheckIn, Progress
from inspections.services.check_ins import record_check_ins
from inspections.services.reports import Sender
from inspections.services.work_out import work_out
from sitetrack.access.models import Device
from sitetrack.access.scope import membership_of
from tests import builders as b

pytestmark = pytest.mark.django_db
HOUR, NONE = timedelta(hours=1), timedelta(0)


@pytest.mark.parametrize(
    ("phone_step", "server_step"),
    [(HOUR, NONE), (-HOUR, NONE), (NONE, HOUR), (NONE, -HOUR)],
    ids=["phone forward", "phone back", "server forward", "server back"],
)
def test_a_stepped_clock_loses_nothing_keeps_the_phones_order_and_is_flagged(phone_step, server_step):
    opening = b.opening(b.site())
    hand = b.crew(opening.site)
    phone, _ = b.device(opening.site, hand)
    sender = Sender(hand, membership_of(hand, opening.site.pk), phone)

    def push(report, minutes, phone_wrong_by, server_wrong_by):
        moment = b.MONDAY + timedelta(minutes=minutes)
        (result,) = record_check_ins(
            site=opening.site, sender=sender, reports=[report], device_time=moment + phone_wrong_by,
            now=moment + server_wrong_by,
        )  # fmt: skip
        work_out(opening_ids=[opening.pk], now=moment + server_wrong_by)
        phone.refresh_from_db()
        sender.device.refresh_from_db()
        return result.outcome

    first = b.report(opening, "receive", "finish", counter=1)
    undone = b.report(
        opening, "receive", "void", counter=2, about=first.id, at=b.MONDAY + timedelta(minutes=10) + phone_step
    )
    again = b.report(opening, "receive", "start", counter=3, at=b.MONDAY + timedelta(minutes=20) + phone_step)
    assert push(first, 0, NONE, NONE) == "stored"
    assert Progress.objects.get().state["stages"]["receive"]["state"] == "done"
    assert push(undone, 10, phone_step, server_step) == "stored"
    assert Progress.objects.get().state["stages"]["receive"]["state"] == "ready", (
        "taken back, though by an earlier clock"
    )
    assert push(again, 20, phone_step, server_step) == "stored"
    assert push(again, 30, phone_step, server_step) == "known"
    assert Progress.objects.get().state["stages"]["receive"]["state"] == "underway"
    flags = list(CheckIn.objects.order_by("counter").values_list("clock_flag", flat=True))
    assert flags == ["", "clock jumped", ""]
    assert Device.objects.get(pk=phone.pk).clock_jumped_at is not None
    assert CheckIn.objects.count() == 3
