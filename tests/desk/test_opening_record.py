"""The record of an opening: photos, what was kept aside, saying anew, undoing; and the walk from one to the next."""

import hashlib
import re
from io import BytesIO
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from django.test import Client
from PIL import Image

from inspections.models import CheckIn
from inspections.models.checkins import Action
from inspections.services.photos import keep_photo
from openings.models import Site
from sitetrack.access.roles import Role, Trade
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def photo(settings: Any, tmp_path: Path) -> bytes:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    drawn = BytesIO()
    Image.new("RGB", (1200, 900), (90, 120, 60)).save(drawn, "JPEG")
    return drawn.getvalue()


def test_photos_are_seen_by_who_may_see_their_check_in(job: Site, desk: Client, photo: bytes) -> None:
    opening, crew = make.opening(job, "101"), make.crew(job)
    digest = hashlib.sha256(photo).hexdigest()
    keep_photo(digest=digest, content=photo, who=crew, now=make.MONDAY)
    make.check_in(crew, opening, "receive", "note", note="dent", photos=(digest, "e" * 64))
    sheet = desk.get("/s/clinic/openings/101")
    assert "2 photos" in words(sheet)
    assert "photo not here yet" in words(sheet)
    page = f"/s/clinic/photos/{digest}"
    assert page in sheet.content.decode()
    assert "dent" in words(desk.get(page))
    small = desk.get(f"{page}/small")
    with Image.open(BytesIO(b"".join(small) if small.streaming else small.content)) as drawn:
        assert drawn.size == (320, 240)
    whole = desk.get(f"{page}/full")
    with Image.open(BytesIO(b"".join(whole) if whole.streaming else whole.content)) as drawn:
        assert drawn.size == (1200, 900)
    others = (make.crew(job, Trade.DRYWALL), make.person(), make.supervisor(make.site("depot")))
    for other in others:
        for address in (page, f"{page}/small", f"{page}/full"):
            assert signed_in(other).get(address).status_code == 404
    assert desk.get(f"/s/clinic/photos/{'e' * 64}/small").status_code == 404


def test_what_was_kept_aside_is_told_apart_and_counts_for_nothing(job: Site, desk: Client) -> None:
    opening, crew = make.opening(job, "101"), make.crew(job)
    (result,) = make.record(crew, make.report(opening, "varnish", "finish", note="two coats"), of=job)
    assert result.outcome == "kept_aside"
    sheet = words(desk.get("/s/clinic/openings/101"))
    assert "Kept aside" in sheet
    assert "two coats" in sheet
    assert "no stage of that name" in sheet
    assert "two coats" not in words(signed_in(make.crew(job, Trade.DRYWALL)).get("/s/clinic/openings/101"))


def test_a_reading_is_said_anew_as_of_its_own_time_and_wants_a_new_signature(job: Site, desk: Client) -> None:
    opening = make.opening(job, "101")
    make.work_up_to(opening, "trueness")
    old = CheckIn.objects.get(stage="trueness", action="finish")
    asked = f"/s/clinic/openings/101?do=finish&stage=trueness&about={old.pk}&correct=1"
    form = desk.get(asked).context["form"]
    assert form["reading_twist"].value() == "0"
    sent = {f.html_name: f.value() for f in form if f.value() not in (None, "", False)}
    sent |= {"correct": "1", "about": str(old.pk), "reading_twist": "1/32"}
    assert desk.post("/s/clinic/openings/101", sent).status_code == 422  # without a reason
    assert desk.post("/s/clinic/openings/101", sent | {"why": "read the other jamb"}).status_code == 302
    new = CheckIn.objects.filter(stage="trueness", action="finish").exclude(pk=old.pk).get()
    void = CheckIn.objects.get(action=Action.VOID)
    assert (new.readings["twist"], new.corrected_at) == ("1/32", old.corrected_at)
    assert (void.about, void.note) == (old.pk, "read the other jamb")
    sheet = words(desk.get("/s/clinic/openings/101"))
    assert "awaits signature" in sheet
    assert "late: reached us" in sheet
    assert desk.post("/s/clinic/openings/101", sent | {"why": "once more"}).status_code == 422  # taken back already


def test_what_one_has_just_reported_is_undone_by_oneself_only(job: Site, desk: Client) -> None:
    make.opening(job, "101")
    page = desk.post("/s/clinic/openings/101", {"stage": "receive", "action": "note", "note": "dent"}, follow=True)
    (address,) = re.findall(r'action="(/s/clinic/check-ins/[^"]+/undo)"', page.content.decode())
    other = signed_in(make.member(job, Role.SUPERVISOR))
    other.post(address)
    assert not CheckIn.objects.filter(action=Action.VOID).exists()
    assert signed_in(make.person()).post(address).status_code == 404
    desk.post(address)
    desk.post(address)
    assert CheckIn.objects.filter(action=Action.VOID).count() == 1
    assert 'class="taken-back' in desk.get("/s/clinic/openings/101").content.decode()


def test_the_walk_stays_within_what_the_floor_was_narrowed_to(job: Site, desk: Client) -> None:
    for walk, (number, minutes) in enumerate((("A", 45), ("B", 0), ("C", 45), ("D", 45))):
        make.opening(job, number, walk=walk, rating_minutes=minutes)
    floor = desk.get(f"/s/clinic/floors/{make.floor(job).pk}?rating=rated&as=list").content.decode()
    (link,) = re.findall(r'href="(/s/clinic/openings/C\?[^"]+)"', floor)
    sheet = desk.get(link).content.decode()
    assert re.findall(r'rel="(prev|next)" href="[^"]*/openings/(\w)\?among', sheet) == [("prev", "A"), ("next", "D")]
    assert "?rating=rated" in sheet
    plain = desk.get("/s/clinic/openings/C").content.decode()
    assert re.findall(r'rel="(prev|next)" href="[^"]*/openings/(\w)"', plain) == [("prev", "B"), ("next", "D")]
    for rubbish in ("x" * 900, quote("rating=rubbish&stage=\x00"), quote("trade=<script>"), "%"):
        assert desk.get(f"/s/clinic/openings/C?among={rubbish}").status_code == 200


def test_holds_released_and_revisions_are_told_with_who_and_when(job: Site, desk: Client) -> None:
    opening, crew = make.opening(job, "101"), make.crew(job)
    hold = make.check_in(crew, opening, "receive", "hold", note="wrong hand")
    make.check_in(crew, opening, "receive", "release", about=hold.pk, note="swapped", at=make.MONDAY + make.DAY)
    sheet = words(desk.get("/s/clinic/openings/101"))
    assert "Holds released 1" in sheet
    assert re.search(r"Released 3 Mar 2026 08:00, after 1\s+day, Person \d+: swapped", sheet)
