"""What a slip of the hand did is undone from the message that told it: by who did it, soon after, by nobody else."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pytest
from django.test import Client

from inspections.models import Alert, KeptAside
from inspections.services.alerts import acknowledge, close, reopen, take_back_acknowledgement
from inspections.sync.kept_aside import discard_kept_aside, take_back_discarding
from openings.models import Opening, Site
from sitetrack.access.models import Person
from sitetrack.access.roles import Role
from sitetrack.kit.problems import Conflict, Forbidden
from sitetrack.kit.undoing import UNDO_WITHIN
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db
WHY = "board off, read again"


def kept(opening: Opening) -> KeptAside:
    report = make.report(opening, "receive")
    raw = report.raw | {"opening": "no such"}
    stray = make.report(opening, "receive", id=report.id)
    make.record(make.crew(opening.site), _named(stray, raw), of=opening.site)
    return KeptAside.objects.get()


def _named(report: Any, raw: dict[str, Any]) -> Any:
    return type(report)(**{**{f: getattr(report, f) for f in report.__slots__}, "opening": "no such", "raw": raw})


@dataclass(frozen=True)
class Slip:
    """One kind of action, how it is undone, and how one sees that it stands."""

    make: Callable[[Opening], Any]
    do: Callable[[Any, Person, datetime], object]
    undo: Callable[[Any, Person, datetime], object]
    stands: Callable[[Any], bool]


SLIPS = {
    "acknowledge": Slip(
        make.alert,
        lambda alert, who, now: acknowledge(alert=alert, who=who, now=now),
        lambda alert, who, now: take_back_acknowledgement(alert=alert, who=who, now=now),
        lambda alert: Alert.objects.get(pk=alert.pk).acknowledged_at is not None,
    ),
    "close": Slip(
        make.alert,
        lambda alert, who, now: close(alert=alert, who=who, why=WHY, now=now),
        lambda alert, who, now: reopen(alert=alert, who=who, now=now),
        lambda alert: Alert.objects.get(pk=alert.pk).closed_at is not None,
    ),
    "discard": Slip(
        kept,
        lambda item, who, now: discard_kept_aside(item=item, who=who, why=WHY, now=now),
        lambda item, who, now: take_back_discarding(item=item, who=who, now=now),
        lambda item: KeptAside.objects.get(pk=item.pk).settled == "discarded",
    ),
}


@pytest.fixture(params=SLIPS)
def slip(request: Any) -> Slip:
    return SLIPS[request.param]


def test_what_was_done_is_undone(job: Site, slip: Slip) -> None:
    thing, boss = slip.make(make.opening(job)), make.supervisor(job)
    slip.do(thing, boss, make.MONDAY)
    assert slip.stands(thing)
    slip.undo(thing, boss, make.MONDAY + make.MINUTE)
    assert not slip.stands(thing)
    slip.do(thing, boss, make.MONDAY + 2 * make.MINUTE)
    assert slip.stands(thing), "and can be done again"


def test_twice_undone_is_told(job: Site, slip: Slip) -> None:
    thing, boss = slip.make(make.opening(job)), make.supervisor(job)
    slip.do(thing, boss, make.MONDAY)
    slip.undo(thing, boss, make.MONDAY)
    with pytest.raises(Conflict):
        slip.undo(thing, boss, make.MONDAY)


def test_not_by_another_nor_too_late_nor_by_a_crew(job: Site, slip: Slip) -> None:
    thing, boss = slip.make(make.opening(job)), make.supervisor(job)
    slip.do(thing, boss, make.MONDAY)
    with pytest.raises(Conflict):
        slip.undo(thing, make.member(job, Role.SUPERVISOR), make.MONDAY)
    with pytest.raises(Conflict):
        slip.undo(thing, boss, make.MONDAY + UNDO_WITHIN + make.MINUTE)
    with pytest.raises(Forbidden):
        slip.undo(thing, make.crew(job), make.MONDAY)
    assert slip.stands(thing)


def test_an_alert_closed_by_evidence_is_not_opened_by_hand(job: Site) -> None:
    alert = make.alert(make.opening(job), closed_at=make.MONDAY, closed_how="evidence", closed_why="read again")
    with pytest.raises(Conflict):
        reopen(alert=alert, who=make.supervisor(job), now=make.MONDAY)


def test_an_alert_opened_again_is_closed_by_the_evidence_that_came_meanwhile(job: Site, desk: Client) -> None:
    """While a person's word stood, evidence was not looked at."""
    opening = make.opening(job)
    make.work_up_to(opening, "receive")
    alert = make.alert(opening, "boarded-before-checked")
    desk.post(f"/s/{job.code}/alerts/{alert.pk}/close", {"why": WHY})
    desk.post(f"/s/{job.code}/alerts/{alert.pk}/reopen")
    assert Alert.objects.get().closed_how == "evidence", "no check-in of this opening bears the alert out"


def undo_form(answer: Any) -> tuple[str, dict[str, str]]:
    found = re.search(
        r'class="told">.*?<form method="post" action="([^"]+)">(.*?)</form>', answer.content.decode(), re.DOTALL
    )
    assert found, "no Undo beside what was told"
    return found[1], dict(re.findall(r'name="(\w+)" value="([^"]*)"', found[2]))


def test_the_message_leads_to_the_undo_and_back_to_the_page(job: Site, desk: Client) -> None:
    alert = make.alert(make.opening(job))
    back = f"/s/{job.code}/alerts?rule=boarded-before-checked"
    told = desk.post(f"/s/{job.code}/alerts/{alert.pk}/acknowledge", {"back": back}, follow=True)
    assert told.redirect_chain == [(back, 302)]
    address, fields = undo_form(told)
    undone = desk.post(address, fields, follow=True)
    assert undone.redirect_chain == [(back, 302)]
    assert "Not acknowledged any more." in words(undone)
    assert Alert.objects.get().acknowledged_at is None
    again = desk.post(address, fields, follow=True)
    assert "Nothing to undo" in words(again)


def test_a_discarded_item_waits_again_from_its_message(job: Site, desk: Client) -> None:
    item = kept(make.opening(job))
    told = desk.post(f"/s/{job.code}/kept-aside/{item.pk}/discard", {"why": WHY}, follow=True)
    desk.post(*undo_form(told))
    assert KeptAside.objects.get().settled == ""


@pytest.mark.parametrize("name", ["acknowledge", "unacknowledge", "close", "reopen"])
def test_another_sites_alert_is_not_found_from_here(job: Site, name: str) -> None:
    alert = make.alert(make.opening(job))
    elsewhere = make.site("depot")
    client = signed_in(make.supervisor(elsewhere))
    for code in ("clinic", "depot"):
        assert client.post(f"/s/{code}/alerts/{alert.pk}/{name}").status_code == 404


def test_another_sites_item_is_not_restored_from_here(job: Site) -> None:
    item = kept(make.opening(job))
    client = signed_in(make.supervisor(make.site("depot")))
    for code in ("clinic", "depot"):
        assert client.post(f"/s/{code}/kept-aside/{item.pk}/restore").status_code == 404


def test_an_undo_is_never_a_link(job: Site, desk: Client) -> None:
    """A safe method changes nothing (RFC 9110 §9.2.1, from memory)."""
    alert = make.alert(make.opening(job))
    assert desk.get(f"/s/{job.code}/alerts/{alert.pk}/reopen").status_code == 405
