"""The phone pages against the server itself: enrolled, loaded, offline, and everything arrives once."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Playwright

from inspections.models import CheckIn, FrameCheck, Photo, Progress, SignOff
from inspections.selectors.photos import visible_photo
from openings.models import Opening, Site
from sitetrack.access.models import Device, Person
from sitetrack.access.services.enrolment import make_enrolment_code, revoke_device
from sitetrack.access.services.signing_code import set_signing_code
from sitetrack.kit.clock import now
from tests import builders
from tests.field.conftest import Phone
from tests.field.movements import READINGS, answer_yes, note, read_frame, sign
from tests.field.pictures import picture

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def site() -> Site:
    return builders.site("clinic")


@pytest.fixture
def frames(site: Site) -> list[Opening]:
    """Forty openings whose frames are set and anchored."""
    level = builders.floor(site, "L2", level=2, name="Level 2")
    made = [builders.opening(site, f"2{n:03}", on=level, walk=n, x=3.0 * n, y=0.0) for n in range(1, 41)]
    for each in made:
        builders.work_up_to(each, "anchor")
    return made


@pytest.fixture
def inspector(site: Site) -> Person:
    """One who signs with a code of their own."""
    return set_signing_code(person=builders.inspector(site), code="804711", now=now())


@pytest.fixture
def phone(
    playwright: Playwright, live_server: Any, tmp_path: Path, site: Site, frames: list[Opening], inspector: Person
) -> Iterator[Phone]:
    """A frame crew's phone, enrolled by the supervisor's code."""
    hand = builders.crew(site)
    code = make_enrolment_code(site_id=site.pk, person=hand, who=builders.supervisor(site), now=now())
    taken_out = Phone(playwright, tmp_path / "memory", live_server.url)
    taken_out.enrol(code)
    taken_out.rest()
    yield taken_out
    taken_out.close()
    assert taken_out.problems == []


def test_forty_checks_read_offline_are_stored_once_and_judged_as_previewed(phone: Phone, frames: list[Opening]) -> None:
    phone.offline()
    for frame in frames:
        read_frame(phone, frame.number, picture(int(frame.number)))
    before = CheckIn.objects.count()
    phone.close()
    phone.open(offline=True)
    phone.offline(False)
    phone.send()
    phone.page.get_by_text("All sent").first.wait_for()
    assert CheckIn.objects.count() == before + len(frames)
    stored = CheckIn.objects.filter(stage="trueness").order_by("counter")
    assert [row.opening.number for row in stored.select_related("opening")] == [frame.number for frame in frames]
    assert all(row.readings == READINGS for row in stored)
    queue = {item["id"]: item for item in phone.queue()}
    judged = {str(check.pk): check.verdict for check in FrameCheck.objects.filter(check_in__in=stored)}
    assert judged == {id_: item["preview"] for id_, item in queue.items()}
    assert {item["state"] for item in queue.values()} == {"sent"}
    phone.page.wait_for_function("() => !document.querySelector('main').innerText.includes('photos to send')")
    assert Photo.objects.count() == len(frames)
    assert all(visible_photo(row.photos[0], row.person, None) for row in stored)
    assert phone.stored("photos") == []
    # What the fold made of them has come back: each now awaits its signature.
    assert Progress.objects.get(pk=frames[0].pk).state["stages"]["trueness"]["awaits_signature"]
    phone.rest()
    phone.send()
    told = {record["data"]["number"]: record["data"] for record in phone.stored("openings")}
    assert all(told[frame.number]["standing"]["trueness"]["awaits_signature"] for frame in frames)
    assert not any(item.get("fresh") for item in phone.queue())


def test_refusal_of_the_server_is_shown_in_its_words(phone: Phone) -> None:
    phone.show("#/opening/2001/board")
    answer_yes(phone)
    phone.page.get_by_role("button", name="Finished").click()
    phone.page.wait_for_function("() => location.hash === '#/opening/2001'")
    phone.rest()
    phone.show("#/waiting")
    phone.page.get_by_role("heading", name="Refused (1)").wait_for()
    assert "trade Drywall" in phone.page.locator(".item .problem").inner_text()


def test_hold_reported_and_released_on_the_phone_is_open_and_closed_on_the_server(
    phone: Phone, frames: list[Opening]
) -> None:
    phone.show("#/opening/2002/trueness/cannot")
    phone.page.get_by_role("button", name="Not safe").click()
    phone.page.get_by_role("button", name="Put this opening on hold").click()
    phone.page.get_by_role("button", name="It can go on").wait_for()
    phone.rest()
    phone.send()
    assert Progress.objects.get(pk=frames[1].pk).held
    phone.show("#/opening/2002")
    phone.page.get_by_role("button", name="It can go on").click()
    phone.rest()
    phone.send()
    assert not Progress.objects.get(pk=frames[1].pk).held
    phone.show("#/opening/2002")
    assert phone.page.get_by_role("button", name="It can go on").count() == 0


def test_unknown_number_is_kept_aside_whole(phone: Phone, site: Site) -> None:
    note(phone, "9999", "found one more")
    phone.rest()
    phone.show("#/waiting")
    phone.page.get_by_role("heading", name="Kept aside (1)").wait_for()


def test_reading_is_signed_on_the_crews_phone_by_the_signers_code(
    phone: Phone, frames: list[Opening], inspector: Person
) -> None:
    phone.offline()
    read_frame(phone, "2001", b"")
    sign(phone, "2001", str(inspector.pk), "804712")
    phone.offline(False)
    phone.send()
    phone.page.get_by_text("signing code").first.wait_for()
    assert [item["state"] for item in phone.queue()] == ["sent", "refused"]
    assert not SignOff.objects.exists()
    phone.page.get_by_role("button", name="Fix it").click()
    phone.page.locator("#signer").wait_for()
    sign(phone, "2001", str(inspector.pk), "804711")
    phone.rest()
    signed = SignOff.objects.get()
    assert signed.signer == inspector
    assert str(signed.about) == phone.queue()[0]["id"]
    assert "804711" not in str(CheckIn.objects.get(pk=signed.check_in_id).extra)
    assert Progress.objects.get(pk=frames[0].pk).state["stages"]["trueness"]["state"] == "done"
    phone.send()
    phone.show("#/opening/2001")
    # Everything through the check before board, in the server's own word.
    phone.page.get_by_text("8 stages done").wait_for()


def test_token_revoked_while_offline_loses_nothing(phone: Phone, site: Site) -> None:
    phone.offline()
    note(phone, "2003", "before the phone was revoked")
    device = Device.objects.get()
    revoke_device(device=device, who=builders.supervisor(site), now=now())
    phone.offline(False)
    phone.send()
    phone.page.get_by_text("must be enrolled again").wait_for()
    assert [item["state"] for item in phone.queue()] == ["waiting"]
    code = make_enrolment_code(site_id=site.pk, person=device.person, who=builders.supervisor(site), now=now())
    phone.enrol(code)
    phone.rest()
    assert [item["state"] for item in phone.queue()] == ["sent"]
    assert CheckIn.objects.filter(note="before the phone was revoked").count() == 1
